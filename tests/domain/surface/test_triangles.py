import numpy as np
import pytest
import shapely

from tracker.domain.surface.triangles import triangles_inside
from tracker.errors import InputError

RING = np.array([[0, 0], [10, 0], [10, 10], [5, 10], [5, 5], [0, 5.0]])
EDGES = np.column_stack([np.arange(6), np.roll(np.arange(6), -1)]).astype(np.uint32)
ELL = shapely.Polygon(RING)


def area_m2(xy, corners):
    a, b, c = (xy[corners[:, k]] for k in range(3))
    (ux, uy), (vx, vy) = (b - a).T, (c - a).T
    return np.abs(ux * vy - uy * vx).sum() / 2


def test_triangles_fill_a_polygon_with_a_bay_and_nothing_else():
    inner = np.random.default_rng(0).uniform(0.5, 4.5, (50, 2))
    xy = np.concatenate([RING, inner])
    corners = triangles_inside(xy, EDGES, ELL, 6)
    assert area_m2(xy, corners) == pytest.approx(75.0)


def test_holes_stay_empty_and_closed_lines_do_not_become_holes():
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])
    pile = np.array([[2, 2], [3, 2], [3, 3], [2, 3.0]])
    toe = np.array([[5, 5], [8, 5], [8, 8], [5, 8.0]])
    xy = np.concatenate([square, pile, toe])
    loops = [np.arange(4) + k for k in (0, 4, 8)]
    edges = np.concatenate([np.column_stack([i, np.roll(i, -1)]) for i in loops])
    polygon = shapely.Polygon(square, [pile])
    corners = triangles_inside(xy, edges.astype(np.uint32), polygon, 8)
    assert area_m2(xy, corners) == pytest.approx(99.0)


def test_two_parts_apart_are_both_filled():
    parts = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [5, 0], [6, 0], [6, 1], [5, 1.0]])
    loops = [np.arange(4), np.arange(4) + 4]
    edges = np.concatenate([np.column_stack([i, np.roll(i, -1)]) for i in loops])
    both = shapely.MultiPolygon([shapely.box(0, 0, 1, 1), shapely.box(5, 0, 6, 1)])
    corners = triangles_inside(parts, edges.astype(np.uint32), both, 8)
    assert area_m2(parts, corners) == pytest.approx(2.0)


def test_edges_that_cross_are_refused_in_words():
    crossed = np.concatenate([EDGES, [[1, 3], [2, 4]]]).astype(np.uint32)
    with pytest.raises(InputError, match="cross each other"):
        triangles_inside(RING, crossed, ELL, 6)
