"""The returns as shifts of a zone: when each was, what it dug; and when each stage was dug out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from tracker.domain.calendar import shift_times
from tracker.domain.levels import reaches, stage_volume
from tracker.domain.site import Shift, Stage
from tracker.errors import UnknownName
from tracker.ledger.base import Delay
from tracker.ledger.picked import last_dug, picked
from tracker.statements.dug import dug_quantity
from tracker.statements.frame import Frame, midnight

_COLUMNS = (
    "entry_id", "work_date", "shift", "zone", "stage", "stream", "basis", "bank_l", "count",
    "capacity_l", "mass_kg", "to_level_mm", "nil_reason", "delays",
)  # fmt: skip
_LAST_RETURNS = 60  # of a stage: a month of them; the rest is read where these are not enough


@dataclass(frozen=True, slots=True)
class Returned:
    """What a dig return says, as far as shifts and delays go."""

    entry_id: str
    stage: int
    bank_m3: float
    to_level_mm: int | None
    nil_reason: str
    delays: tuple[Delay, ...]


@dataclass(frozen=True, slots=True)
class ZoneShift:
    """One shift of one zone by its returns; `known` is False where no set-up has the shift."""

    work_date: date
    shift: str
    zone: str
    starts: datetime
    ends: datetime
    known: bool
    minutes: int  # how long it lasted, clock changes included
    returns: tuple[Returned, ...]
    dug: bool  # anything


def zone_shifts(frame: Frame) -> tuple[ZoneShift, ...]:
    """Every shift of a zone with a return to the as-of date, in the order in which they began."""
    asked: dict[str, Any] = {"until": frame.as_of, "known_at": frame.known_at}
    return _shifts_of(frame, picked(frame.ledger, "dig_returns", _COLUMNS, **asked))


def shifts_that_dug(frame: Frame, places: Iterable[tuple[str, int]]) -> tuple[ZoneShift, ...]:
    """The shifts that dug some (zone, stage), as far back as tells when each was dug out."""
    rows = [row for zone, stage in sorted(places) for row in _last_dug(frame, zone, stage)]
    return _shifts_of(frame, rows)


def _last_dug(frame: Frame, zone: str, stage: int) -> list[Any]:
    """The last returns of a stage; all of them if these do not tell when it was dug out."""

    def asked(limit: int | None) -> list[Any]:
        return last_dug(
            frame.ledger,
            _COLUMNS,
            zone,
            stage,
            until=frame.as_of,
            limit=limit,
            known_at=frame.known_at,
        )

    rows = asked(_LAST_RETURNS)
    if len(rows) == _LAST_RETURNS:
        level_mm = rows[-1][_COLUMNS.index("to_level_mm")]
        design_mm = round(frame.site.stage(zone, stage).design_level_m * 1000)
        if level_mm is None or level_mm <= design_mm:
            return asked(None)
    return rows


def _shifts_of(frame: Frame, rows: Iterable[Any]) -> tuple[ZoneShift, ...]:
    found: dict[tuple[date, str, str], list[Returned]] = defaultdict(list)
    for row in rows:
        entry_id, day, shift, zone, stage, stream, basis, bank_l, count, capacity_l, kg, *rest = row
        bank_m3 = 0.0
        if basis in ("measured", "estimated"):
            bank_m3 = bank_l / 1000.0
        elif basis:
            amount = kg if basis == "weighed" else count * capacity_l
            bank_m3 = dug_quantity(frame.site_on(day), stream, basis, amount).bank_m3
        found[day, shift, zone].append(Returned(entry_id, stage, bank_m3, *rest))
    slots = dict.fromkeys((day, shift) for day, shift, _ in found)
    times = {(day, shift): _times(frame, shift, day) for day, shift in slots}
    made = [
        ZoneShift(
            day,
            shift,
            zone,
            *times[day, shift],
            _in_order(returns),
            any(not one.nil_reason for one in returns),
        )
        for (day, shift, zone), returns in found.items()
    ]
    return tuple(sorted(made, key=lambda one: (one.starts, one.shift, one.zone)))


def _in_order(returns: Sequence[Returned]) -> tuple[Returned, ...]:
    if len(returns) > 1:
        returns = sorted(returns, key=lambda one: (one.stage, one.entry_id))
    return tuple(returns)


def _times(frame: Frame, name: str, day: date) -> tuple[datetime, datetime, bool, int]:
    """When a shift was, by the set-up of its date or another that has it; else the whole day."""
    in_force: dict[str, Shift] = {s.shift: s for s in frame.site_on(day).shifts}
    try:
        shift = in_force.get(name) or frame.shift(name)
        starts, ends = shift_times(shift, day, frame.site.time_zone)
        known = True
    except UnknownName:
        starts, ends = midnight(frame, day), midnight(frame, day + timedelta(days=1))
        known = False
    return starts, ends, known, int((ends - starts).total_seconds() // 60)


def dug_out(frame: Frame, shifts: Sequence[ZoneShift]) -> Mapping[tuple[str, int], ZoneShift]:
    """(zone, stage) -> the shift in which the stage was dug out; stages with ground left are not.

    The first shift that ends at or below the design level. Where none does: the last one that dug
    the stage, if that ended within what a level is known to, if a deeper stage was dug after it,
    or, of returns without levels, if they add up to the design volume.
    """
    by_zone: dict[str, list[ZoneShift]] = defaultdict(list)
    for shift in shifts:
        if shift.dug:
            by_zone[shift.zone].append(shift)
    found = {}
    for stage in frame.site.stages:
        last = _dug_out(frame, stage, by_zone[stage.zone])
        if last is not None:
            found[stage.zone, stage.stage] = last
    return found


def _dug_out(frame: Frame, stage: Stage, shifts: Sequence[ZoneShift]) -> ZoneShift | None:
    design_mm = round(stage.design_level_m * 1000)
    for shift in shifts:
        if any(r.to_level_mm is not None and r.to_level_mm <= design_mm for r in shift.returns):
            return shift
    mine = [s for s in shifts if any(r.stage == stage.stage and r.bank_m3 for r in s.returns)]
    deeper = [s for s in shifts if any(r.stage > stage.stage and r.bank_m3 for r in s.returns)]
    if not mine:
        return deeper[0] if deeper else None
    dug = [r for s in mine for r in s.returns if r.stage == stage.stage]
    levels = [r.to_level_mm for r in dug if r.to_level_mm is not None]
    if levels:
        done = reaches(min(levels) / 1000.0, stage.design_level_m)
    else:
        site = frame.site
        whole_m3 = stage_volume(site.zone(stage.zone), site.stages_of(stage.zone), stage.stage)
        done = sum(r.bank_m3 for r in dug) >= whole_m3
    return mine[-1] if done or deeper else None
