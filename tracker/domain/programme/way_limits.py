"""What each way out can take in one shift: digging, hoists, belts, lorries, gate, receivers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from tracker.domain.belt import belt_t_per_h
from tracker.domain.calendar import ALL_DAY, caps_on, day_bounds, open_minutes, shift_minutes
from tracker.domain.fleet import finite_queue
from tracker.domain.gate import MOVEMENTS_PER_LOAD
from tracker.domain.hours import Spans, at_work, both, hours, receiving_spans
from tracker.domain.programme import governing
from tracker.domain.programme.ways import (
    Share,
    Shut,
    Ways,
    by_lorry,
    loads_per_t,
    waits_on_the_way,
)
from tracker.domain.site import BOTH_WAYS, Fleet, MovementCap, Receiving, Shift, Site

_USUAL = "usual other traffic"
_PER = {"day": "a day", "hour": "an hour"}
SHORT_SHIFT = 0.9  # of the shifts of the record: shorter ones give less; common practice, no source


@dataclass(frozen=True, slots=True)
class Limit:
    """The most that one way out can take in a shift, as bank volume of all ground [m³].

    `zones` are those it holds for, each by itself; empty: all of them together.
    """

    name: str  # a word of `governing`
    about: str  # which belt, hoist, fleet, destination, zone; empty for the gate and the site
    zones: tuple[str, ...]
    hours: float
    bank_m3: float
    how: str


@dataclass(frozen=True, slots=True)
class ShiftAhead:
    """A shift with the spans in which the site works, and those of the gate on its work date.

    `part` is its share of the hours of all shifts of that date [-].
    """

    site: Site
    ways: Ways
    work_date: date
    shift: Shift
    spans: Spans
    gate: Spans
    part: float

    def bank_m3(self, mass_t: float, share: float) -> float:
        """All ground that goes while a way that takes this share of it carries a mass."""
        return mass_t / share / (self.ways.bank_density_t_per_m3 or 1.0)


def shut_routes(ahead: ShiftAhead, in_part: bool) -> dict[str, Shut]:
    """Route -> why it takes nothing in this shift; belts stopped `in_part` of it if asked."""
    site, ways = ahead.site, ahead.ways
    names = dict.fromkeys((*(s.route for s in ways.shares), *ways.fall_back.values()))
    found = {}
    for name in names:
        route = site.route(name)
        left = hours(at_work(site, ahead.spans, "belt", route.belt)) / hours(ahead.spans)
        if route.belt and (left == 0.0 or (in_part and left < 1.0)):
            found[name] = Shut(governing.BELT, route.belt, 1.0 - left)
        elif by_lorry(route) and not ahead.gate:
            found[name] = Shut(governing.GATE, "")
        elif not _received(ahead, name):
            found[name] = Shut(governing.RECEIVER, route.destination)
    return found


def _received(ahead: ShiftAhead, name: str) -> bool:
    route, site = ahead.site.route(name), ahead.site
    if waits_on_the_way(route):
        whole_day = (day_bounds(ahead.work_date, site.time_zone),)
        return bool(at_work(site, whole_day, "destination", route.destination))
    spans = receiving_spans(site, route.destination, ahead.work_date)
    return bool(both(ahead.gate, spans) if by_lorry(route) else spans)


def dig_limits(ahead: ShiftAhead) -> Iterator[Limit]:
    """What a zone gives in the hours that stops leave of the shift, or in a short shift."""
    site, ways = ahead.site, ahead.ways
    calendar_h = shift_minutes(ahead.shift, ahead.work_date, site.time_zone) / 60.0
    short = ways.shift_h is not None and calendar_h < SHORT_SHIFT * ways.shift_h
    stopped = (stop.about for stop in site.stops if stop.kind == "zone")
    for zone in dict.fromkeys((*ways.dig_m3_per_h, *stopped)):
        left_h = hours(at_work(site, ahead.spans, "zone", zone))
        is_stopped = left_h < calendar_h - 1e-9
        rate = ways.dig_m3_per_h.get(zone)
        if not (is_stopped or short) or (rate is None and left_h > 0.0):
            continue
        how = f"{left_h:.1f} of {calendar_h:.1f} h" + (f" x {rate:.1f} m³/h" if rate else "")
        name = governing.STOP if is_stopped else governing.DIG
        yield Limit(name, zone, (zone,), left_h, left_h * (rate or 0.0), how)


# --- hoists --------------------------------------------------------------------------------------
def hoist_limits(ahead: ShiftAhead) -> Iterator[Limit]:
    """What a hoist lifts out of each of its zones with ground left, shared evenly between them."""
    for hoist in ahead.site.hoists:
        left_h = hours(at_work(ahead.site, ahead.spans, "hoist", hoist.hoist))
        known = ahead.ways.zone_loose_per_bank
        zones = [zone for zone in hoist.zones if zone in known or not known]
        for zone in zones:
            loose = _loose_per_bank(ahead, zone)
            loose_m3 = hoist.lifts_per_h * hoist.skip_m3 * hoist.fill * left_h / len(zones)
            shared = f", shared by {len(zones)} zones" if len(zones) > 1 else ""
            how = (
                f"{hoist.lifts_per_h:g} lifts/h x {hoist.skip_m3:g} m³ x {hoist.fill:g} full x"
                f" {left_h:.1f} h = {loose_m3:,.0f} m³ loose{shared}; {loose:.2f} loose for bank"
            )
            yield Limit(governing.HOIST, hoist.hoist, (zone,), left_h, loose_m3 / loose, how)


def _loose_per_bank(ahead: ShiftAhead, zone: str) -> float:
    """Of the ground left in a zone; where nobody knows, that which grows most."""
    known = ahead.ways.zone_loose_per_bank.get(zone)
    bands = {band.stream for band in ahead.site.ground_of(zone)}
    return known or max((ahead.site.stream(s).loose_per_bank.value for s in bands), default=1.0)


# --- belts ---------------------------------------------------------------------------------------
def belt_limits(ahead: ShiftAhead, shares: Sequence[Share]) -> Iterator[Limit]:
    """What each belt carries in the hours that stops leave of the shift."""
    ways = ahead.ways
    for belt in ahead.site.belts:
        share = sum(s.share for s in shares if ahead.site.route(s.route).belt == belt.belt)
        if not share:
            continue
        left_h = hours(at_work(ahead.site, ahead.spans, "belt", belt.belt))
        loose = (
            (ways.bank_density_t_per_m3 or 0.0) / ways.loose_per_bank
            if ways.loose_per_bank
            else None
        )
        rate, by = belt_t_per_h(belt, loose)
        mass_t = rate * belt.running_share * left_h
        how = (
            f"{rate:,.0f} t/h {by} x {belt.running_share:g} running x {left_h:.1f} h ="
            f" {mass_t:,.0f} t; it takes {_percent(share)} of the tonnes"
        )
        yield Limit(governing.BELT, belt.belt, (), left_h, ahead.bank_m3(mass_t, share), how)


# --- the gate ------------------------------------------------------------------------------------
def gate_limits(ahead: ShiftAhead, shares: Sequence[Share]) -> Iterator[Limit]:
    """The loads that the caps leave room for on the work date, shared over its shifts."""
    site, ways = ahead.site, ahead.ways
    lorries = [share for share in shares if by_lorry(site.route(share.route))]
    caps = caps_on(site, ahead.work_date)
    if not lorries or not caps:
        return
    loads, other, cap = min(((*_loads(ahead, cap), cap) for cap in caps), key=lambda of: of[0])
    share = sum(s.share for s in lorries)
    payload_t = share / loads_per_t(site, ways, lorries)
    mass_t = loads * ahead.part * payload_t
    how = (
        f"cap of {cap.movements} movements {_way(cap)}{_PER[cap.per]} less {other}"
        f" leaves {_tenths(loads)} loads a day, {_percent(ahead.part)} of them for this shift by"
        f" its hours, x {payload_t:.1f} t = {mass_t:,.0f} t; lorries take {_percent(share)} of the"
        " tonnes"
    )
    hours_h = hours(ahead.gate) * ahead.part
    yield Limit(governing.GATE, "", (), hours_h, ahead.bank_m3(mass_t, share), how)


def _loads(ahead: ShiftAhead, cap: MovementCap) -> tuple[float, str]:
    """Loads that a cap leaves room for on the local day of the work date, and beside what traffic.

    The larger of what is usual and what is booked, of the day or of each hour as the cap is.
    """
    weekday, zone = ahead.work_date.weekday(), ahead.site.time_zone
    passes = MOVEMENTS_PER_LOAD if cap.direction == BOTH_WAYS else 1
    booked_on = ahead.ways.booked.get(ahead.work_date, {})

    def of_cap(both: tuple[float, float]) -> float:
        return {"in": both[0], "out": both[1]}.get(cap.direction, sum(both))

    usual = [of_cap(ahead.ways.other.get((weekday, h), (0.0, 0.0))) for h in range(24)]
    booked = [of_cap(booked_on.get(h, (0.0, 0.0))) for h in range(24)]
    if cap.per == "day":
        more = sum(booked) > sum(usual)
        words = f"the {sum(booked):g} movements booked" if more else _USUAL
        return max(0.0, cap.movements - max(sum(usual), sum(booked))) / passes, words
    other = list(map(max, usual, booked))
    opened = {
        h for span in ahead.gate for h, m in open_minutes([ALL_DAY], *span, zone).items() if m
    }
    words = _USUAL if other == usual else f"{_USUAL} or what is booked, the larger in each hour,"
    return sum(max(0.0, cap.movements - other[hour]) for hour in opened) / passes, words


def _way(cap: MovementCap) -> str:
    return "" if cap.direction == BOTH_WAYS else f"{cap.direction} "


# --- lorries and receivers -----------------------------------------------------------------------
def lorry_limits(ahead: ShiftAhead, shares: Sequence[Share]) -> Iterator[Limit]:
    """What the fleets carry while the gate is open, those that serve the same routes together."""
    gate_h = hours(ahead.gate) * ahead.part
    for fleets, served in _served(ahead.site, shares):
        t_per_h, said = _fleets_t_per_h(ahead, fleets, served)
        share = sum(s.share for s in served)
        about = " and ".join(fleet.fleet for fleet in fleets)
        how = (
            f"{said} x {gate_h:.1f} h of the open gate, shared over the shifts of the date, ="
            f" {t_per_h * gate_h:,.0f} t; they take {_percent(share)} of the tonnes"
        )
        most_m3 = ahead.bank_m3(t_per_h * gate_h, share)
        yield Limit(governing.LORRIES, about, (), gate_h, most_m3, how)


def receiver_limits(ahead: ShiftAhead, shares: Sequence[Share]) -> Iterator[Limit]:
    """What each destination takes: its tonnes of a day, and lorries in the hours it is open."""
    for name in dict.fromkeys(ahead.site.route(s.route).destination for s in shares):
        of = [s for s in shares if ahead.site.route(s.route).destination == name]
        share = sum(s.share for s in of)
        rows = [row for row in ahead.site.receiving if row.destination == name]
        daily_t = _daily_t(rows, ahead.work_date.weekday())
        if daily_t is not None:
            mass_t = daily_t * ahead.part
            how = (
                f"{daily_t:,.0f} t a day, {_percent(ahead.part)} of them for this shift by its"
                f" hours; {_percent(share)} of the tonnes go there"
            )
            open_h = hours(receiving_spans(ahead.site, name, ahead.work_date)) * ahead.part
            most_m3 = ahead.bank_m3(mass_t, share)
            yield Limit(governing.RECEIVER, name, (), open_h, most_m3, how)
        if rows:
            yield from _while_open(ahead, name, of)


def _daily_t(rows: Sequence[Receiving], weekday: int) -> float | None:
    """The most that a destination takes on a weekday [t].

    On one on which it is shut, ground that waits on the way counts against its fullest day.
    """
    of_day = [row for row in rows if weekday in row.weekdays] or rows
    return max((row.daily_t for row in of_day if row.daily_t is not None), default=None)


def _while_open(ahead: ShiftAhead, name: str, shares: Sequence[Share]) -> Iterator[Limit]:
    """What lorries can bring to a destination that is open for less time than the gate."""
    receiving = receiving_spans(ahead.site, name, ahead.work_date)
    open_h = hours(both(ahead.gate, receiving)) * ahead.part
    if open_h >= hours(ahead.gate) * ahead.part:
        return
    for fleets, served in _served(ahead.site, shares):
        t_per_h, said = _fleets_t_per_h(ahead, fleets, served)
        share = sum(s.share for s in served)
        how = (
            f"{said} x {open_h:.1f} h in which gate and receiver are open, shared over the shifts"
            f" of the date, = {t_per_h * open_h:,.0f} t; {_percent(share)} of the tonnes"
        )
        most_m3 = ahead.bank_m3(t_per_h * open_h, share)
        yield Limit(governing.RECEIVER, name, (), open_h, most_m3, how)


def _served(site: Site, shares: Iterable[Share]) -> list[tuple[list[Fleet], list[Share]]]:
    """Fleets with what they carry; those that have a route in common stand together."""
    groups: list[tuple[list[Fleet], list[Share]]] = []
    lorries = [share for share in shares if by_lorry(site.route(share.route))]
    for fleet in site.fleets:
        fleets, own = [fleet], [s for s in lorries if not fleet.routes or s.route in fleet.routes]
        for group in [g for g in groups if any(share in own for share in g[1])]:
            groups.remove(group)
            fleets = group[0] + fleets
            own += [share for share in group[1] if share not in own]
        groups += [(fleets, own)] if own else []
    return groups


def _fleets_t_per_h(
    ahead: ShiftAhead, fleets: Sequence[Fleet], shares: Sequence[Share]
) -> tuple[float, str]:
    """What fleets carry of the ground of some shares together [t/h], and how."""
    share, total, said = sum(s.share for s in shares), 0.0, []
    for fleet in fleets:
        payload_t = share / loads_per_t(ahead.site, ahead.ways, shares, fleet.vehicle)
        away = sum(s.share * ahead.ways.away_min.get(s.route, fleet.away_min) for s in shares)
        loads = _loads_per_h(fleet.lorries, fleet.loaders, fleet.load_min, away / share)
        total += loads * payload_t
        by = "as measured" if any(s.route in ahead.ways.away_min for s in shares) else "by plan"
        said.append(
            f"{fleet.lorries} lorries, {away / share:.0f} min away {by}, {fleet.load_min:g} min to"
            f" load at {fleet.loaders}: {loads:.1f} loads/h x {payload_t:.1f} t"
        )
    return total, " and ".join(said)


@lru_cache(maxsize=256)
def _loads_per_h(lorries: int, loaders: int, load_min: float, away_min: float) -> float:
    return finite_queue(lorries, 60.0 / away_min, 60.0 / load_min, loaders).output_per_h


def _tenths(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"
