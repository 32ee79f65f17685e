"""N. N. Basak, Surveying and Levelling (1994), pages 244 to 248 (answers of an open companion).

Problems 3, 4 and 8 read; problem 5: inputs read, answer computed.

Source key: basak.
"""

import math

import pytest

from tracker.domain.solids import (
    contour_volume,
    end_area_volume,
    level_section_area_m2,
    prismoidal_correction_m3,
    prismoidal_volume,
    sloped_pit_volume,
)


def test_problem_3_a_cutting_with_seven_sections_by_simpson():
    heights_m = (2.50, 1.25, 0.95, 1.65, 2.20, 2.85, 0.75)
    areas_m2 = [level_section_area_m2(8.0, 1.0, height_m) for height_m in heights_m]
    cutting = prismoidal_volume(areas_m2, 50.0)
    assert cutting.volume_m3 == pytest.approx(5472.125, abs=0.001)
    assert cutting.method == "prismoidal"


def test_problem_4_a_reservoir_from_its_contours_both_ways():
    areas_m2 = (2050, 8400, 16300, 24600, 31500)
    assert end_area_volume(areas_m2, 5.0).volume_m3 == pytest.approx(330375, abs=0.5)
    assert contour_volume(areas_m2, 5.0).volume_m3 == pytest.approx(330250, abs=0.5)


def test_problem_8_the_prismoidal_correction():
    end_area_m3 = end_area_volume((14.25, 18.975), 50.0).volume_m3
    correction_m3 = prismoidal_correction_m3(1.0, 12.75, 1.5, 12.85, 50.0)
    assert end_area_m3 == pytest.approx(830.625, abs=0.001)
    assert correction_m3 == pytest.approx(0.20833, abs=0.00001)
    assert end_area_m3 - correction_m3 == pytest.approx(830.4167, abs=0.001)


def test_problem_5_a_pit_with_sloped_sides_is_exact():
    pit_m3 = sloped_pit_volume(40.0, 30.0, 5.0, 2.0).volume_m3
    assert pit_m3 == pytest.approx(10166.667, abs=0.01)
    layers_m2 = (40 * 30, 50 * 40, 60 * 50)
    assert end_area_volume(layers_m2, 2.5).volume_m3 == pytest.approx(10250, abs=0.01)
    assert prismoidal_volume(layers_m2, 2.5).volume_m3 == pytest.approx(pit_m3)


def test_problem_5_never_gives_the_frustum_answer_that_circulates():
    """A trap: h/3 (A1 + A2 + sqrt(A1 A2)) is not right for equal side slopes (arithmetic)."""
    bottom_m2, top_m2 = 40.0 * 30.0, 60.0 * 50.0
    frustum_m3 = 5.0 / 3.0 * (bottom_m2 + top_m2 + math.sqrt(bottom_m2 * top_m2))
    assert frustum_m3 == pytest.approx(10162.28, abs=0.01)
    assert abs(sloped_pit_volume(40.0, 30.0, 5.0, 2.0).volume_m3 - frustum_m3) > 4.0
