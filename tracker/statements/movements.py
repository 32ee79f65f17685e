"""Movements: loads and movements made, the frozen baseline, and what may be claimed as avoided."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from tracker.domain.site import Route
from tracker.errors import InputError, NotEnoughData
from tracker.ledger.entries import Baseline
from tracker.ledger.questions import summed
from tracker.statements.basis import Basis
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.shapes import BaselineView, MovementsStatement, PeriodLine, RouteLine
from tracker.statements.spoil import SpoilSum, spoil, total_of
from tracker.statements.words import date_words, percent_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

GRAINS = ("day", "week", "month", "total")
_REACH_DAYS = {"day": 31, "week": 26 * 7}  # how far back a grain looks unless told

CLAIM_CAUTION = (
    "A number of movements is a claim only with its payload, its tonnes basis and its road leg."
    " Tonnes that travel by lorry further on are not avoided there."
)


def movements_statement(
    ledger: LedgerReads,
    until: date,
    *,
    since: date | None = None,
    grain: str = "month",
    known_at: datetime | None = None,
) -> MovementsStatement:
    """What may be said of lorries over a period: made, baseline, avoided with its range.

    Raises NotEnoughData without a set-up or a baseline, InputError for an unknown grain.
    """
    if grain not in GRAINS:
        raise InputError(f"Grain “{grain}” is unknown; use {', '.join(GRAINS)}.", field="grain")
    with ledger.reading():
        frame = framed(ledger, until, known_at)
        start = _start(frame, since, until, grain)
        view = baseline_view(frame)
        by_route = spoil(frame, ("route",), start, until)
        whole = total_of(by_route)
        total = _line(view, "total", start, until, whole, _made(frame, start, until))
        parts = [(frame.route(key[0]), part) for key, part in by_route.items()]
        routes = tuple(_route_line(frame, route, part) for route, part in parts)
        onward = [trips for route, part in parts for trips in _onward(view, route, part)]
        stands_on = basis(
            frame, start, quality=_quality(frame, start, whole), cautions=(CLAIM_CAUTION,)
        )
        return MovementsStatement(
            basis=stands_on,
            since=start,
            until=until,
            grain=grain,
            baseline=view,
            lines=_lines(frame, view, start, until, grain) or (total,),
            total=total,
            routes=routes,
            observed_payload_t=whole.observed_payload_t,
            observed_payload_loads=whole.weighed_loads,
            weighed_percent=_weighed_percent(whole),
            conveyor_movements=_conveyor_movements(view, whole),
            onward_loads=sum(loads for loads, _ in onward),
            avoided_lorry_km=_avoided_km(view, total, routes, onward),
            claim=_claim(frame, stands_on, view, total, whole, onward),
        )


def _start(frame: Frame, since: date | None, until: date, grain: str) -> date:
    if since is not None and since > until:
        raise InputError(
            f"The period starts on {since}, after it ends on {until}: swap the dates.",
            field="since",
        )
    reach = _REACH_DAYS.get(grain)
    first = frame.site.first_date
    if since is None and reach:
        since = until - timedelta(days=reach - 1)
    return max(first, since or first)


def baseline_view(frame: Frame) -> BaselineView:
    """The baseline frozen last before the end of the period. Raises NotEnoughData without one."""
    frozen = frame.ledger.current("baselines", known_at=frame.known_at, until=frame.as_of)
    if not frozen:
        raise NotEnoughData(
            "No baseline is frozen, so nothing can be called avoided: record one with"
            " `spoil import baseline FILE`."
        )
    return _viewed(frozen[-1])


def _viewed(entry: Baseline) -> BaselineView:
    return BaselineView(
        baseline=entry.baseline,
        frozen_on=entry.frozen_on,
        vehicle=entry.vehicle,
        payload_low_t=entry.payload_low_kg / 1000.0,
        payload_t=entry.payload_kg / 1000.0,
        payload_high_t=entry.payload_high_kg / 1000.0,
        distance_km=entry.distance_m / 1000.0,
        destination=entry.destination,
        empty_return=entry.empty_return,
        reference=entry.reference,
    )


def _made(frame: Frame, since: date, until: date) -> int:
    asked: dict[str, Any] = {"since": since, "until": until, "known_at": frame.known_at}
    return summed(frame.ledger, ["movements"], **asked).get(("movements",), 0)


def _line(
    view: BaselineView, label: str, starts: date, ends: date, part: SpoilSum, made: int
) -> PeriodLine:
    """Avoided = frozen baseline - actual; a lighter payload needs more lorries, so avoids more."""
    loads = part.mass_t / view.payload_t
    most, least = part.mass_t / view.payload_low_t, part.mass_t / view.payload_high_t
    return PeriodLine(
        label=label,
        starts=starts,
        ends=ends,
        spoil_t=part.mass_t,
        belt_t=part.belt_t,
        lorry_t=part.lorry_t,
        weighed_lorry_t=part.weighed_t,
        loads=part.loads,
        movements=made,
        baseline_loads=loads,
        baseline_movements=2.0 * loads,
        avoided_loads=loads - part.loads,
        avoided_movements=2.0 * loads - made,
        avoided_movements_low=2.0 * least - made,
        avoided_movements_high=2.0 * most - made,
    )


def _lines(
    frame: Frame, view: BaselineView, since: date, until: date, grain: str
) -> tuple[PeriodLine, ...]:
    if grain == "total":
        return ()
    column = "month" if grain == "month" else "day"
    parts = spoil(frame, (column,), since, until)
    asked: dict[str, Any] = {"since": since, "until": until, "known_at": frame.known_at}
    made = {k[1]: n for k, n in summed(frame.ledger, ["movements"], (column,), **asked).items()}
    buckets: dict[date, dict[Any, SpoilSum]] = {}
    moves: dict[date, int] = {}
    for key in {*(k[0] for k in parts), *made}:
        first = _bucket(key, grain)
        if (key,) in parts:
            buckets.setdefault(first, {})[(key,)] = parts[(key,)]
        moves[first] = moves.get(first, 0) + made.get(key, 0)
    return tuple(
        _line(
            view,
            _label(first, grain),
            max(first, since),
            min(_last_day(first, grain), until),
            total_of(buckets.get(first, {})),
            moves[first],
        )
        for first in sorted(moves)
    )


def _bucket(key: Any, grain: str) -> date:
    """The first day of the period that a day, or a month as text, lies in."""
    if grain == "month":
        return date.fromisoformat(f"{key}-01")
    day: date = key
    return day - timedelta(days=day.weekday()) if grain == "week" else day


def _last_day(first: date, grain: str) -> date:
    if grain == "month":
        return (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
    return first + timedelta(days=6 if grain == "week" else 0)


def _label(first: date, grain: str) -> str:
    if grain == "month":
        return f"{first:%b %Y}"
    return f"week of {date_words(first)}" if grain == "week" else date_words(first)


# --- routes and legs beyond the gate -------------------------------------------------------------
def _route_line(frame: Frame, route: Route, part: SpoilSum) -> RouteLine:
    destination = frame.destination(route.destination)
    first = route.legs[0]
    onward = [leg for leg in route.legs[1:] if leg.mode == "lorry"]
    return RouteLine(
        route=route.route,
        name=route.name,
        first_mode=first.mode,
        destination=destination.name,
        destination_kind=destination.kind,
        mass_t=part.mass_t,
        loads=part.loads,
        road_km_per_load=first.distance_km if first.mode == "lorry" else 0.0,
        onward_road_legs="; ".join(
            f"{leg.distance_km:g} km by lorry from {leg.from_place} to {leg.to_place}"
            for leg in onward
        ),
    )


def _onward(view: BaselineView, route: Route, part: SpoilSum) -> list[tuple[float, float]]:
    """(loads, km) of each lorry leg beyond the first, at the payload of the baseline."""
    legs = [leg for leg in route.legs[1:] if leg.mode == "lorry"]
    return [(part.mass_t / view.payload_t, leg.distance_km) for leg in legs]


def _conveyor_movements(view: BaselineView, whole: SpoilSum) -> float:
    """Movements that the tonnes on the belt would have made by the baseline."""
    return 2.0 * whole.belt_t / view.payload_t


def _avoided_km(
    view: BaselineView,
    total: PeriodLine,
    routes: Sequence[RouteLine],
    onward: Sequence[tuple[float, float]],
) -> float:
    """Lorry kilometres of the baseline less those driven, there and back [km].

    Driven are the way from the gate and, further on, the lorry legs beyond the belt's end.
    """
    ways = 2.0 if view.empty_return else 1.0
    driven = sum(route.loads * route.road_km_per_load for route in routes)
    driven += sum(loads * distance_km for loads, distance_km in onward)
    return ways * (total.baseline_loads * view.distance_km - driven)


def _weighed_percent(whole: SpoilSum) -> float | None:
    """Share of the tonnes that a belt weigher or a weighbridge states [%]."""
    if not whole.mass_t:
        return None
    return 100.0 * (whole.belt_t + whole.weighed_t) / whole.mass_t


def _quality(frame: Frame, since: date, whole: SpoilSum) -> list[str]:
    received = summed(
        frame.ledger, ["received_kg"], since=since, until=frame.as_of, known_at=frame.known_at
    )
    received_t = received.get(("received_kg",), 0) / 1000.0
    lines = [
        f"Receipts dated in the period confirm {received_t:,.0f} t; {whole.lorry_t:,.0f} t left by"
        " lorry. Belt tonnes are those of its weigher, as read."
    ]
    if whole.assumed_loads:
        lines.append(
            f"Loads without weight: {whole.assumed_loads}, counted at the usual payload of their"
            f" vehicle ({whole.assumed_t:,.0f} t)."
        )
    if whole.loads_rejected:
        lines.append(
            f"Loads rejected: {whole.loads_rejected}; they moved and count as movements, their"
            " tonnes do not."
        )
    return lines


def _claim(
    frame: Frame,
    stands_on: Basis,
    view: BaselineView,
    total: PeriodLine,
    whole: SpoilSum,
    onward: Sequence[tuple[float, float]],
) -> str:
    """One sentence that carries its own basis, to be copied whole."""
    if not whole.mass_t:
        return "No spoil left the site in the period, so nothing was avoided."
    observed = (
        f"observed mean payload {whole.observed_payload_t:.2f} t over {whole.weighed_loads:,} loads"
        if whole.observed_payload_t
        else "no load was weighed"
    )
    destination = frame.destination(view.destination).name
    return (
        f"{frame.site.name}, {date_words(total.starts)} to {date_words(total.ends)}:"
        f" {_verdict(view, total)} at the site gate against the baseline “{view.baseline}” frozen"
        f" on {date_words(view.frozen_on)} ({view.payload_t:g} t a load, {view.distance_km:g} km by"
        f" road to {destination}, {'empty return' if view.empty_return else 'no empty return'}):"
        f" {whole.mass_t:,.0f} t left, {percent_words(_weighed_percent(whole) or 0.0)} of it"
        f" weighed; {whole.belt_t:,.0f} t went by conveyor, which alone stands for"
        f" {_conveyor_movements(view, whole):,.0f} movements; {total.loads:,} loads and"
        f" {total.movements:,} movements were made; {observed}{_further(view, onward)};"
        f" {_returns(stands_on)}."
    )


def _returns(stands_on: Basis) -> str:
    share = stands_on.completeness_percent
    if share is None:
        return "no dig returns were due yet"
    return f"dig returns {percent_words(share)} complete"


def _further(view: BaselineView, onward: Sequence[tuple[float, float]]) -> str:
    """What still runs by road beyond the belt's end, and so is not avoided there."""
    if not onward:
        return ""
    loads = sum(part for part, _ in onward)
    nearest, farthest = min(km for _, km in onward), max(km for _, km in onward)
    distance = f"{nearest:g}" if nearest == farthest else f"{nearest:g} to {farthest:g}"
    return (
        f"; beyond the belt's end {2.0 * loads:,.0f} movements ({loads:,.0f} loads of"
        f" {view.payload_t:g} t, {distance} km) still run by road"
    )


def _verdict(view: BaselineView, total: PeriodLine) -> str:
    """How many movements were avoided, with the range; or that none can be claimed."""
    low, high = total.avoided_movements_low, total.avoided_movements_high
    spread = (
        f"range {low:,.0f} to {high:,.0f} movements for payloads of {view.payload_high_t:g} to"
        f" {view.payload_low_t:g} t"
    )
    if low <= 0:
        return f"no avoided lorry movement can be claimed ({spread})"
    return (
        f"{total.avoided_movements:,.0f} lorry movements ({total.avoided_loads:,.0f} loads;"
        f" {spread}) were avoided"
    )
