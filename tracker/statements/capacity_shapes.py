"""The shapes of what governs: capacities shift by shift, delays, and what was measured of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tracker.statements.basis import Basis


@dataclass(frozen=True, slots=True)
class LimitLine:
    """The most that one way out can take on a work date, as ground in place [m³ bank]."""

    work_date: date
    name: str  # a word of `governing`: belt | hoist | lorries | gate | receiver
    about: str  # which belt, hoist, fleet, destination; empty for the gate
    hours: float  # available
    bank_m3: float
    how: str  # how it is reckoned, with its numbers


@dataclass(frozen=True, slots=True)
class GovernedDay:
    """What governed an excavation on one work date of the past, or is expected to ahead.

    Of the past `dug_bank_m3` is what was dug. `expected` days rest on the calendar and capacities
    alone; how digging, holds and chance come in is in the forecast.
    """

    excavation: str
    work_date: date
    expected: bool
    hours: float  # of shifts by the calendar, less stops
    dug_bank_m3: float | None
    dig_bank_m3: float  # by the recent rate of digging, zones open and hours
    governs: str
    words: str
    least_bank_m3: float | None  # the least limit; None: none is set
    sentence: str


@dataclass(frozen=True, slots=True)
class MeasuredLine:
    """Something measured on site beside its model or plan; the measured one is used."""

    what: str  # kwh_per_t | cycle_min | payload_t | belt_t_per_h
    about: str
    measured: float | None
    unit: str
    count: int  # readings, rounds, loads behind it
    low: float | None  # middle half of the readings
    high: float | None
    modelled: float | None
    model: str  # by which relation or plan
    used: str  # measured | modelled
    sentence: str


@dataclass(frozen=True, slots=True)
class CapacityStatement:
    """What governs every day of a period, and what the ways out can take."""

    basis: Basis
    since: date
    until: date
    headline: str
    days: tuple[GovernedDay, ...]
    limits: tuple[LimitLine, ...]
    measured: tuple[MeasuredLine, ...]


# --- delays --------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class DelayLine:
    """What one coded cause took: minutes, and the bank volume not dug in them."""

    cause: str
    name: str
    owner: str
    shifts: int  # of a zone
    minutes: int
    lost_bank_m3: float
    share: float  # of all lost volume [-]
    cumulative_share: float
    governing: bool


@dataclass(frozen=True, slots=True)
class DelayOwnerLine:
    """What the causes of one owner took."""

    owner: str
    minutes: int
    lost_bank_m3: float
    share: float


@dataclass(frozen=True, slots=True)
class GovernedShare:
    """How many shifts of a zone were governed by one thing: the hold, a cause, the digging."""

    zone: str  # empty: all zones
    cause: str
    words: str
    shifts: int
    share: float


@dataclass(frozen=True, slots=True)
class DelayRow:
    """One return with delays, for those who ask what is behind a bar."""

    entry_id: str
    work_date: date
    shift: str
    zone: str
    stage: int
    cause: str
    minutes: int
    shift_minutes: int
    rate_bank_m3_per_h: float
    lost_bank_m3: float
    rate_of: str  # zone and stage | zone | all zones | none: what the rate is taken from


@dataclass(frozen=True, slots=True)
class DelayStatement:
    """Lost ground by coded cause, who owns it, and what governed the shifts."""

    basis: Basis
    since: date
    until: date
    headline: str
    lines: tuple[DelayLine, ...]
    owners: tuple[DelayOwnerLine, ...]
    governed: tuple[GovernedShare, ...]
    rows: tuple[DelayRow, ...]


# --- holds ---------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class HoldLine:
    """One hold point: what must be in place, what was decided, how long it took."""

    excavation: str
    zone: str
    hold: str  # number of the stage that may be dug once it is released, or formation
    above: str  # the support that follows the stage above; empty above the first stage
    condition: str  # of the set-up
    status: str  # released | partly accepted | suspended | not released
    standing: str  # the status as people read it, with the areas of formation partly accepted
    decided_on: date | None  # on the calendar of the site
    decided_at: str  # local moment; empty: not decided
    permit: str
    given_condition: str  # on which it was released
    decided_by: str
    dug_out_on: date | None  # of the stage above: from then on the hold runs
    planned_days: int
    days: float | None  # taken, or run so far
    running: bool
    late_days: float  # over the plan; 0 or more
    sentence: str


@dataclass(frozen=True, slots=True)
class FormationTimer:
    """Formation of a zone: reached, inspected, blinded; and how long it has lain open."""

    excavation: str
    zone: str
    name: str
    formation_m2: float
    reached_at: str  # local moment, the first; empty: not reached
    level_at: str  # from when its level stood there; empty: it does not
    trimmed_at: str  # when the last part was reached, by the record
    inspected_m2: float
    inspected_at: str
    blinded_m2: float
    blinded_at: str
    exposed_m2: float
    exposed_h: float | None  # of the ground that lies open longest
    limit_h: float | None
    blind_by: str  # local moment at which that ground reaches the limit
    over: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class HoldStatement:
    """Hold points and formation, zone by zone."""

    basis: Basis
    headline: str
    holds: tuple[HoldLine, ...]
    formation: tuple[FormationTimer, ...]
