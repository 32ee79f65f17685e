"""Measuring: the least of several repeats, printed, so that one run can be compared in itself.

Not collected by default; run alone on a quiet machine with `python -m pytest tests/bench`.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tracker.ledger.store import Ledger, open_ledger
from tracker.recording.demo import build_demo


def least_s(*works: Callable[[], Any], repeats: int) -> list[float]:
    """The shortest time that each work took [s]: what else the machine does only adds to it.

    The works take turns, so that a slow minute of the machine meets all of them.
    """
    least = [float("inf")] * len(works)
    for _ in range(repeats):
        for place, work in enumerate(works):
            gc.collect()
            start = time.perf_counter()
            work()
            least[place] = min(least[place], time.perf_counter() - start)
    return least


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Callable[[str], None]:
    """Prints a measurement past pytest's capture."""

    def print_line(text: str) -> None:
        with capsys.disabled():
            print(f"\n    {text}", end="")

    return print_line


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Ledger:
    """The demonstration ledger."""
    book = open_ledger(tmp_path_factory.mktemp("demo") / "demo.sqlite", create=True)
    build_demo(book)
    return book


@pytest.fixture
def empty_site(tmp_path: Path) -> Callable[[], Ledger]:
    """Makes ledgers that have the set-up of the demonstration and no records."""
    from importlib import resources

    from tracker.recording.setup import adopt_setup

    made: list[Ledger] = []

    def new() -> Ledger:
        book = open_ledger(tmp_path / f"{len(made)}.sqlite", create=True)
        with resources.as_file(resources.files("data_demo")) as folder:
            adopt_setup(book, folder / "setup", title="bench", by="bench")
        made.append(book)
        return book

    return new
