"""What if: changes to a set-up, and the site as it would be with them.

An option changes what the records do not: shifts, belts, caps, lorries. It permits nothing. Caps,
windows and plates stand until whoever set them changes them, and the permit on site governs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, time, timedelta

from tracker.domain.belt import geometric_t_per_h
from tracker.domain.haulage import OVERLOAD_CAUTION
from tracker.domain.site import (
    BOTH_WAYS,
    Belt,
    Fleet,
    Leg,
    MovementCap,
    Shift,
    Site,
    Stop,
    Vehicle,
)
from tracker.errors import InputError, UnknownName

LONGEST_DAYS = 3 * 366  # that a date may lie ahead: beyond it, it is mistyped
GEOMETRY = ("width_m", "trough_deg", "surcharge_deg", "speed_m_per_s")
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_WEEK_MIN, _DAY_MIN = 7 * 24 * 60, 24 * 60


@dataclass(frozen=True, slots=True)
class AddedShift:
    """A shift more, by its local times; from the next day on unless `since` names a later one."""

    name: str
    weekdays: tuple[int, ...]  # 0 = Monday
    starts: time
    ends: time
    since: date | None = None


@dataclass(frozen=True, slots=True)
class BeltOut:
    """Days on which a belt does not run, both included."""

    belt: str
    first_day: date
    last_day: date


@dataclass(frozen=True, slots=True)
class FleetChange:
    """Other numbers of lorries and loaders of a fleet; None: as they are."""

    fleet: str
    lorries: int | None = None
    loaders: int | None = None


@dataclass(frozen=True, slots=True)
class BeltChange:
    """Another width or speed of a belt; None: as it is."""

    belt: str
    width_m: float | None = None
    speed_m_per_s: float | None = None


@dataclass(frozen=True, slots=True)
class Option:
    """What is changed; nothing: as set up. Caps count movements both ways together."""

    name: str = ""
    added_shift: AddedShift | None = None
    belt_out: BeltOut | None = None
    cap_day: int | None = None
    cap_hour: int | None = None
    payload_t: float | None = None
    zones_at_once: int | None = None
    fleet: FleetChange | None = None
    belt: BeltChange | None = None

    @property
    def as_set_up(self) -> bool:
        """Whether nothing is changed."""
        return replace(self, name="") == Option()


# --- the site with the changes -------------------------------------------------------------------
def changed_site(site: Site, option: Option, as_of: date) -> Site:
    """The site as it would be from a date on. The payload is no part of it: see `checked_payload`.

    A stated belt capacity is multiplied by the ratio of what its geometry gives with and without
    the change. Raises InputError for a shift that overlaps another, for days that are over or out
    of reach and for a belt without geometry, UnknownName for a belt or fleet that the set-up lacks.
    """
    return replace(
        site,
        shifts=_shifts(site, option.added_shift, as_of),
        stops=_stops(site, option.belt_out, as_of),
        caps=_caps(site, {"day": option.cap_day, "hour": option.cap_hour}),
        fleets=_fleets(site, option.fleet),
        belts=_belts(site, option.belt),
        zones_at_once=option.zones_at_once or site.zones_at_once,
    )


def _shifts(site: Site, added: AddedShift | None, as_of: date) -> tuple[Shift, ...]:
    if added is None:
        return site.shifts
    known = {name for shift in site.shifts for name in (shift.shift, shift.name)}
    if added.name in known:
        raise InputError(
            f"There is a shift “{added.name}” already. Give the added one another name.",
            field="added_shift.name",
        )
    since = added.since or as_of + timedelta(days=1)
    _check_ahead("added_shift.from", "The added shift begins on", since, as_of)
    shift = Shift(added.name, added.name, added.starts, added.ends, added.weekdays, since)
    for other in site.shifts:
        day = _overlap(shift, other)
        if day is not None:
            raise InputError(
                f"The added shift {_hours(shift)} on {_WEEKDAYS[day]} overlaps the shift"
                f" {other.shift}, {_hours(other)}. Choose hours or weekdays that are free.",
                field="added_shift.starts",
            )
    return (*site.shifts, shift)


def _overlap(one: Shift, other: Shift) -> int | None:
    """The weekday on which a shift starts while another is under way, or the other way round."""
    for weekday in one.weekdays:
        start, end = _span(one, weekday)
        for other_weekday in other.weekdays:
            begun, done = _span(other, other_weekday)
            for week in (-_WEEK_MIN, 0, _WEEK_MIN):
                if start < done + week and begun + week < end:
                    return weekday
    return None


def _span(shift: Shift, weekday: int) -> tuple[int, int]:
    """Start and end of a shift in minutes from the start of the week."""
    starts, ends = (clock.hour * 60 + clock.minute for clock in (shift.starts, shift.ends))
    before = weekday * _DAY_MIN
    return before + starts, before + ends + (_DAY_MIN if ends <= starts else 0)


def _hours(shift: Shift) -> str:
    return f"{shift.starts:%H:%M} to {shift.ends:%H:%M}"


def _stops(site: Site, out: BeltOut | None, as_of: date) -> tuple[Stop, ...]:
    if out is None:
        return site.stops
    if out.belt not in belts_of(site):
        raise UnknownName("belt", out.belt, belts_of(site), field="belt_out.belt")
    if out.last_day < out.first_day:
        raise InputError(
            f"The belt is out from {out.first_day} to {out.last_day}: the last day is before the"
            " first. Swap them.",
            field="belt_out.to",
        )
    _check_ahead("belt_out.to", "The belt is out until", out.last_day, as_of)
    _check_ahead("belt_out.from", "The belt is out from", max(out.first_day, as_of), as_of)
    return (*site.stops, Stop("belt", out.belt, out.first_day, out.last_day, "what if"))


def _check_ahead(field: str, words: str, day: date, as_of: date) -> None:
    last = as_of + timedelta(days=LONGEST_DAYS)
    if not as_of <= day <= last:
        raise InputError(
            f"{words} {day}, which is not within the days compared. Choose a day from {as_of} to"
            f" {last}.",
            field=field,
        )


def _caps(site: Site, changed: dict[str, int | None]) -> tuple[MovementCap, ...]:
    caps = {(cap.per, cap.direction): cap for cap in site.caps}
    for per, movements in changed.items():
        if movements is not None:
            caps[per, BOTH_WAYS] = MovementCap(per, movements, "what if")
    return tuple(caps.values())


def _fleets(site: Site, change: FleetChange | None) -> tuple[Fleet, ...]:
    if change is None:
        return site.fleets
    if change.fleet not in {fleet.fleet for fleet in site.fleets}:
        raise UnknownName(
            "fleet", change.fleet, (f.fleet for f in site.fleets), field="fleet.fleet"
        )
    return tuple(
        replace(
            fleet,
            lorries=change.lorries or fleet.lorries,
            loaders=change.loaders or fleet.loaders,
        )
        if fleet.fleet == change.fleet
        else fleet
        for fleet in site.fleets
    )


# --- belts ---------------------------------------------------------------------------------------
def belts_of(site: Site) -> tuple[str, ...]:
    """The names of the belts that the table of belts or a leg of a route knows."""
    on_legs = (leg.belt for route in site.routes for leg in route.legs if leg.belt)
    return tuple(dict.fromkeys((*(belt.belt for belt in site.belts), *on_legs)))


def _belts(site: Site, change: BeltChange | None) -> tuple[Belt, ...]:
    if change is None:
        return site.belts
    known = {belt.belt: belt for belt in site.belts}
    if change.belt not in known:
        if change.belt in belts_of(site):
            raise InputError(
                f"Belt {change.belt} is not in belts.csv: fill {', '.join(GEOMETRY)} for it there.",
                field="belt.belt",
            )
        raise UnknownName("belt", change.belt, belts_of(site), field="belt.belt")
    changed = _with_change(known[change.belt], change)
    return tuple(changed if belt.belt == change.belt else belt for belt in site.belts)


def _with_change(belt: Belt, change: BeltChange) -> Belt:
    changed = replace(
        belt,
        width_m=change.width_m or belt.width_m,
        speed_m_per_s=change.speed_m_per_s or belt.speed_m_per_s,
    )
    ratio = capacity_ratio(belt, changed)
    if belt.capacity_t_per_h is None:
        return changed
    return replace(changed, capacity_t_per_h=belt.capacity_t_per_h * ratio)


def capacity_ratio(belt: Belt, changed: Belt) -> float:
    """What a belt carries by its geometry with a change, over what it does without it [-].

    Raises InputError that names the columns to fill where the geometry of the belt is not whole.
    """
    try:
        return _carries(changed) / _carries(belt)
    except InputError as error:
        raise InputError(str(error), field="belt.belt") from None


def _carries(belt: Belt) -> float:
    # Any density does where none is stated: it is the same above and below the line.
    return geometric_t_per_h(belt, 1.0)


# --- lorries -------------------------------------------------------------------------------------
def first_lorry_legs(site: Site) -> Iterator[Leg]:
    """The lorry legs that begin at the site: their loads pass the gate."""
    return (route.legs[0] for route in site.routes if route.legs[0].mode == "lorry")


def checked_payload(site: Site, payload_t: float) -> float:
    """A payload that no lorry of the routes from the site carries above its plate [t].

    Raises InputError that names the lorry and what its plate allows.
    """
    lorries: dict[str, Vehicle] = {leg.vehicle: site.vehicle(leg.vehicle)
                                   for leg in first_lorry_legs(site)}  # fmt: skip
    for lorry in sorted(lorries.values(), key=lambda lorry: lorry.plated_payload_t):
        if payload_t > lorry.plated_payload_t:
            raise InputError(
                f"A payload of {payload_t:g} t is above the plate of the {lorry.name}, which allows"
                f" {lorry.plated_payload_t:g} t. Give no more than that. {OVERLOAD_CAUTION}",
                field="payload_t",
            )
    return payload_t
