"""Hours that are left of a shift, of the gate and of a receiver; on both nights of the clocks."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.statements.paper import FIRST
from tracker.domain.hours import (
    both,
    gate_spans,
    hours,
    joined,
    less,
    receiving_spans,
    shift_hours,
    shift_spans,
)
from tracker.domain.site import Closure, GatePermission, GateWindow, Receiving, Shift, Site, Stop
from tracker.domain.site_tables import site_from_tables

EVERY_DAY = (0, 1, 2, 3, 4, 5, 6)
DAY = Shift("day", "Day", time(7), time(19), EVERY_DAY)
NIGHT = Shift("night", "Night", time(22), time(6), EVERY_DAY)
MONDAY = date(2026, 3, 2)
SPRING, AUTUMN = date(2026, 3, 28), date(2026, 10, 24)  # Saturdays; the clocks change in the night


def site(**changes) -> Site:
    built, _ = site_from_tables(FIRST)
    usual = {"first_date": MONDAY, "shifts": (DAY, NIGHT), "closures": (), "windows": ()}
    return replace(built, **(usual | changes))


def stop(kind: str = "site", about: str = "", **changes) -> Stop:
    usual = {"first_day": date(2026, 1, 1), "last_day": date(2026, 12, 31), "reason": "invented"}
    return Stop(kind, about, **(usual | changes))


# --- shifts --------------------------------------------------------------------------------------
@pytest.mark.parametrize(("night", "length_h"), [(MONDAY, 8.0), (SPRING, 7.0), (AUTUMN, 9.0)])
def test_a_night_shift_has_the_hours_that_the_clocks_leave_it(night, length_h):
    assert shift_hours(site(), night, NIGHT) == length_h


def test_a_closed_day_and_a_day_without_the_shift_have_no_hours():
    closed = site(closures=(Closure(MONDAY, "holiday"),))
    assert shift_hours(closed, MONDAY, DAY) == 0.0
    weekday = replace(DAY, weekdays=(0, 1, 2, 3, 4))
    assert shift_hours(site(shifts=(weekday,)), date(2026, 3, 7), weekday) == 0.0
    assert shift_hours(site(), MONDAY - timedelta(days=7), DAY) == 0.0  # before the site begins


def test_a_stop_takes_its_hours_and_no_others():
    stopped = site(stops=(stop("belt", "belt-1", weekdays=(0,), starts=time(6), ends=time(10)),))
    assert shift_hours(stopped, MONDAY, DAY, "belt", "belt-1") == 9.0
    assert shift_hours(stopped, MONDAY, DAY, "belt", "another") == 12.0
    assert shift_hours(stopped, MONDAY + timedelta(days=1), DAY, "belt", "belt-1") == 12.0
    assert shift_hours(stopped, MONDAY, DAY) == 12.0  # the site works on


def test_a_stop_of_the_site_stops_everything_in_it():
    stopped = site(stops=(stop(starts=time(7), ends=time(13)),))
    assert shift_hours(stopped, MONDAY, DAY, "zone", "A") == 6.0


def test_stops_that_overlap_take_an_hour_once():
    stops = (stop(starts=time(7), ends=time(11)), stop(starts=time(10), ends=time(13)))
    assert shift_hours(site(stops=stops), MONDAY, DAY) == 6.0


def test_a_stop_that_passes_midnight_reaches_into_the_next_day():
    over_night = stop(first_day=MONDAY, last_day=MONDAY, starts=time(23), ends=time(4))
    assert shift_hours(site(stops=(over_night,)), MONDAY, NIGHT) == 3.0
    tuesday = MONDAY + timedelta(days=1)
    early = Shift("early", "Early", time(2), time(10), EVERY_DAY)
    assert shift_hours(site(stops=(over_night,), shifts=(early,)), tuesday, early) == 6.0


def test_a_stop_of_whole_days_goes_by_the_local_clock():
    sunday = stop(first_day=date(2026, 3, 29), last_day=date(2026, 3, 29))
    left = site(stops=(sunday,))
    assert shift_hours(left, SPRING, NIGHT) == 2.0  # from 22:00 to midnight
    assert shift_hours(left, date(2026, 3, 29), DAY) == 0.0
    assert shift_hours(left, date(2026, 3, 29), NIGHT) == 6.0  # from midnight on


@pytest.mark.parametrize(("night", "stopped_h"), [(SPRING, 1.0), (AUTUMN, 3.0)])
def test_a_stop_over_the_change_of_the_clocks_takes_real_hours(night, stopped_h):
    around = stop(starts=time(0, 30), ends=time(2, 30))  # the changed hour is that from one to two
    left = shift_hours(site(stops=(around,)), night, NIGHT)
    assert shift_hours(site(), night, NIGHT) - left == stopped_h


def test_the_spans_of_a_shift_are_utc():
    (span,) = shift_spans(site(), date(2026, 7, 6), DAY)
    assert span == (datetime(2026, 7, 6, 6, tzinfo=UTC), datetime(2026, 7, 6, 18, tzinfo=UTC))


# --- the gate and the receivers ------------------------------------------------------------------
def test_the_gate_is_open_in_its_windows_and_permissions_less_stops():
    windows = (GateWindow(0, time(7), time(12)), GateWindow(0, time(13), time(18)))
    evening = GatePermission("letter", MONDAY, MONDAY, opens=time(20), closes=time(22))
    gate_shut = stop("gate", starts=time(8), ends=time(9))
    open_at = site(windows=windows, gate_permissions=(evening,), stops=(gate_shut,))
    assert hours(gate_spans(open_at, MONDAY)) == 5.0 - 1.0 + 5.0 + 2.0
    assert gate_spans(open_at, MONDAY + timedelta(days=1)) == ()


@pytest.mark.parametrize(
    ("day", "length_h"),
    [(MONDAY, 24.0), (SPRING + timedelta(days=1), 23.0), (AUTUMN + timedelta(days=1), 25.0)],
)
def test_without_windows_the_gate_is_open_for_the_whole_local_day(day, length_h):
    assert hours(gate_spans(site(), day)) == length_h


def test_a_receiver_is_open_on_its_weekdays_and_without_rows_all_day():
    rows = (Receiving("tip", (0,), time(7), time(17), 100.0, "agreement"),)
    known = site(receiving=rows, stops=(stop("destination", "tip", starts=time(16)),))
    assert hours(receiving_spans(known, "tip", MONDAY)) == 9.0
    assert receiving_spans(known, "tip", MONDAY + timedelta(days=1)) == ()
    assert hours(receiving_spans(known, "quarry", MONDAY)) == 24.0


# --- spans ---------------------------------------------------------------------------------------
MOMENTS = st.integers(0, 48).map(lambda h: datetime(2026, 3, 2, tzinfo=UTC) + timedelta(hours=h))
SPANS = st.lists(st.tuples(MOMENTS, MOMENTS).map(sorted).map(tuple), max_size=5).map(joined)


@given(SPANS, SPANS)
def test_what_is_taken_and_what_is_left_make_the_whole(spans, taken):
    assert hours(less(spans, taken)) + hours(both(spans, taken)) == pytest.approx(hours(spans))


@given(SPANS)
def test_joined_spans_do_not_overlap(spans):
    assert all(ends < starts for (_, ends), (starts, _) in pairwise(spans))
