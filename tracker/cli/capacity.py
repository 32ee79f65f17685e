"""What a belt, a lorry's round and a fleet at its loaders can do; no ledger needed.

Numbers come in as text, so that `1,5` is refused with a sentence and never read as 15.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

import typer

from tracker.cli.answers import level, number, numbers, plain, show, spoken
from tracker.cli.places import AsJson
from tracker.domain.written import whole_number
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.domain.fleet import FleetOutput

capacity = typer.Typer(no_args_is_help=True)


def _option(unit: str, words: str) -> Any:
    return typer.Option(metavar=unit, help=words)


Text = str | None
BeltWidth = Annotated[str, _option("M", "Width of the belt.")]
Trough = Annotated[str, _option("DEG", "Angle of the outer rollers; 0 is flat.")]
Surcharge = Annotated[str, _option("DEG", "Angle of the moving load, less than at rest.")]
Speed = Annotated[str, _option("M/S", "Speed of the belt.")]
LooseDensity = Annotated[str, _option("T/M3", "Moist density of the load on the belt.")]
Length = Annotated[str, _option("M", "Along the slope, pulley to pulley.")]
Lift = Annotated[str, _option("M", "Rise of the load; negative downwards.")]
Flow = Annotated[str, _option("T/H", "Load to carry.")]
Roller = Annotated[Text, _option("M", "Length of the middle roller.")]
Form = Annotated[str, _option("tan6|tan4", "Heap by ISO 5048:1989 or by DIN 22101:1982.")]
Friction = Annotated[Text, _option("RATIO", "Friction factor of the belt on its rollers.")]
BeltMass = Annotated[Text, _option("KG/M", "Mass of the belt.")]
CarryMass = Annotated[Text, _option("KG/M", "Turning parts of the rollers under the load.")]
ReturnMass = Annotated[Text, _option("KG/M", "Turning parts of the rollers on the way back.")]
SkirtGap = Annotated[Text, _option("M", "Width between the skirts.")]
Pulleys = Annotated[Text, _option("N", "Drag of all pulleys together.")]
FeedSpeed = Annotated[Text, _option("M/S", "Speed of the load along the belt as it lands.")]
OnBelt = Annotated[Text, _option("RATIO", "Friction of the load on the belt.")]
OnSkirt = Annotated[Text, _option("RATIO", "Friction of the load on the skirts.")]
Skirt = Annotated[Text, _option("M", "Length of skirts beyond the feed.")]
Cleaners = Annotated[Text, _option("N", "Scrapers across the belt.")]
CleanerFriction = Annotated[Text, _option("RATIO", "Friction of a scraper on the belt.")]
CleanerThickness = Annotated[Text, _option("M", "Thickness of a scraper.")]
CleanerPressure = Annotated[Text, _option("KPA", "Pressure of a scraper on the belt.")]
Efficiency = Annotated[Text, _option("RATIO", "Of coupling and gearbox.")]
IdleShare = Annotated[str, _option("RATIO", "Share of the running hours with an empty belt.")]
Lorries = Annotated[str, _option("N", "Lorries in the round.")]
Arrivals = Annotated[str, _option("A", "Of one lorry: 1 / its mean hours away.")]
Services = Annotated[str, _option("M", "Of one loader: 1 / its mean hours to load.")]
Loaders = Annotated[str, _option("S", "Loaders, alike, with one queue.")]
PayloadSize = Annotated[str, _option("SIZE", "One load, in t or in m³.")]
LoadRate = Annotated[str, _option("RATE", "Rate of loading, in t/h or m³/h as the payload.")]
HaulKm = Annotated[str, _option("KM", "Distance one way.")]
Speeds = Annotated[str, _option("OUT,BACK", "Mean speeds laden and empty, km/h.")]
DumpMin = Annotated[str, _option("MIN", "Turning and tipping.")]

_ASSUMED_FROM = (
    "Those of a worked example of ISO 5048:1989; masses, gap of skirts and drag of pulleys are"
    " scaled by the belt's width (the scaling: common practice, no source); the roller is that of"
    " a published table, on a line between its widths."
)

_QUEUE_NOTE = (
    "Times are taken to vary as the exponential law says, more than on most sites (common practice,"
    " no source): expect an output between the two. Breaks and breakdowns are not in it."
)


def add_to(app: typer.Typer) -> None:
    """Add the commands to the command line, each under its own name."""
    app.add_typer(capacity)


@capacity.command()
@spoken
def conveyor(
    context: typer.Context,
    belt_width_m: BeltWidth,
    trough_deg: Trough,
    surcharge_deg: Surcharge,
    speed_m_per_s: Speed,
    loose_density: LooseDensity,
    length_m: Length,
    lift_m: Lift,
    t_per_h: Flow,
    roller_m: Roller = None,
    form: Form = "tan6",
    friction: Friction = None,
    belt_kg_per_m: BeltMass = None,
    carry_kg_per_m: CarryMass = None,
    return_kg_per_m: ReturnMass = None,
    skirt_gap_m: SkirtGap = None,
    pulleys_n: Pulleys = None,
    feed_speed_m_per_s: FeedSpeed = None,
    load_on_belt_friction: OnBelt = None,
    load_on_skirt_friction: OnSkirt = None,
    skirt_m: Skirt = None,
    cleaners: Cleaners = None,
    cleaner_friction: CleanerFriction = None,
    cleaner_thickness_m: CleanerThickness = None,
    cleaner_kpa: CleanerPressure = None,
    efficiency: Efficiency = None,
    idle_share: IdleShare = "0",
    as_json: AsJson = False,
) -> None:
    """What a troughed belt carries when full, and what it takes to carry a load on it.

    What is not stated of the conveyor is taken from a published example and named in the answer.
    Example: spoil conveyor --belt-width-m 1.0 --trough-deg 35 --surcharge-deg 15
    --speed-m-per-s 2 --loose-density 1.5 --length-m 120 --lift-m 15 --t-per-h 400
    """
    # From the context, because two dozen options have the names that the domain gives them.
    stated = _numbers_stated(context.params)
    data = _of_conveyor(stated, form)
    data["warnings"] = list(_warnings(data, stated))
    show(data, as_json, _conveyor_lines(data, stated))


def _numbers_stated(params: Mapping[str, Any]) -> dict[str, float]:
    """The number of each option that was given, by its name."""
    stated = {}
    for name, text in params.items():
        if name not in ("form", "as_json") and text is not None:
            read = level if name == "lift_m" else number
            stated[name] = read(f"--{name.replace('_', '-')}", text)
    return stated


def _of_conveyor(stated: Mapping[str, float], form: str) -> dict[str, Any]:
    from tracker.domain import conveyor as belt
    from tracker.domain import conveyor_power as power

    of_drive = dict(stated)
    trough, surcharge = of_drive.pop("trough_deg"), of_drive.pop("surcharge_deg")
    density, flow = of_drive.pop("loose_density"), of_drive.pop("t_per_h")
    roller, idle_share = of_drive.pop("roller_m", None), of_drive.pop("idle_share")
    drive, assumed = power.belt_drive(**of_drive)
    section = belt.belt_section(drive.belt_width_m, trough, surcharge, roller, form)
    slope = belt.slope_angle(drive.length_m, drive.lift_m)
    full = belt.belt_capacity(section, drive.speed_m_per_s, density, slope)
    forces = power.resistances(drive, flow, density)
    return {
        "form": section.form,
        "upper_area_m2": section.upper_area_m2,
        "lower_area_m2": section.lower_area_m2,
        "area_m2": section.area_m2,
        "slope_deg": slope,
        "inclination_factor": full.inclination_factor,
        "capacity_m3_per_h": full.capacity_m3_per_h,
        "capacity_t_per_h": full.capacity_t_per_h,
        "resistance_n": {
            part: getattr(forces, f"{part}_n")
            for part in ("main", "secondary", "special", "slope", "total")
        },
        **asdict(power.belt_power(drive, flow, density, idle_share)),
        "assumed": ({"roller_m": section.roller_m} if roller is None else {}) | assumed,
        "outside": [str(mark) for mark in (*full.outside, *drive.outside)],
    }


def _warnings(data: Mapping[str, Any], stated: Mapping[str, float]) -> Iterable[str]:
    """What a full, a steep or a falling belt asks for."""
    if stated["t_per_h"] > data["capacity_t_per_h"]:
        yield f"{stated['t_per_h']:,g} t/h is more than the full belt carries: it would spill."
    if abs(data["slope_deg"]) >= stated["surcharge_deg"]:
        yield "As steep as the surcharge angle or steeper: the load may run back. Ask the maker."
    if data["motor_power_kw"] < 0.0:
        yield "The load drives this belt: it needs a brake. What it gives back is not counted."


def _conveyor_lines(data: Mapping[str, Any], stated: Mapping[str, float]) -> Iterable[str]:
    from tracker.domain.conveyor import CONVEYOR_CAUTION

    upper, lower = plain(data["upper_area_m2"], "m²"), plain(data["lower_area_m2"], "m²")
    yield f"{plain(data['area_m2'], 'm²')} of load ({data['form']}): heap {upper}, trough {lower}"
    yield f"slope {data['slope_deg']:.1f}° leaves {data['inclination_factor']:.3f} of it"
    volume = plain(data["capacity_m3_per_h"], "m³/h loose")
    yield f"full: {volume}, {plain(data['capacity_t_per_h'], 't/h')}"
    parts = data["resistance_n"].items()
    yield "resistance: " + ", ".join(f"{part} {force_n:,.0f} N" for part, force_n in parts)
    yield (
        f"at {stated['t_per_h']:,g} t/h: {plain(data['belt_power_kw'], 'kW')} at the belt,"
        f" {plain(data['motor_power_kw'], 'kW')} at the motor's shaft"
        f" ({plain(data['lift_power_kw'], 'kW')} to lift the load)"
    )
    yield f"empty: {plain(data['idle_power_kw'], 'kW')} at the motor's shaft"
    yield f"{plain(data['kwh_per_t'], 'kWh/t')}, empty {stated['idle_share']:.0%} of the hours"
    assumed = {name: value for name, value in data["assumed"].items() if value}
    none = ", ".join(name for name, value in data["assumed"].items() if not value)
    if assumed:
        listed = ", ".join(f"{name} {value:.4g}" for name, value in assumed.items())
        yield f"Assumed: {listed}. {_ASSUMED_FROM}"
    if none:
        yield f"Counted as none until stated: {none}."
    yield from data["outside"]
    yield from data["warnings"]
    yield CONVEYOR_CAUTION


@capacity.command()
@spoken
def fleet(
    lorries: Lorries,
    arrivals_per_h: Arrivals,
    services_per_h: Services,
    loaders: Loaders = "1",
    as_json: AsJson = False,
) -> None:
    """How lorries queue at their loaders, and the loads an hour that chance leaves of a timetable.

    Example: spoil fleet --lorries 6 --arrivals-per-h 0.05 --services-per-h 0.5
    """
    from tracker.domain.fleet import finite_queue, fleet_output

    away = _above_zero("--arrivals-per-h", arrivals_per_h)
    served = _above_zero("--services-per-h", services_per_h)
    many, places = _count("--lorries", lorries), _count("--loaders", loaders)
    queue = finite_queue(many, away, served, places)
    output = fleet_output(many, 1.0 / served, 1.0 / away + 1.0 / served, places)
    data = asdict(output) | asdict(queue)
    lines = [
        _by_both(output),
        f"{plain(queue.queue_length, 'lorries')} wait, {plain(queue.in_system, 'at the loader')}",
        f"{plain(queue.wait_h, 'h')} of waiting, {plain(queue.time_in_system_h, 'h')} with loading",
        f"no lorry there {queue.p_idle:.1%} of the time, every loader busy {queue.p_wait:.1%};"
        f" an arriving lorry waits {queue.p_arrival_waits:.1%}",
        _QUEUE_NOTE,
    ]
    show(data, as_json, lines)


@capacity.command()
@spoken
def cycle(
    payload: PayloadSize,
    load_rate: LoadRate,
    haul_km: HaulKm,
    speeds: Speeds,
    dump_min: DumpMin,
    as_json: AsJson = False,
) -> None:
    """One round of a lorry, and the fleets on either side of balance with one loader.

    Example: spoil cycle --payload 20 --load-rate 160 --haul-km 12 --speeds 30,40 --dump-min 5
    """
    from tracker.domain.fleet import balanced_fleets
    from tracker.domain.haulage import OVERLOAD_CAUTION, haul_cycle

    if len(numbers("--speeds", speeds)) != 2:
        raise InputError(f"--speeds is “{speeds}”; write laden and empty in km/h, such as 30,40.")
    out, back = (_above_zero("--speeds", part) for part in speeds.split(","))
    trip = haul_cycle(
        _above_zero("--payload", payload),
        _above_zero("--load-rate", load_rate),
        _above_zero("--haul-km", haul_km),
        out,
        back,
        number("--dump-min", dump_min),
    )
    fleets = balanced_fleets(trip)
    data = asdict(trip) | {"fleets": [asdict(each) for each in fleets]}
    lines = [
        f"loading {plain(trip.load_h, 'h')}, out {plain(trip.haul_h, 'h')},"
        f" tipping {plain(trip.dump_h, 'h')}, back {plain(trip.return_h, 'h')}",
        f"{plain(trip.cycle_h, 'h')} a round, {trip.lorries_to_balance:.2f} lorries balance one"
        " loader",
        *(f"{each.lorries} lorries: {_by_both(each)}" for each in fleets),
        _QUEUE_NOTE,
        OVERLOAD_CAUTION,
    ]
    show(data, as_json, lines)


def _by_both(output: FleetOutput) -> str:
    return (
        f"{plain(output.output_per_h, 'loads/h')} by queue, {output.timetable_per_h:,.3f} by"
        f" timetable, {output.bunching_loss:.1%} lost to bunching,"
        f" match factor {output.match_factor:.2f}"
    )


def _above_zero(option: str, text: str) -> float:
    value = number(option, text)
    if value > 0.0:
        return value
    raise InputError(f"{option} is {text}; it must be more than 0.", field=option)


def _count(option: str, text: str) -> int:
    try:
        return whole_number(text)
    except InputError as error:
        raise InputError(f"{option}: {error}", field=option) from None
