"""The shifts of a site one after the other: nights, clock changes, weekends, closures, set-ups."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from tests.statements import paper
from tests.statements.steady_pit import october
from tracker.domain.site import Shift
from tracker.statements.frame import framed
from tracker.statements.site_shifts import site_shifts

ALL_WEEK = (0, 1, 2, 3, 4, 5, 6)


def with_shifts(book, *shifts: Shift):
    frame = framed(book, october(23))
    return replace(frame, site=replace(frame.site, shifts=shifts))


def test_shifts_come_in_the_order_they_start_and_a_night_keeps_its_work_date(own):
    found = site_shifts(framed(own, october(23)), october(22), october(23))
    assert [shift.key for shift in found] == [
        (october(22), "day"), (october(22), "night"), (october(23), "day"), (october(23), "night"),
    ]  # fmt: skip
    assert found[1].ends == datetime(2026, 10, 23, 5, tzinfo=UTC)  # 06:00 in summer


def test_the_night_of_the_clock_change_is_an_hour_longer(own):
    frame = with_shifts(own, Shift("night", "Night", time(22), time(6), ALL_WEEK))
    (night,) = site_shifts(frame, october(24), october(24))
    assert night.ends - night.starts == timedelta(hours=9)


def test_a_weekend_is_off_and_a_holiday_is_closed(own):
    found = site_shifts(framed(own, october(23)), october(25), october(30))
    days = [s for s in found if s.shift.shift == "day"]
    assert [s.work_date for s in days if s.weekday_off] == [october(25)]
    assert [s.work_date for s in days if s.closed] == [october(30)]


def test_another_site_in_the_frame_holds_from_tomorrow_until_a_later_set_up(own):
    paper.adopt(own, paper.second_setup(), "second", paper.SECOND_FROM)  # no night any more
    frame = with_shifts(own, Shift("late", "Late", time(12), time(20), ALL_WEEK))
    found = site_shifts(frame, october(22), october(30))
    names: dict[date, list[str]] = {}
    for shift in found:
        names.setdefault(shift.work_date, []).append(shift.shift.shift)
    assert names[october(23)] == ["day", "night"]
    assert names[october(24)] == names[october(28)] == ["late"]
    assert names[october(29)] == ["day"]
