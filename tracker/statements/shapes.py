"""The shapes of the statements: frozen answers with units in their names. No arithmetic here."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from tracker.domain.rules import BREACH_RULE, CLOSED_BY, SERIOUS
from tracker.statements.basis import Basis
from tracker.statements.capacity_shapes import FormationTimer
from tracker.statements.gate_shapes import HourLine


# --- day -----------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class OpenException:
    """A rule that the records break, still open. `about` is the entry that raised it.

    Where no single entry did, `kind` is empty and `look_for` finds the records behind it. The
    severity and who closes it follow from the rule.
    """

    rule: str
    about: str
    kind: str
    work_date: date  # open since
    zone: str
    sentence: str
    look_for: str = ""
    severity: str = field(init=False)  # breach | serious | warning
    closes: str = field(init=False)

    def __post_init__(self) -> None:
        severity = "serious" if self.rule in SERIOUS else "warning"
        object.__setattr__(self, "severity", "breach" if self.rule == BREACH_RULE else severity)
        object.__setattr__(self, "closes", CLOSED_BY[self.rule])


@dataclass(frozen=True, slots=True)
class ShiftLine:
    """One shift in one zone: received, nil, missing, or due (not over yet)."""

    work_date: date
    shift: str
    zone: str
    state: str
    bank_m3: float
    detail: str


@dataclass(frozen=True, slots=True)
class ZoneLevel:
    """Where one zone stands against its permitted level [m above site datum]."""

    excavation: str
    zone: str
    name: str
    ground_level_m: float
    lowest_level_m: float | None
    lowest_on: date | None
    permitted_level_m: float
    formation_level_m: float
    stage: int | None  # deepest released
    in_breach: bool
    waits_for: str  # sentence on the next hold point, or empty


@dataclass(frozen=True, slots=True)
class DayStatement:
    """What needs somebody now."""

    basis: Basis
    headline: str
    breaches: tuple[OpenException, ...]
    exceptions: tuple[OpenException, ...]
    formation: tuple[FormationTimer, ...]  # that lies open, from half of its limit on
    shifts: tuple[ShiftLine, ...]
    zones: tuple[ZoneLevel, ...]
    bank_m3: float
    mass_t: float
    belt_t: float
    lorry_t: float
    loads: int
    movements: int  # of lorries with spoil
    other_movements: int  # all other traffic; the caps count both
    booked_movements: int  # booked for this day and still to come
    cap_day: int | None  # both ways
    cap_hour: int | None
    hours: tuple[HourLine, ...]
    gate_window: str


# --- progress ------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class StageProgress:
    """One dig stage of one zone."""

    excavation: str
    zone: str
    stage: int
    top_level_m: float
    design_level_m: float
    support: str
    hold_days: int
    status: str  # released | suspended | not released
    decided_on: date | None
    reached: bool
    reached_on: date | None
    support_released: bool  # what follows this stage is in and released (the next hold)
    planned_start: date
    planned_finish: date
    design_bank_m3: float
    dug_bank_m3: float


@dataclass(frozen=True, slots=True)
class GroundLine:
    """Which stream lies between two levels of a zone [m above site datum]."""

    upper_level_m: float
    lower_level_m: float
    stream: str


@dataclass(frozen=True, slots=True)
class ProfilePoint:
    """Surveyed levels across a zone at one place along the excavation [m above site datum]."""

    along_m: float
    mean_level_m: float
    low_level_m: float
    high_level_m: float


@dataclass(frozen=True, slots=True)
class ZoneProgress:
    """One zone against its design dig levels."""

    excavation: str
    zone: str
    name: str
    along_from_m: float  # extent along the excavation's long axis
    along_to_m: float
    area_m2: float
    ground_level_m: float
    formation_level_m: float
    permitted_level_m: float
    general_level_m: float  # where the dug surface stands in general
    general_basis: str  # reported | surveyed | from volume
    lowest_level_m: float | None
    lowest_on: date | None
    in_breach: bool
    design_bank_m3: float
    dug_net_m3: float
    u_dug_m3: float
    overdig_m3: float
    survey: str  # that the volume rests on to its date; empty where there is none
    surveyed_on: date | None
    since_survey_m3: float | None  # of the volume, what was returned after the survey
    profile: tuple[ProfilePoint, ...]  # of that survey
    accepted_m2: float
    ground: tuple[GroundLine, ...]
    stages: tuple[StageProgress, ...]
    waits_for: str


@dataclass(frozen=True, slots=True)
class ExcavationProgress:
    """The three progress figures of an excavation: never one."""

    excavation: str
    name: str
    kind: str
    target_formation: date | None
    design_bank_m3: float
    dug_net_m3: float
    u_dug_m3: float
    overdig_m3: float
    stages_total: int
    stages_released: int
    stages_reached: int
    formation_m2: float
    accepted_m2: float
    headline: str


@dataclass(frozen=True, slots=True)
class BandLine:
    """One level band of one zone: design against dug [m³ bank]."""

    excavation: str
    zone: str
    upper_level_m: float
    lower_level_m: float
    design_bank_m3: float
    dug_bank_m3: float


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """Planned and dug bank volume to the end of a date; dug is None after the as-of date."""

    excavation: str
    day: date
    planned_bank_m3: float
    dug_bank_m3: float | None
    survey: str = ""  # made on this day: from here on the dug volume rests on it
    u_dug_m3: float | None = None  # of the survey


@dataclass(frozen=True, slots=True)
class ProgressStatement:
    """Where each zone stands against its design dig levels."""

    basis: Basis
    headline: str
    excavations: tuple[ExcavationProgress, ...]
    zones: tuple[ZoneProgress, ...]
    bands: tuple[BandLine, ...]
    curve: tuple[CurvePoint, ...]
    stream_names: tuple[tuple[str, str], ...]  # (stream, name) from the top down


# --- movements -----------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class BaselineView:
    """The frozen lorry-only case."""

    baseline: str
    frozen_on: date
    vehicle: str
    payload_low_t: float
    payload_t: float
    payload_high_t: float
    distance_km: float
    destination: str
    empty_return: bool
    reference: str


@dataclass(frozen=True, slots=True)
class PeriodLine:
    """Loads and movements of one period, made and avoided. 1 load = 2 movements.

    `avoided` = frozen baseline minus actual at the site gate; low and high from the payload range.
    """

    label: str
    starts: date
    ends: date
    spoil_t: float  # belt + lorry
    belt_t: float
    lorry_t: float
    weighed_lorry_t: float
    loads: int
    movements: int
    baseline_loads: float
    baseline_movements: float
    avoided_loads: float
    avoided_movements: float
    avoided_movements_low: float
    avoided_movements_high: float


@dataclass(frozen=True, slots=True)
class RouteLine:
    """What went by one route, and the road legs beyond the gate that are not avoided."""

    route: str
    name: str
    first_mode: str
    destination: str
    destination_kind: str
    mass_t: float
    loads: int
    road_km_per_load: float
    onward_road_legs: str  # sentence, or empty


@dataclass(frozen=True, slots=True)
class MovementsStatement:
    """What may be claimed about lorries, with everything the claim rests on."""

    basis: Basis
    since: date
    until: date
    grain: str  # day | week | month | total
    baseline: BaselineView
    lines: tuple[PeriodLine, ...]
    total: PeriodLine
    routes: tuple[RouteLine, ...]
    observed_payload_t: float | None
    observed_payload_loads: int
    weighed_percent: float | None  # of all spoil tonnes: belt weigher and weighbridge
    conveyor_movements: float  # that the belt tonnes alone stand for, at the baseline's payload
    onward_loads: float  # lorry loads beyond the belt's end, at the baseline's payload
    avoided_lorry_km: float
    claim: str  # one sentence that carries its own basis


# --- carbon --------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class LegLine:
    """Carbon of one leg of one option; operation and supply are None where unsplit."""

    option: str  # as moved | baseline
    route: str
    leg: int
    mode: str
    from_place: str
    to_place: str
    distance_km: float
    mass_t: float
    activity_tkm: float
    operation_kgco2e: float | None
    supply_kgco2e: float | None
    total_kgco2e: float
    per_t_kgco2e: float
    factor: str


@dataclass(frozen=True, slots=True)
class OptionLine:
    """Carbon of one option or route over the same tonnes."""

    option: str
    mass_t: float
    operation_kgco2e: float
    supply_kgco2e: float
    unsplit_kgco2e: float  # of legs whose factor does not part operation from supply
    total_kgco2e: float
    per_t_kgco2e: float


@dataclass(frozen=True, slots=True)
class CarbonStatement:
    """Carbon by leg and option for a period."""

    basis: Basis
    since: date
    until: date
    legs: tuple[LegLine, ...]
    options: tuple[OptionLine, ...]  # as moved, baseline
    routes: tuple[OptionLine, ...]  # each route as moved, per tonne
    saved_kgco2e: float  # baseline - as moved
    saved_low_kgco2e: float  # for the greatest and the least payload of the baseline
    saved_high_kgco2e: float
    saved_by_belt_kgco2e: float  # on the tonnes whose route begins with a belt
    fixed_kgco2e: float | None
    break_even_t: float | None
    editions: tuple[str, ...]
    attribution: str
    headline: str


# --- records -------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class RecordLine:
    """One entry as people read it."""

    kind: str
    entry_id: str
    work_date: date | None
    what: str
    action: str
    recorded_at: datetime
    recorded_by: str
    supersedes: str
    superseded_by: str
    reason: str
    fields: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class RecordsStatement:
    """Entries found, newest first; `found` counts all, `lines` holds the first of them."""

    as_known_at: datetime | None
    found: int
    lines: tuple[RecordLine, ...]
