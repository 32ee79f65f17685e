"""Carbon of loads, legs and routes: vehicle operation and energy provision, empty running included.

Each leg of a transport chain is an activity (t.km) and emissions of operation (TTW) and of energy
provision (supply, WTT), after iso14083. The year of the factors is always the caller's choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.domain.haulage import OVERLOAD_CAUTION
from tracker.domain.limits import check_not_negative, check_positive
from tracker.domain.reference_tables import ghg_factor
from tracker.domain.site import VEHICLE_CLASSES, Leg, Vehicle
from tracker.errors import FactorMissing, InputError, OutOfRange, UnknownName

_ITEMS = {
    "rigid_over_17t": "HGV diesel Rigid (>17 tonnes)",
    "artic_over_33t": "HGV diesel Articulated (>33t)",
    "all_hgv": "HGV diesel All HGVs",
}


@dataclass(frozen=True, slots=True)
class LorryCarbon:
    """Emissions of moving `mass_t` over `distance_km` by lorry, laden out and empty back."""

    mass_t: float
    distance_km: float
    operation_kgco2e: float
    supply_kgco2e: float

    @property
    def tkm(self) -> float:
        """Activity: tonnes times the distance carried, one way [t.km]."""
        return self.mass_t * self.distance_km

    @property
    def total_kgco2e(self) -> float:
        """Operation and supply [kg CO2e]."""
        return self.operation_kgco2e + self.supply_kgco2e

    @property
    def total_kgco2e_per_t(self) -> float:
        """Total by tonne carried [kg CO2e/t]."""
        return self.total_kgco2e / self.mass_t

    @property
    def operation_kgco2e_per_tkm(self) -> float:
        """Operation by tonne-kilometre carried one way [kg CO2e/t.km]."""
        return self.operation_kgco2e / self.tkm

    @property
    def total_kgco2e_per_tkm(self) -> float:
        """Total by tonne-kilometre carried one way [kg CO2e/t.km]."""
        return self.total_kgco2e / self.tkm


@dataclass(frozen=True, slots=True)
class ElectricityCarbon:
    """Emissions of grid electricity: generating it, losses on the way, the supply chain of both."""

    generation_kgco2e: float
    losses_kgco2e: float
    supply_kgco2e: float

    @property
    def total_kgco2e(self) -> float:
        """All of it [kg CO2e]."""
        return self.generation_kgco2e + self.losses_kgco2e + self.supply_kgco2e


@dataclass(frozen=True, slots=True)
class LegCarbon:
    """Emissions of one leg. Operation and supply are None where the factor is not split.

    `per_t` is the total by tonne [kg CO2e/t], None if nothing moved.
    """

    mode: str
    from_place: str
    to_place: str
    distance_km: float
    mass_t: float
    tkm: float
    operation_kgco2e: float | None
    supply_kgco2e: float | None
    total_kgco2e: float
    per_t: float | None
    factor_note: str


@dataclass(frozen=True, slots=True)
class RouteCarbon:
    """Emissions of a chain of legs; the split is None if a leg has none."""

    legs: tuple[LegCarbon, ...]
    tkm: float
    operation_kgco2e: float | None
    supply_kgco2e: float | None
    total_kgco2e: float


# --- lorries -------------------------------------------------------------------------------------
def lorry_carbon(
    vehicle_class: str,
    payload_t: float,
    max_payload_t: float,
    distance_km: float,
    year: int,
    *,
    empty_return: bool = True,
) -> LorryCarbon:
    """Emissions of one load, laden out and empty back.

    E(load) = E0 + (E100 - E0) * payload_t / max_payload_t   [kg CO2e/km], and E0 on the way back

    E0 and E100 are the published factors at 0 % and 100 % laden. Raises OutOfRange for a payload
    above the largest, FactorMissing for a year without these factors.

    >>> load = lorry_carbon("rigid_over_17t", 20.0, 20.0, 25.0, 2025)
    >>> round(load.total_kgco2e, 4)
    58.1565
    """
    largest = check_positive("max_payload_t", max_payload_t, "t")
    if check_positive("payload_t", payload_t, "t") > largest:
        raise OutOfRange(
            "payload_t", payload_t, low=0.0, high=largest, unit="t", hint=OVERLOAD_CAUTION
        )
    distance = check_positive("distance_km", distance_km, "km")
    fraction = payload_t / largest
    return LorryCarbon(
        payload_t,
        distance,
        distance * _lorry_kgco2e_per_km(vehicle_class, "TTW", fraction, year, empty_return),
        distance * _lorry_kgco2e_per_km(vehicle_class, "WTT", fraction, year, empty_return),
    )


def _lorry_kgco2e_per_km(
    vehicle_class: str, boundary: str, load_fraction: float, year: int, empty_return: bool
) -> float:
    item = _item(vehicle_class)
    empty = ghg_factor(year, item, boundary, "0% Laden", "km").value
    full = ghg_factor(year, item, boundary, "100% Laden", "km").value
    return empty + (full - empty) * load_fraction + (empty if empty_return else 0.0)


def average_laden_carbon(
    vehicle_class: str, mass_t: float, distance_km: float, year: int
) -> LorryCarbon:
    """Fallback where neither payload nor loads are known: the average-laden tonne-km factor.

    It assumes a part-laden fleet, and overstates a full 20 t rigid about 1.8 times, so it inflates
    savings. Whoever shows the figure must label it. Raises InputError, FactorMissing.
    """
    tkm = check_positive("mass_t", mass_t, "t") * check_positive("distance_km", distance_km, "km")
    operation, supply = (
        ghg_factor(year, _item(vehicle_class), boundary, "Average laden", "tonne.km").value
        for boundary in ("TTW", "WTT")
    )
    return LorryCarbon(mass_t, distance_km, tkm * operation, tkm * supply)


def _item(vehicle_class: str) -> str:
    if vehicle_class not in _ITEMS:
        raise UnknownName("vehicle class", vehicle_class, VEHICLE_CLASSES)
    return _ITEMS[vehicle_class]


# --- electricity ---------------------------------------------------------------------------------
def electricity_carbon(energy_kwh: float, year: int) -> ElectricityCarbon:
    """Emissions of UK grid electricity by location.

    Raises InputError for a negative energy, FactorMissing for a year without all four factors.

    >>> round(electricity_carbon(1000.0, 2025).total_kgco2e, 2)
    245.4
    """
    energy = check_not_negative("energy_kwh", energy_kwh, "kWh")
    generation, losses, supply, supply_of_losses = (
        ghg_factor(year, "UK electricity", part, "", "kWh").value
        for part in ("generation", "T&D", "WTT generation", "WTT T&D")
    )
    return ElectricityCarbon(
        energy * generation, energy * losses, energy * (supply + supply_of_losses)
    )


# --- legs and routes -----------------------------------------------------------------------------
def leg_carbon(
    leg: Leg,
    mass_t: float,
    year: int,
    *,
    vehicle: Vehicle | None = None,
    payload_t: float | None = None,
    energy_kwh: float | None = None,
    empty_return: bool = True,
) -> LegCarbon:
    """Emissions of moving a mass over one leg.

    A lorry leg needs its vehicle and takes the mean payload carried (`payload_t`; the plated one if
    none is given). A belt leg takes metered energy, or else its own kwh_per_t. Rail and barge take
    the leg's own factor with its source.

    Raises InputError, and FactorMissing where the leg or the year has no factor.
    """
    check_not_negative("mass_t", mass_t, "t")
    check_not_negative("distance_km", leg.distance_km, "km")
    if leg.mode == "lorry":
        return _lorry_leg(leg, mass_t, year, vehicle, payload_t, empty_return)
    if leg.mode == "belt":
        return _belt_leg(leg, mass_t, year, energy_kwh)
    return _other_leg(leg, mass_t)


def _lorry_leg(
    leg: Leg,
    mass_t: float,
    year: int,
    vehicle: Vehicle | None,
    payload_t: float | None,
    empty_return: bool,
) -> LegCarbon:
    if vehicle is None:
        raise InputError(f"{_named(leg)} names no vehicle: give the vehicle of that leg.")
    plated = check_positive("plated_payload_t", vehicle.plated_payload_t, "t")
    mean = check_positive("payload_t", plated if payload_t is None else payload_t, "t")
    lorry_km = mass_t / mean * leg.distance_km
    operation, supply = (
        lorry_km
        * _lorry_kgco2e_per_km(vehicle.carbon_class, part, mean / plated, year, empty_return)
        for part in ("TTW", "WTT")
    )
    back = "empty back" if empty_return else "no empty return"
    # Recorded overloads are facts: their fuel counts, and the note says that the line was extended.
    over = "; above the plate, extrapolated" if mean > plated else ""
    note = (
        f"{_edition(year)}: {_ITEMS[vehicle.carbon_class]}, per km, {mean:.2f} t of {plated:g} t"
        f" laden out, {back}{over}"
    )
    return _leg_result(leg, mass_t, operation, supply, operation + supply, note)


def _belt_leg(leg: Leg, mass_t: float, year: int, energy_kwh: float | None) -> LegCarbon:
    if energy_kwh is not None:
        energy, how = energy_kwh, "metered energy"
    elif leg.kwh_per_t is not None:
        energy, how = leg.kwh_per_t * mass_t, f"{leg.kwh_per_t:g} kWh/t, not metered"
    else:
        raise FactorMissing(
            f"{_named(leg)} has neither meter readings nor kwh_per_t: enter one of them."
        )
    carbon = electricity_carbon(energy, year)
    note = (
        f"{_edition(year)}: UK electricity, {how}; generation, losses and their supply all count as"
        " energy provision, since a belt emits nothing where it runs"
    )
    return _leg_result(leg, mass_t, 0.0, carbon.total_kgco2e, carbon.total_kgco2e, note)


def _other_leg(leg: Leg, mass_t: float) -> LegCarbon:
    if leg.kgco2e_per_tkm is None or not leg.factor_source:
        raise FactorMissing(
            f"{_named(leg)} has no factor with a source. None is published here for {leg.mode}:"
            " enter kgco2e_per_tkm and its factor_source for the leg."
        )
    per_tkm = check_not_negative("kgco2e_per_tkm", leg.kgco2e_per_tkm, "kg CO2e/t.km")
    total = mass_t * leg.distance_km * per_tkm
    note = f"{per_tkm:g} kg CO2e/t.km, {leg.factor_source}; operation and supply not split"
    return _leg_result(leg, mass_t, None, None, total, note)


def _leg_result(
    leg: Leg,
    mass_t: float,
    operation_kgco2e: float | None,
    supply_kgco2e: float | None,
    total_kgco2e: float,
    note: str,
) -> LegCarbon:
    return LegCarbon(
        leg.mode,
        leg.from_place,
        leg.to_place,
        leg.distance_km,
        mass_t,
        mass_t * leg.distance_km,
        operation_kgco2e,
        supply_kgco2e,
        total_kgco2e,
        total_kgco2e / mass_t if mass_t else None,
        note,
    )


def _named(leg: Leg) -> str:
    return f"Leg {leg.leg} of route {leg.route} ({leg.mode}, {leg.from_place} to {leg.to_place})"


def _edition(year: int) -> str:
    return f"UK Government GHG conversion factors {year}"


def route_carbon(legs: Sequence[LegCarbon]) -> RouteCarbon:
    """Emissions of a route: the sum of its legs. Raises InputError for no legs."""
    if not legs:
        raise InputError("A route without legs has no carbon: give its legs.")
    return RouteCarbon(
        tuple(legs),
        sum(leg.tkm for leg in legs),
        _sum_if_all([leg.operation_kgco2e for leg in legs]),
        _sum_if_all([leg.supply_kgco2e for leg in legs]),
        sum(leg.total_kgco2e for leg in legs),
    )


def _sum_if_all(parts: Sequence[float | None]) -> float | None:
    known = [part for part in parts if part is not None]
    return sum(known) if len(known) == len(parts) else None


def break_even_mass_t(
    fixed_kgco2e: float, avoided_kgco2e_per_t: float, running_kgco2e_per_t: float
) -> float:
    """Tonnes after which a conveyor has saved what making and installing it emitted [t].

    break_even_mass_t = fixed_kgco2e / (avoided_kgco2e_per_t - running_kgco2e_per_t)

    Raises InputError if it never does.

    >>> break_even_mass_t(150_000.0, 3.0, 0.5)
    60000.0
    """
    fixed = check_not_negative("fixed_kgco2e", fixed_kgco2e, "kg CO2e")
    saved = check_not_negative("avoided_kgco2e_per_t", avoided_kgco2e_per_t, "kg CO2e/t")
    saved -= check_not_negative("running_kgco2e_per_t", running_kgco2e_per_t, "kg CO2e/t")
    if saved <= 0.0:
        raise InputError(
            f"The conveyor emits {running_kgco2e_per_t:g} kg CO2e/t running and avoids"
            f" {avoided_kgco2e_per_t:g} kg CO2e/t: it never pays back its fixed carbon. Check both."
        )
    return fixed / saved
