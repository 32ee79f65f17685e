"""Limits of every shift of four hundred days: the forecast asks for each slot."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from tests.bench.conftest import least_s
from tracker.domain.programme.capacities import Capacities
from tracker.ledger.store import Ledger
from tracker.recording.demo import DEMO_DAY
from tracker.statements.frame import framed
from tracker.statements.ways import ways_of

AT_MOST_S = 0.050
DAYS = [DEMO_DAY + timedelta(days=n) for n in range(400)]


def test_the_limits_of_400_days_of_the_demonstration_come_at_once(demo: Ledger, say: Any):
    frame = framed(demo, DEMO_DAY)
    site, ways = frame.site, ways_of(frame)

    def ask_for_all() -> None:
        capacities = Capacities(site, ways)
        for day in DAYS:
            for shift in site.shifts:
                capacities.slot(day, shift)

    (took_s,) = least_s(ask_for_all, repeats=15)
    say(f"limits of 400 days: {1000 * took_s:.0f} ms (at most {1000 * AT_MOST_S:.0f})")
    assert took_s <= AT_MOST_S
