"""Heaps: what was counted where, for the end of which day, and what may still be put there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from tracker.domain.balance import Amount, stock_u
from tracker.domain.calendar import local_time, shift_times, shifts_on
from tracker.domain.ground import ground_of
from tracker.ledger.entries import StockCount
from tracker.statements.balance_shapes import HeapLine
from tracker.statements.frame import Frame

SURCHARGE_CAUTION = (
    "A heap near the wall loads it. Its limit is set by the temporary works coordinator, who"
    " governs, not this figure; where no limit is stated, none was agreed."
)


@dataclass(frozen=True, slots=True)
class Counted:
    """A count of a heap and the work date at whose end it stands."""

    day: date
    count: StockCount
    part: Amount


def counts(frame: Frame) -> list[Counted]:
    """Every count to the as-of date in the order in which they were made."""
    entries = frame.ledger.current("stock_counts", known_at=frame.known_at, until=frame.as_of)
    found = []
    for entry in sorted(entries, key=lambda e: (e.counted_at, e.location)):
        ground = ground_of(frame.site_on(entry.work_date).stream(entry.stream))
        loose_m3 = entry.loose_l / 1000.0
        error = (f"count {entry.entry_id}", loose_m3 * stock_u(entry.method))
        part = Amount(loose_m3, "loose", ground, (error,), entry.stream)
        found.append(Counted(stands_for(frame, entry), entry, part))
    return found


def stands_for(frame: Frame, count: StockCount) -> date:
    """The work date at whose end a count stands: the last whose first shift had begun by then."""
    zone = frame.site.time_zone
    day = local_time(count.counted_at, zone).date()
    starts = [shift_times(s, day, zone)[0] for s in shifts_on(frame.site_on(day), day)]
    begun = not starts or min(starts) <= count.counted_at
    return day if begun else day - timedelta(days=1)


def standing(found: Iterable[Counted], day: date) -> dict[tuple[str, str], Counted]:
    """(location, stream) -> the count that stands at the end of a day: the latest by then."""
    return {(one.count.location, one.count.stream): one for one in found if one.day <= day}


def heaps(frame: Frame, found: Iterable[Counted]) -> tuple[HeapLine, ...]:
    """What lies at each location by the counts that stand, beside its surcharge limit.

    The limit of a location is the one stated last with a count there.
    """
    found = list(found)
    limits = {
        one.count.location: one.count.surcharge_limit_l / 1000.0
        for one in found
        if one.count.surcharge_limit_l is not None
    }
    by_place: dict[str, list[Counted]] = defaultdict(list)
    for (location, _), one in standing(found, frame.as_of).items():
        by_place[location].append(one)
    return tuple(
        _heap(frame, location, limits.get(location), of)
        for location, of in sorted(by_place.items())
    )


def _heap(frame: Frame, location: str, limit_m3: float | None, of: list[Counted]) -> HeapLine:
    loose_m3 = sum(one.part.amount for one in of)
    oldest = min(one.day for one in of)
    return HeapLine(
        location=location,
        loose_m3=loose_m3,
        by_stream="; ".join(
            f"{_stream_name(frame, one)} {one.part.amount:,.1f} m³ ({one.count.method})"
            for one in of
        ),
        surcharge_limit_m3=limit_m3,
        free_m3=None if limit_m3 is None else max(0.0, limit_m3 - loose_m3),
        over_limit=limit_m3 is not None and loose_m3 > limit_m3,
        counted_on=oldest,
        days_old=(frame.as_of - oldest).days,
        entry_ids=tuple(one.count.entry_id for one in of),
    )


def _stream_name(frame: Frame, one: Counted) -> str:
    return frame.site_on(one.count.work_date).stream(one.count.stream).name
