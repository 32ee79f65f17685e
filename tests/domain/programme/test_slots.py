"""The shifts ahead by the calendar of a site: a day shift to Friday, a night shift to Saturday."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest

from tests.ledger.samples import site_tables
from tracker.domain.programme.slots import SlotLimits, shift_slots
from tracker.domain.site import Closure, Shift, Site
from tracker.domain.site_tables import site_from_tables
from tracker.errors import InputError

DAY = Shift("day", "Day", time(7), time(17), (0, 1, 2, 3, 4))
NIGHT = Shift("night", "Night", time(22), time(6), (0, 1, 2, 3, 4, 5))


def site(*shifts: Shift) -> Site:
    built, _ = site_from_tables(site_tables())
    closed = (Closure(date(2026, 3, 3), "holiday"),)
    return replace(built, first_date=date(2026, 3, 2), shifts=shifts, closures=closed)


def test_each_shift_of_each_day_is_there_and_closed_where_nobody_works():
    slots = shift_slots(site(DAY), date(2026, 3, 2), date(2026, 3, 8))
    assert [slot.work_date.day for slot in slots] == [2, 3, 4, 5, 6, 7, 8]
    assert [slot.work_date.day for slot in slots if slot.closed] == [3, 7, 8]


def test_shifts_are_in_the_order_in_which_they_start_and_a_night_keeps_its_work_date():
    first, second, third, *_ = shift_slots(site(NIGHT, DAY), date(2026, 3, 4), date(2026, 3, 5))
    assert [slot.work_date.day for slot in (first, second, third)] == [4, 4, 5]
    assert second.starts == datetime(2026, 3, 4, 22, tzinfo=UTC)
    assert second.ends == datetime(2026, 3, 5, 6, tzinfo=UTC)


def test_the_night_of_the_clock_change_is_an_hour_shorter():
    (night,) = shift_slots(site(NIGHT), date(2026, 3, 28), date(2026, 3, 28))
    assert night.ends - night.starts == timedelta(hours=7)


def test_limits_are_asked_for_the_shifts_that_work():
    def belt_and_hoist(work_date: date, shift: Shift) -> SlotLimits:
        return {"belt": 100.0 * work_date.day}, {"A": {"hoist": 30.0}}

    slots = shift_slots(site(DAY), date(2026, 3, 2), date(2026, 3, 4), belt_and_hoist)
    assert [dict(slot.capacities_m3) for slot in slots] == [{"belt": 200.0}, {}, {"belt": 400.0}]
    assert [dict(slot.zone_limits) for slot in slots] == [
        {"A": {"hoist": 30.0}}, {}, {"A": {"hoist": 30.0}},
    ]  # fmt: skip


def test_dates_out_of_order_and_a_site_without_shifts_are_refused():
    with pytest.raises(InputError, match="before it begins"):
        shift_slots(site(DAY), date(2026, 3, 4), date(2026, 3, 2))
    with pytest.raises(InputError, match="no shifts"):
        shift_slots(site(), date(2026, 3, 4), date(2026, 3, 4))
