"""The shapes of the forecast, of the plan it is held against, and of the comparison of options."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from tracker.statements.basis import Basis


# --- the plan ------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class PlanVersion:
    """A frozen plan, or the dates of the set-up where none is frozen. One of them is current."""

    plan: str
    frozen_on: date
    reference: str
    current: bool
    excavation: str
    starts: date
    finishes: date  # last planned day of digging
    missing: str  # what the plan says nothing of, as a sentence; empty: complete
    recorded_on: date | None = None  # where more than a day from `frozen_on`


@dataclass(frozen=True, slots=True)
class PlanPoint:
    """Cumulative planned volume of an excavation at the end of a day [m³ bank]."""

    plan: str
    excavation: str
    day: date
    planned_bank_m3: float


@dataclass(frozen=True, slots=True)
class EarnedLine:
    """Where a zone, or an excavation where `zone` is empty, stands in the time of a plan."""

    plan: str
    current: bool
    excavation: str
    zone: str
    name: str
    day: date  # as of; or the day on which all of it was dug
    earned_bank_m3: float
    planned_bank_m3: float
    design_bank_m3: float
    earned_days: float  # ES [working days]
    actual_days: int  # AT
    ahead_days: float  # ES - AT, negative: behind
    spi_t: float | None  # ES / AT
    sentence: str
    # since the plan was frozen, where that was after its start and not all was dug by then
    since_frozen_earned_days: float | None = None
    since_frozen_actual_days: int | None = None


# --- the forecast --------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class DateLine:
    """When a stage, a zone's formation (`stage` None) or an excavation's (`zone` "") is reached.

    A date is None where it comes after the calendar that was walked. Reached ones are left out.
    """

    excavation: str
    zone: str
    name: str
    stage: int | None
    design_level_m: float | None
    remaining_bank_m3: float
    planned_finish: date | None  # by the current plan
    target: date | None  # of an excavation
    p20: date | None
    p50: date | None
    p80: date | None
    chance_of_plan: float | None  # of reaching it by `planned_finish`
    chance_of_target: float | None
    governs: str  # what governs most of the shifts to it: a word of `governing.WORDS`
    sentence: str
    p80_as_held: date | None = None  # P80 moved by what earlier ones were out, where that was asked


@dataclass(frozen=True, slots=True)
class AssumedLine:
    """A hold that the forecast takes as released: nobody has released it yet."""

    excavation: str
    zone: str
    stage: int
    support: str  # that must be in place
    condition: str  # of the set-up, or empty
    needed_p20: date | None
    needed_p50: date | None
    needed_p80: date | None
    overdue: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class FanPoint:
    """Cumulative dug volume of an excavation at the end of a day ahead [m³ bank].

    `low` is dug by four walks in five, `high` by one in five.
    """

    excavation: str
    day: date
    low_bank_m3: float
    middle_bank_m3: float
    high_bank_m3: float


@dataclass(frozen=True, slots=True)
class GovernsLine:
    """What governs, of the shifts ahead in which ground is left: one line a cause."""

    excavation: str
    zone: str  # empty: all zones of the excavation
    cause: str
    words: str
    share: float  # of these shifts [-]


@dataclass(frozen=True, slots=True)
class RateLine:
    """What a group of stages is forecast with."""

    group: str
    shifts: int
    bank_m3_per_shift: float
    borrowed: bool  # too few shifts of its own: those of all are taken


@dataclass(frozen=True, slots=True)
class NeededLine:
    """The output of a zone and shift that meets a target at four chances in five, if any does."""

    excavation: str
    target: date
    ratio: float | None
    bank_m3_per_shift: float | None
    sentence: str


@dataclass(frozen=True, slots=True)
class BacktestLine:
    """What an earlier forecast said of a stage, or of the formation of an excavation; what came."""

    made_on: date
    excavation: str  # where it is about its formation; else empty
    zone: str
    stage: int | None
    p20: date | None
    p80: date | None
    reached_on: date | None  # None: not yet
    held: bool  # by its P80


@dataclass(frozen=True, slots=True)
class Backtest:
    """How often the P80 dates of earlier forecasts held on this site's own past."""

    lines: tuple[BacktestLine, ...]
    held: int
    checked: int
    stretch: float | None  # times as far off, for four in five to hold; None: not known, or too few
    sentence: str


@dataclass(frozen=True, slots=True)
class ForecastStatement:
    """When formation will be reached and what governs; or why the records do not support it.

    Where `refused` says why, there are no dates; the plan and the earned schedule still stand.
    """

    basis: Basis
    headline: str
    refused: str
    plans: tuple[PlanVersion, ...]
    planned: tuple[PlanPoint, ...]
    earned: tuple[EarnedLine, ...]
    dates: tuple[DateLine, ...]
    releases: tuple[AssumedLine, ...]
    fan: tuple[FanPoint, ...]
    governs: tuple[GovernsLine, ...]
    rates: tuple[RateLine, ...]
    needed: tuple[NeededLine, ...]
    left_out: tuple[str, ...]  # causes whose shifts are left out of the record by choice
    walks: int
    earlier: tuple[BacktestLine, ...] = ()  # how earlier forecasts held, where that was asked
    earlier_sentence: str = ""
    earlier_stretch: float | None = None  # times as far off, for four in five to have held


# --- what if -------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class OptionFormation:
    """Formation of an excavation under an option."""

    excavation: str
    name: str
    target: date | None
    p20: date | None
    p50: date | None
    p80: date | None
    days_to_p80: int | None  # calendar days from the as-of date
    chance_of_target: float | None


@dataclass(frozen=True, slots=True)
class OptionResult:
    """What one option comes to, of the ground still to be dug."""

    name: str
    changes: tuple[str, ...]  # sentences; none: as set up
    formation: tuple[OptionFormation, ...]
    bank_m3: float
    mass_t: float | None  # None, here and below: the records do not tell; `assumed` says why
    belt_t: float | None
    lorry_t: float | None  # by lorry from the site; lorries further on move no gate
    loads: float | None
    movements: float | None
    carbon_kgco2e: float | None
    energy_kwh: float | None  # electricity of belts
    governs: tuple[GovernsLine, ...]
    limits: tuple[tuple[str, float, str], ...]  # name, most in a usual weekday [m³ bank], how
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WhatIfStatement:
    """Two options side by side over the same ground, the same record and the same chance."""

    basis: Basis
    headline: str
    options: tuple[OptionResult, ...]  # A, B
    differences: tuple[str, ...]
    link: str  # the query that opens this comparison again
    formulae: tuple[tuple[str, str], ...]  # name, formula in words and units with its source
    made_at: datetime
