"""The reconciliation from a ledger: three years by week, and the demonstration, in seconds.

Bounds are for a quiet machine with two cores; run this file alone.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import date

import pytest

from tests.bench.conftest import least_s
from tests.statements.long_season import LongSeason
from tracker.ledger.store import Ledger, open_ledger
from tracker.recording.demo import DEMO_DAY
from tracker.statements import reconciliation_statement

THREE_YEARS = 156
LONG_AT_MOST_S = 2.0
DEMO_AT_MOST_CPU_S = 0.300


@pytest.fixture(scope="module")
def three_years(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Ledger, date]]:
    """A ledger with three years of one zone: 156 surveys, some 10,000 loads with receipts."""
    season = LongSeason(5, THREE_YEARS)
    book = open_ledger(tmp_path_factory.mktemp("long") / "a.sqlite", create=True)
    yield season.entered(book), season.last_day
    book.close()


def test_three_years_by_week_from_a_ledger(three_years, say):
    book, day = three_years
    (took_s,) = least_s(lambda: reconciliation_statement(book, day), repeats=5)
    loads = len(book.current("lorry_loads"))
    say(f"{THREE_YEARS} weeks, {loads:,} loads: {took_s:.2f} s (at most {LONG_AT_MOST_S:g} s)")
    assert reconciliation_statement(book, day).periods_reconciled == THREE_YEARS
    assert took_s <= LONG_AT_MOST_S


def test_the_demonstration_in_processor_time(demo, say):
    took = []
    for _ in range(9):
        began = time.thread_time()
        reconciliation_statement(demo, DEMO_DAY)
        took.append(time.thread_time() - began)
    say(f"demonstration: {1000 * min(took):.0f} ms (at most {1000 * DEMO_AT_MOST_CPU_S:.0f})")
    assert min(took) <= DEMO_AT_MOST_CPU_S
