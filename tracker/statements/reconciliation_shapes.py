"""The shapes of the reconciliation: frozen answers with units in their names. No arithmetic."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from tracker.statements.basis import Basis

ALL = "all"  # of all streams


@dataclass(frozen=True, slots=True)
class BarPart:
    """One way on which ground left, or by which the heaps grew, within a bar."""

    part: str
    mass_t: float
    bank_m3: float


@dataclass(frozen=True, slots=True)
class Bar:
    """What one party says of all ground dug, in bank m³ and t, with standard uncertainties.

    `bar` is survey | returns | weighed | receipts | adjusted; `stated_in` is the unit in which it
    was stated: the other follows by the assumed density, whose uncertainty is then in it. `parts`
    make up what left; `missing` says in words what it lacks, and is empty where it is whole.
    """

    bar: str
    stream: str
    name: str
    stated_in: str
    bank_m3: float
    u_bank_m3: float
    mass_t: float
    u_mass_t: float
    missing: str
    parts: tuple[BarPart, ...]


@dataclass(frozen=True, slots=True)
class SuspectView:
    """Who fits least, in words, and how wrong it would have to be (stated minus true).

    `error` is a ratio (-), a level too low by so much (m), or an amount in `error_unit`.
    """

    source: str
    name: str
    pattern: str
    period: str
    stream: str
    error: float
    u_error: float
    error_unit: str
    stated: float
    left_out: float
    u_left_out: float
    unit: str
    chance: float
    times_stated: float
    not_told_from: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class Seen:
    """The smallest error throughout a source that would be named nine times in ten [%].

    None where no other statement checks it. `taken_for` names what it could not be told from.
    """

    source: str
    name: str
    smallest_percent: float | None
    taken_for: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PeriodLine:
    """One stream from survey to survey: what each party stated, and what all together say.

    `surveyed_m3` is the void from survey to survey; `to_count_m3` the same ground as the tickets
    have it: with what was dug between survey and count of the heaps, without what was before.
    None is a figure that is missing, or an adjusted one that could not be worked out.
    """

    period: str
    stream: str
    surveys: str
    since_at: datetime | None  # of the survey before; None: from the start
    surveyed_at: datetime
    tickets_to: datetime
    surveyed_m3: float
    dug_after_m3: float
    to_count_m3: float
    returned_m3: float | None
    belt_t: float
    lorry_t: float
    reused_t: float
    stock_m3: float | None  # loose, at the end
    accepted_t: float | None
    loads: int
    loads_not_weighed: int
    loads_without_receipt: int
    adjusted_m3: float | None
    u_adjusted_m3: float | None
    adjusted_t: float | None
    u_adjusted_t: float | None
    adjusted_t_per_m3: float | None


@dataclass(frozen=True, slots=True)
class Residual:
    """One statement beside what all of them say; `standardised` is 0 if nothing checks it."""

    source: str
    name: str
    period: str
    stream: str
    unit: str
    stated: float
    adjusted: float
    standardised: float


@dataclass(frozen=True, slots=True)
class CalibrationPoint:
    """One period of a calibration, with standard uncertainties; `value` is y over x."""

    period: str
    x: float
    u_x: float
    y: float
    u_y: float
    value: float
    u_value: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """What the records imply of density, bulking or payload, beside what the set-up assumes.

    `missing` says in words why nothing is implied; then `implied` is None. `sentence` says what the
    difference means.
    """

    quantity: str  # bank density | bulking | mean payload
    of: str  # a stream, or a kind of lorry
    name: str
    unit: str
    assumed: float
    u_assumed: float
    implied: float | None
    u_implied: float | None
    low: float | None
    high: float | None
    periods: int
    left_out: int
    agrees: bool
    missing: str
    sentence: str
    points: tuple[CalibrationPoint, ...]


@dataclass(frozen=True, slots=True)
class Proposal:
    """A row of the set-up with implied values, to copy; nothing adopts it but a person."""

    table: str  # streams.csv | vehicles.csv
    of: str
    heading: str
    row: str
    sentence: str


@dataclass(frozen=True, slots=True)
class DriftStep:
    """One period of a drift chart: belt over survey [-], and both sums after it."""

    period: str
    ratio: float
    u_ratio: float
    step: float
    upper: float
    lower: float


@dataclass(frozen=True, slots=True)
class DriftDelay:
    """How many periods a lasting change by so many percent takes, on average, to be seen."""

    percent: float
    periods: float


@dataclass(frozen=True, slots=True)
class MaterialCheck:
    """A belt weigher checked with ground that was weighed elsewhere: shown over true."""

    work_date: date
    percent: float
    entry_id: str


@dataclass(frozen=True, slots=True)
class BeltDrift:
    """Whether a belt weigher has changed against survey; `missing` says why nothing is known."""

    belt: str
    stream: str
    name: str
    missing: str
    sentence: str
    limit: float
    alarm: str  # the period of the first alarm, or empty
    reads: str  # high | low | empty
    since: str  # the period in which it most likely began
    false_alarm_periods: float
    points: tuple[DriftStep, ...]
    delays: tuple[DriftDelay, ...]
    checks: tuple[MaterialCheck, ...]


@dataclass(frozen=True, slots=True)
class MissingLine:
    """Something that the reconciliation lacks, how much of it, and where to look."""

    what: str
    period: str  # empty: over all
    stream: str
    count: int
    mass_t: float | None
    sentence: str
    kind: str  # of the records to search, or empty
    since: date | None
    until: date | None
    text: str


@dataclass(frozen=True, slots=True)
class Unmatched:
    """A load without a receipt."""

    entry_id: str
    ticket: str
    gate_date: date
    stream: str
    destination: str
    mass_t: float
    basis: str


@dataclass(frozen=True, slots=True)
class ReconciliationStatement:
    """The five figures held against each other from survey to survey, and what does not fit.

    `missing_words` says why nothing could be adjusted; then there is no chi-square.
    """

    basis: Basis
    headline: str
    verdict: str  # agree | look (beside the statistics) | disagree | unknown
    since: date | None
    until: date | None  # of the last survey
    missing_words: str
    after_words: str
    chi_square: float | None
    degrees: int | None
    probability: float | None
    probability_words: str
    suspect: SuspectView | None
    suspect_words: str
    periods_reconciled: int
    streams: tuple[tuple[str, str], ...]  # (stream, its name)
    bars: tuple[Bar, ...]
    seen: tuple[Seen, ...]
    ranking: tuple[SuspectView, ...]
    periods: tuple[PeriodLine, ...]
    residuals: tuple[Residual, ...]
    calibrations: tuple[Calibration, ...]
    proposals: tuple[Proposal, ...]
    drifts: tuple[BeltDrift, ...]
    missing: tuple[MissingLine, ...]
    unmatched: tuple[Unmatched, ...]
    unmatched_count: int
    unmatched_t: float
