"""Carbon: each leg of what moved and of the baseline, operation and supply, per tonne."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from tracker.domain.carbon import LegCarbon, break_even_mass_t, leg_carbon
from tracker.domain.limits import check_not_negative
from tracker.domain.reference_tables import OGL_ATTRIBUTION
from tracker.domain.site import Leg, Route
from tracker.errors import InputError
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.movements import baseline_view
from tracker.statements.shapes import BaselineView, CarbonStatement, LegLine, OptionLine
from tracker.statements.spoil import SpoilSum, spoil, total_of
from tracker.statements.words import date_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

AS_MOVED, BASELINE = "as moved", "baseline"
CARBON_CAUTION = (
    "Tonnes moved on the shortest feasible distance, operation and energy supply, empty running"
    " included; making vehicles and roads is not."
)
_Parts = Mapping[tuple[Any, ...], SpoilSum]


def carbon_statement(
    ledger: LedgerReads,
    until: date,
    *,
    since: date | None = None,
    known_at: datetime | None = None,
    factor_year: int | None = None,
    fixed_kgco2e: float | None = None,
) -> CarbonStatement:
    """Carbon by leg and option for a period; `fixed_kgco2e` is the conveyor's own, for break-even.

    The factors are of the year of activity unless `factor_year`, or the set-up, chooses an edition.
    Raises NotEnoughData without a set-up or baseline, FactorMissing naming year and what to do.
    """
    with ledger.reading():
        frame = framed(ledger, until, known_at)
        if fixed_kgco2e is not None:
            check_not_negative("fixed_kgco2e", fixed_kgco2e, "kg CO2e")
        start = since or min(frame.site.first_date, until)
        if start > until:
            raise InputError(f"The period starts on {start}, after it ends on {until}: swap them.")
        view = baseline_view(frame)
        chosen = factor_year or frame.site.factor_year
        legs: list[LegLine] = []
        spread = [0.0, 0.0]  # of the baseline, at its greatest and its least payload
        by_route: dict[tuple[Any, ...], SpoilSum] = {}
        for year, first, last in [(chosen, start, until)] if chosen else _years(start, until):
            parts = spoil(frame, ("route",), first, last)
            for key, part in parts.items():
                legs += _moved(frame, view, frame.route(key[0]), part, year)
                by_route[key] = total_of({(0,): by_route.get(key, SpoilSum()), (1,): part})
            mass_t = total_of(parts).mass_t
            legs += _baseline(frame, view, mass_t, year, view.payload_t)
            for place, payload_t in enumerate((view.payload_high_t, view.payload_low_t)):
                lines = _baseline(frame, view, mass_t, year, payload_t)
                spread[place] += sum(line.total_kgco2e for line in lines)
        return _stated(frame, view, start, tuple(legs), spread, by_route, chosen, fixed_kgco2e)


def _years(since: date, until: date) -> list[tuple[int, date, date]]:
    return [
        (year, max(since, date(year, 1, 1)), min(until, date(year, 12, 31)))
        for year in range(since.year, until.year + 1)
    ]


def _moved(
    frame: Frame, view: BaselineView, route: Route, part: SpoilSum, year: int
) -> list[LegLine]:
    """The legs of a route with what went by it.

    A first lorry leg takes the payload observed on it, one further on that of the baseline.
    """
    if not part.mass_t:
        return []
    return [
        _line(AS_MOVED, leg.route, leg.leg, _leg_carbon(frame, view, leg, part, year))
        for leg in route.legs
    ]


def _leg_carbon(frame: Frame, view: BaselineView, leg: Leg, part: SpoilSum, year: int) -> LegCarbon:
    vehicle = frame.vehicle(leg.vehicle) if leg.mode == "lorry" else None
    observed_t = part.observed_payload_t if leg.leg == 1 else None
    payload_t = (observed_t or view.payload_t) if vehicle else None
    energy_kwh = _energy(leg, part) if leg.mode == "belt" else None
    return leg_carbon(
        leg, part.mass_t, year, vehicle=vehicle, payload_t=payload_t, energy_kwh=energy_kwh
    )


def _energy(leg: Leg, part: SpoilSum) -> float | None:
    """Metered energy, and the leg's own kWh/t for the tonnes without a meter reading [kWh]."""
    unmetered_t = part.belt_t - part.belt_metered_t
    if not part.belt_metered_t or (leg.kwh_per_t is None and unmetered_t > 0.5):
        return None
    return part.belt_kwh + unmetered_t * (leg.kwh_per_t or 0.0)


def _baseline(
    frame: Frame, view: BaselineView, mass_t: float, year: int, payload_t: float
) -> list[LegLine]:
    if not mass_t:
        return []
    destination = frame.destination(view.destination).name
    leg = Leg(BASELINE, 1, "lorry", "site", destination, view.distance_km, view.vehicle)
    carbon = leg_carbon(
        leg,
        mass_t,
        year,
        vehicle=frame.vehicle(view.vehicle),
        payload_t=payload_t,
        empty_return=view.empty_return,
    )
    return [_line(BASELINE, BASELINE, 1, carbon)]


def _line(option: str, route: str, number: int, carbon: LegCarbon) -> LegLine:
    return LegLine(
        option=option,
        route=route,
        leg=number,
        mode=carbon.mode,
        from_place=carbon.from_place,
        to_place=carbon.to_place,
        distance_km=carbon.distance_km,
        mass_t=carbon.mass_t,
        activity_tkm=carbon.tkm,
        operation_kgco2e=carbon.operation_kgco2e,
        supply_kgco2e=carbon.supply_kgco2e,
        total_kgco2e=carbon.total_kgco2e,
        per_t_kgco2e=carbon.per_t or 0.0,
        factor=carbon.factor_note,
    )


def _option(name: str, mass_t: float, legs: Iterable[LegLine]) -> OptionLine:
    mine = list(legs)
    total = sum(leg.total_kgco2e for leg in mine)
    unsplit = sum(leg.total_kgco2e for leg in mine if leg.operation_kgco2e is None)
    return OptionLine(
        option=name,
        mass_t=mass_t,
        operation_kgco2e=sum(leg.operation_kgco2e or 0.0 for leg in mine),
        supply_kgco2e=sum(leg.supply_kgco2e or 0.0 for leg in mine),
        unsplit_kgco2e=unsplit,
        total_kgco2e=total,
        per_t_kgco2e=total / mass_t if mass_t else 0.0,
    )


def _stated(
    frame: Frame,
    view: BaselineView,
    since: date,
    legs: tuple[LegLine, ...],
    spread: Sequence[float],
    by_route: _Parts,
    chosen: int | None,
    fixed_kgco2e: float | None,
) -> CarbonStatement:
    mass_t = sum(part.mass_t for part in by_route.values())
    moved, baseline = (
        _option(name, mass_t, [leg for leg in legs if leg.option == name])
        for name in (AS_MOVED, BASELINE)
    )
    routes = _routes(legs, by_route)
    saved = [t - moved.total_kgco2e for t in (baseline.total_kgco2e, *spread)]
    by_belt = [route for route in routes if frame.route(route.option).belt]
    saved_by_belt = sum(r.mass_t * baseline.per_t_kgco2e - r.total_kgco2e for r in by_belt)
    break_even_t, never = _break_even(fixed_kgco2e, baseline, by_belt)
    quality = [*_quality(by_route, chosen), *_unpublished(moved, legs), *never]
    return CarbonStatement(
        basis=basis(frame, since, quality=quality, cautions=(CARBON_CAUTION,)),
        since=since,
        until=frame.as_of,
        legs=legs,
        options=(moved, baseline),
        routes=routes,
        saved_kgco2e=saved[0],
        saved_low_kgco2e=saved[1],
        saved_high_kgco2e=saved[2],
        saved_by_belt_kgco2e=saved_by_belt,
        fixed_kgco2e=fixed_kgco2e,
        break_even_t=break_even_t,
        editions=tuple(sorted({leg.factor.split(":")[0] for leg in legs if ":" in leg.factor})),
        attribution=OGL_ATTRIBUTION,
        headline=_headline(frame, view, since, moved, baseline, saved, saved_by_belt),
    )


def _routes(legs: Sequence[LegLine], by_route: _Parts) -> tuple[OptionLine, ...]:
    return tuple(
        _option(route, part.mass_t, [leg for leg in legs if leg.route == route])
        for (route,), part in by_route.items()
        if part.mass_t
    )


def _break_even(
    fixed_kgco2e: float | None, baseline: OptionLine, by_belt: Sequence[OptionLine]
) -> tuple[float | None, list[str]]:
    """Tonnes by belt after which its own carbon is paid back [t], or else the reason why none."""
    if fixed_kgco2e is None:
        return None, []
    mass_t = sum(r.mass_t for r in by_belt)
    if not mass_t:
        return None, ["Nothing went by belt in the period: its own carbon has no break-even."]
    running = sum(r.total_kgco2e for r in by_belt) / mass_t
    if running >= baseline.per_t_kgco2e:
        return None, [
            f"By belt each tonne emits {running:.2f} kg CO2e, no less than by the baseline: the"
            " belt's own carbon is never paid back."
        ]
    return break_even_mass_t(fixed_kgco2e, baseline.per_t_kgco2e, running), []


def _quality(by_route: _Parts, chosen: int | None) -> list[str]:
    lines = []
    if chosen is not None:
        lines.append(
            f"Factors of the {chosen} edition were chosen for the whole period, whatever the year"
            " of activity."
        )
    whole = total_of(by_route)
    if whole.belt_t:
        metered = 100.0 * whole.belt_metered_t / whole.belt_t
        lines.append(f"Belt energy metered for {metered:.0f} % of the belt tonnes, else modelled.")
    return lines


def _unpublished(moved: OptionLine, legs: Sequence[LegLine]) -> list[str]:
    """What rests on factors that the set-up gives of its own."""
    own = {leg.factor for leg in legs if leg.operation_kgco2e is None}
    if not own:
        return []
    share = 100.0 * moved.unsplit_kgco2e / moved.total_kgco2e
    return [
        f"{share:.0f} % of the carbon as moved rests on factors of the set-up, not published ones:"
        f" {'; '.join(sorted(own))}."
    ]


def _headline(
    frame: Frame,
    view: BaselineView,
    since: date,
    moved: OptionLine,
    baseline: OptionLine,
    saved: Sequence[float],
    saved_by_belt: float,
) -> str:
    """What was saved with its range, and how much of it is the conveyor's doing."""
    if not moved.mass_t:
        return "No spoil left the site in the period."
    saved_t, low_t, high_t, belt_t = (kg / 1000.0 for kg in (*saved, saved_by_belt))
    verdict = f"{saved_t:,.1f} t CO2e saved" if low_t > 0 else "no saving can be claimed"
    return (
        f"{date_words(since)} to {date_words(frame.as_of)}: {moved.mass_t:,.0f} t moved at"
        f" {moved.per_t_kgco2e:.2f} kg CO2e/t against {baseline.per_t_kgco2e:.2f} kg CO2e/t by the"
        f" lorry-only baseline ({view.distance_km:g} km): {verdict}, range {low_t:z,.1f} to"
        f" {high_t:z,.1f} for payloads of {view.payload_high_t:g} to {view.payload_low_t:g} t."
        f" {belt_t:z,.1f} t of the difference is on the tonnes by conveyor,"
        f" {saved_t - belt_t:z,.1f} t on lorry routes of other lengths and payloads than the"
        " baseline's."
    )
