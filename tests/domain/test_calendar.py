"""Shifts keep the date they start on; movements count by local day and hour; clocks change."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.ledger.samples import site_tables
from tracker.domain.calendar import (
    ALL_DAY,
    caps_on,
    days,
    gate_is_open,
    gate_windows,
    is_within,
    local_stamp,
    local_time,
    shift_minutes,
    shift_times,
    shifts_on,
    time_zone,
    window_words,
)
from tracker.domain.site import Closure, GatePermission, GateWindow, MovementCap, Shift, Site
from tracker.domain.site_tables import site_from_tables
from tracker.errors import InputError

LONDON = "Europe/London"
EVERY_DAY = (0, 1, 2, 3, 4, 5, 6)
DAY_SHIFT = Shift("day", "Day", time(7), time(19), weekdays=(0, 1, 2, 3, 4))
NIGHT_SHIFT = Shift("night", "Night", time(22), time(6), weekdays=EVERY_DAY)


def site(**changes) -> Site:
    """The invented demonstration site with shifts, closures and windows of this test."""
    built, _ = site_from_tables(site_tables())
    given = {
        "first_date": date(2026, 3, 2),
        "shifts": (DAY_SHIFT, NIGHT_SHIFT),
        "closures": (Closure(date(2026, 4, 3), "Good Friday"),),
        "windows": (),
    }
    return replace(built, **(given | changes))


# --- local clock readings ------------------------------------------------------------------------
def test_a_local_reading_is_one_moment_in_winter_and_an_hour_earlier_in_summer():
    winter = local_stamp(datetime(2026, 1, 5, 9, 30), LONDON)  # noqa: DTZ001
    summer = local_stamp(datetime(2026, 7, 6, 9, 30), LONDON)  # noqa: DTZ001
    assert winter == (datetime(2026, 1, 5, 9, 30, tzinfo=UTC), False)
    assert summer == (datetime(2026, 7, 6, 8, 30, tzinfo=UTC), False)


@pytest.mark.parametrize("minute", [0, 30, 59])
def test_a_reading_that_the_clocks_skipped_is_refused(minute):
    with pytest.raises(InputError, match="never happened in Europe/London"):
        local_stamp(datetime(2026, 3, 29, 1, minute), LONDON)  # noqa: DTZ001


def test_a_reading_shown_twice_is_the_first_and_says_so():
    for minute in (0, 59):
        moment, twice = local_stamp(datetime(2026, 10, 25, 1, minute), LONDON)  # noqa: DTZ001
        assert (moment, twice) == (datetime(2026, 10, 25, 0, minute, tzinfo=UTC), True)
    assert not local_stamp(datetime(2026, 10, 25, 0, 59), LONDON)[1]  # noqa: DTZ001
    assert not local_stamp(datetime(2026, 10, 25, 2, 0), LONDON)[1]  # noqa: DTZ001


@given(st.datetimes(datetime(2024, 1, 1), datetime(2030, 1, 1)))  # noqa: DTZ001
def test_a_reading_that_happened_is_shown_again_at_its_moment(naive):
    try:
        moment, _ = local_stamp(naive, LONDON)
    except InputError:
        assert naive.month == 3  # in the hour that is skipped
        assert naive.hour == 1
        return
    assert local_time(moment, LONDON).replace(tzinfo=None) == naive


@pytest.mark.parametrize("name", ["", "London", "Europe/Londinium", "../etc/passwd", "GMT+25"])
def test_a_time_zone_that_is_none_is_refused_with_an_example(name):
    with pytest.raises(InputError, match="Europe/London") as refusal:
        time_zone(name)
    assert refusal.value.field == "time_zone"


# --- shifts --------------------------------------------------------------------------------------
def test_a_shift_that_ends_before_it_starts_runs_past_midnight():
    start, end = shift_times(NIGHT_SHIFT, date(2026, 1, 5), LONDON)
    assert start == datetime(2026, 1, 5, 22, tzinfo=UTC)
    assert end == datetime(2026, 1, 6, 6, tzinfo=UTC)


def test_a_shift_from_an_hour_to_the_same_hour_lasts_a_whole_day():
    around = Shift("all", "All day", time(7), time(7), weekdays=EVERY_DAY)
    assert shift_minutes(around, date(2026, 1, 5), LONDON) == 24 * 60
    assert shift_minutes(around, date(2026, 3, 28), LONDON) == 23 * 60


def test_the_calendar_expects_shifts_by_weekday_from_the_first_date_and_not_on_closed_days():
    calendar = site()
    names = {
        date(2026, 3, 1): [],  # a Sunday, before the first date
        date(2026, 3, 2): ["day", "night"],
        date(2026, 3, 7): ["night"],  # a Saturday
        date(2026, 4, 3): [],  # closed
    }
    for day, expected in names.items():
        assert [shift.shift for shift in shifts_on(calendar, day)] == expected


def test_days_are_counted_both_ends_included():
    since = date(2026, 2, 27)
    assert list(days(since, date(2026, 3, 1))) == [since + timedelta(days=n) for n in range(3)]
    assert list(days(since, since)) == [since]
    assert list(days(since, since - timedelta(days=1))) == []


# --- gate ----------------------------------------------------------------------------------------
def test_without_windows_the_gate_is_always_open():
    assert gate_is_open(site(), datetime(2026, 3, 8, 3, 0))  # noqa: DTZ001
    assert gate_windows(site(), date(2026, 3, 8)) == (ALL_DAY,)
    assert window_words((ALL_DAY,)) == "open all day"


def test_the_gate_opens_by_weekday_and_both_ends_of_its_window_are_inside():
    calendar = site(windows=(GateWindow(0, time(7, 30), time(18, 30)),))
    monday = date(2026, 3, 9)
    assert gate_windows(calendar, monday) == ((time(7, 30), time(18, 30)),)
    open_at = {
        time(7, 29, 59): False,
        time(7, 30): True,
        time(12): True,
        time(18, 30): True,
        time(18, 30, 1): False,
    }
    for clock, is_open in open_at.items():
        assert gate_is_open(calendar, datetime.combine(monday, clock)) is is_open
    assert not gate_is_open(calendar, datetime.combine(monday + timedelta(days=1), time(12)))


USUAL = (GateWindow(0, time(7, 30), time(18, 30)),)
POUR = GatePermission(
    "invented letter 1", date(2026, 3, 9), date(2026, 3, 10), opens=time(18), closes=time(22)
)


def test_a_permission_opens_the_gate_on_every_day_on_which_it_is_valid():
    calendar = site(windows=USUAL, gate_permissions=(POUR,))
    assert gate_windows(calendar, date(2026, 3, 9)) == ((time(7, 30), time(22)),)
    assert gate_windows(calendar, date(2026, 3, 10)) == ((time(18), time(22)),)
    for day in (date(2026, 3, 8), date(2026, 3, 11)):
        assert gate_windows(calendar, day) == ()
    assert gate_is_open(calendar, datetime(2026, 3, 10, 20))  # noqa: DTZ001
    assert not gate_is_open(calendar, datetime(2026, 3, 10, 12))  # noqa: DTZ001


def test_windows_apart_stay_apart_and_are_said_in_order():
    night = replace(POUR, opens=time(20))
    windows = gate_windows(site(windows=USUAL, gate_permissions=(night,)), date(2026, 3, 9))
    assert window_words(windows) == "07:30 to 18:30 and 20:00 to 22:00"
    assert not is_within(windows, time(19))
    assert window_words(()) == "gate shut"


def test_a_permission_of_some_weekdays_holds_on_those_only():
    mondays = replace(POUR, valid_to=date(2026, 3, 31), weekdays=(0,))
    held = [day for day in days(date(2026, 3, 1), date(2026, 4, 7)) if mondays.holds_on(day)]
    assert held == [date(2026, 3, n) for n in (9, 16, 23, 30)]


def test_a_permitted_cap_stands_in_place_of_the_usual_one_while_it_is_valid():
    usual = (MovementCap("day", 120, "condition"), MovementCap("hour", 16, "condition"))
    raised = GatePermission(
        "invented letter 2", date(2026, 3, 9), date(2026, 3, 9), per="day", movements=180
    )
    no_entry = replace(raised, reference="market", per="hour", direction="in", movements=0)
    calendar = site(caps=usual, gate_permissions=(POUR, raised, no_entry))
    assert caps_on(calendar, date(2026, 3, 10)) == usual
    assert caps_on(calendar, date(2026, 3, 9)) == (
        MovementCap("day", 180, "invented letter 2"),
        usual[1],
        MovementCap("hour", 0, "market", "in"),
    )
