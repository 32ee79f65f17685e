"""What an option changes, in words, and by which formulae it is compared."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.domain.options import FleetChange, Option, capacity_ratio, changed_site
from tracker.domain.site import BOTH_WAYS, Site
from tracker.domain.sources import SOURCES
from tracker.statements.words import count_words, date_words

AS_SET_UP = "as set up"
FORMULAE = (
    (
        "Days to formation",
        "Each option is walked shift by shift over its own calendar, many times: in every shift"
        " each zone whose hold is released digs what it draws from the record, all together no more"
        " than the least limit of the shift [m³ bank]. P80 is the date by which four walks in five"
        " are there. Both options draw the same outputs and the same holds, so that a difference"
        " between them is not luck.",
        (),
    ),
    ("Mass", "mass_t = bank_m3 × bank_density_t_per_m3", ()),
    (
        "Loads and movements",
        "loads = lorry_t / payload_t; movements = 2 × loads. Only lorries that begin at the site"
        " count; the payload is never above the plate.",
        ("peak_district",),
    ),
    (
        "Belt",
        "capacity_t_per_h = 3600 × area_m2 × speed_m_per_s × inclination_factor ×"
        " loose_density_t_per_m3; upper_area_m2 = (roller_m + 2 × side_m × cos(trough))² ×"
        " tan(surcharge) / 6; lower_area_m2 = (roller_m + side_m × cos(trough)) × side_m ×"
        " sin(trough). A stated capacity changes by the ratio of these.",
        ("iso5048",),
    ),
    (
        "Lorries of a fleet",
        "loads an hour = arrivals_per_h × (lorries − lorries at the loaders), in the long run of a"
        " queue where p[n + 1] = p[n] × (lorries − n) × arrivals_per_h / (min(n + 1, loaders) ×"
        " services_per_h).",
        ("anderson",),
    ),
    (
        "Energy",
        "energy_kwh = belt_t × kwh_per_t: metered, else as the leg of the route states, else motor"
        " power / t_per_h. A changed belt multiplies it by the ratio of the modelled powers at the"
        " same tonnes an hour. Electricity of belts only.",
        ("iso5048",),
    ),
    (
        "Carbon",
        "Each leg: lorries by km, E(load) = E0 + (E100 − E0) × payload_t / plated_payload_t out and"
        " E0 back; belts by kWh of grid electricity; operation and energy supply both.",
        ("ghg_2025", "iso14083"),
    ),
)
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_LONG_DAYS = (
    "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday",
)  # fmt: skip


def formulae() -> tuple[tuple[str, str], ...]:
    """Name, formula in words and units, with its source."""
    return tuple(
        (name, text + "".join(f" [{SOURCES[key].title}]" for key in keys))
        for name, text, keys in FORMULAE
    )


# --- what an option changes ----------------------------------------------------------------------
def label(option: Option) -> str:
    """What people call an option: its name, or its change where it has one only."""
    if option.name:
        return option.name
    short = list(_short(option))
    if not short:
        return AS_SET_UP
    if len(short) == 1:
        return short[0]
    return f"{short[0]} with {count_words(len(short) - 1, 'more change')}"


def _short(option: Option) -> Iterator[str]:
    shift, out = option.added_shift, option.belt_out
    if shift:
        days = [_LONG_DAYS[day] for day in shift.weekdays]
        yield f"a {days[0]} shift" if len(days) == 1 else f"the shift {shift.name}"
    if out:
        days_out = (out.last_day - out.first_day).days + 1
        yield f"belt {out.belt} out for {count_words(days_out, 'day')}"
    if option.cap_day is not None:
        yield f"a cap of {option.cap_day} movements a day"
    if option.cap_hour is not None:
        yield f"a cap of {option.cap_hour} movements an hour"
    if option.payload_t:
        yield f"a payload of {option.payload_t:g} t"
    if option.zones_at_once:
        yield f"digging {count_words(option.zones_at_once, 'zone')} at once"
    if option.fleet:
        yield f"fleet {option.fleet.fleet} of {_numbers(option.fleet)}"
    if option.belt:
        width = f" {option.belt.width_m:g} m wide" if option.belt.width_m else ""
        speed = f" at {option.belt.speed_m_per_s:g} m/s" if option.belt.speed_m_per_s else ""
        yield f"belt {option.belt.belt}{width}{speed}"


def _numbers(fleet: FleetChange) -> str:
    parts = []
    if fleet.lorries:
        parts.append(f"{fleet.lorries} {'lorry' if fleet.lorries == 1 else 'lorries'}")
    if fleet.loaders:
        parts.append(count_words(fleet.loaders, "loader"))
    return " and ".join(parts)


def changes(site: Site, option: Option) -> tuple[str, ...]:
    """What an option changes of the site as it is set up, one sentence each."""
    return (
        *_calendar_changes(site, option),
        *_gate_changes(site, option),
        *_fleet_changes(site, option),
        *_belt_changes(site, option),
    )


def _calendar_changes(site: Site, option: Option) -> Iterator[str]:
    shift, out = option.added_shift, option.belt_out
    if shift:
        since = f" from {date_words(shift.since)}" if shift.since else ""
        days = " ".join(_DAYS[day] for day in shift.weekdays)
        hours = f"{shift.starts:%H:%M} to {shift.ends:%H:%M}"
        yield f"Shift {shift.name} is added: {days}, {hours}{since}."
    if out:
        days_out = (out.last_day - out.first_day).days + 1
        yield (
            f"Belt {out.belt} is out for {count_words(days_out, 'day')},"
            f" {date_words(out.first_day)} to {date_words(out.last_day)}."
        )
    if option.zones_at_once:
        was = site.zones_at_once or "as many as the record shows"
        zones = count_words(option.zones_at_once, "zone")
        yield f"{zones} can be dug in one shift, instead of {was}."


def _gate_changes(site: Site, option: Option) -> Iterator[str]:
    for per, movements in (("day", option.cap_day), ("hour", option.cap_hour)):
        if movements is None:
            continue
        usual = [cap.movements for cap in site.caps if (cap.per, cap.direction) == (per, BOTH_WAYS)]
        was = f"{usual[0]}" if usual else "no cap"
        yield f"The cap is {movements} movements {_a(per)} {per}, instead of {was}."
    if option.payload_t:
        yield f"Each load carries {option.payload_t:g} t, instead of the payload observed."


def _a(word: str) -> str:
    return "an" if word == "hour" else "a"


def _fleet_changes(site: Site, option: Option) -> Iterator[str]:
    if option.fleet:
        (usual,) = (fleet for fleet in site.fleets if fleet.fleet == option.fleet.fleet)
        was = FleetChange(
            usual.fleet,
            usual.lorries if option.fleet.lorries else None,
            usual.loaders if option.fleet.loaders else None,
        )
        yield f"Fleet {usual.fleet} has {_numbers(option.fleet)}, instead of {_numbers(was)}."


def _belt_changes(site: Site, option: Option) -> Iterator[str]:
    if option.belt:
        (usual,) = (belt for belt in site.belts if belt.belt == option.belt.belt)
        width_m, speed = option.belt.width_m, option.belt.speed_m_per_s
        if width_m not in (None, usual.width_m):
            yield f"Belt {usual.belt} is {width_m:g} m wide, instead of {usual.width_m:g} m."
        if speed not in (None, usual.speed_m_per_s):
            was = usual.speed_m_per_s
            yield f"Belt {usual.belt} runs at {speed:g} m/s, instead of {was:g} m/s."
        changed = changed_site(site, Option(belt=option.belt), site.first_date)
        (after,) = (belt for belt in changed.belts if belt.belt == usual.belt)
        ratio = capacity_ratio(usual, after)
        yield f"By its geometry it carries {ratio:.2f} times what it does as set up."
