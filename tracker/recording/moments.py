"""Moments as people write them: with an offset, or by the clock of the site."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import NamedTuple

from tracker.domain.calendar import local_stamp, local_time, time_zone
from tracker.errors import InputError

_REFUSAL = "Write date and time as 2026-11-05 07:30, or with an offset as 2026-11-05T07:30+00:00."


class Moment(NamedTuple):
    """One moment: in UTC, by the clock of the site, and whether that clock showed it twice."""

    utc: datetime
    local: datetime  # without a zone
    twice: bool = False


class LocalClock:
    """The clock of a site. Keeps the offset of each day, since almost every day has only one."""

    def __init__(self, zone: str) -> None:
        self.zone = zone
        self._tz = time_zone(zone)
        self._offsets: dict[date, timedelta | None] = {}

    def moment(self, value: object) -> Moment:
        """The moment a text or a workbook cell states.

        Raises InputError if it is not year-month-day and hour:minute, or if the clock skipped it.
        """
        if isinstance(value, datetime):
            stamp = value
            if stamp.tzinfo is None:
                # A workbook keeps fractions of a day: 07:30 comes as 07:29:59.999999.
                stamp = (stamp + timedelta(milliseconds=500)).replace(microsecond=0)
        else:
            stamp = _stamp(value)
        if stamp.tzinfo is not None:
            utc = stamp.astimezone(UTC)
            return Moment(utc, self.local(utc))
        offset = self._offset(stamp.date())
        if offset is not None:
            return Moment((stamp - offset).replace(tzinfo=UTC), stamp)
        utc, twice = local_stamp(stamp, self.zone)
        return Moment(utc, stamp, twice)

    def local(self, utc: datetime) -> datetime:
        """What the clock of the site showed at a UTC moment."""
        offset = self._offset(utc.date())
        if offset is not None:
            local = utc.replace(tzinfo=None) + offset
            if local.date() == utc.date() or self._offset(local.date()) == offset:
                return local
        return local_time(utc, self.zone).replace(tzinfo=None)

    def _offset(self, day: date) -> timedelta | None:
        """What is added to UTC all through a local day; None on a day when the clock changes."""
        if day not in self._offsets:
            midnight = datetime(day.year, day.month, day.day, tzinfo=self._tz)
            first, last = midnight.utcoffset(), (midnight + timedelta(days=1)).utcoffset()
            self._offsets[day] = first if first == last else None
        return self._offsets[day]


def _stamp(value: object) -> datetime:
    text = str(value).strip()
    if isinstance(value, date) or len(text) == 10:
        raise InputError(f"“{text}” has no time of day. {_REFUSAL}")
    # fromisoformat also takes week dates and dates without hyphens, which nobody means here.
    if len(text) < 16 or text[4] != "-" or text[7] != "-" or text[10] not in "T ":
        raise InputError(f"“{text}” is not a date and time. {_REFUSAL}")
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise InputError(f"“{text}” is not a date and time. {_REFUSAL}") from None
