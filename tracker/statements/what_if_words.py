"""The sentences of a comparison: what an option changes, what it buys, and by which formulae."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from tracker.domain.options import Option, geometric_capacity
from tracker.domain.programme.governing import WORDS
from tracker.domain.site import BOTH_WAYS, Site
from tracker.domain.sources import SOURCES
from tracker.statements.forecast_shapes import OptionFormation, OptionResult
from tracker.statements.words import date_words

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
    return short[0] if len(short) == 1 else f"{short[0]} and {len(short) - 1} more"


def _short(option: Option) -> Iterator[str]:
    shift, out = option.added_shift, option.belt_out
    if shift:
        days = [_LONG_DAYS[day] for day in shift.weekdays]
        yield f"a {days[0]} shift" if len(days) == 1 else f"the shift {shift.name}"
    if out:
        days_out = (out.last_day - out.first_day).days + 1
        yield f"belt {out.belt} out for {_days(days_out)}"
    if option.cap_day is not None:
        yield f"a cap of {option.cap_day} movements a day"
    if option.cap_hour is not None:
        yield f"a cap of {option.cap_hour} movements an hour"
    if option.payload_t:
        yield f"a payload of {option.payload_t:g} t"
    if option.zones_at_once:
        yield f"{option.zones_at_once} zones at once"
    if option.fleet:
        yield f"another number of lorries in {option.fleet.fleet}"
    if option.belt:
        yield f"another belt {option.belt.belt}"


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
            f"Belt {out.belt} is out for {_days(days_out)}, {date_words(out.first_day)} to"
            f" {date_words(out.last_day)}."
        )
    if option.zones_at_once:
        was = site.zones_at_once or "as many as the record shows"
        yield f"{option.zones_at_once} zones can be dug in one shift, instead of {was}."


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
        lorries, loaders = option.fleet.lorries, option.fleet.loaders
        if lorries:
            yield f"Fleet {usual.fleet} has {lorries} lorries, instead of {usual.lorries}."
        if loaders:
            yield f"Fleet {usual.fleet} has {loaders} loaders, instead of {usual.loaders}."


def _belt_changes(site: Site, option: Option) -> Iterator[str]:
    if option.belt:
        (usual,) = (belt for belt in site.belts if belt.belt == option.belt.belt)
        width_m, speed = option.belt.width_m, option.belt.speed_m_per_s
        if width_m:
            yield f"Belt {usual.belt} is {width_m:g} m wide, instead of {usual.width_m:g} m."
        if speed:
            was = usual.speed_m_per_s
            yield f"Belt {usual.belt} runs at {speed:g} m/s, instead of {was:g} m/s."
        full_t_per_h = geometric_capacity(usual)
        stated = usual.capacity_t_per_h
        yield (
            f"Full over its width it carries {full_t_per_h:,.0f} t/h as it is"
            + (f"; {stated:,.0f} t/h are stated, and change by the same ratio." if stated else ".")
        )


# --- what it buys --------------------------------------------------------------------------------
def headline(a: OptionResult, b: OptionResult, *, alike: bool) -> str:
    """What B buys against A, in days, movements and what governs."""
    if alike:
        return f"A and B are the same, {a.name}: change something in one of them."
    subject = _capital(b.name) if a.name == AS_SET_UP else f"B ({b.name}) against A ({a.name})"
    if b.name == AS_SET_UP:
        subject = f"The site as set up against A ({a.name})"
    return f"{subject} {_dates_bought(a, b)}{_movements_cost(a, b)}; {_governing(a, b)}."


def _dates_bought(a: OptionResult, b: OptionResult) -> str:
    pairs = list(zip(a.formation, b.formation, strict=True))
    gained = [(_gain(before, after), before, after) for before, after in pairs]
    told = [one for one in gained if one[0] is not None]
    if not told:
        return "is compared, but four walks in five end after the calendar that was walked"
    gain, before, after = max(told, key=lambda one: (abs(one[0] or 0), one[2].p80 or date.max))
    if not gain:
        return f"changes no P80 date of formation ({before.name}: {_short_date(after.p80)})"
    verb = "buys" if gain > 0 else "costs"
    return (
        f"{verb} {_days(abs(gain))} to formation of {before.name} (P80 {_short_date(after.p80)}"
        f" instead of {_short_date(before.p80)})"
    )


def _gain(before: OptionFormation, after: OptionFormation) -> int | None:
    """Days by which the second comes earlier; None where one is not reached."""
    if before.p80 is None or after.p80 is None:
        return None
    return (before.p80 - after.p80).days


def _movements_cost(a: OptionResult, b: OptionResult) -> str:
    if a.movements is None or b.movements is None:
        return ""
    more = round(b.movements - a.movements)
    if not more:
        return " and costs no movement"
    return f", with {abs(more):,} movements {'more' if more > 0 else 'fewer'}"


def _governing(a: OptionResult, b: OptionResult) -> str:
    first, second = (governs_most(one) for one in (a, b))
    if first == second:
        return f"{WORDS.get(first, first)} governs both"
    return f"{WORDS.get(first, first)} governs A and {WORDS.get(second, second)} governs B"


def governs_most(result: OptionResult) -> str:
    """The cause that governs most of the shifts ahead of an option."""
    shares: dict[str, float] = {}
    for line in result.governs:
        shares[line.cause] = shares.get(line.cause, 0.0) + line.share
    return max(shares, key=lambda cause: shares[cause], default="dig")


def _days(count: int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"


def _short_date(day: date | None) -> str:
    return f"{day.day} {day:%b %Y}" if day else "after the calendar"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def differences(a: OptionResult, b: OptionResult) -> tuple[str, ...]:
    """What differs between two options, one sentence a figure."""
    said = [_date_difference(x, y) for x, y in zip(a.formation, b.formation, strict=True)]
    figures: Sequence[tuple[str, float | None, float | None, str]] = (
        ("By belt", a.belt_t, b.belt_t, "t"),
        ("By lorry from the site", a.lorry_t, b.lorry_t, "t"),
        ("Movements", a.movements, b.movements, ""),
        ("Energy of belts", a.energy_kwh, b.energy_kwh, "kWh"),
        ("Carbon", a.carbon_kgco2e, b.carbon_kgco2e, "kg CO2e"),
    )
    for name, first, second, unit in figures:
        if first is None or second is None:
            continue
        more = round(second - first)
        if more:
            word = "more" if more > 0 else "less" if unit else "fewer"
            said.append(f"{name}: B has {abs(more):,}{f' {unit}' if unit else ''} {word}.")
    return tuple(said)


def _date_difference(a: OptionFormation, b: OptionFormation) -> str:
    gain = _gain(a, b)
    if gain is None:
        return f"Formation of {a.name}: one of the options does not reach its P80 in the calendar."
    when = (
        "on the same day"
        if not gain
        else f"{_days(abs(gain))} {'earlier' if gain > 0 else 'later'}"
    )
    chance = ""
    if a.chance_of_target is not None and b.chance_of_target is not None:
        chance = (
            f" The chance of the target is {100.0 * a.chance_of_target:.0f} % in A and"
            f" {100.0 * b.chance_of_target:.0f} % in B."
        )
    return f"Formation of {a.name} at four chances in five: B {when}.{chance}"
