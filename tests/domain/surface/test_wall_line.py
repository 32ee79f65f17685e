import numpy as np
import pytest
import shapely

from tracker.domain.surface.wall_line import (
    closed_ring,
    levels_along,
    ring_vertices,
    wall_planes,
)

BOX = shapely.box(0, 0, 10, 8)


def test_the_ring_is_closed_has_its_corners_and_no_long_gap():
    xy, edges = ring_vertices(BOX, 0.7, np.empty((0, 2)))
    steps = np.hypot(*(xy[edges[:, 1]] - xy[edges[:, 0]]).T)
    assert steps.sum() == pytest.approx(36.0)
    assert steps.max() < 1.4
    for corner in ((0, 0), (10, 0), (10, 8), (0, 8)):
        assert np.hypot(*(xy - corner).T).min() < 1e-9


def test_the_end_of_a_breakline_gets_a_vertex_of_its_own():
    xy, _ = ring_vertices(BOX, 5.0, np.array([[3.21, 0.01]]))
    assert np.hypot(*(xy - (3.21, 0.0)).T).min() < 1e-9


def test_a_plane_goes_on_to_the_wall():
    points = np.random.default_rng(0).uniform(0.2, 7.8, (300, 3))
    points[:, 2] = 2.0 + 0.3 * points[:, 0] - 0.1 * points[:, 1]
    place = np.array([[0.0, 4.0]])
    level, near, weights = wall_planes(place, points)
    assert level[0] == pytest.approx(2.0 - 0.4)
    assert weights.sum() == pytest.approx(1.0)
    assert (weights * points[near, 2]).sum() == pytest.approx(level[0])


def test_a_slope_steeper_than_one_to_one_is_held_and_so_is_the_range():
    points = np.array(
        [[1 + i * 0.1, j * 0.1, 10.0 * (1 + i * 0.1)] for i in range(2) for j in range(3)]
    )
    level, _, _ = wall_planes(np.array([[0.0, 0.1]]), points)
    assert level[0] == pytest.approx(10.0 - 0.2)
    gentle = points.copy()
    gentle[:, 2] = 5.0 + 3.0 * (gentle[:, 0] - 1.05)
    level, _, _ = wall_planes(np.array([[1.0, 0.1]]), gentle)
    assert level[0] == pytest.approx(5.0 - 0.05)


def test_points_in_one_row_give_a_level_all_the_same():
    row = np.column_stack([np.arange(6.0), np.zeros(6), np.full(6, 3.0)])
    level, _, _ = wall_planes(np.array([[2.0, 1.0]]), row)
    assert level[0] == pytest.approx(3.0)


def test_a_breakline_on_the_ring_wins_over_the_plane():
    points = np.column_stack([np.random.default_rng(1).uniform(1, 7, (50, 2)), np.full(50, -5.0)])
    crest = np.array([[0, 0, 1.0], [10, 0, 2.0]])
    ring = closed_ring(BOX, 1.0, points, [crest])
    on_crest = ring.xy_m[:, 1] < 1e-9
    assert ring.measured[on_crest].all()
    assert not ring.measured[~on_crest].any()
    assert ring.level_m[on_crest] == pytest.approx(1.0 + ring.xy_m[on_crest, 0] / 10)
    assert ring.level_m[~on_crest] == pytest.approx(-5.0)


def test_the_strip_search_finds_the_same_points_as_a_search_of_all():
    chance = np.random.default_rng(2)
    dense = np.column_stack([chance.uniform(0.1, 9.9, 60_000), chance.uniform(0.1, 7.9, 60_000)])
    dense = np.column_stack([dense, chance.normal(size=60_000)])
    xy, _ = ring_vertices(BOX, 0.5, np.empty((0, 2)))
    _, near, _ = wall_planes(xy, dense)
    for place, found in zip(xy, near, strict=True):
        nearest = np.argsort(np.hypot(*(dense[:, :2] - place).T))[:6]
        assert set(nearest) == set(found)


def test_levels_along_a_line_are_in_proportion():
    line = np.array([[0, 0, 0.0], [10, 0, 1.0], [10, 10, 5.0]])
    assert levels_along(line, np.array([[5, 0.01], [10, 5.0]])) == pytest.approx([0.5, 3.0])
