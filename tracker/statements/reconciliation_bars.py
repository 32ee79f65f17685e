"""What each party says of all ground dug, as bars on one axis: bank m³ and t of the same ground."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from tracker.domain.reconcile.adjusted import ALL, Reconciliation
from tracker.domain.reconcile.spans import Name, Quantity
from tracker.domain.reconcile.stated import (
    Amount,
    AssumedGround,
    Bank,
    Carried,
    Loose,
    Mass,
    Season,
    Stated,
)
from tracker.statements.reconciliation_season import LORRIES, NOT_WEIGHED
from tracker.statements.reconciliation_shapes import Bar, BarPart
from tracker.statements.reconciliation_words import belt_name, period_words

NAMES = {
    "survey": "Surveys",
    "returns": "Shift returns",
    "weighed": "Belt, lorries and heaps",
    "receipts": "Belt, receivers and heaps",
    "adjusted": "All together",
}
_NO_U_T = 1e-9


@dataclass(slots=True)
class Said:
    """A quantity in bank m³ and in t, each with its errors by name, and what it is made of."""

    bank_m3: Quantity = field(default_factory=Quantity)
    mass_t: Quantity = field(default_factory=Quantity)
    parts: dict[str, list[float]] = field(default_factory=dict)
    missing: list[str] = field(default_factory=list)

    def add(
        self,
        ground: AssumedGround,
        amount: Amount,
        source: str,
        place: int,
        times: float = 1.0,
        part: str = "",
    ) -> None:
        """Add a statement, turned into both units by the assumed factors."""
        value, own, shared = amount.parts
        errors: dict[Name, float] = {(source, ground.stream, place): own, (source,): shared}
        factors: dict[str, float] = {}
        to_bank = 1.0
        density = ground.bank_density_t_per_m3
        if isinstance(amount, Loose):
            to_bank = 1.0 / ground.loose_per_bank
            factors["bulking"] = -ground.u_shared_loose_per_bank / ground.loose_per_bank
        by_mass = isinstance(amount, Mass)
        if by_mass:
            to_bank = 1.0 / density
        relative = ground.u_shared_t_per_m3 / density
        for quantity, scale, by_density in (
            (self.bank_m3, to_bank, -relative if by_mass else 0.0),
            (self.mass_t, 1.0 if by_mass else to_bank * density, 0.0 if by_mass else relative),
        ):
            quantity.value += times * value * scale
            for name, u in errors.items():
                quantity.err(name, times * u * scale)
            for factor, u in factors.items():
                quantity.err((factor, ground.stream), times * value * scale * u)
            quantity.err(("density", ground.stream), times * value * scale * by_density)
        if part:
            bank = self.parts.setdefault(part, [0.0, 0.0])
            bank[0] += times * value * (1.0 if by_mass else to_bank * density)
            bank[1] += times * value * to_bank

    def include(self, other: Said) -> None:
        """Add what another stream adds; what they share adds up in full."""
        for mine, theirs in ((self.bank_m3, other.bank_m3), (self.mass_t, other.mass_t)):
            mine.value += theirs.value
            for name, u in theirs.errors.items():
                mine.err(name, u)
        for part, (mass_t, bank_m3) in other.parts.items():
            mine_of = self.parts.setdefault(part, [0.0, 0.0])
            mine_of[0] += mass_t
            mine_of[1] += bank_m3
        self.missing += [words for words in other.missing if words not in self.missing]


def bars(season: Season, answer: Reconciliation | None) -> list[Bar]:
    """The bars of each stream, then of all."""
    found: list[Bar] = []
    whole: dict[str, Said] = {}
    for ground in season.grounds:
        said = said_of(season, ground)
        for name, one in said.items():
            whole.setdefault(name, Said()).include(one)
            found.append(_bar(name, ground.stream, one))
        found += _adjusted(answer, ground.stream)
    found += [_bar(name, ALL, one) for name, one in whole.items()]
    return found + _adjusted(answer, ALL)


def said_of(season: Season, ground: AssumedGround) -> dict[str, Said]:
    """What surveys, returns, weighers and receivers say of one stream."""
    rows = list(season.of_stream(ground.stream))
    said = {"survey": _surveyed(rows, ground), "returns": _returned(season, rows, ground)}
    said["weighed"] = _gone(season, rows, ground, accepted=False)
    if any(way.accepted for _, one in rows for way in one.carried):
        said["receipts"] = _gone(season, rows, ground, accepted=True)
    return said


def _surveyed(rows: Sequence[tuple[int, Stated]], ground: AssumedGround) -> Said:
    said, last, after, split_m3 = Said(), -1, None, 0.0
    for place, one in rows:
        survey = one.survey
        if survey is None:
            continue
        said.add(ground, survey.void, "survey", place)
        level_m3 = survey.plan_area_m2 * survey.u_level_m
        density = ground.bank_density_t_per_m3
        for at, u_m3 in ((place, level_m3), (last, -level_m3)):
            said.bank_m3.err(("level", at), u_m3)
            said.mass_t.err(("level", at), u_m3 * density)
        last, after, split_m3 = place, (survey.dug_after, place), survey.u_split_m3
    if after and after[0] is not None:
        said.add(ground, after[0], "dug after survey", after[1])
    said.bank_m3.err(("split", ground.stream), split_m3)  # of the last survey alone
    said.mass_t.err(("split", ground.stream), split_m3 * ground.bank_density_t_per_m3)
    return said


def _returned(season: Season, rows: Sequence[tuple[int, Stated]], ground: AssumedGround) -> Said:
    said = Said()
    for place, one in rows:
        if one.returns is not None:
            said.add(ground, one.returns, "returns", place)
        elif one.survey is not None and one.survey.void.bank_m3 > 3.0 * _u(one):
            said.missing.append(f"returns of {ground.stream} to {_day(season, place)}")
    return said


def _u(one: Stated) -> float:
    survey = one.survey
    assert survey is not None, "asked of a survey"
    level_m3 = survey.plan_area_m2 * survey.u_level_m
    of_two = math.hypot(level_m3, survey.u_split_m3) * math.sqrt(2.0)
    return math.hypot(survey.void.u_independent_m3, of_two)


def _gone(
    season: Season, rows: Sequence[tuple[int, Stated]], ground: AssumedGround, *, accepted: bool
) -> Said:
    """What left, was re-used and was added to the heaps; by receipts where they are asked for."""
    said, stock = Said(), (ground.opening_stock, -1)
    keeps = ground.opening_stock is not None or any(one.closing_stock for _, one in rows)
    for place, one in rows:
        for way in one.carried:
            receipt = way.accepted if accepted else None
            known = receipt or way.weighed
            if known is None:
                said.missing.append(f"where {ground.stream} to {_day(season, place)} went")
                continue
            source = f"receipts {way.receiver}" if receipt else way.by
            said.add(ground, known, source, place, part=_part(way, receipt))
        if one.reused is not None:
            said.add(ground, one.reused, "re-use", place, part="re-used on site")
    if keeps and rows:
        place, last = rows[-1]
        if last.closing_stock is None:
            said.missing.append(f"the heaps of {ground.stream} of {_day(season, place)}")
        else:
            said.add(ground, last.closing_stock, "stock", place, part="heaps")
        if stock[0] is not None:
            said.add(ground, stock[0], "stock", -1, -1.0, part="heaps")
    return said


def _day(season: Season, place: int) -> str:
    return period_words(season.periods[place])


def _part(way: Carried, receipt: Mass | None) -> str:
    if receipt is not None:
        return "accepted by receivers"
    return way.by if way.by in (LORRIES, NOT_WEIGHED) else belt_name(way.by)


def _bar(name: str, stream: str, said: Said) -> Bar:
    return Bar(
        bar=name,
        stream=stream,
        name=NAMES[name],
        stated_in="t" if name in ("weighed", "receipts") else Bank.UNIT,
        bank_m3=said.bank_m3.value,
        u_bank_m3=_root(said.bank_m3.errors.values()),
        mass_t=said.mass_t.value,
        u_mass_t=_root(said.mass_t.errors.values()),
        missing="; ".join(said.missing),
        parts=tuple(
            BarPart(part, mass_t, bank_m3)
            for part, (mass_t, bank_m3) in said.parts.items()
            if abs(mass_t) > _NO_U_T
        ),
    )


def _root(errors: Iterable[float]) -> float:
    return math.hypot(*errors, 0.0)


def _adjusted(answer: Reconciliation | None, stream: str) -> list[Bar]:
    if answer is None:
        return []
    return [
        Bar(
            bar="adjusted",
            stream=stream,
            name=NAMES["adjusted"],
            stated_in="both",
            bank_m3=one.bank_m3,
            u_bank_m3=one.u_bank_m3,
            mass_t=one.mass_t,
            u_mass_t=one.u_mass_t,
            missing="",
            parts=(),
        )
        for one in answer.totals
        if (one.period, one.stream) == (ALL, stream)
    ]
