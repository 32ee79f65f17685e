import numpy as np
import pytest

from tests.domain.surface.shapes import SIDE, bowl, box_region, halves, moved, points_on, scattered
from tracker.domain.surface.faces import surface_of_faces
from tracker.domain.surface.surface import surveyed_surface
from tracker.domain.surface.void_table import flat_void_table, void_table
from tracker.domain.surface.volumes import check_alike
from tracker.errors import InputError

SURVEYED = surveyed_surface(points_on(bowl, scattered(1500)), box_region())
CORNERS, FACES = SURVEYED.xyz_m, SURVEYED.triangles.astype(np.int64)


def test_triangles_are_used_as_they_are():
    table = void_table(surface_of_faces(CORNERS, FACES, box_region()), [-11.0, 0.0])
    assert table.void_m3 == pytest.approx(void_table(SURVEYED, [-11.0, 0.0]).void_m3, rel=1e-12)


def test_triangles_across_a_zone_line_are_cut_along_it():
    where = box_region(halves())
    surface = surface_of_faces(CORNERS, FACES, where)
    table = void_table(surface, [-11.0, 0.0])
    assert table.area_m2 == pytest.approx(where.zone_area_m2, rel=1e-9)
    whole = void_table(SURVEYED, [-11.0, 0.0])
    assert table.void_m3.sum(axis=0) == pytest.approx(whole.void_m3[0], rel=1e-9)


def test_triangles_that_leave_a_gap_are_not_subtracted_from_full_cover():
    some = FACES[CORNERS[FACES, 0].mean(axis=1) < 50]
    table = void_table(surface_of_faces(CORNERS, some, box_region()), [0.0])
    with pytest.raises(InputError, match=r"later surface covers .* of 3,600\.0 m²"):
        check_alike(flat_void_table(box_region(), 0.0, [0.0]), table)


def test_triangles_over_each_other_are_refused():
    twice = np.concatenate([FACES, FACES[:40]])
    with pytest.raises(InputError, match="lie over each other"):
        surface_of_faces(CORNERS, twice, box_region())


@pytest.mark.parametrize(
    ("corners", "faces", "said"),
    [
        (moved(CORNERS, east=900), FACES, "outside the outline"),
        (CORNERS * np.nan, FACES, "no number"),
        (CORNERS, FACES + 10_000, "does not have"),
        (CORNERS, np.empty((0, 3), dtype=np.int64), "does not have"),
    ],
)
def test_triangles_that_make_no_surface_are_refused(corners, faces, said):
    with pytest.raises(InputError, match=said):
        surface_of_faces(corners, faces, box_region())


def test_triangles_without_plan_area_are_passed_over():
    upright = np.concatenate([FACES, [[0, 0, 1]]])
    surface = surface_of_faces(CORNERS, upright, box_region())
    assert surface.area_m2.sum() == pytest.approx(SIDE**2)
