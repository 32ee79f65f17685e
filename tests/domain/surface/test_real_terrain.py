"""Real ground: a digital elevation model that a plotting library packages as a sample.

It is the file `jacksboro_fault_dem.npz` of matplotlib, read for its shape only; places are taken as
cells of ten metres, which is close to what it is and does not matter here.
"""

import numpy as np
import pytest
import trimesh
from matplotlib import cbook

from tracker.domain.surface.grid_method import grid_surface
from tracker.domain.surface.region import region
from tracker.domain.surface.surface import surveyed_surface
from tracker.domain.surface.void_table import void_table

CELL = 10.0


@pytest.fixture(scope="module")
def terrain():
    """Elevations as points in the middle of cells, and the outline around the cells."""
    with cbook.get_sample_data("jacksboro_fault_dem.npz") as dem:
        level = np.asarray(dem["elevation"], dtype=float)
    north, east = level.shape
    x, y = (np.arange(east) + 0.5) * CELL, (np.arange(north) + 0.5) * CELL
    points = np.column_stack([np.tile(x, north), np.repeat(y, east), level.ravel()])
    where = region([[(0, 0), (east * CELL, 0), (east * CELL, north * CELL), (0, north * CELL)]])
    return points, surveyed_surface(points, where)


def test_two_methods_agree_on_real_ground_at_the_top_level(terrain):
    points, surface = terrain
    top = points[:, 2].max()
    by_triangles = void_table(surface, [top]).void_m3[0, 0]
    by_cells = grid_surface(surface, CELL).void_m3(top)
    assert by_cells == pytest.approx(by_triangles, rel=1e-5)
    assert by_triangles > 1e9


def test_two_methods_agree_on_real_ground_at_every_level_from_the_middle_up(terrain):
    points, surface = terrain
    levels = np.linspace(*np.percentile(points[:, 2], [50, 100]), 8)
    by_triangles = void_table(surface, levels).void_m3[0]
    cells = grid_surface(surface, CELL)
    assert [cells.void_m3(level) for level in levels] == pytest.approx(by_triangles, rel=3e-3)


def test_another_program_slices_real_ground_to_the_same_void(terrain):
    _, surface = terrain
    level = float(np.median(surface.xyz_m[:, 2]))
    mesh = trimesh.Trimesh(surface.xyz_m, surface.triangles, process=False)
    below = trimesh.intersections.slice_mesh_plane(mesh, [0, 0, -1.0], [0, 0, level]).triangles
    ux, uy = (below[:, 1] - below[:, 0])[:, :2].T
    wx, wy = (below[:, 2] - below[:, 0])[:, :2].T
    sliced = (np.abs(ux * wy - uy * wx) / 2 * (level - below[:, :, 2].mean(axis=1))).sum()
    assert void_table(surface, [level]).void_m3[0, 0] == pytest.approx(sliced, rel=1e-9)
