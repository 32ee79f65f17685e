"""Weighted least squares of statements that are bilinear in what is unknown, by iteration.

    misfit = (stated - predicted(unknowns)) / u
    minimise sum(misfit²)

Each step solves the linear problem at the present unknowns (Gauss and Newton), and is halved while
it makes the misfit larger. What common errors share is an unknown of its own with the statement
"0, give or take 1", so that every row is independent of every other. The covariance is that of the
last linear problem (jcgm100, 5.2.2 equation 13): good where uncertainties are small beside the
amounts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import lapack
from scipy.sparse.linalg import splu
from scipy.stats import chi2

from tracker.errors import InputError, NotEnoughData

Floats = NDArray[np.float64]
Model = Callable[[Floats], tuple[Floats, sparse.csr_array]]

MOST_STEPS = 60
MOST_HALVINGS = 8
SETTLED = 1e-5  # a step, in standard uncertainties of what is unknown
TOO_FAR = 1000.0  # a misfit, in standard uncertainties
NEAR = 1.0  # a step, in standard uncertainties
SHRINKS = 0.1
_ROUNDING = 1e-9
_RIDGE = 1e-13  # of a diagonal of 1: leaves what is determined, and shows what is not
_UNDETERMINED = 1e9


@dataclass(frozen=True, slots=True)
class Fit:
    """The unknowns that agree best with what was stated, and how well they do.

    `misfit` and `jacobian` are in standard uncertainties of the statements.
    """

    unknowns: Floats
    covariance: Floats
    misfit: Floats
    jacobian: sparse.csr_array

    @property
    def chi_square(self) -> float:
        """Sum of the squared misfits, each over its uncertainty [-]."""
        return float(self.misfit @ self.misfit)

    @property
    def degrees(self) -> int:
        """Statements more than unknowns: how often the records check each other."""
        return len(self.misfit) - len(self.unknowns)

    @property
    def probability(self) -> float:
        """How often a misfit as large comes by chance, if every uncertainty is right [-]."""
        return float(chi2.sf(self.chi_square, self.degrees))

    def evidence(self, errors: Floats) -> Floats:
        """How strongly the misfits would show errors of these shapes, one a column [-].

        evidence = errors' * errors - (jacobian' * errors)' * covariance * (jacobian' * errors)

        An error of size d and of the shape in column k adds d * evidence[k, k] to the product of
        that column with the misfits, whose variance is evidence[k, k]. Errors are in standard
        uncertainties of the statements.
        """
        seen = self.jacobian.T @ errors
        found: Floats = errors.T @ errors - seen.T @ (self.covariance @ seen)
        return found

    def redundancy(self, rows: NDArray[np.intp]) -> Floats:
        """Evidence of an error in each of these rows alone: 0 unchecked, 1 wholly checked [-]."""
        some = self.jacobian[rows]
        found: Floats = np.eye(len(rows)) - (some @ self.covariance) @ some.T
        return found


def least_squares(
    model: Model,
    stated: Floats,
    u: Floats,
    start: Floats,
    names: Sequence[str],
    rows: Sequence[str],
) -> Fit:
    """The unknowns that agree best with what was stated.

    `model` gives the predicted statements and their derivatives at some unknowns; `names` says what
    the unknowns are, `rows` what the statements are. Raises NotEnoughData that names what no
    statement determines, InputError that names the worst statement if the steps do not settle.
    """
    unknowns = start.astype(np.float64)
    misfit, jacobian = _misfits(model, unknowns, stated, u)
    moved = last = math.inf  # in standard uncertainties, squared
    for _ in range(MOST_STEPS):
        if moved > NEAR**2 or moved > SHRINKS * last:  # else those of the last step will do
            normal, scale = _normal_equations(jacobian)
            factors = splu(normal, permc_spec="MMD_AT_PLUS_A")
        slope = jacobian.T @ misfit
        step = scale * factors.solve(scale * slope)
        last, moved = moved, float(slope @ step)
        if moved < SETTLED**2:
            break
        before = float(misfit @ misfit)
        for _ in range(MOST_HALVINGS):  # a step too far makes the misfit larger
            misfit, jacobian = _misfits(model, unknowns + step, stated, u)
            if float(misfit @ misfit) <= before * (1.0 + _ROUNDING):
                break
            step = step / 2.0
        unknowns = unknowns + step
    worst = int(np.argmax(np.abs(misfit)))
    if not (moved < SETTLED**2 and abs(float(misfit[worst])) < TOO_FAR):
        raise InputError(
            f"The statements are too far apart to be brought together. Look first at {rows[worst]}:"
            " a wrong unit (t for kg, bank for loose), a digit too many, or an uncertainty much too"
            " small."
        )
    normal, scale = _normal_equations(jacobian)
    inverse = _inverse(normal.toarray())
    _check_determined(inverse.diagonal(), names)
    return Fit(unknowns, inverse * (scale[:, None] * scale), misfit, jacobian)


def _misfits(
    model: Model, unknowns: Floats, stated: Floats, u: Floats
) -> tuple[Floats, sparse.csr_array]:
    """Stated minus predicted, and the derivatives of the predicted, in standard uncertainties."""
    predicted, jacobian = model(unknowns)
    jacobian.data /= np.repeat(u, np.diff(jacobian.indptr))
    return (stated - predicted) / u, jacobian


def _normal_equations(jacobian: sparse.csr_array) -> tuple[sparse.csc_array, Floats]:
    """jacobian' * jacobian, scaled to a diagonal of 1, and the scale."""
    count = jacobian.shape[1]
    squares = np.bincount(jacobian.indices, jacobian.data**2, count)
    scale = 1.0 / np.sqrt(np.where(squares > 0.0, squares, 1.0))
    scaled = jacobian.copy()
    scaled.data *= scale[scaled.indices]
    return sparse.csc_array(scaled.T @ scaled + _RIDGE * sparse.eye_array(count)), scale


def _inverse(symmetric: Floats) -> Floats:
    """The inverse of a positive definite matrix, in half the time of a general one."""
    lower, _ = lapack.dpotrf(symmetric, lower=1, clean=1)
    inverse, _ = lapack.dpotri(lower, lower=1)
    whole: Floats = np.tril(inverse) + np.tril(inverse, -1).T
    return whole


def _check_determined(inflation: Floats, names: Sequence[str]) -> None:
    missing = [name for name, times in zip(names, inflation, strict=True) if times > _UNDETERMINED]
    if missing:
        more = f" and {len(missing) - 3} more" if len(missing) > 3 else ""
        raise NotEnoughData(
            f"No statement determines {'; '.join(missing[:3])}{more}. Give a weighing, a receipt, a"
            " count or a survey that does, or leave the period out."
        )
