"""Statements as equations: sums of unknowns, and of masses turned into volumes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from tracker.domain.reconcile.least_squares import Floats

Sum = dict[int, float]  # number of an unknown or a term -> how often it counts


class Entries(NamedTuple):
    """Entries of a sparse matrix: row, column, and how often the column counts."""

    row: NDArray[np.intp]
    column: NDArray[np.intp]
    times: Floats


@dataclass(frozen=True, slots=True)
class Row:
    """One statement, as its equation needs it; units as `unit` says."""

    source: str
    period: int
    stream: str
    unit: str
    stated: float
    u_independent: float
    u_shared: float = 0.0
    plan_area_m2: float = 0.0
    u_level_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Cell:
    """One stream in one period: its dug mass as a sum of unknowns, and which unknowns are its own.

    `bank` is the number of the term that is its bank volume.
    """

    period: int
    stream: str
    mass: Sum
    density: int
    bank: int
    stock: int | None


@dataclass(frozen=True, slots=True)
class Model:
    """predicted = linear * unknowns + of_terms * terms, terms = mass * loose_per_bank / density.

    `density` and `bulking` hold the number of an unknown for each term, or -1 for none. Called with
    unknowns, it gives what they predict, and the derivatives.
    """

    linear: Entries
    of_terms: Entries
    mass: sparse.csr_array
    density: NDArray[np.intp]
    bulking: NDArray[np.intp]
    shape: tuple[int, int]
    _derivatives: tuple[Entries, NDArray[np.intp]] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_derivatives", self._places())

    def __call__(self, unknowns: Floats) -> tuple[Floats, sparse.csr_array]:
        density = np.where(self.density >= 0, unknowns[self.density], 1.0)
        bulking = np.where(self.bulking >= 0, unknowns[self.bulking], 1.0)
        per_t = bulking / density
        terms = (self.mass @ unknowns) * per_t
        predicted = np.zeros(self.shape[0])
        np.add.at(predicted, self.linear.row, self.linear.times * unknowns[self.linear.column])
        np.add.at(predicted, self.of_terms.row, self.of_terms.times * terms[self.of_terms.column])
        places, which = self._derivatives
        slopes = np.concatenate([[1.0], per_t, -terms / density, terms / bulking])
        value = places.times * slopes[which]
        jacobian = sparse.csr_array((value, (places.row, places.column)), shape=self.shape)
        return predicted, jacobian

    def _places(self) -> tuple[Entries, NDArray[np.intp]]:
        """Where each derivative stands, and which of the slopes it is: found once, used often."""
        count, of = len(self.density), self.of_terms
        parts, which = [self.linear], [np.zeros(len(self.linear.row), dtype=np.intp)]
        lengths = np.diff(self.mass.indptr)[of.column]
        each = np.repeat(np.arange(len(of.row)), lengths)
        within = np.arange(len(each)) - np.repeat(np.cumsum(lengths) - lengths, lengths)
        at = self.mass.indptr[of.column][each] + within
        parts.append(
            Entries(of.row[each], self.mass.indices[at], of.times[each] * self.mass.data[at])
        )
        which.append(1 + of.column[each])
        for k, factor in enumerate((self.density, self.bulking), start=1):
            has = np.flatnonzero(factor[of.column] >= 0)
            parts.append(Entries(of.row[has], factor[of.column[has]], of.times[has]))
            which.append(1 + k * count + of.column[has])
        whole = (np.concatenate(list(part)) for part in zip(*parts, strict=True))
        return Entries(*whole), np.concatenate(which)


@dataclass(slots=True)
class Equations:
    """What `season_equations` gathers: rows in their order, unknowns with names and first guesses.

    Rows after the statements are the common and the level errors, each "0, give or take 1".
    """

    names: list[str] = field(default_factory=list)
    start: list[float] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    cells: list[Cell] = field(default_factory=list)
    _row_terms: list[Sum] = field(default_factory=list)
    _row_unknowns: list[Sum] = field(default_factory=list)
    _terms: list[tuple[Sum, int, int]] = field(default_factory=list)
    _errors: dict[str, int] = field(default_factory=dict)

    def unknown(self, name: str, start: float) -> int:
        """The number of a new unknown."""
        self.names.append(name)
        self.start.append(start)
        return len(self.names) - 1

    def error(self, name: str) -> int:
        """The number of the unknown that is a common error, in its own standard uncertainties."""
        if name not in self._errors:
            self._errors[name] = self.unknown(name, 0.0)
        return self._errors[name]

    def term(self, mass: Sum, density: int = -1, bulking: int = -1) -> int:
        """The number of a new term: a mass, or its bank or loose volume."""
        self._terms.append((mass, density, bulking))
        return len(self._terms) - 1

    def state(self, row: Row, unknowns: Sum, terms: Sum | None = None) -> None:
        """Add a statement as the sum of unknowns and terms, with its source's common error."""
        if row.u_shared > 0.0:
            shared = self.error(f"the common error of {row.source}")
            unknowns = {**unknowns, shared: row.u_shared}
        self.rows.append(row)
        self._row_unknowns.append(unknowns)
        self._row_terms.append(terms or {})

    @property
    def model(self) -> Model:
        """The equations, ready to be solved."""
        errors = [{number: 1.0} for number in self._errors.values()]
        return self._model(self._row_unknowns + errors, self._row_terms + [{} for _ in errors])

    def answers(self, unknowns: Sequence[Sum], terms: Sequence[Sum]) -> Model:
        """Other sums of the same unknowns and terms, to be evaluated only."""
        return self._model(unknowns, terms)

    @property
    def errors(self) -> int:
        """How many rows after the statements are common errors."""
        return len(self._errors)

    @property
    def stated(self) -> Floats:
        """The amounts stated, and 0 for each common error."""
        return np.array([row.stated for row in self.rows] + [0.0] * len(self._errors))

    @property
    def u(self) -> Floats:
        """Their independent standard uncertainties, and 1 for each common error."""
        return np.array([row.u_independent for row in self.rows] + [1.0] * len(self._errors))

    def _model(self, unknowns: Sequence[Sum], terms: Sequence[Sum]) -> Model:
        masses = _entries([mass for mass, _, _ in self._terms])
        count = len(self.names)
        return Model(
            _entries(unknowns),
            _entries(terms),
            sparse.csr_array(
                (masses.times, (masses.row, masses.column)), shape=(len(self._terms), count)
            ),
            np.array([density for _, density, _ in self._terms], dtype=np.intp),
            np.array([bulking for _, _, bulking in self._terms], dtype=np.intp),
            (len(unknowns), count),
        )


def _entries(sums: Sequence[Sum]) -> Entries:
    row = np.repeat(np.arange(len(sums)), [len(one) for one in sums])
    column = np.array([k for one in sums for k in one], dtype=np.intp)
    times = np.array([v for one in sums for v in one.values()], dtype=np.float64)
    return Entries(row, column, times)
