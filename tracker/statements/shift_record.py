"""The worked shifts of the record: what each zone gave in each shift in which it could be dug.

A zone could be dug in a shift if its stage was released with ground left and its turn had come: no
more zones take part than can be dug at once. So a shift in which nobody dug counts with 0 where a
zone was free to be dug, and a zone that stood by while the crews dug elsewhere does not count. How
many crews there were is read from the record.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from tracker.domain.programme.governing import CALENDAR, DIG
from tracker.domain.programme.shapes import SlotLimits, WorkedShift
from tracker.statements.site_shifts import SiteShift
from tracker.statements.stage_record import Returned, SiteRecord

AT_LIMIT = 0.95  # of a limit: so much counts as all of it; common practice, no source
RECENT_WEEKS = 4  # that say how many zones are dug at once; common practice, no source
MOST_OF_SHIFT = 0.5  # a cause that took so much of a shift codes it; common practice, no source


ShiftKey = tuple[date, str]


@dataclass(frozen=True, slots=True)
class ShiftRecord:
    """Worked shifts of a period, and how many zones the crews dug at a time in its last weeks."""

    shifts: tuple[WorkedShift, ...]
    crews: int
    standing: int  # zone-shifts left out: they waited for a hold or for their turn


@dataclass(frozen=True, slots=True)
class _ZoneShift:
    """What the returns of one zone say of one shift."""

    zone: str
    stage: int
    net_m3: float
    minutes: Mapping[str, int]  # by coded cause
    dug_out: bool  # a stage was dug out in it, and the next one not begun

    @property
    def waits(self) -> bool:
        return self.net_m3 <= 0.0 and not self.minutes


def shift_record(
    record: SiteRecord,
    shifts: Sequence[SiteShift],
    since: date,
    zones_at_once: int | None,
    limits: Callable[[SiteShift], SlotLimits],
) -> ShiftRecord:
    """The worked shifts from a date on.

    `shifts` are those of the calendar that have begun; a worked shift carries its place in them.
    `zones_at_once` is the most zones that the crews can dig in a shift, where it is set up.
    A shift that gave 95 % or more of a limit is marked as limited: more might have been dug.
    """
    place = {shift.key: number for number, shift in enumerate(shifts)}
    by_shift = {k: v for k, v in _by_shift(record, since).items() if k in place}
    free = {key: _free(record, shifts[place[key]], zones) for key, zones in by_shift.items()}
    dug = {key: (sum(z.net_m3 > 0.0 for z in of), len(of)) for key, of in free.items()}
    weeks = {week_of(day) for day, _ in by_shift}
    crews = {week: crews_of(dug, week) for week in {*weeks, week_of(record.frame.as_of)}}
    worked: list[WorkedShift] = []
    stood = 0
    for key, zones in free.items():
        number = place[key]
        turns = min(crews[week_of(key[0])], zones_at_once or len(zones))
        taken = list(_taking_part(record, zones, turns))
        full = _at_a_limit(taken, limits(shifts[number]))
        worked += [_worked(one, number, shifts[number], one.zone in full) for one in taken]
        stood += len(by_shift[key]) - len(taken)
    return ShiftRecord(tuple(worked), crews[week_of(record.frame.as_of)], stood)


def crews_of(dug: Mapping[ShiftKey, tuple[int, int]], week: int) -> int:
    """How many zones the crews could dig at a time in a week and the three before it.

    `dug` is shift -> how many zones dug in it, and how many could.

    The mean of the shifts that left a zone to stand by, rounded up: a shift in which they dug fewer
    counts as lost for the rest, so that what they gave in all is kept. Where no shift left a zone
    to stand by, the most that dug in one of them; at least one.
    """
    recent = [
        counts for (day, _), counts in dug.items() if week - RECENT_WEEKS < week_of(day) <= week
    ]
    short = [dug for dug, could in recent if 0 < dug < could]
    if short:
        return math.ceil(sum(short) / len(short) - 1e-9)
    return max([1, *(dug for dug, _ in recent)])


def week_of(day: date) -> int:
    """The number of a week from Monday to Sunday."""
    return (day.toordinal() - 1) // 7


def _by_shift(record: SiteRecord, since: date) -> dict[tuple[date, str], list[_ZoneShift]]:
    """(work date, shift) -> what each zone gave, several returns of a zone added up."""
    rows: dict[tuple[date, str], dict[str, list[Returned]]] = defaultdict(lambda: defaultdict(list))
    for one in record.returns:
        if one.entry.work_date >= since:
            rows[one.entry.work_date, one.entry.shift][one.entry.zone].append(one)
    return {
        key: [_zone_shift(record, zone, mine) for zone, mine in zones.items()]
        for key, zones in rows.items()
    }


def _zone_shift(record: SiteRecord, zone: str, mine: Sequence[Returned]) -> _ZoneShift:
    """The returns of a zone and shift as one; its stage is the one that gave most."""
    by_stage: dict[int, float] = defaultdict(float)
    minutes: dict[str, int] = defaultdict(int)
    for one in mine:
        by_stage[one.entry.stage] += one.net_m3
        for delay in one.entry.delays:
            minutes[delay.cause] += delay.minutes
    finished = {s.stage for s in record.stages[zone] if s.dug_out_at == mine[0].ended_at}
    deepest = max(by_stage)
    return _ZoneShift(
        zone,
        max(by_stage, key=by_stage.__getitem__),
        sum(by_stage.values()),
        minutes,
        deepest in finished and by_stage[deepest] > 0.0,
    )


def _free(record: SiteRecord, shift: SiteShift, zones: Iterable[_ZoneShift]) -> list[_ZoneShift]:
    """The zones that could be dug in a shift. One that dug without a release is among them: it says
    how fast digging goes.
    """
    return [z for z in zones if z.net_m3 > 0.0 or record.digging_at(z.zone, shift.starts)]


def _taking_part(
    record: SiteRecord, free: Iterable[_ZoneShift], turns: int
) -> Iterator[_ZoneShift]:
    """The zones that count: those that dug, then those that lost the shift, then those standing by
    in the order of the plan, as long as there are crews for them.
    """
    digging = [z for z in free if z.net_m3 > 0.0]
    still = [z for z in free if z.net_m3 <= 0.0]
    still.sort(key=lambda z: (z.waits, record.planned_start(z.zone, z.stage)))
    yield from digging
    yield from still[: max(turns - len(digging), 0)]


def _at_a_limit(taken: Sequence[_ZoneShift], limits: SlotLimits) -> set[str]:
    """The zones that dug as much as a limit of theirs, or of all zones, lets them."""
    of_all, of_zone = limits
    dug = {z.zone: z.net_m3 for z in taken if z.net_m3 > 0.0}
    if sum(dug.values()) >= AT_LIMIT * _least_m3(of_all):
        return set(dug)
    return {z for z in dug if dug[z] >= AT_LIMIT * _least_m3(of_zone.get(z, {}))}


def _least_m3(limits: Mapping[str, float]) -> float:
    """The least limit, apart from the usual rate and from a calendar that people did not keep."""
    found = [m3 for name, m3 in limits.items() if name not in (DIG, CALENDAR) and m3 > 0.0]
    return min(found, default=math.inf)


def _worked(one: _ZoneShift, number: int, shift: SiteShift, full: bool) -> WorkedShift:
    length_min = (shift.ends - shift.starts).total_seconds() / 60.0
    cause = max(one.minutes, key=one.minutes.__getitem__, default="")
    coded = bool(cause) and one.minutes[cause] >= MOST_OF_SHIFT * length_min
    return WorkedShift(
        one.zone,
        one.stage,
        max(one.net_m3, 0.0),
        number,
        shift.work_date,
        limited=one.dug_out or full,
        one_off=cause if coded else "",
    )
