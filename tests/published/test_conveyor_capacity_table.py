"""Published table of belt capacities at 1 m/s (secondary copy, recomputed within 0.5 m³/h).

Three equal rollers, surcharge 15 degrees, usable width 0.9 B - 0.05 m, heap with tan/4.

Source key: conveyor_table.
"""

import pytest

from tracker.domain.conveyor import belt_capacity, belt_section, centre_roller

ROWS = [
    (500, 200, 20, 72),
    (500, 200, 35, 90),
    (800, 315, 20, 207),
    (800, 315, 35, 257),
    (1200, 465, 20, 493),
    (1200, 465, 35, 614),
    (1600, 600, 20, 907),
    (1600, 600, 45, 1208),
]


@pytest.mark.parametrize(("belt_mm", "roller_mm", "trough_deg", "m3_per_h"), ROWS)
def test_each_row_of_the_table_comes_out(belt_mm, roller_mm, trough_deg, m3_per_h):
    section = belt_section(belt_mm / 1000, trough_deg, 15.0, roller_mm / 1000, form="tan4")
    full = belt_capacity(section, 1.0, 1.6)
    assert full.capacity_m3_per_h == pytest.approx(m3_per_h, abs=0.5)
    assert full.outside == ()


@pytest.mark.parametrize(("belt_mm", "roller_mm"), sorted({row[:2] for row in ROWS}))
def test_a_roller_that_is_not_stated_is_that_of_the_table(belt_mm, roller_mm):
    assert centre_roller(belt_mm / 1000) == pytest.approx(roller_mm / 1000)


def test_the_other_form_misses_the_table_by_more_than_its_rounding():
    """A trap: the heap with tan/6 carries less, so an answer must name its form."""
    section = belt_section(1.6, 45.0, 15.0, 0.6, form="tan6")
    assert belt_capacity(section, 1.0, 1.6).capacity_m3_per_h < 1208 - 50
