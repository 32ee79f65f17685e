"""The gate on one day, worked by hand: used, booked and left, and how the day will end."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from math import sqrt

import numpy as np
import pytest

from tracker.domain.calendar import ALL_DAY
from tracker.domain.gate import (
    AHEAD,
    OVER,
    RUNNING,
    Booked,
    CapStanding,
    GateHour,
    cap_standing,
    forecast,
    gate_hours,
    loads_left,
)
from tracker.domain.site import MovementCap

LONDON = "Europe/London"
MONDAY = date(2026, 1, 5)  # winter: local time is UTC
WINDOW = ((time(8), time(18)),)
DAY_CAP = MovementCap("day", 60, "invented condition")
HOUR_CAP = MovementCap("hour", 10, "invented condition")
NOON = datetime(2026, 1, 5, 12, tzinfo=UTC)


def hours_at(moment, passed=None, bookings=(), windows=WINDOW, day=MONDAY):
    return gate_hours(passed or {}, bookings, windows, day, moment, LONDON)


# Ten loads in the four hours to noon, and three concrete lorries at nine that nobody booked.
MORNING = {
    **{("spoil_in", hour): n for hour, n in ((8, 3), (9, 2), (10, 3), (11, 2))},
    **{("spoil_out", hour): n for hour, n in ((8, 2), (9, 3), (10, 2), (11, 3))},
    ("other_in", 9): 3,
    ("other_out", 9): 3,
}


# --- used, booked, left --------------------------------------------------------------------------
def test_a_cap_counts_spoil_and_all_other_traffic():
    standing = cap_standing(DAY_CAP, hours_at(NOON, MORNING))
    assert (standing.used, standing.awaited, standing.left) == (26, 0, 34)


def test_a_cap_of_one_direction_counts_that_direction_only():
    for direction in ("in", "out"):
        cap = MovementCap("day", 20, "", direction)
        assert cap_standing(cap, hours_at(NOON, MORNING)).used == 13


def test_exactly_the_cap_leaves_nothing_and_is_not_above_it():
    exact = MovementCap("day", 26, "")
    assert cap_standing(exact, hours_at(NOON, MORNING)).left == 0
    assert cap_standing(MovementCap("day", 25, ""), hours_at(NOON, MORNING)).left == -1


def test_a_booking_is_spread_over_its_hours_and_adds_up_exactly():
    hours = hours_at(NOON, bookings=[Booked(13, 16, 10, 8)])
    assert [h.booked_in for h in hours[12:17]] == [0, 3, 3, 4, 0]
    assert [h.booked_out for h in hours[12:17]] == [0, 2, 3, 3, 0]
    assert sum(h.awaited() for h in hours) == 18


def test_what_was_booked_for_hours_that_are_over_is_awaited_no_more():
    hours = hours_at(NOON, bookings=[Booked(8, 16, 16, 0)])
    assert sum(h.booked("in") for h in hours) == 16
    assert sum(h.awaited("in") for h in hours) == 8


def test_in_the_running_hour_other_traffic_counts_as_the_booked_one():
    half_past = NOON.replace(minute=30)
    hours = hours_at(half_past, {("other_in", 12): 3}, [Booked(12, 13, 5, 5)])
    assert (hours[12].stage, hours[12].awaited("in"), hours[12].awaited("out")) == (RUNNING, 2, 5)
    more = hours_at(half_past, {("other_in", 12): 9}, [Booked(12, 13, 5, 5)])
    assert more[12].awaited("in") == 0


def test_the_cap_of_an_hour_is_about_the_hour_that_is_running():
    at_ten = NOON.replace(hour=10, minute=20)
    standing = cap_standing(HOUR_CAP, hours_at(at_ten, MORNING))
    assert (standing.hour, standing.used, standing.left) == (10, 5, 5)


def test_once_the_day_is_over_the_cap_of_an_hour_is_about_the_fullest_one():
    evening = datetime(2026, 1, 6, 7, tzinfo=UTC)
    standing = cap_standing(HOUR_CAP, hours_at(evening, MORNING))
    assert standing == CapStanding(HOUR_CAP, 9, 11, 0)
    assert standing.left == -1


@pytest.mark.parametrize("moment", [NOON, datetime(2026, 1, 6, 7, tzinfo=UTC)])
def test_while_nothing_passed_or_is_booked_the_cap_of_an_hour_is_about_no_hour(moment):
    assert cap_standing(HOUR_CAP, hours_at(moment)) == CapStanding(HOUR_CAP, None, 0, 0)
    booked = [Booked(15, 16, 1, 1)]
    assert cap_standing(HOUR_CAP, hours_at(NOON, bookings=booked)).hour == 12


def test_hours_are_over_running_or_ahead():
    hours = hours_at(NOON.replace(minute=1))
    assert [hours[n].stage for n in (11, 12, 13)] == [OVER, RUNNING, AHEAD]
    assert {h.stage for h in hours_at(datetime(2026, 1, 4, 12, tzinfo=UTC))} == {AHEAD}
    assert {h.stage for h in hours_at(datetime(2026, 1, 6, tzinfo=UTC))} == {OVER}


# --- loads left ----------------------------------------------------------------------------------
def test_the_loads_left_are_half_the_movements_left_after_what_is_booked():
    hours = hours_at(NOON, MORNING, [Booked(14, 16, 5, 5)])
    assert loads_left([DAY_CAP], hours) == 12  # 60 - 26 - 10 = 24
    assert loads_left([], hours) is None


def test_the_tightest_cap_governs_the_loads_left():
    hours = hours_at(NOON, MORNING)
    assert loads_left([DAY_CAP, MovementCap("day", 16, "", "out")], hours) == 3
    # Six hours of two movements each.
    assert loads_left([DAY_CAP, MovementCap("hour", 2, "")], hours) == 6


def test_an_hour_filled_by_a_booking_leaves_no_room_and_takes_none_from_others():
    hours = hours_at(NOON, bookings=[Booked(12, 13, 9, 9)])
    assert loads_left([MovementCap("hour", 2, "")], hours) == 5


def test_when_the_gate_is_closed_for_the_day_no_load_is_left():
    assert loads_left([DAY_CAP], hours_at(NOON.replace(hour=18), MORNING)) == 0


# --- forecast ------------------------------------------------------------------------------------
def test_the_forecast_adds_the_rate_of_the_open_hours_gone_to_what_passed():
    # 26 movements in 4 open hours; 6 are left: 26 + 6.5 x 6 = 65.
    made = forecast(DAY_CAP, hours_at(NOON, MORNING))
    assert made.movements == pytest.approx(65.0)
    spread = 2 * sqrt(2 * 39 * (1 + 6 / 4))
    assert (made.low, made.high) == pytest.approx((65 - spread, 65 + spread))
    # 26 + 6.5 n passes 60 with the sixth hour, which begins at 17:00.
    assert made.passes_in_hour == 17


def test_booked_traffic_comes_as_booked_and_not_at_a_rate():
    # The three lorries at nine were booked, four more are at two: 20 + 5 x 6 + 6 + 8 = 64.
    bookings = [Booked(9, 10, 3, 3), Booked(14, 15, 4, 4)]
    made = forecast(DAY_CAP, hours_at(NOON, MORNING, bookings))
    assert made.movements == pytest.approx(20 + 6 + 5 * 6 + 8)
    spread = 2 * sqrt(2 * 30 * (1 + 6 / 4))
    assert made.high == pytest.approx(made.movements + spread)


def test_bookings_that_did_not_come_lower_no_rate():
    made = forecast(DAY_CAP, hours_at(NOON, MORNING, [Booked(8, 12, 50, 50)]))
    assert made.movements == pytest.approx(26 + 5 * 6)


def test_a_forecast_of_exactly_the_cap_passes_it_in_no_hour():
    made = forecast(MovementCap("day", 65, ""), hours_at(NOON, MORNING))
    assert made.movements == pytest.approx(65)
    assert made.passes_in_hour is None


def test_a_cap_of_a_day_that_was_passed_already_is_passed_in_no_hour_to_come():
    made = forecast(MovementCap("day", 25, ""), hours_at(NOON, MORNING))
    assert made.movements == pytest.approx(65)
    assert made.passes_in_hour is None


def test_the_forecast_of_an_hour_names_the_fullest_and_the_first_above_the_cap():
    hours = hours_at(NOON, MORNING, [Booked(14, 15, 2, 2), Booked(16, 17, 3, 3)])
    made = forecast(HOUR_CAP, hours)
    assert (made.hour, made.movements) == (16, pytest.approx(12.5))
    assert made.passes_in_hour == 14  # 6.5 + 4


def test_the_low_end_is_never_less_than_what_passed_and_is_booked():
    few = {("spoil_out", 9): 1}
    made = forecast(MovementCap("day", 60, "", "out"), hours_at(NOON, few, [Booked(15, 16, 0, 4)]))
    assert made.movements == pytest.approx(1 + 6 / 4 + 4)
    assert made.low == 5


def test_there_is_no_forecast_before_an_open_hour_is_gone_and_after_the_gate_closed():
    assert forecast(DAY_CAP, hours_at(NOON.replace(hour=8, minute=59), MORNING)) is None
    assert forecast(DAY_CAP, hours_at(NOON.replace(hour=9), MORNING)) is not None
    assert forecast(DAY_CAP, hours_at(NOON.replace(hour=18), MORNING)) is None


@pytest.mark.parametrize("direction", ["out", "both"])
def test_the_range_of_the_forecast_holds_as_often_as_it_says(direction):
    """Ten hours of lorries at random, forecast after four: 19 days of 20 in the range."""
    random = np.random.default_rng(4)
    within = 0
    for _ in range(500):
        lorries = random.poisson(6, 10)
        passed = {
            (f"spoil_{way}", 8 + n): int(lorries[n]) for n in range(4) for way in ("in", "out")
        }
        made = forecast(MovementCap("day", 60, "", direction), hours_at(NOON, passed))
        passes = 2 if direction == "both" else 1
        within += made.low <= passes * lorries.sum() <= made.high
    assert 0.92 <= within / 500 <= 0.98


# --- clock changes -------------------------------------------------------------------------------
AUTUMN, SPRING = date(2026, 10, 25), date(2026, 3, 29)


def test_the_hour_that_comes_twice_is_one_hour_with_twice_the_time():
    between = datetime(2026, 10, 25, 1, 30, tzinfo=UTC)  # 01:30 for the second time
    passed = {("spoil_in", 1): 7, ("spoil_out", 1): 6}
    hours = hours_at(between, passed, windows=(ALL_DAY,), day=AUTUMN)
    assert (hours[1].open_gone_min, hours[1].open_left_min) == (90, 30)
    assert (hours[0].stage, hours[1].stage, hours[2].stage) == (OVER, RUNNING, AHEAD)
    assert sum(h.open_gone_min + h.open_left_min for h in hours) == 25 * 60
    assert cap_standing(HOUR_CAP, hours) == CapStanding(HOUR_CAP, 1, 13, 0)
    first_time = hours_at(
        datetime(2026, 10, 25, 0, 30, tzinfo=UTC), passed, windows=(ALL_DAY,), day=AUTUMN
    )
    assert (first_time[1].stage, first_time[1].open_left_min) == (RUNNING, 90)


def test_the_hour_that_the_clock_skips_has_no_time():
    hours = hours_at(datetime(2026, 3, 29, 1, tzinfo=UTC), windows=(ALL_DAY,), day=SPRING)  # 02:00
    assert (hours[1].open_gone_min, hours[1].open_left_min, hours[1].stage) == (0, 0, OVER)
    assert sum(h.open_gone_min + h.open_left_min for h in hours) == 23 * 60


def test_a_summer_day_is_judged_by_the_clock_of_the_site():
    hours = hours_at(datetime(2026, 7, 6, 11, tzinfo=UTC), day=date(2026, 7, 6))
    assert hours[12].stage == RUNNING
    assert sum(h.open_gone_min for h in hours) == 4 * 60


def test_an_hour_without_anything_is_empty():
    assert GateHour(3, AHEAD).used() == GateHour(3, AHEAD).awaited() == 0
