"""What the ways out can take on a work date, the limits of its shifts added up."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tracker.domain.hours import hours, shift_spans
from tracker.domain.programme import governing
from tracker.domain.programme.capacities import Capacities, Limit, least
from tracker.domain.site import Shift
from tracker.statements.capacity_shapes import LimitLine

SHOWN = (
    governing.HOIST, governing.BELT, governing.LORRIES, governing.GATE, governing.RECEIVER,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class DateLimits:
    """The limits of a work date, those of its shifts added up.

    `least` is that of all ground, where every shift has one; `of_zones` is (hoist, zone) -> most.
    """

    hours: float  # of its shifts, less stops of the site
    lines: list[LimitLine]
    least: Limit | None
    of_zones: Mapping[str, Limit]

    def least_m3(self, zones: Sequence[str]) -> tuple[float | None, bool]:
        """The least limit of some zones, their own ones added up, and if it is that of all."""
        of_all = self.least.bank_m3 if self.least else None
        if not zones or not all(zone in self.of_zones for zone in zones):
            return of_all, of_all is not None
        own = sum(self.of_zones[zone].bank_m3 for zone in zones)
        return (own, False) if of_all is None or own < of_all else (of_all, True)


def date_limits(capacities: Capacities, day: date, shifts: Sequence[Shift]) -> DateLimits:
    """The limits of some shifts of a work date."""
    by_shift = {shift.name: capacities.limits(day, shift) for shift in shifts}
    each = [least(limits) for limits in by_shift.values()]
    lowest = min((x for x in each if x), key=lambda limit: limit.bank_m3, default=None)
    if lowest is not None and None not in each:
        lowest = replace(lowest, bank_m3=sum(x.bank_m3 for x in each if x))
    else:
        lowest = None
    zones: dict[str, Limit] = {}
    groups: dict[tuple[str, str, tuple[str, ...]], dict[str, Limit]] = defaultdict(dict)
    for name, limits in by_shift.items():
        for limit in limits:
            if limit.name in SHOWN:
                groups[limit.name, limit.about, limit.zones].setdefault(name, limit)
    for (_, _, of), parts in groups.items():
        if of and len(parts) == len(by_shift):
            most_m3 = sum(part.bank_m3 for part in parts.values())
            zones[of[0]] = replace(next(iter(parts.values())), bank_m3=most_m3)
    worked_h = sum(hours(shift_spans(capacities.site, day, shift)) for shift in shifts)
    lines = [_line(day, of_shift) for of_shift in groups.values()]
    return DateLimits(worked_h, lines, lowest, zones)


def _line(day: date, parts: Mapping[str, Limit]) -> LimitLine:
    any_part = next(iter(parts.values()))
    by_how: dict[str, list[str]] = defaultdict(list)
    for name, part in parts.items():
        by_how[part.how].append(name)
    zones = f"Zone {' and '.join(any_part.zones)}: " if any_part.zones else ""
    return LimitLine(
        work_date=day,
        name=any_part.name,
        about=any_part.about,
        hours=sum(part.hours for part in parts.values()),
        bank_m3=sum(part.bank_m3 for part in parts.values()),
        how=zones + "; ".join(f"{' and '.join(names)}: {how}" for how, names in by_how.items()),
    )
