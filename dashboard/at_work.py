"""Files handed over, and what is done with them in the background, each under a token.

A token is known only to the browser tab that was given it. Few are kept; the files of what goes
are removed.
"""

from __future__ import annotations

import re
import secrets
import shutil
import tempfile
import threading
import weakref
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any

from dashboard.sentences import sentence_of
from tracker.errors import InputError

MOST_KEPT = 8
WAITING, WORKING, REFUSED, DONE = "waiting", "working", "refused", "examined"
Progress = Callable[[int, int], None]  # done, of how many
Examination = Callable[[Progress], Any]  # gives what was found, never nothing


class _AbandonedError(Exception):
    """The answer is not wanted any more."""


@dataclass(slots=True, eq=False)
class Work:
    """Files on their way in: where they lie, how far its examination is, what came of it."""

    token: str
    folder: Path
    files: dict[str, Path] = field(default_factory=dict)
    state: str = ""
    done: int = 0
    of: int = 0
    examined: Any = None  # what was found, once there is something
    refusal: str = ""
    recorded: str = ""  # the entry, once there is one
    run: int = 0  # of how many examinations, the last
    lock: threading.Lock = field(default_factory=threading.Lock)

    def place(self, kind: str, name: str) -> Path:
        """Where a file of that kind belongs; the one before it goes."""
        folder = self.folder / kind
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        self.files[kind] = folder / safe_name(name)
        return self.files[kind]

    def let_go(self) -> None:
        """Remove the files: what came of them is on record."""
        self.files.clear()
        shutil.rmtree(self.folder, ignore_errors=True)

    @property
    def is_under_way(self) -> bool:
        """Whether it is being examined or waits for that."""
        return self.state in (WAITING, WORKING)


def safe_name(name: str) -> str:
    r"""The last part of a file's name, without what could lead elsewhere.

    >>> safe_name("C:\\jobs\\Oct 17.csv"), safe_name("../../x;y.las"), safe_name("..")
    ('Oct 17.csv', 'x_y.las', 'file')
    """
    last = PurePosixPath(name.replace("\\", "/")).name
    kept = re.sub(r"[^\w. ()-]", "_", last).strip(". ")[-120:]
    return kept or "file"


class FilesAtWork:
    """The few files on their way in; one is examined at a time, the others wait."""

    def __init__(self, most_kept: int = MOST_KEPT) -> None:
        self._most_kept = most_kept
        self._kept: dict[str, Work] = {}
        self._lock = threading.Lock()
        self._turn = threading.Lock()
        self._root: Path | None = None

    def opened(self, token: str = "") -> Work:
        """The work of a token; a new one where there is none. Raises InputError if all are busy."""
        with self._lock:
            if token not in self._kept:
                self._make_room()
                fresh = secrets.token_urlsafe(24)
                self._kept[fresh] = Work(fresh, self._folder() / fresh)
                token = fresh
            return self._kept[token]

    def found(self, token: str) -> Work | None:
        """The work of a token, if it is still kept."""
        return self._kept.get(token)

    def start(self, work: Work, examine: Examination) -> None:
        """Examine in the background; an examination of the same work under way is given up."""
        with self._lock:
            work.run += 1
            work.state, work.done, work.of = WAITING, 0, 0
            work.examined, work.refusal, work.recorded = None, "", ""
            run = work.run
        threading.Thread(target=self._examine, args=(work, run, examine), daemon=True).start()

    def _examine(self, work: Work, run: int, examine: Examination) -> None:
        def progress(done: int, of: int) -> None:
            if work.run != run:
                raise _AbandonedError
            work.done, work.of = done, of

        with self._turn:
            if work.run != run:
                return
            work.state = WORKING
            examined, refusal = None, ""
            try:
                examined = examine(progress)
            except _AbandonedError:
                return
            except Exception as error:  # whatever it is, people are told
                refusal = sentence_of(error)
        with self._lock:
            if work.run == run:
                work.examined, work.refusal = examined, refusal
                work.state = REFUSED if refusal else DONE

    def _make_room(self) -> None:
        if len(self._kept) < self._most_kept:
            return
        idle = next((token for token, one in self._kept.items() if not one.is_under_way), None)
        if idle is None:
            raise InputError(
                f"{self._most_kept} files are being examined already. Try again in a minute.",
                field="points",
            )
        self._drop(idle)

    def _drop(self, token: str) -> None:
        work = self._kept.pop(token, None)
        if work is not None:
            work.run += 1
            shutil.rmtree(work.folder, ignore_errors=True)

    def _folder(self) -> Path:
        if self._root is None:
            self._root = Path(tempfile.mkdtemp(prefix="spoil-"))
            weakref.finalize(self, shutil.rmtree, self._root, ignore_errors=True)
        return self._root
