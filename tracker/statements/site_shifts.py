"""The shifts of a site one after the other, past and ahead, each by the set-up in force on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache

from tracker.domain.calendar import days, shift_times
from tracker.domain.site import Shift, Site
from tracker.statements.frame import Frame


@dataclass(frozen=True, slots=True)
class SiteShift:
    """One shift on one date [UTC]. `closed`: on a weekday on which it works, but on a closure."""

    site: Site  # as set up on that date
    work_date: date
    shift: Shift
    starts: datetime
    ends: datetime
    weekday_off: bool  # the calendar has it on other weekdays only
    closed: bool

    @property
    def key(self) -> tuple[date, str]:
        """As a return names it."""
        return self.work_date, self.shift.shift


def site_shifts(frame: Frame, since: date, until: date) -> tuple[SiteShift, ...]:
    """All shifts between two dates in the order in which they start, closed ones included.

    Days to the as-of date go by the set-up that was in force, later ones by that of the frame until
    a later one takes force. So a frame with another site in it asks: what if, from tomorrow on.
    """
    found = [
        SiteShift(
            site,
            day,
            shift,
            *_times(shift, day, site.time_zone),
            day.weekday() not in shift.weekdays or bool(shift.since and day < shift.since),
            day in site.closed_days or day < site.first_date,
        )
        for site, start, end in _periods(frame, since, until)
        for day in days(start, end)
        for shift in site.shifts
    ]
    return tuple(sorted(found, key=lambda s: (s.starts, s.ends, s.shift.shift)))


# Converting local times costs more than all the rest, and every statement asks for the same ones.
_times = lru_cache(maxsize=20_000)(shift_times)


def _periods(frame: Frame, since: date, until: date) -> Iterator[tuple[Site, date, date]]:
    """(set-up, from, to) over a period that may reach beyond the as-of date."""
    tomorrow = frame.as_of + timedelta(days=1)
    later = [(starts, site) for starts, site in frame.set_ups if starts > frame.as_of]
    past = [(starts, site) for starts, site in frame.set_ups if starts <= frame.as_of]
    first = past[0][1] if past else frame.set_ups[0][1]
    known = [(date.min, first), *past, (tomorrow, frame.site), *later]
    known = [one for n, one in enumerate(known) if n == len(known) - 1 or known[n + 1][0] > one[0]]
    ends = [*(starts - timedelta(days=1) for starts, _ in known[1:]), date.max]
    for (starts, site), end in zip(known, ends, strict=True):
        if max(starts, since) <= min(end, until):
            yield site, max(starts, since), min(end, until)
