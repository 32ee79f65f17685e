"""Worked by hand: Monday 2 March 2026 is the first day; nobody works at weekends."""

from datetime import date, timedelta

import pytest

from tracker.domain.programme.planned import PlannedStage, planned_curve
from tracker.errors import InputError, NotEnoughData

MONDAY = date(2026, 3, 2)
WEEKDAYS = tuple(day for n in range(200) if (day := MONDAY + timedelta(days=n)).weekday() < 5)


def stage(zone="A", number=1, m3=300.0, dig=3, hold=0, not_before=MONDAY):
    return PlannedStage(zone, number, m3, dig, hold, not_before)


def test_a_stage_is_dug_evenly_over_its_days():
    curve = planned_curve([stage()], WEEKDAYS)
    assert curve.daily_m3 == {"A": (100.0, 100.0, 100.0)}
    assert curve.cumulative_m3("A") == (100.0, 200.0, 300.0)
    assert curve.stages[0].finishes == date(2026, 3, 4)


def test_a_hold_is_a_flat_step_and_runs_on_over_the_weekend():
    curve = planned_curve([stage(hold=5), stage(number=2, m3=400.0, dig=2)], WEEKDAYS)
    # Dug out on Wednesday 4th; five days end on Monday 9th, so that stage 2 starts on the 10th.
    assert curve.stages[0].hold_ends == date(2026, 3, 9)
    assert curve.stages[1].starts == date(2026, 3, 10)
    assert curve.cumulative_m3("A") == (100, 200, 300, 300, 300, 300, 300, 300, 500, 700)


def test_a_stage_goes_on_after_the_weekend_and_after_a_holiday():
    holiday = date(2026, 3, 9)
    curve = planned_curve([stage(dig=6)], [d for d in WEEKDAYS if d != holiday])
    assert curve.stages[0].finishes == date(2026, 3, 10)
    assert curve.daily_m3["A"] == (50, 50, 50, 50, 50, 0, 0, 0, 50)


def test_a_zone_that_waits_for_another_says_so():
    later = date(2026, 3, 5)
    curve = planned_curve([stage(), stage("B", m3=80.0, dig=2, not_before=later)], WEEKDAYS)
    assert curve.daily_m3["B"] == (0, 0, 0, 40, 40)
    assert curve.cumulative_m3() == (100, 200, 300, 340, 380)
    assert curve.design_m3() == 380


def test_a_calendar_that_ends_too_early_is_refused_with_what_is_missing():
    with pytest.raises(NotEnoughData, match="zone A stage 1 is dug: 2 working days are missing"):
        planned_curve([stage(dig=4)], WEEKDAYS[:2])


def test_no_stages_impossible_durations_and_days_out_of_order_are_refused():
    with pytest.raises(NotEnoughData, match="no stages"):
        planned_curve([], WEEKDAYS)
    with pytest.raises(InputError, match="dig_days of zone A stage 1 is 0 days"):
        planned_curve([stage(dig=0)], WEEKDAYS)
    with pytest.raises(InputError, match="hold_days of zone A stage 1 is -1 days"):
        planned_curve([stage(hold=-1)], WEEKDAYS)
    with pytest.raises(InputError, match="not in order"):
        planned_curve([stage()], WEEKDAYS[::-1])
