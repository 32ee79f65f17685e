"""What the belts and the lorries did over some weeks: runs between readings, loads, rounds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise

from tracker.ledger.picked import picked
from tracker.ledger.totals import carried_kg
from tracker.statements.belt import belt_readings
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
class Recent:
    """The record of a period."""

    since: date
    until: date
    runs: tuple[Run, ...]
    loads: tuple[Load, ...]
    rounds: tuple[Round, ...]


def recent(frame: Frame, since: date) -> Recent:
    """The record from a date to the as-of date."""
    loads = _loads(frame, since)
    return Recent(since, frame.as_of, _runs(frame, since), loads, _rounds(loads))


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
