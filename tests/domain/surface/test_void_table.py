import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from tests.domain.surface.shapes import SIDE, bowl, box_region, halves, points_on, scattered
from tracker.domain.surface import void_table as v
from tracker.domain.surface.surface import Surface, surveyed_surface
from tracker.errors import InputError, UnknownName

WHERE = box_region(halves())
SURFACE = surveyed_surface(points_on(bowl, scattered(3000)), WHERE)
LEVELS = np.linspace(-13.0, -9.0, 25)


def one_triangle(z1, z2, z3):
    corners = np.array([[0, 0, z1], [6, 0, z2], [0, 4, z3]], dtype=float)
    return Surface(
        region=box_region(),
        xyz_m=corners,
        triangles=np.array([[0, 1, 2]], dtype=np.int32),
        zone=np.zeros(1, dtype=np.int16),
        measured=np.ones(3, dtype=bool),
        spacing_m=1.0,
        points_in=3,
        points_used=3,
        rejected={},
    )


levels = st.floats(-20.0, 20.0).map(lambda x: round(x, 2))


@given(levels, levels, levels, levels)
def test_the_void_above_a_triangle_is_that_of_a_fine_sum(z1, z2, z3, level):
    n = 60
    share = [(i + 1 / 3, j + 1 / 3) for i in range(n) for j in range(n - i)]
    share += [(i + 2 / 3, j + 2 / 3) for i in range(n) for j in range(n - i - 1)]
    a, b = np.array(share).T / n
    z = z1 + a * (z2 - z1) + b * (z3 - z1)
    summed = 12.0 * np.maximum(level - z, 0.0).mean()
    table = v.void_table(one_triangle(z1, z2, z3), [level])
    assert table.void_m3[0, 0] == pytest.approx(summed, abs=0.01)


@given(levels, levels, levels)
def test_void_rises_with_the_level_as_the_area_below_says(z1, z2, z3):
    steps = np.linspace(-21, 21, 400)
    table = v.void_table(one_triangle(z1, z2, z3), steps)
    rise = np.diff(table.void_m3[0])
    low, high = table.area_below_m2[0, :-1], table.area_below_m2[0, 1:]
    step = steps[1] - steps[0]
    assert (rise >= low * step - 1e-9).all()
    assert (rise <= high * step + 1e-9).all()


def test_a_level_on_a_corner_or_on_flat_ground_is_no_trouble():
    table = v.void_table(one_triangle(-5.0, -5.0, -5.0), [-6.0, -5.0, -4.0])
    assert table.void_m3[0] == pytest.approx([0.0, 0.0, 12.0])
    assert table.area_below_m2[0] == pytest.approx([0.0, 12.0, 12.0])
    table = v.void_table(one_triangle(-5.0, -4.0, -4.0), [-5.0, -4.0])
    assert table.void_m3[0] == pytest.approx([0.0, 4.0])


def test_all_levels_at_once_give_what_each_alone_gives():
    table = v.void_table(SURFACE, LEVELS)
    for k, level in enumerate(LEVELS):
        assert v.void_table(SURFACE, [level]).void_m3[:, 0] == pytest.approx(table.void_m3[:, k])


def test_crossings_in_small_portions_give_the_same(monkeypatch):
    whole = v.void_table(SURFACE, LEVELS)
    monkeypatch.setattr(v, "_PAIRS_AT_ONCE", 100)
    portions = v.void_table(SURFACE, LEVELS)
    assert portions.void_m3 == pytest.approx(whole.void_m3)
    assert portions.area_below_m2 == pytest.approx(whole.area_below_m2)


def test_zones_sum_to_the_whole():
    parts = v.void_table(SURFACE, LEVELS)
    joined = Surface(**{**_fields(SURFACE), "region": box_region(), "zone": SURFACE.zone * 0})
    whole = v.void_table(joined, LEVELS)
    assert parts.void_m3.sum(axis=0) == pytest.approx(whole.void_m3[0], rel=1e-12)


def _fields(surface):
    return {name: getattr(surface, name) for name in surface.__dataclass_fields__}


def test_above_everything_the_void_is_area_times_level_less_the_integral():
    table = v.void_table(SURFACE, [0.0])
    assert table.void_m3[:, 0] == pytest.approx(-table.level_integral_m3)
    assert table.area_below_m2[:, 0] == pytest.approx(WHERE.zone_area_m2)


def test_another_program_cuts_the_same_void_at_every_level():
    """trimesh slices the solid between the surface and a plane, and measures what is left."""
    table = v.void_table(SURFACE, LEVELS)
    corners = SURFACE.xyz_m[SURFACE.triangles]
    for k in (6, 12, 20):
        level = LEVELS[k]
        below = trimesh.intersections.slice_mesh_plane(
            trimesh.Trimesh(SURFACE.xyz_m, SURFACE.triangles, process=False),
            plane_normal=[0, 0, -1.0],
            plane_origin=[0, 0, level],
        )
        flat = below.triangles
        ux, uy = (flat[:, 1] - flat[:, 0])[:, :2].T
        wx, wy = (flat[:, 2] - flat[:, 0])[:, :2].T
        area = np.abs(ux * wy - uy * wx) / 2
        sliced = (area * (level - flat[:, :, 2].mean(axis=1))).sum()
        assert table.void_m3[:, k].sum() == pytest.approx(sliced, rel=1e-9)
    assert len(corners) > 5000


def test_flat_ground_needs_no_triangles():
    flat = v.flat_void_table(WHERE, -2.0, [-3.0, -2.0, 1.0])
    assert flat.void_m3.sum(axis=0) == pytest.approx([0.0, 0.0, SIDE**2 * 3.0])
    assert flat.area_below_m2.sum(axis=0) == pytest.approx([0.0, SIDE**2, SIDE**2])
    by_zone = v.flat_void_table(WHERE, {"W": 0.0, "E": -1.0}, [1.0])
    assert by_zone.void_m3[:, 0] == pytest.approx([1800.0, 3600.0])
    with pytest.raises(UnknownName, match="“E”"):
        v.flat_void_table(WHERE, {"W": 0.0}, [1.0])
    with pytest.raises(InputError, match="no number"):
        v.flat_void_table(WHERE, float("nan"), [1.0])


def test_bounds_are_by_zone():
    table = v.void_table(SURFACE, [0.0])
    west = SURFACE.triangles[SURFACE.zone == 0]
    assert table.lowest_m[0] == SURFACE.xyz_m[west, 2].min()
    assert table.highest_m[0] == SURFACE.xyz_m[west, 2].max()


def test_a_level_that_was_not_asked_for_is_no_guess():
    table = v.void_table(SURFACE, [-10.0, -9.0])
    assert table.level_index(-9.0) == 1
    with pytest.raises(InputError, match=r"not reduced at -9\.500 m"):
        table.level_index(-9.5)
    with pytest.raises(UnknownName):
        table.zone_index("X")


def test_levels_are_put_in_order_and_must_be_numbers():
    assert v.checked_levels([2.0, -1.0, 2.0]).tolist() == [-1.0, 2.0]
    for wrong in ([], [float("nan")]):
        with pytest.raises(InputError, match="one level or more"):
            v.checked_levels(wrong)


def test_whole_metres_enclose_the_ground():
    assert v.metre_levels(-2.3, 0.5).tolist() == [-3, -2, -1, 0, 1]
    assert v.metre_levels(4.0, 4.0).tolist() == [4.0, 5.0]
    with pytest.raises(InputError, match="Check the unit"):
        v.metre_levels(0.0, 530_000.0)
