"""How the ground ahead leaves the site: shares of its tonnes by stream and route, loads, rounds.

Taken from the recent record (`statements/ways.py`) or written by hand. What a what-if changes is
changed here or in the site, and the limits follow.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from tracker.domain.haulage import usual_payload_t
from tracker.domain.limits import check_positive
from tracker.domain.site import Route, Site

HEAP_SHARE = 0.25  # of the tonnes, that heaps take for a day; common practice, no source
OTHER_MEANS = ("rail", "barge")  # legs on which ground waits when a receiver is shut


@dataclass(frozen=True, slots=True)
class Share:
    """How much of all tonnes ahead is of a stream and goes by a route [-]; all add up to 1."""

    stream: str
    route: str
    share: float


@dataclass(frozen=True, slots=True)
class Ways:
    """What the ways out look like for the ground ahead; nothing known by default.

    `fall_back` is stream -> the route by lorry that it takes while its belt is stopped.
    `payloads_t` is (vehicle, stream) -> mass of a load, in place of that by plate and body.
    `away_min` is route -> time away of a lorry, measured, in place of the plan of its fleet.
    `other` is (weekday, local hour) -> usual movements in and out of all other traffic, `booked`
    date -> local hour -> those that are booked.
    `zone_loose_per_bank` and `dig_m3_per_h` are by zone: of its ground left, and what it gives in
    an hour of a shift; `shift_h` is how long the shifts were that it was taken from. `kwh_per_t` is
    by belt.
    """

    shares: tuple[Share, ...] = ()
    bank_density_t_per_m3: float | None = None
    loose_per_bank: float | None = None
    zone_loose_per_bank: Mapping[str, float] = field(default_factory=dict)
    fall_back: Mapping[str, str] = field(default_factory=dict)
    payloads_t: Mapping[tuple[str, str], float] = field(default_factory=dict)
    away_min: Mapping[str, float] = field(default_factory=dict)
    other: Mapping[tuple[int, int], tuple[float, float]] = field(default_factory=dict)
    booked: Mapping[date, Mapping[int, tuple[float, float]]] = field(default_factory=dict)
    dig_m3_per_h: Mapping[str, float] = field(default_factory=dict)
    shift_h: float | None = None
    kwh_per_t: Mapping[str, float] = field(default_factory=dict)
    sentences: tuple[str, ...] = ()  # where each comes from

    def __post_init__(self) -> None:
        for share in self.shares:
            check_positive(f"share of {share.stream} by {share.route}", share.share, "-")
        if self.shares:
            density = self.bank_density_t_per_m3 or 0.0
            check_positive("bank_density_t_per_m3 of the ground ahead", density, "t/m³")

    def changed(self, **what: object) -> Ways:
        """The same with something else in it: what if."""
        return replace(self, **what)  # type: ignore[arg-type]

    def known_to(self, site: Site) -> Ways:
        """The same without streams and routes that a set-up does not have."""
        routes = {route.route for route in site.routes}
        streams = {stream.stream for stream in site.streams}
        shares = tuple(s for s in self.shares if s.route in routes and s.stream in streams)
        if shares == self.shares and routes.issuperset(self.fall_back.values()):
            return self
        back = {stream: route for stream, route in self.fall_back.items() if route in routes}
        return replace(self, shares=shares, fall_back=back)

    def with_payload(self, site: Site, payload_t: float) -> Ways:
        """The same with this mass of a load, in every vehicle and stream: what if."""
        every = {(v.vehicle, s.stream): payload_t for v in site.vehicles for s in site.streams}
        return self.changed(payloads_t=every)

    def payload_t(self, site: Site, vehicle: str, stream: str) -> float:
        """What a vehicle carries of a stream, never above its plate [t]. Raises UnknownName."""
        given = self.payloads_t.get((vehicle, stream))
        if given is None:
            return usual_payload_t(site, vehicle, stream)
        return min(given, site.vehicle(vehicle).plated_payload_t)


@dataclass(frozen=True, slots=True)
class Shut:
    """Why a route takes nothing for a part of a shift [-], as a word of `governing` and a thing."""

    name: str
    about: str
    part: float = 1.0


@dataclass(frozen=True, slots=True)
class Carried:
    """Shares of the tonnes by stream and route once what is shut is, and what cannot go at all.

    `stuck` is why -> share of all tonnes; `instead` says in words what takes another route.
    """

    shares: tuple[Share, ...]
    stuck: Mapping[tuple[str, str], float]
    instead: tuple[str, ...]


def carried(site: Site, ways: Ways, shut: Mapping[str, Shut]) -> Carried:
    """How the tonnes go while some routes (by name) are shut, or are for a part of the shift.

    They take the open routes that their stream has, in proportion; else its fall-back. Where there
    is neither they are stuck, or wait for the rest of the shift where it is shut for a part only.
    """
    shares: dict[tuple[str, str], float] = {}
    stuck: dict[tuple[str, str], float] = defaultdict(float)
    instead: list[str] = []
    by_stream: dict[str, list[Share]] = defaultdict(list)
    for share in ways.shares:
        by_stream[share.stream].append(share)
    for stream, of in by_stream.items():
        shares.update({(stream, s.route): s.share for s in of})
        others = _others(ways, of, shut)
        for share in of:
            why = shut.get(share.route)
            if why is None or (not others and why.part < 1.0):
                continue
            moved = share.share * why.part
            shares[stream, share.route] -= moved
            if not others:
                stuck[why.name, why.about] += moved
                continue
            for route, part in others.items():
                shares[stream, route] = shares.get((stream, route), 0.0) + moved * part
            instead.append(_instead(site, stream, share.route, why, list(others)))
    kept = tuple(Share(*place, share) for place, share in shares.items() if share > 1e-12)
    return Carried(kept, dict(stuck), tuple(instead))


def _others(ways: Ways, of: list[Share], shut: Mapping[str, Shut]) -> dict[str, float]:
    """Route -> part of what cannot go the way of its own that it takes."""
    opened = [share for share in of if share.route not in shut]
    total = sum(share.share for share in opened)
    if opened:
        return {share.route: share.share / total for share in opened}
    route = ways.fall_back.get(of[0].stream, "")
    return {route: 1.0} if route and route not in shut else {}


def _instead(site: Site, stream: str, route: str, why: Shut, others: list[str]) -> str:
    usual = site.route(route).destination
    ways = []
    for name in others:
        to = site.route(name).destination
        ways.append(f"{name} to {to}" + ("" if to == usual else f", not to {usual}"))
    part = "" if why.part == 1.0 else f" {100.0 * why.part:.0f} % of"
    return f"{why.about or why.name} is shut:{part} {stream} goes by {' and '.join(ways)}."


def by_lorry(route: Route) -> bool:
    """Whether lorries take the ground out through the gate: the first leg is theirs."""
    return route.legs[0].mode == "lorry"


def waits_on_the_way(route: Route) -> bool:
    """Whether ground can wait under way, on a barge or in wagons, while the receiver is shut."""
    return any(leg.mode in OTHER_MEANS for leg in route.legs)


def loads_per_t(site: Site, ways: Ways, shares: Iterable[Share], vehicle: str = "") -> float:
    """Lorry loads for a tonne of all ground ahead; of one vehicle, or of that of each route."""
    return sum(
        share.share
        / ways.payload_t(site, vehicle or site.route(share.route).legs[0].vehicle, share.stream)
        for share in shares
    )
