"""Published stockpile table, conical heaps at 37 degrees (read).

Source key: stockpile_table.
"""

import pytest

from tracker.domain.solids import cone

CUBIC_FEET_PER_CUBIC_YARD = 27.0


@pytest.mark.parametrize(
    ("diameter_ft", "height_ft", "volume_cy", "tolerance_cy"),
    [(53.00, 20.0, 545.0, 1.0), (132.66, 50.0, 8540.0, 8540.0 * 0.0045)],
)
def test_a_conical_heap_of_the_table(diameter_ft, height_ft, volume_cy, tolerance_cy):
    heap = cone(diameter_ft, height_ft)
    assert heap.volume_m3 / CUBIC_FEET_PER_CUBIC_YARD == pytest.approx(volume_cy, abs=tolerance_cy)
    assert heap.repose_deg == pytest.approx(37.0, abs=0.1)
