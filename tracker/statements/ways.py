"""How ground left the site of late: the ways out for the ground ahead, from the recent record."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from statistics import fmean, median
from typing import Any

from tracker.domain.calendar import days
from tracker.domain.gate import Booked, booked_by_hour
from tracker.domain.haulage import usual_payload_t
from tracker.domain.levels import design_volume
from tracker.domain.programme.ways import Share, Ways, by_lorry
from tracker.domain.site import Site, Zone
from tracker.errors import UnknownName
from tracker.ledger.questions import general_levels, summed
from tracker.statements.frame import Frame
from tracker.statements.measured import FEWEST_ROUNDS, away_minutes, belt_energy, payloads
from tracker.statements.recent import RECORD_DAYS, Recent, Worked, recent
from tracker.statements.words import date_words

Masses = Mapping[str, Mapping[str, float]]  # stream -> route -> t
Left = Mapping[str, Mapping[str, float]]  # zone -> stream -> m³ bank


def record_start(frame: Frame) -> date:
    """The first day of the recent record."""
    return frame.as_of - timedelta(days=RECORD_DAYS - 1)


def ways_of(frame: Frame, record: Recent | None = None) -> Ways:
    """The ways out for the ground that is left, by the last four weeks of the record."""
    return ways_for(frame, ground_left(frame), record or recent(frame, record_start(frame)))


def ways_for(frame: Frame, left: Left, record: Recent) -> Ways:
    """The ways out for some ground, by zone and stream [m³ bank], by the record of a period."""
    site, worked = frame.site, record.worked
    by_stream: Counter[str] = Counter()
    for of_zone in left.values():
        by_stream.update(of_zone)
    shares, said = _shares(frame, by_stream, record)
    known = {share.stream for share in shares}
    with_way = {stream: m3 for stream, m3 in by_stream.items() if stream in known}
    bank_m3 = sum(with_way.values())
    loads, away = payloads(record), away_minutes(record)
    fall_back = _fall_backs(frame, shares)
    return Ways(
        shares=shares,
        bank_density_t_per_m3=_tonnes(site, with_way) / bank_m3 if bank_m3 else None,
        loose_per_bank=_loose_m3(site, with_way) / bank_m3 if bank_m3 else None,
        zone_loose_per_bank={
            zone: _loose_m3(site, of) / sum(of.values()) for zone, of in left.items()
        },
        fall_back=fall_back,
        payloads_t={k: fmean(of) for k, of in loads.items() if len(of) >= FEWEST_ROUNDS},
        away_min={k: median(of) for k, of in away.items() if len(of) >= FEWEST_ROUNDS},
        other=_other_traffic(frame, record.since),
        booked=_booked(frame),
        dig_m3_per_h=_dig_rates(site, worked, left),
        kwh_per_t=belt_energy(site, record),
        shift_h=worked.shift_h,
        sentences=(*said, *_fall_back_words(site, shares, fall_back)),
    )


# --- the ground left, and what was dug -----------------------------------------------------------
def ground_left(frame: Frame) -> Left:
    """Zone -> stream -> bank volume between its general level, as returned, and formation [m³]."""
    levels = general_levels(frame.ledger, frame.as_of, frame.known_at)
    found = {}
    for zone in frame.site.zones:
        top_m = min(zone.ground_level_m, levels.get(zone.zone, 10**9) / 1000.0)
        left = _by_stream(frame.site, zone, top_m, frame.site.formation_level_m(zone.zone))
        if left:
            found[zone.zone] = left
    return found


def _by_stream(site: Site, zone: Zone, top_m: float, bottom_m: float) -> dict[str, float]:
    found: Counter[str] = Counter()
    for band in site.ground_of(zone.zone):
        upper, lower = min(band.upper_level_m, top_m), max(band.lower_level_m, bottom_m)
        if upper > lower:
            found[band.stream] += design_volume(zone, upper, lower)  # type: ignore[assignment]
    return {stream: volume for stream, volume in found.items() if volume > 0.0}


def _dig_rates(site: Site, worked: Worked, left: Left) -> dict[str, float]:
    """Zone -> what it gives in an hour of a shift; where it was not dug of late, as those beside.

    Those beside it in its excavation give the mean of their own rates.
    """
    found = {}
    for zone in left:
        beside = [z.zone for z in site.zones_of(site.zone(zone).excavation)]
        own = worked.rate([zone])
        rates = [rate for z in beside if (rate := worked.rate([z]))]
        if own or rates:
            found[zone] = own or fmean(rates)
    return found


def _tonnes(site: Site, by_stream: Mapping[str, float]) -> float:
    return sum(m3 * site.stream(s).bank_density_t_per_m3.value for s, m3 in by_stream.items())


def _loose_m3(site: Site, by_stream: Mapping[str, float]) -> float:
    return sum(m3 * site.stream(s).loose_per_bank.value for s, m3 in by_stream.items())


# --- routes --------------------------------------------------------------------------------------
def _shares(
    frame: Frame, by_stream: Mapping[str, float], record: Recent
) -> tuple[tuple[Share, ...], tuple[str, ...]]:
    """Shares of all tonnes by stream and route, with a sentence for each stream."""
    late, ever = _moved(frame, record), None
    parts: dict[tuple[str, str], float] = {}
    said = []
    for stream, bank_m3 in by_stream.items():
        mass_t, when = _tonnes(frame.site, {stream: bank_m3}), f"in {RECORD_DAYS} days"
        routes = late.get(stream)
        if not routes:
            ever = ever or _moved(frame, None)
            routes, when = ever.get(stream, {}), "over the whole record"
        total = sum(routes.values())
        parts.update({(stream, route): mass_t * t / total for route, t in routes.items()})
        said.append(_stream_words(frame, stream, mass_t, routes, when))
    total = sum(parts.values())
    shares = tuple(Share(*place, mass_t / total) for place, mass_t in parts.items())
    return shares, tuple(said)


def _stream_words(
    frame: Frame, stream: str, mass_t: float, routes: Mapping[str, float], when: str
) -> str:
    name, total = frame.site.stream(stream).name, sum(routes.values())
    if not total:
        return (
            f"{name}: {mass_t:,.0f} t are left, and no record says by which route they go. They"
            " are left out of the limits of the ways out."
        )
    most_first = sorted(routes.items(), key=lambda pair: -pair[1])
    parts = ", ".join(f"{100.0 * t / total:.0f} % by {route}" for route, t in most_first)
    return (
        f"{name}: {mass_t:,.0f} t are left; {parts} ({total:,.0f} t {when} to"
        f" {date_words(frame.as_of)}; days on which its belt carried nothing are left out)."
    )


def _moved(frame: Frame, record: Recent | None) -> dict[str, dict[str, float]]:
    """Stream -> route of the set-up -> what went by it [t], on days when its belt ran."""
    since = None if record is None else record.since
    asked: dict[str, Any] = {"since": since, "until": frame.as_of, "known_at": frame.known_at}
    by_day = summed(frame.ledger, ("belt_kg", "load_kg"), ("day", "stream", "route"), **asked)
    ran: dict[date, set[str]] = defaultdict(set)
    belts: dict[str, set[str]] = defaultdict(set)  # of a stream
    known = {route.route: route for route in frame.site.routes}
    for measure, day, stream, route in by_day:
        if measure == "belt_kg" and route in known:
            ran[day].add(known[route].belt)
            belts[stream].add(known[route].belt)
    found: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for (_, day, stream, route), kg in by_day.items():
        if route in known and (not belts[stream] or belts[stream] & ran[day]):
            found[stream][route] += kg / 1000.0
    unweighed = summed(frame.ledger, ("loads_no_weight",), ("stream", "route", "detail"), **asked)
    for (_, stream, route, vehicle), loads in unweighed.items():
        if route in found.get(stream, {}):
            found[stream][route] += loads * _usual_t(frame.site, vehicle, stream)
    return {stream: dict(routes) for stream, routes in found.items()}


def _usual_t(site: Site, vehicle: str, stream: str) -> float:
    try:
        return usual_payload_t(site, vehicle, stream)
    except UnknownName:
        return 0.0


def _fall_backs(frame: Frame, shares: tuple[Share, ...]) -> dict[str, str]:
    """Stream -> the route by lorry that it takes while its belt is stopped.

    Of the routes it took on record, that to the destination of its belt, else the one that took
    most. If it never took one: a route of the set-up to that destination, or to another that covers
    its waste code.
    """
    site, found = frame.site, {}
    by_belt = {
        s.stream: site.route(s.route).destination for s in shares if site.route(s.route).belt
    }
    if not by_belt:
        return {}
    asked: dict[str, Any] = {"until": frame.as_of, "known_at": frame.known_at}
    taken = summed(frame.ledger, ("load_kg",), ("stream", "route"), **asked)
    covering = {d.destination: d.waste_codes for d in site.destinations}
    for stream, usual in by_belt.items():
        code = site.stream(stream).waste_code
        ranked = []
        for route in (route for route in site.routes if by_lorry(route)):
            kg, elsewhere = (
                taken.get(("load_kg", stream, route.route), 0),
                route.destination != usual,
            )
            covered = bool(code) and code in covering.get(route.destination, ())
            if kg or not elsewhere or covered:
                ranked.append((not kg, elsewhere, -kg, route.route))
        if ranked:
            found[stream] = min(ranked)[-1]
    return found


def _fall_back_words(
    site: Site, shares: tuple[Share, ...], fall_back: Mapping[str, str]
) -> Iterator[str]:
    """Where each stream of a belt goes while the belt is stopped."""
    for share in shares:
        usual = site.route(share.route)
        if not usual.belt:
            continue
        start = f"{site.stream(share.stream).name}: while {usual.belt} is stopped"
        if share.stream not in fall_back:
            yield f"{start} none of it goes; the set-up has no route by lorry for it."
            continue
        instead = site.route(fall_back[share.stream])
        same = "the same" if instead.destination == usual.destination else "another"
        yield (
            f"{start} it goes by {instead.route} to {instead.destination}, {same} destination, if"
            " its papers and authorisations cover that."
        )


def _other_traffic(frame: Frame, since: date) -> dict[tuple[int, int], tuple[float, float]]:
    """(weekday, local hour) -> usual movements in and out of traffic without spoil."""
    asked: dict[str, Any] = {"since": since, "until": frame.as_of, "known_at": frame.known_at}
    sums = summed(frame.ledger, ("other_in", "other_out"), ("day", "detail"), **asked)
    first = max(since, frame.site.first_date)
    open_days = Counter(
        day.weekday() for day in days(first, frame.as_of) if day not in frame.site.closed_days
    )
    found: dict[tuple[int, int], list[float]] = defaultdict(lambda: [0.0, 0.0])
    for (measure, day, hour), movements in sums.items():
        weekday = day.weekday()
        mean = movements / max(1, open_days[weekday])
        found[weekday, int(hour)][measure == "other_out"] += mean
    return {place: (ins, outs) for place, (ins, outs) in found.items()}


def _booked(frame: Frame) -> dict[date, dict[int, tuple[float, float]]]:
    """Date from the as-of date on -> local hour -> movements in and out that are booked."""
    by_day: dict[date, list[Booked]] = defaultdict(list)
    entries = frame.ledger.current("gate_bookings", since=frame.as_of, known_at=frame.known_at)
    for one in entries:
        by_day[one.gate_date].append(
            Booked(one.from_hour, one.to_hour, one.movements_in, one.movements_out)
        )
    found: dict[date, dict[int, tuple[float, float]]] = {}
    for day, bookings in by_day.items():
        hours = enumerate(zip(*booked_by_hour(bookings), strict=True))
        found[day] = {hour: both for hour, both in hours if any(both)}
    return found
