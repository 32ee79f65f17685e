"""Montgomery and Runger, table 16-7: a plain cumulative sum of twenty values about 99 (read).

Source key: montgomery_runger.
"""

import numpy as np
import pytest

from tracker.domain.reconcile.drift import cumulative_sums

X = np.array([
    102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1,
    101.3, 98.7, 101.1, 98.4, 97.0, 96.7, 100.3, 101.4, 97.2, 101.0,
])  # fmt: skip
PRINTED = np.array([
    3.0, -1.2, -1.9, -2.5, 0.5, 0.0, 0.0, -1.3, -0.3, -1.2,
    1.1, 0.8, 2.9, 2.3, 0.3, -2.0, -0.7, 1.7, -0.1, 1.9,
])  # fmt: skip


def test_without_an_allowance_the_sums_stand_above_and_below_the_extremes_of_the_printed_sum():
    upper, lower = cumulative_sums(X, 99.0, 0.0)
    lowest = np.minimum.accumulate(np.minimum(PRINTED, 0.0))
    highest = np.maximum.accumulate(np.maximum(PRINTED, 0.0))
    assert upper == pytest.approx(PRINTED - lowest, abs=0.05)
    assert lower == pytest.approx(highest - PRINTED, abs=0.05)
