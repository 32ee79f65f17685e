"""Every statement on the demonstration, and on a ledger in which its season came ten times."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import fields, replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from tests.bench.conftest import least_s
from tracker.ledger.entries import (
    Baseline,
    ClosedException,
    Entry,
    HoldRelease,
    LorryLoad,
    Receipt,
    new_id,
)
from tracker.ledger.store import Ledger, open_ledger
from tracker.recording.demo import DEMO_DAY
from tracker.recording.setup import adopt_setup
from tracker.statements import (
    capacity_statement,
    carbon_statement,
    day_statement,
    delays_statement,
    holds_statement,
    movements_statement,
    progress_statement,
    records_statement,
)

AT_MOST_S = 0.100
AT_MOST_GROWTH = 1.5
SEASONS = 10
SEASON = timedelta(weeks=35)  # whole weeks, so that each shift keeps its weekday
FIRST = date(2026, 3, 2)
REPEATED = ("dig_returns", "belt_readings", "lorry_loads", "stock_counts", "receipts")


def movements(grain: str, **asked: Any) -> Callable[[Ledger], Any]:
    return lambda book: movements_statement(book, DEMO_DAY, grain=grain, **asked)


STATEMENTS: dict[str, Callable[[Ledger], Any]] = {
    "day": lambda book: day_statement(book, DEMO_DAY),
    "progress": lambda book: progress_statement(book, DEMO_DAY),
    "movements by day": movements("day"),
    "movements by week": movements("week"),
    "movements by month": movements("month"),
    "movements in total": movements("total"),
    "carbon": lambda book: carbon_statement(book, DEMO_DAY),
    "records": records_statement,
    "capacity": lambda book: capacity_statement(book, DEMO_DAY),
    "delays": lambda book: delays_statement(book, DEMO_DAY),
    "holds": lambda book: holds_statement(book, DEMO_DAY),
}
# The same question put to a longer ledger: the season, not all that there is.
GROWTH: dict[str, Callable[[Ledger], Any]] = {
    "day": STATEMENTS["day"],
    "movements by day": STATEMENTS["movements by day"],
    "movements by week": STATEMENTS["movements by week"],
    "movements by month": movements("month", since=FIRST),
    "movements in total": movements("total", since=FIRST),
}


def shifted(entry: Entry, back: timedelta, season: int) -> Entry:
    """The entry some seasons earlier, with an id and a ticket number of its own."""
    changes: dict[str, Any] = {"entry_id": new_id()}
    for f in fields(entry):
        value = getattr(entry, f.name)
        if isinstance(value, datetime | date):
            changes[f.name] = value - back
    if isinstance(entry, LorryLoad):
        changes["ticket_number"] = f"{entry.ticket_number}-{season}"
        if entry.reconsigned_from:
            changes["reconsigned_from"] = f"{entry.reconsigned_from}-{season}"
    if isinstance(entry, Receipt):
        changes["receipt_number"] = f"{entry.receipt_number}-{season}"
        changes["ticket_number"] = f"{entry.ticket_number}-{season}"
    return replace(entry, **changes)


@pytest.fixture(scope="module")
def longer(demo: Ledger, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ledger]:
    """The season of the demonstration ten times, end to end, the last of them at its own dates.

    As on a real job, a zone has its hold points once (in the first season), and what was open in
    earlier seasons has been closed.
    """
    book = open_ledger(tmp_path_factory.mktemp("longer") / "ten.sqlite", create=True)
    (revision,) = demo.revisions()
    tables, back = json.loads(revision.tables), (SEASONS - 1) * SEASON
    tables["site"][0]["first_date"] = (FIRST - back).isoformat()
    for zone in tables["zones"]:
        zone["opens"] = (date.fromisoformat(zone["opens"]) - back).isoformat()
    assert adopt_setup(book, tables, title="ten seasons", by="bench").revision
    book.append(demo.current(Baseline.KIND), by="bench")
    book.append([shifted(e, back, SEASONS) for e in demo.current(HoldRelease.KIND)], by="bench")
    for season in range(SEASONS):
        entries = [e for kind in REPEATED for e in demo.current(kind)]
        book.append([shifted(e, season * SEASON, season) for e in entries], by="bench")
    said = day_statement(book, DEMO_DAY)
    earlier = [x for x in (*said.breaches, *said.exceptions) if x.work_date < FIRST]
    book.append(
        [
            ClosedException(rule=x.rule, about=x.about, reason="bench", closed_by="bench")
            for x in earlier
        ],
        by="bench",
    )
    yield book
    book.close()


@pytest.mark.parametrize("name", list(STATEMENTS))
def test_every_statement_on_the_demonstration_is_quick(demo, say, name):
    (took_s,) = least_s(lambda: STATEMENTS[name](demo), repeats=15)
    say(f"{name}: {1000 * took_s:.0f} ms (at most {1000 * AT_MOST_S:.0f})")
    assert took_s <= AT_MOST_S


def test_the_longer_ledger_holds_ten_seasons(demo, longer):
    for kind in ("lorry_loads", "dig_returns", "receipts"):
        assert len(longer.current(kind)) == SEASONS * len(demo.current(kind))


@pytest.mark.parametrize("name", list(GROWTH))
def test_a_ledger_ten_times_longer_hardly_slows_the_same_question(demo, longer, say, name):
    ask = GROWTH[name]
    short_s, long_s = least_s(lambda: ask(demo), lambda: ask(longer), repeats=25)
    say(
        f"{name}: {1000 * short_s:.0f} ms, ten seasons {1000 * long_s:.0f} ms;"
        f" growth {long_s / short_s:.2f} (at most {AT_MOST_GROWTH:g})"
    )
    assert long_s / short_s <= AT_MOST_GROWTH


@pytest.mark.parametrize("name", ["progress", "movements by month", "carbon"])
def test_what_covers_the_whole_ledger_grows_less_than_the_ledger(demo, longer, say, name):
    ask = STATEMENTS[name]
    short_s, long_s = least_s(lambda: ask(demo), lambda: ask(longer), repeats=5)
    say(
        f"{name}, all of it: {1000 * short_s:.0f} ms, ten seasons {1000 * long_s:.0f} ms;"
        f" growth {long_s / short_s:.2f} (at most {SEASONS})"
    )
    assert long_s / short_s <= SEASONS
