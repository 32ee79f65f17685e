"""Surveys of ten thousand to a million points, against the libraries one would use otherwise.

The bars are ratios within one run. VTK is in the extra `bench`; without it trimesh stands alone.
"""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
import scipy.spatial
import shapely
import trimesh

from tests.bench.conftest import least_s
from tracker.domain.surface.net import net_dug
from tracker.domain.surface.reduced import level_ground, reduced_survey
from tracker.domain.surface.region import region
from tracker.domain.surface.surface import Surface, surveyed_surface
from tracker.domain.surface.void_table import flat_void_table, void_table
from tracker.domain.surface.volumes import bands

SIDE = 60.0
RING = [(530_000.0, 180_000.0), (530_060.0, 180_000.0), (530_060.0, 180_060.0),
        (530_000.0, 180_060.0)]  # fmt: skip
LEVELS = np.linspace(-13.0, -9.0, 26)  # 25 bands
COUNTS = (10_000, 100_000, 1_000_000)
TABLE_AT_LEAST = 30.0  # times the better of the two other programs
NET_AT_LEAST = 10.0  # times scipy's triangulation and a loop over the levels
MOST_MB = 600.0
ANSWER_AT_MOST_S = 0.005
GROWTH_AT_MOST = 1.4  # cost grows at most as count to this power


def dug(count: int, seed: int, deeper_m: float = 0.0) -> np.ndarray:
    """A scan of an uneven floor, in national coordinates."""
    chance = np.random.default_rng(seed)
    x, y = chance.uniform(0.3, SIDE - 0.3, (2, count))
    level = -10.0 - 0.002 * (x - 30) ** 2 - 0.001 * (y - 20) ** 2 + chance.normal(0, 0.01, count)
    return np.column_stack([530_000 + x, 180_000 + y, level - deeper_m])


def plan_area(corners: np.ndarray) -> np.ndarray:
    """Plan area of triangles given as an array of triangle, corner, axis."""
    (ux, uy), (wx, wy) = ((corners[:, k] - corners[:, 0])[:, :2].T for k in (1, 2))
    return np.abs(ux * wy - uy * wx) / 2


def below_m3(corners: np.ndarray, level: float) -> float:
    """Volume between a plane and triangles that all lie below it."""
    return float((plan_area(corners) * (level - corners[:, :, 2].mean(axis=1))).sum())


def plain_voids(xyz: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Void below each level, by the closed form over all triangles for one level after another."""
    corners = xyz[triangles]
    area = plan_area(corners)
    low, middle, high = np.sort(corners[:, :, 2], axis=1).T
    mean = corners[:, :, 2].mean(axis=1)
    found = []
    with np.errstate(divide="ignore", invalid="ignore"):
        for level in LEVELS:
            lower = (level - low) ** 3 / (3 * (middle - low) * (high - low))
            upper = (level - mean) + (high - level) ** 3 / (3 * (high - low) * (high - middle))
            where = [level <= low, level <= middle, level < high]
            found.append(float(area @ np.select(where, [0.0, lower, upper], level - mean)))
    return np.array(found)


def scipy_net(before: np.ndarray, after: np.ndarray) -> np.ndarray:
    """Net by band, from the bottom up, with scipy's triangulation of the points inside."""
    box = shapely.Polygon(RING)
    voids = []
    for points in (before, after):
        inside = points[shapely.contains_xy(box, points[:, 0], points[:, 1])]
        local = inside - np.array([530_000.0, 180_000.0, 0.0])
        voids.append(plain_voids(local, scipy.spatial.Delaunay(local[:, :2]).simplices))
    return np.diff(voids[1] - voids[0])


def our_net(before: np.ndarray, after: np.ndarray) -> list[float]:
    """Net by band from raw points."""
    where = region([RING])
    tables = [void_table(surveyed_surface(points, where), LEVELS) for points in (before, after)]
    return [band.net_m3 for band in bands(*tables)]


def trimesh_voids(surface: Surface) -> np.ndarray:
    mesh = trimesh.Trimesh(surface.xyz_m, surface.triangles, process=False)
    found = []
    for level in LEVELS:
        below = trimesh.intersections.slice_mesh_plane(mesh, [0, 0, -1.0], [0, 0, level])
        found.append(below_m3(below.triangles, level))
    return np.array(found)


def vtk_voids(surface: Surface) -> np.ndarray | None:
    try:
        import vtk
        from vtk.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
    except ImportError:
        return None
    points, cells, mesh = vtk.vtkPoints(), vtk.vtkCellArray(), vtk.vtkPolyData()
    points.SetData(numpy_to_vtk(surface.xyz_m, deep=True))
    rows = np.column_stack([np.full(len(surface.triangles), 3), surface.triangles])
    cells.ImportLegacyFormat(numpy_to_vtkIdTypeArray(rows.astype(np.int64).ravel(), deep=True))
    mesh.SetPoints(points)
    mesh.SetPolys(cells)
    found = []
    for level in LEVELS:
        plane, cut, flat = vtk.vtkPlane(), vtk.vtkClipPolyData(), vtk.vtkTriangleFilter()
        plane.SetOrigin(0, 0, level)
        plane.SetNormal(0, 0, -1)
        cut.SetInputData(mesh)
        cut.SetClipFunction(plane)
        cut.SetOutputPointsPrecision(vtk.vtkAlgorithm.DOUBLE_PRECISION)
        flat.SetInputConnection(cut.GetOutputPort())
        flat.Update()
        below = flat.GetOutput()
        if below.GetNumberOfPolys() == 0:
            found.append(0.0)
            continue
        xyz = vtk_to_numpy(below.GetPoints().GetData())
        corners = vtk_to_numpy(below.GetPolys().GetConnectivityArray()).reshape(-1, 3)
        found.append(below_m3(xyz[corners], level))
    return np.array(found)


@pytest.fixture(scope="module")
def million() -> Surface:
    return surveyed_surface(dug(1_000_000, 1), region([RING]))


def test_the_table_of_a_million_points_against_two_other_programs(million, say):
    (ours_s,) = least_s(lambda: void_table(million, LEVELS), repeats=5)
    table = void_table(million, LEVELS).void_m3[0]
    others = {}
    for name, work in (("trimesh", trimesh_voids), ("VTK", vtk_voids)):
        answers: list[np.ndarray | None] = []
        (took_s,) = least_s(lambda w=work, a=answers: a.append(w(million)), repeats=1)
        (answer,) = answers
        if answer is None:
            say("VTK is not installed (extra `bench`): compared with trimesh alone")
            continue
        others[name] = took_s
        assert answer == pytest.approx(table, rel=1e-9, abs=1e-6), name
        say(f"{name}: {took_s:.2f} s for {len(LEVELS)} levels, the same to 1e-9")
    ratio = min(others.values()) / ours_s
    say(f"void table: {ours_s:.3f} s; {ratio:.0f} times faster (at least {TABLE_AT_LEAST:g})")
    assert ratio >= TABLE_AT_LEAST


def test_two_surveys_of_a_million_points_to_net_by_band_against_scipy(say):
    before, after = dug(1_000_000, 1), dug(1_000_000, 2, deeper_m=0.8)
    (ours_s,) = least_s(lambda: our_net(before, after), repeats=3)
    (scipy_s,) = least_s(lambda: scipy_net(before, after), repeats=1)
    ratio = scipy_s / ours_s
    say(
        f"raw points to 25 bands: {ours_s:.2f} s; scipy and numpy {scipy_s:.1f} s;"
        f" {ratio:.1f} times faster (at least {NET_AT_LEAST:g})"
    )
    assert ratio >= NET_AT_LEAST


def test_cost_grows_about_as_the_count_of_points(say):
    where = region([RING])
    times = []
    for count in COUNTS:
        points = dug(count, 3)
        surface = surveyed_surface(points, where)
        surface_s, table_s = least_s(
            lambda points=points: surveyed_surface(points, where),
            lambda surface=surface: void_table(surface, LEVELS),
            repeats=3,
        )
        times.append(surface_s + table_s)
        say(f"{count:>9,} points: surface {surface_s:.3f} s, table {table_s:.4f} s")
    power = float(np.polyfit(np.log(COUNTS), np.log(times), 1)[0])
    say(f"cost grows as count to the power {power:.2f} (at most {GROWTH_AT_MOST:g})")
    assert power <= GROWTH_AT_MOST


def test_twenty_six_levels_cost_not_much_more_than_one(million, say):
    one_s, all_s = least_s(
        lambda: void_table(million, LEVELS[:1]), lambda: void_table(million, LEVELS), repeats=5
    )
    say(f"one level {one_s:.3f} s, {len(LEVELS)} levels {all_s:.3f} s: {all_s / one_s:.1f} times")
    assert all_s / one_s < 5.0


def test_later_questions_are_answered_from_the_tables_at_once(million, say):
    earlier = flat_void_table(million.region, 2.0, LEVELS)
    later = void_table(million, LEVELS)
    level, kept = level_ground(million.region, 2.0, LEVELS), reduced_survey(million, LEVELS)

    def ask() -> None:
        bands(earlier, later)
        net_dug(level, kept, "all", float(LEVELS[-1]), float(LEVELS[5]))

    (answer_s,) = least_s(ask, repeats=20)
    say(f"bands and a stage from two tables: {1000 * answer_s:.2f} ms (at most 5 ms)")
    assert answer_s <= ANSWER_AT_MOST_S


@pytest.mark.parametrize("count", COUNTS)
def test_memory_at_its_peak_in_a_process_of_its_own(count, say):
    code = (
        "from tests.bench.test_surface import dug, our_net\n"
        f"our_net(dug({count}, 1), dug({count}, 2, 0.8))\n"
        # not getrusage, which keeps the peak of the process that started this one
        "print(open('/proc/self/status').read().split('VmHWM:')[1].split()[0])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    peak_mb = float(done.stdout) / 1024
    say(f"two surveys of {count:,} points: {peak_mb:.0f} MB at most (at most {MOST_MB:g})")
    assert peak_mb <= MOST_MB
