"""What leaves the site under an option: tonnes by route, loads, movements, energy and carbon.

Of the ground that is left, which is the same for both options.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from tracker.domain.belt import belt_t_per_h, geometric_kwh_per_t
from tracker.domain.carbon import leg_carbon
from tracker.domain.gate import MOVEMENTS_PER_LOAD
from tracker.domain.options import Option
from tracker.domain.programme.ways import Shut, Ways, by_lorry, carried
from tracker.domain.site import Belt, Leg, Route, Site
from tracker.errors import FactorMissing, InputError, NotEnoughData
from tracker.statements.capacity_shapes import MeasuredLine
from tracker.statements.frame import Frame
from tracker.statements.measured import MODELLED
from tracker.statements.movements import baseline_view

Energies = Mapping[str, MeasuredLine]  # belt -> what was measured of its kWh/t


@dataclass(frozen=True, slots=True)
class RouteMass:
    """What goes by a route [t], and what a lorry carries where it begins with one [t]."""

    route: Route
    stream: str
    mass_t: float
    payload_t: float | None

    @property
    def loads(self) -> float:
        """Lorry loads at the gate."""
        return self.mass_t / self.payload_t if self.payload_t else 0.0


@dataclass(frozen=True, slots=True)
class OptionSpoil:
    """What leaves under an option; None where the records do not tell, with the reason."""

    mass_t: float | None
    belt_t: float | None
    lorry_t: float | None
    loads: float | None
    movements: float | None
    energy_kwh: float | None
    carbon_kgco2e: float | None
    said: tuple[str, ...]


def with_payload(site: Site, ways: Ways, option: Option) -> Ways:
    """The ways out with the payload of an option on every lorry that leaves the site."""
    if option.payload_t is None:
        return ways
    vehicles = {route.legs[0].vehicle for route in site.routes if by_lorry(route)}
    streams = [stream.stream for stream in site.streams]
    given = {(v, s): option.payload_t for v in vehicles for s in streams}
    return replace(ways, payloads_t={**ways.payloads_t, **given})


def option_spoil(
    frame: Frame,
    site: Site,
    ways: Ways,
    measured: Energies,
    bank_m3: float,
    out_share: Mapping[str, float],
) -> OptionSpoil:
    """What leaves of the ground ahead; `out_share` is belt -> share dug while it is out [-]."""
    if ways.bank_density_t_per_m3 is None or not ways.shares:
        why = "Nothing left the site of late, so tonnes, loads, energy and carbon are not stated."
        return OptionSpoil(*(None,) * 7, (why,))
    mass_t = bank_m3 * ways.bank_density_t_per_m3
    shares, said = _shares(site, ways, out_share)
    masses = tuple(_masses(site, ways, mass_t, shares))
    loads = sum(m.loads for m in masses)
    energy_kwh, of_energy = _energies(frame, site, ways, measured, masses)
    carbon_kgco2e, of_carbon = _carbon(frame, site, masses, energy_kwh)
    return OptionSpoil(
        mass_t,
        sum(m.mass_t for m in masses if m.route.belt),
        sum(m.mass_t for m in masses if by_lorry(m.route)),
        loads,
        MOVEMENTS_PER_LOAD * loads,
        None if None in energy_kwh.values() else sum(e or 0.0 for e in energy_kwh.values()),
        carbon_kgco2e,
        (*said, *of_energy, *of_carbon),
    )


def _shares(
    site: Site, ways: Ways, out_share: Mapping[str, float]
) -> tuple[dict[tuple[str, str], float], list[str]]:
    """(stream, route) -> share of all tonnes [-], and what stands behind it."""
    shares: dict[tuple[str, str], float] = defaultdict(float)
    said = []
    left = 1.0
    for belt, part in out_share.items():
        shut = {r.route: Shut("belt", belt) for r in site.routes if r.belt == belt}
        gone = carried(site, ways, shut)
        moves = sum(share.share for share in gone.shares)
        said.append(
            f"{100.0 * part:.1f} % of the ground ahead is dug while belt {belt} is out, by the"
            " middle one of the walks."
        )
        said += gone.instead
        if moves <= 0.0:
            continue
        left -= part
        for share in gone.shares:
            shares[share.stream, share.route] += part * share.share / moves
    for share in ways.shares:
        shares[share.stream, share.route] += left * share.share
    return shares, said


def _masses(
    site: Site, ways: Ways, mass_t: float, shares: Mapping[tuple[str, str], float]
) -> Iterator[RouteMass]:
    for (stream, name), share in shares.items():
        route = site.route(name)
        payload_t = None
        if by_lorry(route):
            payload_t = ways.payload_t(site, route.legs[0].vehicle, stream)
        yield RouteMass(route, stream, mass_t * share, payload_t)


# --- energy --------------------------------------------------------------------------------------
def _energies(
    frame: Frame, site: Site, ways: Ways, measured: Energies, masses: Sequence[RouteMass]
) -> tuple[dict[str, float | None], list[str]]:
    """Belt -> energy [kWh], None where nothing tells it, and what stands behind it."""
    found: dict[str, float | None] = {}
    said = []
    for belt in dict.fromkeys(m.route.belt for m in masses if m.route.belt):
        mass_t = sum(m.mass_t for m in masses if m.route.belt == belt)
        kwh_per_t = ways.kwh_per_t.get(belt)
        if kwh_per_t is None:
            found[belt] = None
            said.append(
                f"Belt {belt}: no meter reading, no kwh_per_t on its leg and no geometry, so its"
                " energy is not stated."
            )
            continue
        ratio, by_ratio = _energy_ratio(_row(frame.site, belt), _row(site, belt), ways)
        found[belt] = mass_t * kwh_per_t * ratio
        line = measured.get(belt)
        how = f"modelled, {line.model}" if line and line.used == MODELLED else "metered of late"
        said.append(f"Belt {belt}: {kwh_per_t:.3f} kWh/t {how}{by_ratio}.")
    return found, said


def _row(site: Site, belt: str) -> Belt | None:
    return next((row for row in site.belts if row.belt == belt), None)


def _energy_ratio(usual: Belt | None, changed: Belt | None, ways: Ways) -> tuple[float, str]:
    """Modelled energy of a tonne with a change over that without it [-], at the same flow."""
    if usual is None or changed is None or usual == changed:
        return 1.0, ""
    density = None
    if ways.bank_density_t_per_m3 and ways.loose_per_bank:
        density = ways.bank_density_t_per_m3 / ways.loose_per_bank
    try:
        flow_t_per_h, _ = belt_t_per_h(usual, density)
        before, after = (geometric_kwh_per_t(b, flow_t_per_h, density) for b in (usual, changed))
    except InputError as error:
        return 1.0, f", the same as without the change, for it cannot be modelled ({error})"
    return after / before, f", × {after / before:.3f} by the model of the changed belt"


# --- carbon --------------------------------------------------------------------------------------
def _carbon(
    frame: Frame,
    site: Site,
    masses: Sequence[RouteMass],
    energy_kwh: Mapping[str, float | None],
) -> tuple[float | None, list[str]]:
    """Carbon of all legs [kg CO2e], or None, and what stands behind it."""
    year = site.factor_year or frame.as_of.year
    by_belt: dict[str, float] = defaultdict(float)
    for m in masses:
        by_belt[m.route.belt] += m.mass_t
    total = 0.0
    try:
        onward_t = _onward_payload(frame)
        for m in masses:
            of_belt = energy_kwh.get(m.route.belt)
            part_kwh = None if of_belt is None else of_belt * m.mass_t / by_belt[m.route.belt]
            for leg in m.route.legs:
                total += _of_leg(site, m, leg, year, part_kwh, onward_t)
    except (FactorMissing, InputError) as error:
        return None, [f"Carbon is not stated: {error}"]
    return total, [
        f"Carbon by the factors of the {year} edition, each leg to the end of its route."
    ]


def _of_leg(
    site: Site,
    m: RouteMass,
    leg: Leg,
    year: int,
    energy_kwh: float | None,
    onward_t: float | None,
) -> float:
    vehicle = site.vehicle(leg.vehicle) if leg.mode == "lorry" else None
    payload_t = (m.payload_t or onward_t) if leg.leg == 1 else onward_t
    of_belt = energy_kwh if leg.mode == "belt" and leg.belt == m.route.belt else None
    return leg_carbon(
        leg, m.mass_t, year, vehicle=vehicle, payload_t=payload_t, energy_kwh=of_belt
    ).total_kgco2e


def _onward_payload(frame: Frame) -> float | None:
    """Payload of lorries beyond the first leg: the baseline's, as in the carbon statement [t]."""
    try:
        return baseline_view(frame).payload_t
    except NotEnoughData:
        return None
