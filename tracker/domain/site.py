"""The set-up of a site as frozen dataclasses: what is dug, under which rules, and where it goes.

Levels are metres above the site datum, positive upwards; `national = site + datum.offset_m`.
Outlines are metres in the site grid. Times of day are local; see `calendar` for what that means.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TypeVar

from tracker.domain.factors import Factor
from tracker.domain.site_hours import BOTH_WAYS as BOTH_WAYS
from tracker.domain.site_hours import CAP_DIRECTIONS as CAP_DIRECTIONS
from tracker.domain.site_hours import CAP_PERIODS as CAP_PERIODS
from tracker.domain.site_hours import STOP_KINDS as STOP_KINDS
from tracker.domain.site_hours import Closure as Closure
from tracker.domain.site_hours import GatePermission as GatePermission
from tracker.domain.site_hours import GateWindow as GateWindow
from tracker.domain.site_hours import MovementCap as MovementCap
from tracker.domain.site_hours import Shift as Shift
from tracker.domain.site_hours import Stop as Stop
from tracker.domain.site_ways import Belt as Belt
from tracker.domain.site_ways import Fleet as Fleet
from tracker.domain.site_ways import Hoist as Hoist
from tracker.domain.site_ways import Receiving as Receiving
from tracker.errors import InputError, UnknownName

REGIMES = (
    "natural re-use on site",
    "declared re-use elsewhere",
    "non-hazardous waste",
    "hazardous waste",
)
LEG_MODES = ("belt", "lorry", "rail", "barge")
DESTINATION_KINDS = ("landfill", "recovery", "re-use", "transfer")
SURVEY_GATES = (
    "covered", "wall", "long_edge", "second_method", "uncertainty", "control", "returns",
)  # fmt: skip
VEHICLE_CLASSES = ("rigid_over_17t", "artic_over_33t", "all_hgv")


@dataclass(frozen=True, slots=True)
class Datum:
    """The site datum and what is added to a site level to reach the national one [m]."""

    name: str
    national_name: str
    offset_m: float


@dataclass(frozen=True, slots=True)
class Excavation:
    """A walled box or a lined shaft."""

    excavation: str
    name: str
    kind: str  # box | shaft
    target_formation: date | None = None


@dataclass(frozen=True, slots=True)
class Deduction:
    """Volume inside the outline that is no ground: an old basement, a pile, a culvert [m³]."""

    upper_level_m: float
    lower_level_m: float
    volume_m3: float
    what: str


@dataclass(frozen=True, slots=True)
class Zone:
    """A plan part of an excavation that is dug and released as one.

    `areas` holds (level_m, area_m2) from the top down where the plan area changes with depth;
    empty means the area of the outline at every level. Returns are expected from `opens` on.
    """

    zone: str
    excavation: str
    name: str
    ground_level_m: float
    outline: tuple[tuple[float, float], ...]
    opens: date
    areas: tuple[tuple[float, float], ...] = ()
    deductions: tuple[Deduction, ...] = ()
    exposure_limit_h: float | None = None  # of formation, from reached to blinded


@dataclass(frozen=True, slots=True)
class Stage:
    """The ground between two design dig levels in a zone, and the support that follows it.

    `hold_days` is how long the support below this stage's level takes: nothing below
    `design_level_m` may be dug before the next stage (or, last, the formation) is released.
    """

    zone: str
    stage: int
    design_level_m: float
    support: str
    hold_days: int
    planned_start: date
    planned_finish: date
    hold_condition: str = ""  # what must be in place before the stage below is released


@dataclass(frozen=True, slots=True)
class Stream:
    """Ground of one kind, waste code and regime. Who classified it, and by which reference."""

    stream: str
    name: str
    loose_per_bank: Factor
    bank_density_t_per_m3: Factor
    compacted_per_bank: Factor | None
    regime: str  # one of REGIMES, or empty while undecided
    waste_code: str  # List of Waste code as text, asterisk kept; empty when not waste
    classified_by: str
    classification_reference: str

    @property
    def classified(self) -> bool:
        """Whether a named person has decided the regime, with a reference."""
        return bool(self.regime and self.classified_by and self.classification_reference)


@dataclass(frozen=True, slots=True)
class GroundBand:
    """Which stream lies between two levels of a zone."""

    zone: str
    upper_level_m: float
    lower_level_m: float
    stream: str


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A kind of lorry: plated weights [t], body [m³], usual fill of the body [-]."""

    vehicle: str
    name: str
    carbon_class: str
    plated_gross_t: float
    plated_payload_t: float
    body_m3: float
    fill: float
    min_cycle_min: float  # shortest believable time between two departures of one lorry


@dataclass(frozen=True, slots=True)
class Carrier:
    """Who drives the spoil away, with the registration that lets them."""

    carrier: str
    name: str
    registration: str
    valid_from: date | None
    valid_to: date | None


@dataclass(frozen=True, slots=True)
class Destination:
    """Where spoil ends or changes hands, with the authorisation and the codes it covers."""

    destination: str
    name: str
    kind: str
    authorisation: str
    valid_from: date | None
    valid_to: date | None
    waste_codes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Leg:
    """One link of a route. A conveyor is a leg, never the end.

    A belt carries `kwh_per_t` for the days without meter readings; rail and barge carry a factor of
    the user's with its source, since none is published here; a lorry leg names its vehicle.
    """

    route: str
    leg: int
    mode: str
    from_place: str
    to_place: str
    distance_km: float
    vehicle: str = ""
    belt: str = ""
    kwh_per_t: float | None = None
    kgco2e_per_tkm: float | None = None
    factor_source: str = ""


@dataclass(frozen=True, slots=True)
class Route:
    """How spoil leaves: a chain of legs to a destination."""

    route: str
    name: str
    destination: str
    legs: tuple[Leg, ...]

    @property
    def belt(self) -> str:
        """Name of the belt that the first leg is, or empty."""
        return self.legs[0].belt if self.legs[0].mode == "belt" else ""


@dataclass(frozen=True, slots=True)
class SurveyGate:
    """Limits of what a survey is marked by; in percent, `control` in metres.

    Beyond amber somebody should look, beyond red the survey should be mended or explained.
    """

    gate: str  # one of SURVEY_GATES
    amber: float
    red: float


@dataclass(frozen=True, slots=True)
class DelayCause:
    """A coded cause of lost time and who can remove it."""

    cause: str
    name: str
    owner: str


_R = TypeVar("_R")


@dataclass(frozen=True)
class Site:
    """The whole set-up, one revision of it. Frozen: a change is a new revision with its date."""

    name: str
    nation: str
    governing_law: str
    time_zone: str
    first_date: date
    datum: Datum
    excavations: tuple[Excavation, ...]
    zones: tuple[Zone, ...]
    stages: tuple[Stage, ...]
    streams: tuple[Stream, ...]
    ground: tuple[GroundBand, ...]
    vehicles: tuple[Vehicle, ...]
    carriers: tuple[Carrier, ...]
    destinations: tuple[Destination, ...]
    routes: tuple[Route, ...]
    shifts: tuple[Shift, ...]
    closures: tuple[Closure, ...]
    caps: tuple[MovementCap, ...]
    windows: tuple[GateWindow, ...]
    causes: tuple[DelayCause, ...]
    gate_permissions: tuple[GatePermission, ...] = ()
    gates: tuple[SurveyGate, ...] = ()  # those that differ from the usual ones
    factor_year: int | None = None  # edition of the carbon factors, chosen; None: by activity
    public_holidays: bool = False  # whether those of the nation were added to the closures
    zones_at_once: int | None = None  # that the crews can dig in one shift; None: by the record
    stops: tuple[Stop, ...] = ()
    belts: tuple[Belt, ...] = ()
    hoists: tuple[Hoist, ...] = ()
    fleets: tuple[Fleet, ...] = ()
    receiving: tuple[Receiving, ...] = ()

    @cached_property
    def closed_days(self) -> frozenset[date]:
        """The days without shifts."""
        return frozenset(closure.day for closure in self.closures)

    @cached_property
    def stops_of(self) -> Mapping[tuple[str, str], tuple[Stop, ...]]:
        """(kind, about) -> its stops, in the order of the set-up."""
        found: dict[tuple[str, str], tuple[Stop, ...]] = {}
        for stop in self.stops:
            found[stop.kind, stop.about] = (*found.get((stop.kind, stop.about), ()), stop)
        return found

    def excavation(self, name: str) -> Excavation:
        """The excavation of this name. Raises UnknownName."""
        return _named(self.excavations, "excavation", name)

    def zone(self, name: str) -> Zone:
        """The zone of this name. Raises UnknownName."""
        return _named(self.zones, "zone", name)

    def stream(self, name: str) -> Stream:
        """The material stream of this name. Raises UnknownName."""
        return _named(self.streams, "stream", name)

    def vehicle(self, name: str) -> Vehicle:
        """The vehicle of this name. Raises UnknownName."""
        return _named(self.vehicles, "vehicle", name)

    def carrier(self, name: str) -> Carrier:
        """The carrier of this name. Raises UnknownName."""
        return _named(self.carriers, "carrier", name)

    def destination(self, name: str) -> Destination:
        """The destination of this name. Raises UnknownName."""
        return _named(self.destinations, "destination", name)

    def route(self, name: str) -> Route:
        """The route of this name. Raises UnknownName."""
        return _named(self.routes, "route", name)

    def shift(self, name: str) -> Shift:
        """The shift of this name. Raises UnknownName."""
        return _named(self.shifts, "shift", name)

    def cause(self, name: str) -> DelayCause:
        """The delay cause of this code. Raises UnknownName."""
        return _named(self.causes, "cause", name)

    def stages_of(self, zone: str) -> tuple[Stage, ...]:
        """The stages of a zone from the top down."""
        return tuple(s for s in self.stages if s.zone == zone)

    def stage(self, zone: str, number: int) -> Stage:
        """One stage of a zone. Raises InputError with the stages the zone has."""
        stages = self.stages_of(zone)
        for stage in stages:
            if stage.stage == number:
                return stage
        have = ", ".join(str(s.stage) for s in stages) or "none"
        raise InputError(f"Zone {zone} has no stage {number}; it has {have}.", field="stage")

    def ground_of(self, zone: str) -> tuple[GroundBand, ...]:
        """The ground of a zone from the top down."""
        return tuple(g for g in self.ground if g.zone == zone)

    def formation_level_m(self, zone: str) -> float:
        """The design level of the last stage of a zone [m above site datum]."""
        return self.stages_of(zone)[-1].design_level_m

    def zones_of(self, excavation: str) -> tuple[Zone, ...]:
        """The zones of an excavation in the order of the set-up."""
        return tuple(z for z in self.zones if z.excavation == excavation)


def _named(rows: Iterable[_R], what: str, name: str) -> _R:
    known = {getattr(row, what): row for row in rows}
    if name not in known:
        raise UnknownName(what, name, known)
    return known[name]
