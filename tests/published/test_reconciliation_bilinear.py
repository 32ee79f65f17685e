"""Basic Concepts in Data Reconciliation, table 4.1: a column that splits a feed of two components.

Inputs read; no printed answer was seen, so the answer is that of a general constrained minimiser.

Source key: bilinear_course.
"""

import numpy as np
import pytest
from scipy import sparse
from scipy.optimize import minimize

from tracker.domain.reconcile.least_squares import least_squares

# F1 F2 F3, then the fractions x11 x12 x21 x22 x31 x32
MEASURED = np.array([1095.475, 478.402, 488.232, 0.4822, 0.5170, 0.9410, 0.0501, 0.0197, 0.9748])
U = np.array([4.8, 3.9, 4.4, 0.0048, 0.0052, 0.0094, 0.0005, 0.0002, 0.0097])


def by_balances(unknowns):
    """All nine from the two products and one fraction of each: the balances hold by themselves."""
    f2, f3, x21, x31 = unknowns
    f1 = f2 + f3
    x11 = (f2 * x21 + f3 * x31) / f1
    values = np.array([f1, f2, f3, x11, 1 - x11, x21, 1 - x21, x31, 1 - x31])
    dx11 = np.array([(x21 - x11) / f1, (x31 - x11) / f1, f2 / f1, f3 / f1])
    d = np.zeros((9, 4))
    d[0, :2] = d[1, 0] = d[2, 1] = d[5, 2] = d[7, 3] = 1.0
    d[3], d[4], d[6, 2], d[8, 3] = dx11, -dx11, -1.0, -1.0
    return values, sparse.csr_array(d)


def by_a_general_minimiser():
    """The same nine from a minimiser that knows nothing but the balances, in units of U."""

    def balances(z):
        f1, f2, f3, x11, x12, x21, x22, x31, x32 = MEASURED + U * z
        return [
            (f1 - f2 - f3) / 1000,
            (f1 * x11 - f2 * x21 - f3 * x31) / 1000,
            x11 + x12 - 1,
            x21 + x22 - 1,
            x31 + x32 - 1,
        ]

    found = minimize(
        lambda z: z @ z / 1000,
        np.zeros(9),
        jac=lambda z: 2 * z / 1000,
        method="SLSQP",
        constraints={"type": "eq", "fun": balances},
        options={"ftol": 1e-16, "maxiter": 500},
    )
    assert found.success
    return MEASURED + U * found.x


def test_the_iteration_agrees_with_a_general_constrained_minimiser():
    fit = least_squares(
        by_balances, MEASURED, U, np.array([478, 488, 0.94, 0.02]), list("abcd"), list("123456789")
    )
    ours, _ = by_balances(fit.unknowns)
    theirs = by_a_general_minimiser()
    assert (ours - theirs) / U == pytest.approx(np.zeros(9), abs=1e-4)
    assert ours == pytest.approx(theirs, rel=1e-6)
    assert np.abs((ours - MEASURED) / U).max() > 1.0  # there was something to adjust
