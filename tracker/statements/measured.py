"""Measured on site beside model and plan: energy and flow of belts, loads, rounds of lorries.

A measured figure is used where at least 5 readings or 20 loads or rounds stand behind it (common
practice, no source); else the model. A load is never taken above the plate.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from statistics import fmean, median, quantiles

from tracker.domain.belt import belt_t_per_h, geometric_kwh_per_t
from tracker.domain.fleet import finite_queue
from tracker.domain.ground import loose_density_t_per_m3
from tracker.domain.haulage import OVERLOAD_CAUTION, usual_payload_t
from tracker.domain.site import Site
from tracker.errors import InputError, UnknownName
from tracker.statements.capacity_shapes import MeasuredLine
from tracker.statements.recent import Recent, Run

FEWEST_READINGS = 5
FEWEST_ROUNDS = 20
MEASURED, MODELLED = "measured", "modelled"
FAR_ABOVE = 1.5  # times the model, for a word on what it leaves out; common practice, no source
_STATED = "stated for its legs in the set-up"


def measured_lines(site: Site, record: Recent) -> tuple[MeasuredLine, ...]:
    """Everything that was measured in a period, beside its model."""
    belts = dict.fromkeys((*(belt.belt for belt in site.belts), *(run.belt for run in record.runs)))
    return (
        *(line for belt in belts for line in _belt_lines(site, belt, record.runs)),
        *_payload_lines(site, record),
        *_cycle_lines(site, record),
    )


# --- belts ---------------------------------------------------------------------------------------
def _belt_lines(site: Site, name: str, runs: Iterable[Run]) -> tuple[MeasuredLine, MeasuredLine]:
    own = [run for run in runs if run.belt == name]
    flow = _flow(site, name, own)
    return flow, _energy(site, name, own, flow.measured or flow.modelled)


def _flow(site: Site, name: str, runs: Sequence[Run]) -> MeasuredLine:
    """Tonnes in an hour of running. It says what the belt was fed, so it is no capacity."""
    timed = [(run.mass_t, run.running_h) for run in runs if run.running_h]
    rates = [mass_t / running_h for mass_t, running_h in timed]
    mean = sum(m for m, _ in timed) / sum(h for _, h in timed) if timed else None
    modelled, model = _capacity(site, name, runs)
    said = _said("carried", mean, "t in an hour of running", len(rates), "readings")
    if modelled is not None:
        said += f" It can carry {modelled:,.0f} t/h ({model})"
        said += f", so it was {100.0 * mean / modelled:.0f} % full." if mean else "."
    above = [rate for rate in rates if modelled is not None and rate > modelled]
    if above:
        said += f" {len(above)} readings lie above that: check the capacity or the minutes."
    low, high = _middle_half(rates)
    return MeasuredLine(
        "belt_t_per_h", name, mean, "t/h", len(rates), low, high, modelled, model, MODELLED,
        f"{name} {said} What it was fed is no capacity: a limit rests on belts.csv.",
    )  # fmt: skip


def _capacity(site: Site, name: str, runs: Sequence[Run]) -> tuple[float | None, str]:
    belt = next((belt for belt in site.belts if belt.belt == name), None)
    if belt is None:
        return None, "not in belts.csv"
    try:
        return belt_t_per_h(belt, _loose_density(site, runs))
    except InputError as error:
        return None, str(error)


def _energy(site: Site, name: str, runs: Sequence[Run], t_per_h: float | None) -> MeasuredLine:
    """Energy for a tonne by the meter, beside the geometry or else what the legs state."""
    metered = [(run.energy_kwh, run.mass_t) for run in runs if run.energy_kwh is not None]
    each = [kwh / mass_t for kwh, mass_t in metered]
    mean = sum(k for k, _ in metered) / sum(t for _, t in metered) if metered else None
    modelled, model = _modelled_energy(site, name, runs, t_per_h)
    stated = _stated_energy(site, name)
    used = MEASURED if len(each) >= FEWEST_READINGS else MODELLED
    said = _said("took", mean, "kWh a tonne", len(each), "meter readings", digits=3)
    if modelled is not None:
        said += f" The model says {modelled:.3f} ({model})."
    if mean and modelled and mean > FAR_ABOVE * modelled and model != _STATED:
        said += f" The meter shows {mean / modelled:.1f} times that: empty running, skirts and"
        said += " cleaners are not in the model."
    if stated is not None and model != _STATED:
        said += f" The set-up states {stated:.3f}."
    low, high = _middle_half(each)
    return MeasuredLine(
        "kwh_per_t", name, mean, "kWh/t", len(each), low, high, modelled, model, used,
        f"{name} {said} {_use(used, FEWEST_READINGS, 'readings')}",
    )  # fmt: skip


def belt_energy(site: Site, record: Recent) -> dict[str, float]:
    """Belt -> energy for a tonne, measured or modelled as `MeasuredLine.used` says [kWh/t]."""
    found = {}
    for belt in dict.fromkeys((*(b.belt for b in site.belts), *(r.belt for r in record.runs))):
        line = _belt_lines(site, belt, record.runs)[1]
        value = line.measured if line.used == MEASURED else line.modelled
        if value is not None:
            found[belt] = value
    return found


def _modelled_energy(
    site: Site, name: str, runs: Sequence[Run], t_per_h: float | None
) -> tuple[float | None, str]:
    belt = next((belt for belt in site.belts if belt.belt == name), None)
    if belt is not None and t_per_h:
        try:
            kwh_per_t = geometric_kwh_per_t(belt, t_per_h, _loose_density(site, runs))
            return kwh_per_t, f"ISO 5048 by its geometry at {t_per_h:,.0f} t/h, never empty"
        except InputError:
            pass
    return _stated_energy(site, name), _STATED


def _stated_energy(site: Site, name: str) -> float | None:
    legs = (leg for route in site.routes for leg in route.legs if leg.belt == name)
    return next((leg.kwh_per_t for leg in legs if leg.kwh_per_t is not None), None)


def _loose_density(site: Site, runs: Sequence[Run]) -> float | None:
    """Of what the belt carried most [t/m³ loose]."""
    carried: dict[str, float] = defaultdict(float)
    for run in runs:
        carried[run.stream] += run.mass_t
    known = {stream.stream: stream for stream in site.streams}
    names = [name for name in sorted(carried, key=lambda n: -carried[n]) if name in known]
    if not names:
        return None
    ground = known[names[0]]
    return loose_density_t_per_m3(ground.bank_density_t_per_m3.value, ground.loose_per_bank.value)


# --- lorries -------------------------------------------------------------------------------------
def payloads(record: Recent) -> dict[tuple[str, str], list[float]]:
    """(vehicle, stream) -> the weighed loads of a period [t]."""
    found: dict[tuple[str, str], list[float]] = defaultdict(list)
    for load in record.loads:
        if load.weighed_t is not None:
            found[load.vehicle, load.stream].append(load.weighed_t)
    return dict(sorted(found.items()))


def _payload_lines(site: Site, record: Recent) -> Iterable[MeasuredLine]:
    for (vehicle, stream), loads_t in payloads(record).items():
        try:
            planned, plate_t = usual_payload_t(site, vehicle, stream), site.vehicle(vehicle)
        except UnknownName:
            continue  # no longer in the set-up, so nothing ahead rests on it
        mean = fmean(loads_t)
        used = MEASURED if len(loads_t) >= FEWEST_ROUNDS else MODELLED
        said = _said("carried", mean, "t a load", len(loads_t), "weighed loads", digits=2)
        said += f" By plate and body it is {planned:.2f} t. {_use(used, FEWEST_ROUNDS, 'loads')}"
        if mean > plate_t.plated_payload_t:
            said += f" The mean is above the plate of {plate_t.plated_payload_t:g} t: the plate is"
            said += f" used. {OVERLOAD_CAUTION}"
        low, high = _middle_half(loads_t)
        yield MeasuredLine(
            "payload_t", f"{vehicle}, {stream}", mean, "t", len(loads_t), low, high, planned,
            "plate and body of the set-up", used, f"{vehicle} with {stream} {said}",
        )  # fmt: skip


def away_minutes(record: Recent) -> dict[str, list[float]]:
    """Route -> how long lorries were away, from gate to gate [min]."""
    found: dict[str, list[float]] = defaultdict(list)
    for one in record.rounds:
        if one.away_min is not None:
            found[one.route].append(one.away_min)
    return dict(sorted(found.items()))


def _cycle_lines(site: Site, record: Recent) -> Iterable[MeasuredLine]:
    away = away_minutes(record)
    by_route: dict[str, list[float]] = defaultdict(list)
    for one in record.rounds:
        by_route[one.route].append(one.round_min)
    for route, rounds_min in sorted(by_route.items()):
        modelled, model = _planned_round(site, route)
        used = MEASURED if len(away.get(route, ())) >= FEWEST_ROUNDS else MODELLED
        said = f"took {median(rounds_min):.0f} min from one departure to the next (median of"
        said += f" {len(rounds_min)}; gaps over four hours left out)"
        if route in away:
            said += f", {median(away[route]):.0f} of them from gate to gate"
        said += f". The plan says {modelled:.0f} min ({model})." if modelled else ". No plan."
        low, high = _middle_half(rounds_min)
        yield MeasuredLine(
            "cycle_min", route, median(rounds_min), "min", len(rounds_min), low, high, modelled,
            model, used, f"A round by {route} {said} {_use(used, FEWEST_ROUNDS, 'rounds')}",
        )  # fmt: skip


def _planned_round(site: Site, route: str) -> tuple[float | None, str]:
    fleet = next((f for f in site.fleets if not f.routes or route in f.routes), None)
    if fleet is None:
        return None, "no fleet of fleets.csv serves it"
    there = finite_queue(
        fleet.lorries, 60.0 / fleet.away_min, 60.0 / fleet.load_min, fleet.loaders
    ).time_in_system_h
    return fleet.away_min + 60.0 * there, f"{fleet.fleet}: away, then queue and loading"


# --- words ---------------------------------------------------------------------------------------
def _said(did: str, mean: float | None, unit: str, count: int, of: str, *, digits: int = 0) -> str:
    if mean is None:
        return f"has no {of} in the period."
    return f"{did} {mean:,.{digits}f} {unit} ({count} {of})."


def _use(used: str, fewest: int, of: str) -> str:
    if used == MEASURED:
        return "The measured figure is used."
    return f"Fewer than {fewest} {of}: the model is used."


def _middle_half(values: Sequence[float]) -> tuple[float | None, float | None]:
    if len(values) < 2:
        return None, None
    low, _, high = quantiles(values, n=4, method="inclusive")
    return low, high
