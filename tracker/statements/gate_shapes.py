"""The shapes of the gate statement: frozen answers with units in their names. No arithmetic."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tracker.statements.basis import Basis


@dataclass(frozen=True, slots=True)
class HourLine:
    """Movements through the gate in one local hour of the day: lorries with spoil, all others."""

    hour: int
    movements_in: int
    movements_out: int
    other_in: int = 0
    other_out: int = 0


@dataclass(frozen=True, slots=True)
class GateOpening:
    """A window of the day, in hours of the local clock: 7.5 is 07:30."""

    opens_h: float
    closes_h: float


@dataclass(frozen=True, slots=True)
class GateHourLine:
    """Movements through the gate in one hour of the local clock."""

    hour: int
    stage: str  # over | running | ahead
    spoil_in: int
    spoil_out: int
    other_in: int
    other_out: int
    booked_in: int  # whether they came or not
    booked_out: int
    awaited: int  # of the booked ones, still to come
    movements: int  # spoil and other, both ways
    open_min: int  # how long the gate is open in this hour
    left: int | None  # under the caps of an hour, after what is awaited; None where there are none
    over_cap: bool  # more passed than a cap of an hour allows


@dataclass(frozen=True, slots=True)
class GateCapLine:
    """One cap on movements: used, booked, left, and what the day may come to at today's rate."""

    per: str  # day | hour
    direction: str  # both | in | out
    hour: int | None  # that the figures of an hour's cap are about; None while no hour is used
    cap: int
    reference: str
    used: int
    spoil: int  # of the used
    other: int  # of the used
    booked: int  # still to come
    left: int  # negative: more than the cap
    forecast: float | None  # None: too early, or the gate is closed for the day
    forecast_low: float | None
    forecast_high: float | None
    passes_in_hour: int | None  # in which the forecast passes the cap
    sentence: str


@dataclass(frozen=True, slots=True)
class GatePass:
    """A load or other traffic behind a breach; times are of the local clock."""

    about: str  # of the breach
    entry_id: str
    kind: str  # lorry_loads | gate_traffic
    what: str
    came: str
    left: str
    movements: int  # that it adds to what the breach counts


@dataclass(frozen=True, slots=True)
class GateBreach:
    """A cap that was passed, or a passage outside the gate window, with what stands behind it."""

    rule: str
    about: str
    day: date
    hour: int | None
    direction: str
    movements: int
    cap: int | None
    reference: str
    closed: bool  # with a reason
    sentence: str
    passes: tuple[GatePass, ...]


@dataclass(frozen=True, slots=True)
class DayAhead:
    """A day to come with traffic booked for it; loads are of spoil, 2 movements each."""

    day: date
    window: str
    booked: int
    booked_for: str  # purposes with their movements
    cap_day: int | None
    loads_left: int | None  # None: no caps
    loads_usual: int | None  # with nothing booked
    sentence: str
    warnings: tuple[str, ...]  # on what is booked


@dataclass(frozen=True, slots=True)
class GateStatement:
    """The gate on one day: what passed, what may still pass, and what went beyond in a period."""

    basis: Basis
    headline: str
    since: date
    at: str  # local time of the day at which it stands, or “end of the day”
    gate_window: str
    windows: tuple[GateOpening, ...]
    permissions: tuple[str, ...]  # references of those that hold on this day
    hours: tuple[GateHourLine, ...]
    caps: tuple[GateCapLine, ...]
    loads_left: int | None
    forecast: str
    warnings: tuple[str, ...]  # on what is booked for this day
    breaches: tuple[GateBreach, ...]
    ahead: tuple[DayAhead, ...]
