"""Dagostino and Peterson, Estimating in Building Construction, chapter 9 (read).

Source key: dagostino.
"""

import pytest

from tracker.domain.factors import Factor
from tracker.domain.ground import Ground, quantity_from_compacted
from tracker.domain.solids import grid_volume


def test_example_9_3_500_compacted_cubic_yards_need_526_in_the_bank():
    ground = Ground(Factor(1.25, "-"), Factor(1.8, "t/m³"), Factor(0.95, "-"))
    assert quantity_from_compacted(ground, 500.0).bank_m3 == pytest.approx(526.0, abs=0.5)


def test_example_9_5_one_50_ft_square_is_563_cubic_feet():
    square = grid_volume([[0.1, 0.8], [0.0, 0.0]], 50.0, 50.0)
    assert square.volume_m3 == pytest.approx(562.5, abs=1e-9)
    assert square.volume_m3 == pytest.approx(563.0, abs=0.5)
