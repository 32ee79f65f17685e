"""Hours in which a shift, the gate or a receiver works, less stops; across clock changes.

Spans are UTC and in order, so that lengths are real: a night on which the clock goes back has an
hour more. What a stop says in local times is put on the clock of its own day.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta

from tracker.domain.calendar import days, gate_windows, shift_times, shifts_on, time_zone
from tracker.domain.site import Shift, Site, Stop

Span = tuple[datetime, datetime]  # from, to [UTC]
Spans = tuple[Span, ...]


def shift_spans(site: Site, work_date: date, shift: Shift) -> Spans:
    """When a shift works: by the calendar, less stops of the site; nothing on a day without it."""
    if shift not in shifts_on(site, work_date):
        return ()
    return at_work(site, (shift_times(shift, work_date, site.time_zone),), "site")


def gate_spans(site: Site, day: date) -> Spans:
    """When lorries may pass the gate on a local day, less stops of the gate and of the site."""
    opened = tuple(_on(site, day, opens, closes) for opens, closes in gate_windows(site, day))
    return at_work(site, at_work(site, opened, "gate"), "site")


def receiving_spans(site: Site, destination: str, day: date) -> Spans:
    """When a destination takes spoil on a local day, less its stops.

    All day where the set-up has no hours for it.
    """
    rows = [row for row in site.receiving if row.destination == destination]
    opened = joined(
        _on(site, day, row.opens, row.closes) for row in rows if day.weekday() in row.weekdays
    )
    if not rows:
        opened = (_on(site, day, time.min, time.max),)
    return at_work(site, opened, "destination", destination)


def at_work(site: Site, spans: Spans, kind: str, about: str = "") -> Spans:
    """Spans less the stops of one kind and thing, such as a belt."""
    stops = site.stops_of.get((kind, about))
    return less(spans, _stopped(site, stops, spans)) if spans and stops else spans


def shift_hours(
    site: Site, work_date: date, shift: Shift, kind: str = "site", about: str = ""
) -> float:
    """Hours of a shift in which the site works, or a zone, a belt or a hoist of it [h].

    0 on a closed day. Clock changes count: a night shift has an hour less in spring.
    """
    return hours(at_work(site, shift_spans(site, work_date, shift), kind, about))


def has_hours(site: Site, work_date: date) -> bool:
    """Whether the site works on a work date: a shift of the calendar that no stop takes whole."""
    return any(shift_spans(site, work_date, shift) for shift in shifts_on(site, work_date))


def is_stopped(stop: Stop, day: date) -> bool:
    """Whether a stop holds on a local day, or on the part of it that its hours say."""
    within = stop.first_day <= day <= stop.last_day
    return within and (not stop.weekdays or day.weekday() in stop.weekdays)


def hours(spans: Iterable[Span]) -> float:
    """How long some spans are together [h]."""
    return sum((ends - starts).total_seconds() for starts, ends in spans) / 3600.0


def joined(spans: Iterable[Span]) -> Spans:
    """The same time in spans that do not overlap."""
    found: list[Span] = []
    for starts, ends in sorted(spans):
        if found and starts <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], ends))
        else:
            found.append((starts, ends))
    return tuple(found)


def less(spans: Iterable[Span], taken: Iterable[Span]) -> Spans:
    """What is left of some spans without the time that others take."""
    left = list(spans)
    for begins, ends in taken:
        left = [
            part
            for starts, closes in left
            for part in ((starts, min(closes, begins)), (max(starts, ends), closes))
            if part[0] < part[1]
        ]
    return tuple(sorted(left))


def both(first: Iterable[Span], second: Iterable[Span]) -> Spans:
    """The time that lies in both."""
    other = tuple(second)
    pairs = ((max(a, c), min(b, d)) for a, b in first for c, d in other)
    return tuple(sorted(pair for pair in pairs if pair[0] < pair[1]))


def _stopped(site: Site, stops: Iterable[Stop], spans: Spans) -> Iterator[Span]:
    """When stops hold around some spans: from the day before, since they may pass midnight."""
    tz = time_zone(site.time_zone)
    first = spans[0][0].astimezone(tz).date() - timedelta(days=1)
    last = spans[-1][1].astimezone(tz).date()
    for stop in stops:
        if stop.last_day < first or stop.first_day > last:
            continue
        for day in days(max(first, stop.first_day), min(last, stop.last_day)):
            if is_stopped(stop, day):
                yield _on(site, day, stop.starts or time.min, stop.ends or time.max)


def _on(site: Site, day: date, starts: time, ends: time) -> Span:
    """Local times of a day as a span; past midnight where it ends at or before it starts."""
    tz = time_zone(site.time_zone)
    if ends == time.max:
        ends = time.min
    ends_on = day if ends > starts else day + timedelta(days=1)
    begins = datetime.combine(day, starts, tz).astimezone(UTC)
    return begins, datetime.combine(ends_on, ends, tz).astimezone(UTC)
