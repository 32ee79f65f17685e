"""Narasimhan and Jordache, flows around a heat exchanger with bypass (from memory, arithmetic
checked).

Source key: narasimhan_jordache.
"""

import numpy as np
import pytest
from scipy import sparse

from tracker.domain.reconcile.least_squares import least_squares

# F1 splits into F2 and F3, F2 goes on as F4 and F3 as F5, F4 and F5 join as F6
OF_F2_AND_F3 = sparse.csr_array([[1.0, 1.0], [1, 0], [0, 1], [1, 0], [0, 1], [1, 1]])
MEASURED = np.array([101.91, 64.45, 34.65, 64.20, 36.44, 98.88])
RECONCILED = (100.22, 64.50, 35.72, 64.50, 35.72, 100.22)


def test_six_flows_around_a_splitter_and_a_mixer_come_out_as_printed():
    fit = least_squares(
        lambda flows: (OF_F2_AND_F3 @ flows, OF_F2_AND_F3.copy()),
        MEASURED,
        np.ones(6),
        np.zeros(2),
        ["F2", "F3"],
        ["F1", "F2", "F3", "F4", "F5", "F6"],
    )
    assert pytest.approx(RECONCILED, abs=0.005) == OF_F2_AND_F3 @ fit.unknowns
    assert fit.degrees == 4
