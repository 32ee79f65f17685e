"""Eurocode 7, EN 1997-1:2004, clause 9.3.2.2: unplanned over-excavation assumed in design.

Clause read, numbers second-hand. A reserve of the design at ultimate limit state: shown as such,
never as room to dig.

Source key: ec7.
"""

import pytest

from tracker.domain.levels import breach, designers_reserve


@pytest.mark.parametrize(("height_m", "reserve_m"), [(3.0, 0.30), (5.0, 0.50), (24.0, 0.50)])
def test_a_tenth_of_the_height_and_at_most_half_a_metre(height_m, reserve_m):
    assert designers_reserve(height_m) == pytest.approx(reserve_m, abs=1e-12)


def test_a_breach_within_the_reserve_is_a_breach_all_the_same():
    """A trap: the reserve is the designer's, and no tolerance."""
    found = breach("A", 99.9, 100.0)
    assert found is not None
    assert found.depth_m < designers_reserve(3.0)
    assert "Stop and ask the temporary works coordinator" in str(found)
    assert "tolerance" not in str(found)
