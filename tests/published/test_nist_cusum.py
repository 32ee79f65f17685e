"""NIST/SEMATECH e-Handbook, 6.3.2.3: twenty means about 325 (from memory, arithmetic checked).

Source key: nist_cusum.
"""

import numpy as np
import pytest

from tracker.domain.reconcile.drift import cumulative_sums

MEANS = np.array([
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
    324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
])  # fmt: skip
UPPER = [
    0.00, 0.00, 0.00, 0.00, 0.03, 0.00, 0.00, 0.00, 0.00, 0.00,
    0.00, 0.00, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04,
]  # fmt: skip
LOWER = [
    0.00, 0.01, 0.00, 0.33, 0.00, 0.00, 0.56, 0.72, 0.17, 0.25,
    0.31, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00,
]  # fmt: skip


def test_the_sums_are_those_printed_and_the_alarm_comes_in_the_fourteenth_sample():
    upper, lower = cumulative_sums(MEANS, 325.0, 0.3175)
    assert upper == pytest.approx(UPPER, abs=0.0051)
    assert lower == pytest.approx(LOWER, abs=0.0051)
    assert np.flatnonzero((upper > 4.1959) | (lower > 4.1959))[0] + 1 == 14
