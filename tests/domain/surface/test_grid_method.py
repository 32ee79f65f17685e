import numpy as np
import pytest
import shapely

from tests.domain.surface.shapes import (
    BOWL_VOID_M3,
    SIDE,
    bowl,
    box_region,
    halves,
    points_on,
    scattered,
)
from tracker.domain.surface.grid_method import (
    coverage_m2,
    grid_surface,
    second_method_difference_percent,
)
from tracker.domain.surface.surface import surveyed_surface

SURFACE = surveyed_surface(points_on(bowl, scattered(8000)), box_region(halves()))


def test_cells_share_the_area_exactly():
    polygon = shapely.Polygon([(0.3, 0.1), (9.7, 0.4), (7.1, 8.8), (1.2, 6.0)])
    x = np.repeat(np.arange(10.0), 10)
    y = np.tile(np.arange(10.0), 10)
    assert coverage_m2(x, y, 1.0, polygon).sum() == pytest.approx(polygon.area, rel=1e-12)


def test_the_grid_agrees_with_the_truth_by_its_own_way():
    grid = grid_surface(SURFACE)
    assert grid.area_m2.sum() == pytest.approx(SIDE**2, rel=1e-12)
    assert grid.void_m3(0.0) == pytest.approx(BOWL_VOID_M3, rel=5e-4)
    assert grid.void_m3(0.0) == pytest.approx(-grid.level_integral_m3())


def test_empty_cells_take_the_nearest_level_and_are_not_skipped():
    places = scattered(8000)
    shadow = np.hypot(*(places - 30).T) < 4
    surface = surveyed_surface(points_on(lambda x, y: -5.0 + 0 * x, places[~shadow]), box_region())
    assert grid_surface(surface).void_m3(0.0) == pytest.approx(SIDE**2 * 5.0, rel=1e-12)


def test_a_huge_grid_is_coarsened():
    assert len(grid_surface(SURFACE, 0.001).level_m) < 5_000_000


def test_the_difference_is_a_share_of_the_volume():
    found = second_method_difference_percent(BOWL_VOID_M3, SURFACE, 0.0)
    assert abs(found) < 0.05
    assert second_method_difference_percent(0.0, SURFACE, 0.0) is None
    upper = surveyed_surface(points_on(lambda x, y: 0.0 * x, scattered(500)), box_region(halves()))
    assert second_method_difference_percent(BOWL_VOID_M3, SURFACE, upper) == pytest.approx(found)
