"""Shifts, work dates, local days and hours, gate windows: across clock changes.

A shift belongs to the work date on which it starts. A lorry movement belongs to the local calendar
day and hour in which it passes the gate.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from tracker.domain.site import MovementCap, Shift, Site
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
    return tuple(
        shift
        for shift in site.shifts
        if day.weekday() in shift.weekdays and (shift.since is None or day >= shift.since)
    )


def days(since: date, until: date) -> Iterator[date]:
    """Every date from `since` to `until`, both included."""
    for n in range((until - since).days + 1):
        yield since + timedelta(days=n)


# --- the gate ------------------------------------------------------------------------------------
Window = tuple[time, time]  # opens, closes; a lorry may pass at both
ALL_DAY: Window = (time.min, time.max)


def gate_windows(site: Site, day: date) -> tuple[Window, ...]:
    """When lorries may pass the gate on a local day, in order; none if it stays shut.

    Those of the weekday and those permitted for the day, joined where they touch. Where no windows
    are set up the gate is open all day.
    """
    if not site.windows:
        return (ALL_DAY,)
    usual = [(w.opens, w.closes) for w in site.windows if w.weekday == day.weekday()]
    permitted = [
        (p.opens, p.closes)
        for p in site.gate_permissions
        if p.opens is not None and p.closes is not None and p.holds_on(day)
    ]
    joined: list[Window] = []
    for opens, closes in sorted(usual + permitted):
        if joined and opens <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], closes))
        else:
            joined.append((opens, closes))
    return tuple(joined)


def is_within(windows: Sequence[Window], clock: time) -> bool:
    """Whether a time of day lies in one of the windows, both of its ends included."""
    return any(opens <= clock <= closes for opens, closes in windows)


def gate_is_open(site: Site, local: datetime) -> bool:
    """Whether a lorry may pass at this local time; always, where no windows are set up."""
    return is_within(gate_windows(site, local.date()), local.time())


def window_words(windows: Sequence[Window]) -> str:
    """The windows of a day as people read them.

    >>> window_words([(time(7, 30), time(12)), (time(20), time(22))])
    '07:30 to 12:00 and 20:00 to 22:00'
    """
    if tuple(windows) == (ALL_DAY,):
        return "open all day"
    return " and ".join(f"{o:%H:%M} to {c:%H:%M}" for o, c in windows) or "gate shut"


def caps_on(site: Site, day: date) -> tuple[MovementCap, ...]:
    """The movement caps in force on a local day: a permission stands in place of the usual one."""
    caps = {(cap.per, cap.direction): cap for cap in site.caps}
    for leave in site.gate_permissions:
        if leave.movements is not None and leave.holds_on(day):
            caps[leave.per, leave.direction] = MovementCap(
                leave.per, leave.movements, leave.reference, leave.direction
            )
    return tuple(caps.values())


def day_bounds(day: date, zone: str) -> tuple[datetime, datetime]:
    """The moments at which a local day begins and ends [UTC]: 23, 24 or 25 hours apart."""
    tz = time_zone(zone)
    begins, ends = (datetime.combine(d, time(), tz) for d in (day, day + timedelta(days=1)))
    return begins.astimezone(UTC), ends.astimezone(UTC)


def open_minutes(
    windows: Sequence[Window], since: datetime, until: datetime, zone: str
) -> Counter[int]:
    """Local hour -> minutes between two moments in which the gate is open [min].

    An hour that the clock shows twice has up to 120, one that it skips has none.
    """
    tz = time_zone(zone)
    minutes: Counter[int] = Counter()
    moment = since
    while moment < until:
        # Clocks change at whole quarters of an hour, so a local hour runs on within each.
        ends = min(until, moment + timedelta(minutes=15 - moment.minute % 15))
        local = moment.astimezone(tz)
        start = local.hour * 60 + local.minute
        end = start + (ends - moment) // timedelta(minutes=1)
        for opens, closes in windows:
            shut = 24 * 60 if closes == time.max else closes.hour * 60 + closes.minute
            minutes[local.hour] += max(
                0, min(end, shut) - max(start, opens.hour * 60 + opens.minute)
            )
        moment = ends
    return minutes
