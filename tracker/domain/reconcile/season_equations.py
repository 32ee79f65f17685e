"""The statements of a season as equations in what is unknown.

Unknown in each period and stream: the mass on each way out, the re-used mass, the stock at the end,
the bank density and, where somebody counts loose volumes, the bulking. Unknown besides: the common
error of each source, the level error of each survey, the ground dug after it.

    dug mass    = carried + re-used + closing stock - opening stock
    bank volume = dug mass / bank density
    loose       = mass * loose_per_bank / bank density      (a heap, or what was re-used)

The balance and the mass constraint hold exactly, because volume and dug mass are written in the
other unknowns. A density and a bulking that are assumed count as statements too.
"""

from __future__ import annotations

from tracker.domain.reconcile.equations import Cell, Equations, Row, Sum
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
from tracker.errors import NotEnoughData

BEFORE = -1  # the survey before the first period


def season_equations(season: Season) -> Equations:
    """The equations of a season. Raises NotEnoughData where nothing says where the ground went."""
    equations = Equations()
    for ground in season.grounds:
        _StreamEquations(equations, season, ground).write()
    return equations


class _StreamEquations:
    """Writes the equations of one stream, period by period, carrying over stock and survey."""

    def __init__(self, equations: Equations, season: Season, ground: AssumedGround) -> None:
        self.to, self.season, self.ground = equations, season, ground
        self.stated = list(season.of_stream(ground.stream))
        self.since_survey: list[int] = []
        self.last_survey = BEFORE
        self.last_dug_after: int | None = None
        self.last_split: Sum = {}
        self.stock: int | None = None
        self.keeps_stock = ground.opening_stock is not None or any(
            one.closing_stock is not None for _, one in self.stated
        )

    def write(self) -> None:
        if self.ground.opening_stock is not None and self.stated:
            first, opening = self.stated[0][0], self.ground.opening_stock
            self.stock = self.to.unknown(f"the opening stock of {self.ground.stream}", 0.0)
            factors = self._factors(first, loose=True) if isinstance(opening, Loose) else (-1, -1)
            self._amount("stock", first, opening, {self.stock: 1.0}, *factors)
        for place, one in self.stated:
            self._write_period(place, one)

    def _write_period(self, place: int, one: Stated) -> None:
        counted = (one.returns, one.reused, one.closing_stock)
        factors = self._factors(place, loose=any(isinstance(a, Loose) for a in counted))
        mass = {self._carried(place, way): 1.0 for way in one.carried}
        if one.reused is not None:
            reused = self._mass("re-used", place, _guess_t(one.reused, self.ground))
            self._amount("re-use", place, one.reused, {reused: 1.0}, *factors)
            mass[reused] = 1.0
        if self.keeps_stock:
            if self.stock is not None:
                mass[self.stock] = -1.0
            counted_t = _guess_t(one.closing_stock, self.ground) if one.closing_stock else 0.0
            self.stock = self._mass("stock", place, counted_t)
            mass[self.stock] = 1.0
            if one.closing_stock is not None:
                self._amount("stock", place, one.closing_stock, {self.stock: 1.0}, *factors)
        if not mass:
            raise NotEnoughData(
                f"Nothing says where the {self.ground.stream} of {self.season.periods[place]} went."
                " Name a belt, lorries, re-use or stock, if need be without a figure."
            )
        bank = self.to.term(mass, factors[0])
        self.to.cells.append(Cell(place, self.ground.stream, mass, factors[0], bank, self.stock))
        if one.returns is not None:
            self._amount("returns", place, one.returns, mass, *factors)
        self.since_survey.append(bank)
        if one.survey is not None:
            self._survey(place, one)

    def _factors(self, place: int, *, loose: bool) -> tuple[int, int]:
        """The unknown density and bulking of a period, each with what is assumed of it."""
        ground, where = self.ground, f"{self.ground.stream} in {self.season.periods[place]}"
        density = self.to.unknown(f"the density of {where}", ground.bank_density_t_per_m3)
        assumed = (
            ground.bank_density_t_per_m3,
            ground.u_independent_t_per_m3,
            ground.u_shared_t_per_m3,
        )
        name = f"density of {ground.stream}"
        self.to.state(Row(name, place, ground.stream, "t/m³", *assumed), {density: 1.0})
        if not loose:
            return density, -1
        bulking = self.to.unknown(f"the bulking of {where}", ground.loose_per_bank)
        assumed = (
            ground.loose_per_bank,
            ground.u_independent_loose_per_bank,
            ground.u_shared_loose_per_bank,
        )
        name = f"bulking of {ground.stream}"
        self.to.state(Row(name, place, ground.stream, "loose/bank", *assumed), {bulking: 1.0})
        return density, bulking

    def _mass(self, what: str, place: int, start_t: float) -> int:
        stream, period = self.ground.stream, self.season.periods[place]
        return self.to.unknown(f"what of {stream} went to {what} in {period}", start_t)

    def _carried(self, place: int, way: Carried) -> int:
        known = way.weighed or way.accepted
        mass = self._mass(f"{way.by} {way.receiver}".strip(), place, known.mass_t if known else 0.0)
        if way.weighed is not None:
            self._amount(way.by, place, way.weighed, {mass: 1.0})
        if way.accepted is not None:
            self._amount(f"receipts {way.receiver}".strip(), place, way.accepted, {mass: 1.0})
        return mass

    def _amount(
        self,
        source: str,
        place: int,
        amount: Amount,
        mass: Sum,
        density: int = -1,
        bulking: int = -1,
    ) -> None:
        row = Row(source, place, self.ground.stream, amount.UNIT, *amount.parts)
        if isinstance(amount, Mass):
            self.to.state(row, mass)
            return
        term = self.to.term(mass, density, bulking if isinstance(amount, Loose) else -1)
        self.to.state(row, {}, {term: 1.0})

    def _survey(self, place: int, one: Stated) -> None:
        survey = one.survey
        assert survey is not None
        level = survey.plan_area_m2 * survey.u_level_m
        unknowns: Sum = {}
        if survey.has_level:
            unknowns[self._level(place)] = level
            unknowns[self._level(self.last_survey)] = -level
        unknowns |= self.last_split
        self.last_split = {}
        if survey.u_split_m3 > 0.0:
            split = self.to.error(f"the split of the survey {place} for {self.ground.stream}")
            unknowns[split] = survey.u_split_m3
            self.last_split = {split: -survey.u_split_m3}
        if self.last_dug_after is not None:
            unknowns[self.last_dug_after] = 1.0
        self.last_dug_after = None
        if survey.dug_after is not None:
            self.last_dug_after = self._dug_after(place, survey.dug_after)
            unknowns[self.last_dug_after] = -1.0
        row = Row(
            "survey",
            place,
            self.ground.stream,
            Bank.UNIT,
            *survey.void.parts,
            plan_area_m2=survey.plan_area_m2,
            u_level_m=survey.u_level_m,
        )
        self.to.state(row, unknowns, dict.fromkeys(self.since_survey, 1.0))
        self.since_survey, self.last_survey = [], place

    def _level(self, place: int) -> int:
        when = "before" if place == BEFORE else self.season.periods[place]
        return self.to.error(f"the level error of the survey {when}")

    def _dug_after(self, place: int, dug: Bank) -> int:
        where = f"{self.ground.stream} dug after the survey in {self.season.periods[place]}"
        number = self.to.unknown(where, dug.bank_m3)
        row = Row("dug after survey", place, self.ground.stream, Bank.UNIT, *dug.parts)
        self.to.state(row, {number: 1.0})
        return number


def _guess_t(amount: Amount, ground: AssumedGround) -> float:
    value, _, _ = amount.parts
    if isinstance(amount, Mass):
        return value
    loose = ground.loose_per_bank if isinstance(amount, Loose) else 1.0
    return value * ground.bank_density_t_per_m3 / loose
