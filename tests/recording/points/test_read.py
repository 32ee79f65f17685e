import hashlib

import numpy as np
import pytest
import shapely

from tests.recording.points.files import EAST, NORTH, OUTLINE, floor_points, landxml, rows_text
from tests.recording.points.test_cloud import scan
from tracker.domain.surface.region import region
from tracker.errors import InputError
from tracker.recording.points.parsed import in_silence
from tracker.recording.points.read import METRES, read_survey, surface_from

POINTS = floor_points()
RING = [(EAST, NORTH), (EAST + 60, NORTH), (EAST + 60, NORTH + 40), (EAST, NORTH + 40)]


def written(tmp_path, text, name="a.csv"):
    (tmp_path / name).write_text(text)
    return tmp_path / name


def test_a_stated_order_unit_and_datum_are_kept_with_the_hash(tmp_path):
    path = written(tmp_path, rows_text(POINTS / 0.3048, "NEZ", number="{:.6f}"))
    found = read_survey(path, OUTLINE, "NEZ", "ft", datum_shift_m=100.0)
    assert found.points_m == pytest.approx(POINTS + np.array([0, 0, 100.0]), abs=1e-5)
    assert (found.order, found.unit, found.datum_shift_m) == ("NEZ", "ft", 100.0)
    assert found.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def test_every_format_gives_one_answer(tmp_path):
    text = read_survey(written(tmp_path, rows_text(POINTS)), OUTLINE, "ENZ")
    laz = read_survey(scan(tmp_path / "a.laz", POINTS), OUTLINE)
    xml = read_survey(written(tmp_path, landxml(POINTS, [(0, 1, 2)]), "a.xml"), OUTLINE)
    assert laz.points_m == pytest.approx(text.points_m, abs=1.1e-3)
    assert xml.corners_m == pytest.approx(text.points_m, abs=1e-3)
    assert len({text.sha256, laz.sha256, xml.sha256}) == 3


def test_an_order_that_fits_is_taken_aloud_when_none_is_stated(tmp_path):
    found = read_survey(written(tmp_path, rows_text(POINTS)), OUTLINE)
    assert found.order == "ENZ"
    assert "ENZ 100.0 %, NEZ 0.0 %" in found.notes[0]
    assert "State the order" in found.notes[0]


def test_an_order_that_does_not_fit_is_proposed_not_taken(tmp_path):
    with pytest.raises(InputError, match=r"ENZ 0\.0 %, NEZ 100\.0 %. If NEZ is meant, state it"):
        read_survey(written(tmp_path, rows_text(POINTS, "NEZ")), OUTLINE)


def test_names_in_front_of_the_points_are_seen(tmp_path):
    assert read_survey(written(tmp_path, rows_text(POINTS, "PENZ")), OUTLINE).order == "PENZ"


def test_without_an_outline_the_order_must_be_stated(tmp_path):
    with pytest.raises(InputError, match="State the order"):
        read_survey(written(tmp_path, rows_text(POINTS)))


def test_swapped_axes_are_told_with_the_order_that_would_fit(tmp_path):
    path = written(tmp_path, rows_text(POINTS, "NEZ"))
    with pytest.raises(InputError, match=r"swapped it would be 100\.0 % \(order NEZ\)"):
        read_survey(path, OUTLINE, "ENZ")


def test_feet_for_metres_are_told(tmp_path):
    path = written(tmp_path, rows_text(POINTS / 0.3048))
    with pytest.raises(InputError, match="read in ft it would be"):
        read_survey(path, OUTLINE, "ENZ")


def test_a_unit_that_the_file_contradicts_is_refused(tmp_path):
    text = landxml(POINTS, [(0, 1, 2)], '<Imperial linearUnit="foot"/>')
    with pytest.raises(InputError, match="its unit is ft, not m"):
        read_survey(written(tmp_path, text, "a.xml"), OUTLINE)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"unit": "yd"}, "“yd” is not known"),
        ({"order": "XZY"}, "“XZY” is not known"),
    ],
)
def test_what_is_not_known_is_refused(tmp_path, change, said):
    with pytest.raises(InputError, match=said):
        read_survey(written(tmp_path, rows_text(POINTS)), OUTLINE, **change)


def test_levels_that_are_no_ground_are_refused(tmp_path):
    path = written(tmp_path, rows_text(POINTS[:, [0, 2, 1]]))
    with pytest.raises(InputError, match="no ground"):
        read_survey(path, shapely.box(0, -20, 1e6, 20), "ENZ")


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(InputError, match="There is no file"):
        read_survey(tmp_path / "none.csv", OUTLINE)


def test_feet_are_what_they_are_by_definition():
    assert METRES["ft"] == 0.3048
    assert METRES["us-ft"] == pytest.approx(0.304800609601, abs=1e-12)


def test_triangles_become_their_own_surface_and_points_a_new_one(tmp_path):
    where = region([RING])
    corners = np.array([(x, y, -5.0) for x, y in RING])
    text = landxml(corners, [(0, 1, 2), (0, 2, 3)])
    faces = read_survey(written(tmp_path, text, "a.xml"), OUTLINE)
    assert len(surface_from(faces, where).triangles) == 2
    points = read_survey(written(tmp_path, rows_text(POINTS)), OUTLINE, "ENZ")
    assert len(surface_from(points, where).triangles) > 700
    assert in_silence(1, 2) is None
