"""Earlier forecasts made anew and held against what came."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest

from tests.statements.steady_pit import MONDAY, begun, dig, november, october, set_up
from tracker.recording.demo import DEMO_DAY
from tracker.statements import backtest_statement, forecast_statement


@pytest.fixture
def six_weeks(empty, clock):
    """Stage 1 at 25 m³ a shift, in sixteen shifts: from 19 October to Monday 9 November."""
    clock.moment = datetime(2026, 11, 30, 18, tzinfo=UTC)
    begun(empty, set_up("A"))
    day, level_m = MONDAY, 104.0
    while level_m > 100.0:
        if day.weekday() < 5:
            level_m -= 0.25
            dig(empty, day, 25, level_m)
        day += timedelta(days=1)
    return empty


def test_dates_that_were_kept_held(six_weeks):
    # The record ends on 9 November; a fortnight before it is Monday 26 October, when six shifts
    # were known: ten more, to 9 November. On 12 October nothing was known.
    tested = backtest_statement(six_weeks, november(27), walks=100)
    (line,) = tested.lines
    assert (line.made_on, line.zone, line.stage) == (october(26), "A", 1)
    assert (line.p20, line.p80, line.reached_on, line.held) == (*[november(9)] * 3, True)
    assert (tested.held, tested.checked) == (1, 1)
    assert tested.sentence == (
        "Of 1 P80 date forecast on 1 day from Mon 26 Oct 2026 on, 1 held (100 %; 80 % are to hold)."
        " Too few to say much. No date of formation was among them."
    )


def test_a_date_that_has_passed_without_being_reached_did_not_hold(empty, clock):
    clock.moment = datetime(2026, 11, 30, 18, tzinfo=UTC)
    begun(empty, set_up("A"))
    for n in range(6):
        dig(empty, (MONDAY, *map(october, (20, 21, 22, 23, 26)))[n], 50, 103.5 - 0.5 * n)
    dig(empty, november(9), 1, 100.99)  # two weeks without a return, and hardly anything
    (line,) = backtest_statement(empty, november(9), walks=100).lines
    assert (line.p80, line.reached_on, line.held) == (october(28), None, False)


def test_a_record_that_is_too_short_has_nothing_to_look_back_at(empty):
    begun(empty, set_up("A"))
    tested = backtest_statement(empty, november(2), walks=100)
    assert (tested.lines, tested.checked) == ((), 0)
    assert "nothing can be said" in tested.sentence


def test_dates_are_moved_by_as_much_as_earlier_ones_were_out(demo):
    told = forecast_statement(demo, DEMO_DAY, walks=100, backtest=True)
    stretch = told.earlier_stretch
    assert stretch is not None
    assert stretch > 1.0
    assert f"Had each been {stretch:.2f} times as far off, four in five had held." in (
        told.earlier_sentence
    )
    for line in told.dates:
        days = (line.p80 - DEMO_DAY).days
        assert (line.p80_as_held - DEMO_DAY).days == math.ceil(stretch * days)
    plain = forecast_statement(demo, DEMO_DAY, walks=100)
    assert {line.p80_as_held for line in plain.dates} == {None}
    assert [line.p80 for line in plain.dates] == [line.p80 for line in told.dates]
