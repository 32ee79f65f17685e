"""Worked by hand: stage 1 of 300 m³ in 3 days, a hold of 5, stage 2 of 400 m³ in 2 days.

Working days from Monday 2 March 2026, cumulative: 100 200 300 | 300 300 300 (hold: Thursday,
Friday, Monday) | 500 700.
"""

from datetime import date, timedelta

import pytest

from tracker.domain.programme.earned import DugOn, earned_schedule
from tracker.domain.programme.planned import PlannedStage, planned_curve
from tracker.errors import InputError, NotEnoughData

MONDAY = date(2026, 3, 2)
WEEKDAYS = tuple(day for n in range(60) if (day := MONDAY + timedelta(days=n)).weekday() < 5)
PLAN = [PlannedStage("A", 1, 300.0, 3, 5, MONDAY), PlannedStage("A", 2, 400.0, 2, 0, MONDAY)]
CURVE = planned_curve(PLAN, WEEKDAYS)


def march(day):
    return date(2026, 3, day)


def of_a(dug, as_of):
    return earned_schedule(CURVE, dug, as_of, WEEKDAYS)[1]


def test_what_was_dug_is_worth_the_day_of_the_plan_that_has_as_much():
    earned = of_a([DugOn("A", 1, march(2), 80.0), DugOn("A", 1, march(3), 70.0)], march(4))
    assert (earned.earned_days, earned.actual_days) == (1.5, 3)
    assert earned.spi_t == 0.5
    assert earned.ahead_days == -1.5
    assert (earned.earned_m3, earned.planned_m3, earned.design_m3) == (150.0, 300.0, 700.0)


@pytest.mark.parametrize(("day", "actual"), [(4, 3), (5, 4), (6, 5), (8, 5), (9, 6)])
def test_waiting_through_a_planned_hold_is_neither_ahead_nor_behind(day, actual):
    earned = of_a([DugOn("A", 1, march(4), 300.0)], march(day))
    assert earned.actual_days == actual
    assert earned.ahead_days == 0.0


def test_waiting_longer_than_planned_is_behind_and_reaching_the_hold_early_is_ahead():
    assert of_a([DugOn("A", 1, march(4), 300.0)], march(11)).ahead_days == -2.0
    assert of_a([DugOn("A", 1, march(2), 300.0)], march(2)).ahead_days == 2.0


# Dug out on Friday 6 March, two working days late; the hold of three runs from there.
@pytest.mark.parametrize(
    ("day", "earned", "actual"), [(6, 3, 5), (9, 4, 6), (11, 6, 8), (12, 6, 9)]
)
def test_a_hold_that_begins_late_stays_late_and_earns_no_more_than_planned(day, earned, actual):
    dug = [DugOn("A", 1, march(5), 200.0), DugOn("A", 1, march(6), 100.0)]
    found = of_a(dug, march(day))
    assert (found.earned_days, found.actual_days) == (earned, actual)


def test_a_hold_that_begins_early_stays_early_while_it_is_waited_through_as_planned():
    assert [of_a([DugOn("A", 1, march(3), 300.0)], march(d)).ahead_days for d in (3, 4, 5, 6)] == [
        1.0, 1.0, 1.0, 1.0
    ]  # fmt: skip


def test_a_hold_of_all_zones_runs_from_the_last_day_of_digging_of_any_of_them():
    plan = [
        PlannedStage(zone, stage, 100.0, 1, 6, MONDAY) for zone in ("A", "B") for stage in (1, 2)
    ]
    curve = planned_curve(plan, WEEKDAYS)  # 200 m3 on Monday, 200 m3 on the Monday after
    dug = [DugOn("A", 1, march(2), 100.0), DugOn("B", 1, march(4), 100.0)]
    whole, a, b = earned_schedule(curve, dug, march(5), WEEKDAYS)
    assert (whole.ahead_days, a.ahead_days, b.ahead_days) == (-2.0, 0.0, -2.0)


def test_overdig_of_a_stage_earns_nothing():
    early = of_a([DugOn("A", 1, march(2), 340.0)], march(2))
    assert early.earned_m3 == 300.0


def test_a_zone_that_finished_late_stays_late_for_ever():
    dug = [DugOn("A", 1, march(4), 300.0), DugOn("A", 2, march(13), 400.0)]
    for day in (13, 20, 31):
        earned = of_a(dug, march(day))
        assert (earned.day, earned.earned_days, earned.actual_days) == (march(13), 8.0, 10)
        assert earned.spi_t == 0.8


def test_what_was_dug_after_the_day_does_not_count():
    assert of_a([DugOn("A", 1, march(5), 100.0)], march(4)).earned_days == 0.0


def test_before_the_plan_starts_there_is_no_ratio():
    earned = of_a([], date(2026, 3, 1))
    assert earned.spi_t is None
    assert earned.ahead_days == 0.0


def test_all_zones_together_and_each_from_its_own_start():
    curve = planned_curve(
        [PlannedStage("A", 1, 300.0, 3, 0, MONDAY), PlannedStage("B", 1, 200.0, 2, 0, march(5))],
        WEEKDAYS,
    )
    dug = [DugOn("A", 1, march(4), 300.0), DugOn("B", 1, march(5), 50.0)]
    whole, a, b = earned_schedule(curve, dug, march(6), WEEKDAYS)
    assert (whole.zone, whole.earned_days, whole.actual_days) == ("", 3.5, 5)
    assert a.spi_t == 1.0
    assert (b.earned_days, b.actual_days) == (0.5, 2)


def test_a_stage_that_is_not_planned_and_a_short_calendar_are_refused():
    with pytest.raises(InputError, match="Zone A has no stage 3 in the plan"):
        of_a([DugOn("A", 3, march(4), 1.0)], march(4))
    with pytest.raises(NotEnoughData, match="do not cover the plan"):
        earned_schedule(CURVE, [], march(4), WEEKDAYS[1:])
    with pytest.raises(InputError, match="digs on 2026-03-03, which is not a working day"):
        earned_schedule(CURVE, [], march(4), [day for day in WEEKDAYS if day != march(3)])
    with pytest.raises(NotEnoughData, match="2026-03-02 to 2026-06-01"):
        earned_schedule(CURVE, [], date(2026, 6, 1), WEEKDAYS)
