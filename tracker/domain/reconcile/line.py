"""A straight line through points that have errors in both variables (york_2004, equation 13).

    x = true x + error,  y = intercept + slope * true x + error

The errors may be correlated from point to point, as those of successive surveys are: covariances
take the place of the weights. With independent errors the answer is that of the source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.stats import chi2

from tracker.domain.reconcile.least_squares import Floats
from tracker.errors import InputError, NotEnoughData

MOST_STEPS = 500
_SETTLED = 1e-12


@dataclass(frozen=True, slots=True)
class Line:
    """Slope and intercept with standard uncertainties, and how the points scatter about the line.

    The uncertainties are those that the given errors lead to, whatever the scatter.
    """

    slope: float
    intercept: float
    u_slope: float
    u_intercept: float
    chi_square: float
    degrees: int

    @property
    def scatter(self) -> float:
        """Scatter about the line over what the given errors lead one to expect [-]."""
        return math.sqrt(self.chi_square / self.degrees)

    @property
    def probability(self) -> float:
        """How often chance alone scatters the points as much, if the errors are right [-]."""
        return float(chi2.sf(self.chi_square, self.degrees))


def fitted_line(
    x: Floats, y: Floats, cov_x: Floats, cov_y: Floats, *, through_origin: bool = False
) -> Line:
    """The line that agrees best with both coordinates of the points.

    minimise (y - intercept - slope * x)' * inverse(cov_y + slope² * cov_x) * (the same), together
    with the true x, by iteration. Raises NotEnoughData for fewer points than the line needs and one
    more, InputError if all points have the same x or the steps do not settle.
    """
    degrees = len(x) - (1 if through_origin else 2)
    if degrees < 1:
        raise NotEnoughData(f"{len(x)} points do not test a line; at least {3 - through_origin}.")
    if not through_origin and np.ptp(x) == 0.0:
        raise InputError(f"All points stand at {x[0]:g}: no line can be told from them.")
    slope, intercept, near = float(y.sum() / x.sum()) if through_origin else 0.0, 0.0, x
    for _ in range(MOST_STEPS):
        factor = cho_factor(cov_y + slope**2 * cov_x, lower=True)
        design = near[:, None] if through_origin else np.column_stack([near, np.ones(len(x))])
        solved = cho_solve(factor, design)
        cov = np.linalg.inv(design.T @ solved)
        answer = cov @ (solved.T @ (y - slope * (x - near)))
        change = abs(float(answer[0]) - slope)
        slope, intercept = float(answer[0]), 0.0 if through_origin else float(answer[1])
        off = y - intercept - slope * x
        pulled = cho_solve(factor, off)
        near = x + slope * (cov_x @ pulled)
        if change <= _SETTLED * max(abs(slope), _SETTLED):
            u = np.sqrt(cov.diagonal())
            u_intercept = 0.0 if through_origin else float(u[1])
            return Line(slope, intercept, float(u[0]), u_intercept, float(off @ pulled), degrees)
    raise InputError("No line could be fitted to the points. Check their uncertainties.")
