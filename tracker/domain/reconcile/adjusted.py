"""A season reconciled: one bank volume, density and mass for each stream and period, and the tests.

The statements are adjusted together, each by no more than its uncertainty asks for (weighted least
squares; narasimhan_jordache, chapters 3 and 4). Adjusted figures are estimates: no
statement is changed, and nothing is adopted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse

from tracker.domain.reconcile.equations import Equations, Row, Sum
from tracker.domain.reconcile.least_squares import Fit, Floats, least_squares
from tracker.domain.reconcile.season_equations import season_equations
from tracker.domain.reconcile.stated import Season
from tracker.domain.reconcile.suspects import (
    Detectability,
    Suspect,
    detectabilities,
    not_told_from,
    standardised_residuals,
    suspicions,
)
from tracker.errors import NotEnoughData

FALSE_ALARMS = 0.05
ALL = "all"


@dataclass(frozen=True, slots=True)
class Adjusted:
    """The adjusted estimates of a stream in a period, with standard uncertainties (u_).

    `period` or `stream` may be `all`; the density is then that of the sum. Uncertainties of sums
    allow for what the parts share, so that they are no sums of squares.
    """

    period: str
    stream: str
    bank_m3: float
    u_bank_m3: float
    bank_density_t_per_m3: float
    u_bank_density_t_per_m3: float
    mass_t: float
    u_mass_t: float


@dataclass(frozen=True, slots=True)
class AdjustedStatement:
    """One statement beside what all of them say together, in `unit`.

    `standardised` is stated minus adjusted over the standard deviation of that difference: a
    standard normal number if all is well, 0 if nothing else checks the statement.
    """

    source: str
    period: str
    stream: str
    unit: str
    stated: float
    adjusted: float
    standardised: float


@dataclass(frozen=True, slots=True)
class Reconciliation:
    """The estimates, the statements beside them, and what does not fit.

    `probability` is how often chance alone gives a `chi_square` as large with so many degrees of
    freedom. `suspect` is None unless chance, with all that was tried, has at most the stated rate
    of false alarms. `ranking` has every source with its likeliest error, suspected or not.
    """

    periods: tuple[Adjusted, ...]
    totals: tuple[Adjusted, ...]
    statements: tuple[AdjustedStatement, ...]
    chi_square: float
    degrees: int
    probability: float
    suspect: Suspect | None
    not_told_from: tuple[str, ...]
    ranking: tuple[Suspect, ...]
    detectable: tuple[Detectability, ...]


def reconciliation(season: Season, false_alarms: float = FALSE_ALARMS) -> Reconciliation:
    """The statements of a season brought together.

    Raises NotEnoughData if nothing was stated, if a quantity has no statement at all, or if no
    statement checks another; InputError if they are too far apart to be brought together.
    """
    if not season.stated:
        raise NotEnoughData("Nothing was stated. At least two sources of one period are needed.")
    equations = season_equations(season)
    fit = least_squares(
        equations.model,
        equations.stated,
        equations.u,
        np.array(equations.start),
        equations.names,
        [_name(row, season) for row in equations.rows] + ["a common error"] * equations.errors,
    )
    if fit.degrees < 1:
        raise NotEnoughData(
            "No statement checks another. Give at least two of survey, returns, belt and lorries"
            " with stock, or receipts, for the same stream and period."
        )
    ranking = suspicions(fit, equations.rows, season.periods)
    suspect = next((one for one in ranking if one.chance <= false_alarms), None)
    periods, totals = _estimates(equations, fit, season)
    return Reconciliation(
        periods=periods,
        totals=totals,
        statements=_statements(equations, fit, season),
        chi_square=fit.chi_square,
        degrees=fit.degrees,
        probability=fit.probability,
        suspect=suspect,
        not_told_from=not_told_from(suspect, ranking) if suspect else (),
        ranking=tuple(ranking),
        detectable=tuple(detectabilities(fit, equations.rows, false_alarms)),
    )


def _name(row: Row, season: Season) -> str:
    amount = f"{row.stated:,.0f}" if abs(row.stated) >= 100.0 else f"{row.stated:.4g}"
    return f"{row.source} for {row.stream} in {season.periods[row.period]} ({amount} {row.unit})"


def _statements(equations: Equations, fit: Fit, season: Season) -> tuple[AdjustedStatement, ...]:
    tests = standardised_residuals(fit, len(equations.rows))
    return tuple(
        AdjustedStatement(
            row.source,
            season.periods[row.period],
            row.stream,
            row.unit,
            row.stated,
            row.stated - row.u_independent * float(misfit),
            float(test),
        )
        for row, misfit, test in zip(equations.rows, fit.misfit, tests, strict=False)
    )


def _estimates(
    equations: Equations, fit: Fit, season: Season
) -> tuple[tuple[Adjusted, ...], tuple[Adjusted, ...]]:
    cells = equations.cells
    groups = [[k] for k in range(len(cells))]
    names = [(season.periods[cell.period], cell.stream) for cell in cells]
    for stream in dict.fromkeys(cell.stream for cell in cells):
        groups.append([k for k, cell in enumerate(cells) if cell.stream == stream])
        names.append((ALL, stream))
    groups.append(list(range(len(cells))))
    names.append((ALL, ALL))
    found = _sums(equations, fit, groups, names)
    return found[: len(cells)], found[len(cells) :]


def _sums(
    equations: Equations,
    fit: Fit,
    groups: Sequence[Sequence[int]],
    names: Sequence[tuple[str, str]],
) -> tuple[Adjusted, ...]:
    cells, count = equations.cells, len(groups)
    masses = [_added([cells[k].mass for k in group]) for group in groups]
    means: list[Sum] = [{cells[k].density: 1.0 / len(group) for k in group} for group in groups]
    banks: list[Sum] = [{cells[k].bank: 1.0 for k in group} for group in groups]
    none: list[Sum] = [{} for _ in groups]
    answers = equations.answers(masses + means + none, none + none + banks)
    values, changes = answers(fit.unknowns)
    mass, mean, bank = values.reshape(3, count)
    by_mass, by_mean, by_bank = changes[:count], changes[count : 2 * count], changes[2 * count :]
    dug = bank != 0.0  # where nothing was dug, the mean of the densities stands for theirs
    per_bank = np.where(dug, 1.0 / np.where(dug, bank, 1.0), 0.0)
    density = np.where(dug, mass * per_bank, mean)
    by_density = (
        _times(per_bank, by_mass)
        - _times(per_bank * density, by_bank)
        + _times(np.where(dug, 0.0, 1.0), by_mean)
    )
    columns = (bank, _u(by_bank, fit), density, _u(by_density, fit), mass, _u(by_mass, fit))
    table = np.column_stack(columns).tolist()
    return tuple(Adjusted(*name, *row) for name, row in zip(names, table, strict=True))


def _added(sums: Sequence[Sum]) -> Sum:
    total: Sum = {}
    for one in sums:
        for number, times in one.items():
            total[number] = total.get(number, 0.0) + times
    return total


def _times(each_row: Floats, matrix: sparse.csr_array) -> sparse.csr_array:
    return sparse.csr_array(sparse.diags_array(each_row) @ matrix)


def _u(change: sparse.csr_array, fit: Fit) -> Floats:
    """Standard uncertainties of sums from their derivatives (jcgm100, 5.2.2 equation 13)."""
    variance = change.multiply(change @ fit.covariance).sum(axis=1)
    return np.sqrt(np.asarray(variance, dtype=np.float64).ravel())
