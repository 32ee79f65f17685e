"""Shifts, work dates, local days and hours, gate windows: across clock changes.

A shift belongs to the work date on which it starts. A lorry movement belongs to the local calendar
day and hour in which it passes the gate.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from tracker.domain.site import Shift, Site
from tracker.errors import InputError


@lru_cache(maxsize=32)
def time_zone(name: str) -> ZoneInfo:
    """The IANA time zone of this name. Raises InputError if there is none.

    >>> time_zone("Europe/London").key
    'Europe/London'
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise InputError(
            f"Time zone “{name}” is not an IANA name; write one such as Europe/London.",
            field="time_zone",
        ) from None


def local_stamp(naive: datetime, zone: str) -> tuple[datetime, bool]:
    """The UTC moment of a local clock reading, and whether the clock showed it twice that night.

    A reading shown twice is taken as the first. Raises InputError for one the clock skipped.

    >>> local_stamp(datetime(2026, 10, 25, 1, 30), "Europe/London")
    (datetime.datetime(2026, 10, 25, 0, 30, tzinfo=datetime.timezone.utc), True)
    """
    tz = time_zone(zone)
    first = naive.replace(tzinfo=tz, fold=0).astimezone(UTC)
    second = naive.replace(tzinfo=tz, fold=1).astimezone(UTC)
    if first > second:
        raise InputError(
            f"{naive:%Y-%m-%d %H:%M} never happened in {zone}: the clocks were put forward."
            " Correct the time or write it with its offset, such as +01:00."
        )
    return first, first != second


def local_time(moment: datetime, zone: str) -> datetime:
    """The local clock reading of a UTC moment."""
    return moment.astimezone(time_zone(zone))


def shift_times(shift: Shift, work_date: date, zone: str) -> tuple[datetime, datetime]:
    """Start and end of a shift [UTC]. One that ends at or before it starts runs past midnight."""
    tz = time_zone(zone)
    ends_on = work_date if shift.ends > shift.starts else work_date + timedelta(days=1)
    start = datetime.combine(work_date, shift.starts, tz).astimezone(UTC)
    return start, datetime.combine(ends_on, shift.ends, tz).astimezone(UTC)


def shift_minutes(shift: Shift, work_date: date, zone: str) -> int:
    """How long a shift really lasts on this date [min], clock changes included."""
    start, end = shift_times(shift, work_date, zone)
    return int((end - start).total_seconds() // 60)


def shifts_on(site: Site, day: date) -> tuple[Shift, ...]:
    """The shifts that the calendar of the site expects to start on a date."""
    if day < site.first_date or day in site.closed_days:
        return ()
    return tuple(s for s in site.shifts if day.weekday() in s.weekdays)


def days(since: date, until: date) -> Iterator[date]:
    """Every date from `since` to `until`, both included."""
    for n in range((until - since).days + 1):
        yield since + timedelta(days=n)


def gate_window(site: Site, day: date) -> tuple[time, time] | None:
    """When lorries may pass the gate on a local day; None if the gate stays shut."""
    for window in site.windows:
        if window.weekday == day.weekday():
            return window.opens, window.closes
    return None


def gate_is_open(site: Site, local: datetime) -> bool:
    """Whether a lorry may pass at this local time; always, where no windows are set up."""
    if not site.windows:
        return True
    window = gate_window(site, local.date())
    return window is not None and window[0] <= local.time() <= window[1]
