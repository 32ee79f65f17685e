"""The season of paper.py in a ledger of its own, entered moment by moment."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.statements import paper
from tracker.ledger.store import Ledger, open_ledger
from tracker.recording.demo import build_demo
from tracker.statements import (
    balance_statement,
    capacity_statement,
    carbon_statement,
    day_statement,
    delays_statement,
    exceptions_statement,
    forecast_statement,
    gate_statement,
    holds_statement,
    movements_statement,
    progress_statement,
    spoil_statement,
)


class Clock:
    """Shows the moment it was last set to."""

    def __init__(self) -> None:
        self.moment = paper.END

    def __call__(self) -> datetime:
        return self.moment


STATEMENTS: dict[str, Callable[..., Any]] = {
    "day": day_statement,
    "progress": progress_statement,
    "movements by day": lambda book, on, **k: movements_statement(book, on, grain="day", **k),
    "movements by week": lambda book, on, **k: movements_statement(book, on, grain="week", **k),
    "movements by month": lambda book, on, **k: movements_statement(book, on, **k),
    "movements in total": lambda book, on, **k: movements_statement(book, on, grain="total", **k),
    "carbon": lambda book, on, **k: carbon_statement(book, on, factor_year=2025, **k),
    "exceptions": exceptions_statement,
    "spoil": spoil_statement,
    "balance": balance_statement,
    "balance by week": lambda book, on, **k: balance_statement(book, on, grain="week", **k),
    "gate": gate_statement,
    "capacity": capacity_statement,
    "delays": delays_statement,
    "holds": holds_statement,
    "forecast": lambda book, on, **k: forecast_statement(book, on, walks=100, **k),
}


# Before a correction, around a release, before and after late papers and the second set-up.
ASKED_AT = tuple(
    datetime(2026, month, day, hour, minute, tzinfo=UTC)
    for month, day, hour, minute in (
        (10, 22, 20, 30),
        (10, 23, 11, 0),
        (10, 24, 6, 10),
        (10, 24, 12, 0),
        (10, 27, 9, 0),
        (10, 28, 8, 0),
        (10, 28, 21, 0),
        (10, 29, 8, 0),
        (10, 30, 11, 0),
        (11, 2, 8, 30),
    )
)


def without_moment(statement: Any) -> Any:
    """A statement apart from the line that says as known when."""
    return replace(statement, basis=replace(statement.basis, known_at=None))


@pytest.fixture(scope="session")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Ledger, list[Any]]]:
    """The season entered; and what every statement said at the moments ASKED_AT on the way."""
    clock = Clock()
    book = open_ledger(tmp_path_factory.mktemp("paper") / "a.sqlite", create=True, clock=clock)
    asked, said = list(ASKED_AT), []
    for moment, enter in paper.steps():
        while asked and asked[0] < moment:
            clock.moment = asked.pop(0)
            said.append((clock.moment, all_said(book, clock.moment.date())))
        clock.moment = moment
        enter(book)
    clock.moment = paper.END
    yield book, said
    book.close()


def all_said(book: Ledger, on: date) -> dict[str, Any]:
    """Every statement that the records support on a day."""
    return {name: state(book, on) for name, state in STATEMENTS.items()}


@pytest.fixture(scope="session")
def book(told: tuple[Ledger, list[Any]]) -> Ledger:
    """The season of paper.py, all of it entered. Not to be written to."""
    return told[0]


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def empty(tmp_path: Path, clock: Clock) -> Iterator[Ledger]:
    """A ledger of one's own with nothing in it."""
    opened = open_ledger(tmp_path / "own.sqlite", create=True, clock=clock)
    yield opened
    opened.close()


@pytest.fixture
def own(empty: Ledger) -> Ledger:
    """A ledger of one's own with the first set-up and the baseline of paper.py."""
    paper.adopt(empty, paper.FIRST, "first")
    baseline = {k: v for k, v in paper.BASELINE[0].items() if k != "entered"}
    paper.enter(empty, "baseline", **baseline)
    return empty


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ledger]:
    """The demonstration ledger, built once. Not to be written to."""
    opened = open_ledger(tmp_path_factory.mktemp("demo") / "demo.sqlite", create=True)
    build_demo(opened)
    yield opened
    opened.close()
