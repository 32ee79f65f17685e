"""What belts, lorries and crews did over some weeks: runs, loads, rounds, worked shifts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from statistics import fmean
from typing import Any

from tracker.domain.calendar import shift_minutes
from tracker.ledger.picked import picked
from tracker.ledger.questions import summed
from tracker.ledger.totals import carried_kg
from tracker.statements.belt import belt_readings
from tracker.statements.dug import dug
from tracker.statements.frame import Frame

RECORD_DAYS = 28  # common practice, no source
LONGEST_ROUND_MIN = 240  # a longer gap is a break, not a round; the same
_COLUMNS = (
    "registration", "gate_date", "gate_out_at", "gate_in_at", "vehicle", "stream", "route",
    "net_kg", "weight_basis", "reconsigned_from",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Run:
    """What a belt carried between two readings, with meter and minutes where they were read."""

    belt: str
    work_date: date
    stream: str
    mass_t: float
    energy_kwh: float | None
    running_h: float | None


@dataclass(frozen=True, slots=True)
class Load:
    """A load that left by the gate, and its weight if it was weighed."""

    registration: str
    gate_date: date
    out_at: datetime
    in_at: datetime | None
    vehicle: str
    stream: str
    route: str
    weighed_t: float | None


@dataclass(frozen=True, slots=True)
class Round:
    """From one departure of a lorry to its next on the same day [min], by the route it went.

    `away_min` is from the gate to the gate, where the next ticket says when it came in.
    """

    route: str
    vehicle: str
    round_min: float
    away_min: float | None


@dataclass(frozen=True, slots=True)
class Worked:
    """Zone -> its shifts of a period in which it was dug, with their hours, and what it gave."""

    shifts: Mapping[str, Mapping[tuple[date, str], float]]  # zone -> (work date, shift) -> [h]
    bank_m3: Mapping[str, float]

    def rate(self, zones: Iterable[str]) -> float | None:
        """What zones gave together in an hour of a shift in which one was dug [m³/h]."""
        hours: dict[tuple[date, str], float] = {}
        bank_m3 = 0.0
        for zone in zones:
            hours.update(self.shifts.get(zone, {}))
            bank_m3 += self.bank_m3.get(zone, 0.0)
        return bank_m3 / sum(hours.values()) if hours else None

    def at_once(self, zones: Iterable[str]) -> float:
        """How many of some zones were dug at a time, on average by the hours; 0 if none was."""
        each = [self.shifts.get(zone, {}) for zone in zones]
        hours: dict[tuple[date, str], float] = {}
        for of_zone in each:
            hours.update(of_zone)
        total_h = sum(sum(of_zone.values()) for of_zone in each)
        return total_h / sum(hours.values()) if hours else 0.0

    @property
    def shift_h(self) -> float | None:
        """Mean length of the shifts in which a zone was dug [h]."""
        each = [hours for of_zone in self.shifts.values() for hours in of_zone.values()]
        return fmean(each) if each else None


@dataclass(frozen=True, slots=True)
class Recent:
    """The record of a period."""

    since: date
    until: date
    runs: tuple[Run, ...]
    loads: tuple[Load, ...]
    rounds: tuple[Round, ...]
    worked: Worked


def recent(frame: Frame, since: date) -> Recent:
    """The record from a date to the as-of date."""
    loads = _loads(frame, since)
    runs, worked = _runs(frame, since), _worked(frame, since)
    return Recent(since, frame.as_of, runs, loads, _rounds(loads), worked)


def _runs(frame: Frame, since: date) -> tuple[Run, ...]:
    found = []
    for belt, readings in belt_readings(frame, since).items():
        for before, after in pairwise(readings):
            kg = carried_kg(before, after)
            if after.work_date >= since and kg:
                kwh = None if after.energy_wh is None else after.energy_wh / 1000.0
                running_h = None if after.running_min is None else after.running_min / 60.0
                found.append(Run(belt, after.work_date, after.stream, kg / 1000.0, kwh, running_h))
    return tuple(found)


def _loads(frame: Frame, since: date) -> tuple[Load, ...]:
    """All loads but those sent on, which passed the gate under their first ticket."""
    rows = picked(
        frame.ledger, "lorry_loads", _COLUMNS,
        since=since, until=frame.as_of, known_at=frame.known_at,
    )  # fmt: skip
    return tuple(
        Load(
            row.registration, row.gate_date, row.gate_out_at, row.gate_in_at,
            row.vehicle, row.stream, row.route,
            row.net_kg / 1000.0 if row.weight_basis == "weighed" else None,
        )
        for row in rows
        if not row.reconsigned_from
    )  # fmt: skip


def _rounds(loads: Iterable[Load]) -> tuple[Round, ...]:
    by_lorry: dict[tuple[str, date], list[Load]] = defaultdict(list)
    for load in loads:
        by_lorry[load.registration, load.gate_date].append(load)
    found = []
    for of_day in by_lorry.values():
        for gone, back in pairwise(sorted(of_day, key=lambda load: load.out_at)):
            round_min = (back.out_at - gone.out_at).total_seconds() / 60.0
            if 0.0 < round_min <= LONGEST_ROUND_MIN:
                found.append(Round(gone.route, gone.vehicle, round_min, _away(gone, back)))
    return tuple(found)


def _away(gone: Load, back: Load) -> float | None:
    if back.in_at is None or back.in_at <= gone.out_at:
        return None
    return (back.in_at - gone.out_at).total_seconds() / 60.0


def _worked(frame: Frame, since: date) -> Worked:
    """What each zone gave, and the hours of the shifts in which it gave something."""
    asked: dict[str, Any] = {"since": since, "until": frame.as_of, "known_at": frame.known_at}
    counted = summed(frame.ledger, ("returns", "returns_nil"), ("day", "detail", "zone"), **asked)
    shifts: dict[str, dict[tuple[date, str], float]] = defaultdict(dict)
    for (measure, day, name, zone), returns in counted.items():
        known = {shift.shift: shift for shift in frame.site_on(day).shifts}
        nil = counted.get(("returns_nil", day, name, zone), 0)
        if measure == "returns" and returns > nil and name in known:
            minutes = shift_minutes(known[name], day, frame.site.time_zone)
            shifts[zone][day, name] = minutes / 60.0
    of_zone = dug(frame, ("zone",), since=since)
    return Worked(shifts, {zone: of.bank_m3 for (zone,), of in of_zone.items()})
