"""The shapes of the survey statement: frozen answers with units in their names. No arithmetic."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from tracker.statements.basis import Basis


@dataclass(frozen=True, slots=True)
class TakenSurvey:
    """One surveyed surface in the list of an excavation."""

    survey: str
    entry_id: str
    excavation: str
    surveyed_at: datetime
    work_date: date
    file: str
    sha256: str
    method: str
    original_ground: bool
    points_in: int
    points_used: int
    zones: str  # covered whole, separated by commas
    dug_m3: float  # from the ground before, in the zones covered whole
    u_dug_m3: float
    covered_percent: float
    second_method_difference_percent: float | None
    gate: str  # the worst that its report says: amber | red | empty
    difference_percent: float | None  # returns minus survey, of the survey
    verdict: str


@dataclass(frozen=True, slots=True)
class SurveyedVolume:
    """Net bank volume dug with its standard uncertainty, and what the returns say of the same.

    `stage` is None for a whole zone and 0 below formation; difference is returned minus surveyed.
    """

    zone: str
    stage: int | None
    from_level_m: float | None  # None: from the ground
    to_level_m: float | None  # None: as deep as was dug
    surveyed_m3: float
    u_surveyed_m3: float
    returned_m3: float
    u_returned_m3: float
    difference_m3: float
    percent: float | None
    verdict: str
    severity: str  # amber | red | empty


@dataclass(frozen=True, slots=True)
class SurveyedZone:
    """One zone as a survey found it [m above site datum], and what is left to formation."""

    zone: str
    name: str
    covered: str  # whole | part
    mean_level_m: float
    lowest_level_m: float | None
    lowest_place_m: tuple[float, float] | None  # easting, northing of that point
    permitted_level_m: float
    formation_level_m: float
    in_breach: bool
    above_formation_m3: float  # still to dig
    below_formation_m3: float  # overdig
    below_formation_m2: float


@dataclass(frozen=True, slots=True)
class SurveyedBand:
    """Net bank volume dug between two levels of a zone."""

    zone: str
    from_level_m: float | None
    to_level_m: float | None
    net_m3: float
    u_m3: float


@dataclass(frozen=True, slots=True)
class SurveyedTotal:
    """The volume of all zones compared, with its standard uncertainty by part."""

    net_m3: float
    u_random_m3: float
    u_level_m3: float
    u_edge_m3: float
    u_interpolation_m3: float | None
    u_combined_m3: float
    returned_m3: float
    u_returned_m3: float
    difference_m3: float
    percent: float | None
    verdict: str
    severity: str


@dataclass(frozen=True, slots=True)
class SurveyQuality:
    """What stands beside a volume: coverage, points, the second method."""

    area_m2: float
    covered_percent: float
    wall_extrapolated_percent: float
    long_edge_percent: float
    largest_gap_m: float
    points_per_m2: float
    points_in: int
    points_used: int
    second_method_difference_percent: float | None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Points that were not used, by reason."""

    reason: str
    points: int


@dataclass(frozen=True, slots=True)
class GateFinding:
    """A gate that the survey does not pass."""

    severity: str  # amber | red
    what: str
    message: str


@dataclass(frozen=True, slots=True)
class SurveyStatement:
    """What a survey says was dug since the ground, or since an earlier survey; held to the returns.

    `surveys` lists every survey of the excavation, newest first.
    """

    basis: Basis
    headline: str
    excavation: str
    survey: str
    entry_id: str
    since: str  # an earlier survey, or empty: the ground before digging
    surveyed_at: datetime
    column_order: str
    unit: str
    datum_shift_m: float
    thin_m: float | None
    filtered: bool
    reason: str  # why it was accepted with a red gate
    part_of: str  # the survey that a survey of a part was laid over
    amber_percent: float | None  # limits of its check against the returns; None if none stands
    red_percent: float | None
    total: SurveyedTotal
    quality: SurveyQuality
    findings: tuple[GateFinding, ...]
    left_out: tuple[LeftOut, ...]
    notes: tuple[str, ...]
    zones: tuple[SurveyedZone, ...]
    volumes: tuple[SurveyedVolume, ...]
    bands: tuple[SurveyedBand, ...]
    surveys: tuple[TakenSurvey, ...]
