"""York and others 2004, table II: Pearson's ten points with York's weights (second-hand).

Source key: york_2004.
"""

import numpy as np
import pytest

from tracker.domain.reconcile.line import fitted_line

X = np.array([0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
Y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
WEIGHT_X = np.array([1000.0, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1])
WEIGHT_Y = np.array([1.0, 1.8, 4, 8, 20, 20, 70, 70, 100, 500])


def test_pearsons_points_with_yorks_weights_give_the_printed_line():
    line = fitted_line(X, Y, np.diag(1 / WEIGHT_X), np.diag(1 / WEIGHT_Y))
    assert line.slope == pytest.approx(-0.480533, abs=1e-6)
    assert line.intercept == pytest.approx(5.479910, abs=1e-6)
    assert line.u_slope == pytest.approx(0.0580, abs=5e-5)
    assert line.u_intercept == pytest.approx(0.2950, abs=5e-5)
    assert line.scatter**2 == pytest.approx(1.4833, abs=5e-5)
