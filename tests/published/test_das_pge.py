"""Das, Principles of Geotechnical Engineering, chapter 3 (companion output, read).

Source key: das_pge.
"""

import pytest

from tracker.domain.ground import (
    dry_density_t_per_m3,
    moist_density_t_per_m3,
    saturation,
    void_ratio,
)


def test_example_2_bulk_and_dry_density_void_ratio_and_saturation():
    bulk = 2.350 / 1.2
    dry = dry_density_t_per_m3(bulk, 0.086)
    voids = void_ratio(dry, 2.71)
    assert bulk * 1000 == pytest.approx(1958.3, abs=0.1)
    assert dry * 1000 == pytest.approx(1803.3, abs=0.1)
    assert voids == pytest.approx(0.503, abs=0.0005)
    assert 100 * saturation(0.086, voids, 2.71) == pytest.approx(46.3, abs=0.1)


def test_example_4_saturated_unit_weight():
    assert moist_density_t_per_m3(16.19, 0.23) == pytest.approx(19.91, abs=0.01)
