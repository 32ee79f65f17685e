"""What lies between one survey of a stream and the next: bank volume, mass, belt and loose volume.

Each quantity keeps the errors that it is made of by name, so that what two spans share, such as the
survey between them, the heap at their border or the span of the belt weigher, is not counted twice.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from tracker.domain.reconcile.least_squares import Floats
from tracker.domain.reconcile.season_equations import BEFORE
from tracker.domain.reconcile.stated import (
    Amount,
    AssumedGround,
    Bank,
    Carried,
    Loose,
    Mass,
    Season,
    Stated,
    SurveyedVoid,
)

Name = tuple[object, ...]


@dataclass(slots=True)
class Quantity:
    """A sum of statements and the errors in it, each a standard uncertainty under its name."""

    value: float = 0.0
    errors: dict[Name, float] = field(default_factory=dict)

    def add(self, amount: Amount, source: str, place: int, times: float = 1.0) -> None:
        """Add a statement so many times; its shared error goes by the name of the source."""
        value, independent, shared = amount.parts
        self.value += times * value
        self.err((source, place), times * independent)
        self.err((source,), times * shared)

    def err(self, name: Name, u: float) -> None:
        """Add an error by name."""
        self.errors[name] = self.errors.get(name, 0.0) + u


@dataclass(frozen=True, slots=True)
class Span:
    """The periods of one stream between two surveys; `period` is the last. None was not stated."""

    period: str
    bank_m3: Quantity
    mass_t: Quantity | None
    belt_t: Quantity
    loose_m3: Quantity | None


def covariance(quantities: Sequence[Quantity]) -> Floats:
    """Covariance of the errors of some quantities."""
    names = {name: k for k, name in enumerate({n: None for q in quantities for n in q.errors})}
    parts = np.zeros((len(quantities), len(names)))
    for row, quantity in enumerate(quantities):
        for name, u in quantity.errors.items():
            parts[row, names[name]] = u
    found: Floats = parts @ parts.T
    return found


def spans(season: Season, ground: AssumedGround, belt: str = "belt") -> list[Span]:
    """The spans of a stream, in order of time; periods after the last survey are left out.

    `belt` is the name that its weighings go by.
    """
    found: list[Span] = []
    within: list[tuple[int, Stated]] = []
    dug_after: tuple[Bank, int] | None = None
    u_split_m3 = 0.0  # of the survey before
    last, opening = BEFORE, (ground.opening_stock, BEFORE)
    stated = list(season.of_stream(ground.stream))
    keeps = any(one.closing_stock for _, one in stated) or ground.opening_stock is not None
    for place, one in stated:
        within.append((place, one))
        if one.survey is None:
            continue
        bank = _dug(one.survey, place, last, dug_after)
        bank.err(("split", place), one.survey.u_split_m3)
        bank.err(("split", last), -u_split_m3)
        mass = _mass(within, ground)
        closing = (one.closing_stock, place)
        if mass is not None and keeps:
            mass = _with_stock(mass, ground, opening, closing, first=not found)
        loose = _loose(within)
        scatter = len(within) ** -0.5 * bank.value
        for total, u in (
            (mass, ground.u_independent_t_per_m3),
            (loose, ground.u_independent_loose_per_bank),
        ):
            if total is not None:  # ground differs from period to period
                total.err(("ground", place), u * scatter)
        found.append(Span(season.periods[place], bank, mass, _belt(within, belt), loose))
        last, opening, within = place, closing, []
        u_split_m3 = one.survey.u_split_m3
        dug_after = (one.survey.dug_after, place) if one.survey.dug_after else None
    return found


def _dug(
    survey: SurveyedVoid, place: int, last: int, dug_after: tuple[Bank, int] | None
) -> Quantity:
    bank = Quantity()
    bank.add(survey.void, "survey", place)
    if survey.has_level:
        level = survey.plan_area_m2 * survey.u_level_m
        bank.err(("level", place), level)
        bank.err(("level", last), -level)
    if survey.dug_after is not None:
        bank.add(survey.dug_after, "dug after survey", place)
    if dug_after is not None:
        bank.add(dug_after[0], "dug after survey", dug_after[1], -1.0)
    return bank


def _mass(within: Iterable[tuple[int, Stated]], ground: AssumedGround) -> Quantity | None:
    mass = Quantity()
    for place, one in within:
        for way in one.carried:
            known = way.weighed or way.accepted
            if known is None:
                return None
            mass.add(known, _source(way), place)
        if one.reused is not None:
            _add_in_t(mass, one.reused, "re-use", place, ground)
    return mass


def _source(way: Carried) -> str:
    return way.by if way.weighed is not None else f"receipts {way.receiver}"


def _with_stock(
    mass: Quantity,
    ground: AssumedGround,
    opening: tuple[Mass | Loose | None, int],
    closing: tuple[Mass | Loose | None, int],
    *,
    first: bool,
) -> Quantity | None:
    if closing[0] is None or (opening[0] is None and not first):
        return None
    _add_in_t(mass, closing[0], "stock", closing[1], ground)
    if opening[0] is not None:
        _add_in_t(mass, opening[0], "stock", opening[1], ground, -1.0)
    return mass


def _add_in_t(
    mass: Quantity,
    amount: Amount,
    source: str,
    place: int,
    ground: AssumedGround,
    times: float = 1.0,
) -> None:
    """Add an amount, turned into tonnes by the assumed factors where it is a volume."""
    if isinstance(amount, Mass):
        mass.add(amount, source, place, times)
        return
    loose = ground.loose_per_bank if isinstance(amount, Loose) else 1.0
    t_per_m3 = ground.bank_density_t_per_m3 / loose
    mass.add(amount, source, place, times * t_per_m3)
    relative = ground.u_shared_t_per_m3 / ground.bank_density_t_per_m3
    mass.err(("assumed density",), times * amount.parts[0] * t_per_m3 * relative)
    if isinstance(amount, Loose):
        relative = ground.u_shared_loose_per_bank / ground.loose_per_bank
        mass.err(("assumed bulking",), times * amount.parts[0] * t_per_m3 * relative)


def _belt(within: Iterable[tuple[int, Stated]], name: str) -> Quantity:
    belt = Quantity()
    for place, one in within:
        for way in one.carried:
            if way.by == name and way.weighed is not None:
                belt.add(way.weighed, name, place)
    return belt


def _loose(within: Iterable[tuple[int, Stated]]) -> Quantity | None:
    loose = Quantity()
    for place, one in within:
        if not isinstance(one.returns, Loose):
            return None
        loose.add(one.returns, "returns", place)
    return loose
