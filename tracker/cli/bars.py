"""Progress bars on stderr, for work on more than a million points."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

BAR_FROM = 1_000_000  # points


@contextmanager
def reading_bar(path: Path) -> Iterator[Callable[[int, int], None]]:
    """A bar that appears once a file turns out to hold more than a million points."""
    with _progress() as bar:
        tasks: list[Any] = []

        def progress(done: int, of: int) -> None:
            if of > BAR_FROM:
                if not tasks:
                    tasks.append(bar.add_task(f"Reading {path.name}", total=of))
                bar.update(tasks[0], completed=done, total=of)

        yield progress


@contextmanager
def working_bar(title: str, points: int) -> Iterator[None]:
    """A bar without an end, for work on more than a million points."""
    if points <= BAR_FROM:
        yield
        return
    with _progress() as bar:
        bar.add_task(title, total=None)
        yield


def _progress() -> Any:
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    return Progress(console=console, transient=True, disable=not console.is_terminal)
