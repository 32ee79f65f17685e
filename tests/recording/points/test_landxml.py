import numpy as np
import pytest

from tests.recording.points.files import floor_points, landxml
from tracker.errors import InputError
from tracker.recording.points.landxml import read_landxml

POINTS = floor_points(5)
FACES = [(0, 1, 2), (1, 2, 3)]


def read(tmp_path, text, surface=""):
    (tmp_path / "a.xml").write_text(text, "utf-8")
    return read_landxml(tmp_path / "a.xml", surface)


def test_faces_are_taken_as_they_are_and_northing_comes_first(tmp_path):
    found = read(tmp_path, landxml(POINTS, FACES))
    assert found.corners == pytest.approx(POINTS, abs=1e-4)
    assert found.faces.tolist() == [list(face) for face in FACES]
    assert found.unit == "m"


def test_faces_that_their_maker_left_out_stay_out(tmp_path):
    text = landxml(POINTS, FACES).replace("<F>2 3 4</F>", '<F i="1">2 3 4</F>')
    assert len(read(tmp_path, text).faces) == 1


def test_breaklines_and_points_without_faces_are_taken(tmp_path):
    extra = (
        "<SourceData><Breaklines><Breakline><PntList3D>1 2 3 4 5 6</PntList3D></Breakline>"
        "</Breaklines><DataPoints><PntList3D>7 8 9</PntList3D></DataPoints></SourceData>"
    )
    found = read(tmp_path, landxml(POINTS, extra=extra).replace("<Pnts>", "<Pnts><!-- -->"))
    assert found.breaklines[0].tolist() == [[2, 1, 3], [5, 4, 6]]
    assert found.points.tolist() == [[8, 7, 9]]


def test_single_points_of_a_survey_are_taken(tmp_path):
    text = '<LandXML><CgPoints><CgPoint name="1">2.0 1.0 3.0</CgPoint></CgPoints></LandXML>'
    assert read(tmp_path, text).points.tolist() == [[1.0, 2.0, 3.0]]


def test_feet_are_told(tmp_path):
    found = read(tmp_path, landxml(POINTS, FACES, '<Imperial linearUnit="USSurveyFoot"/>'))
    assert found.unit == "us-ft"


@pytest.mark.parametrize(
    "head",
    [
        '<!DOCTYPE LandXML [<!ENTITY a "x">]>',
        '<!DOCTYPE LandXML SYSTEM "file:///etc/hostname">',
        '<!DOCTYPE LandXML [<!ENTITY a SYSTEM "file:///etc/hostname">]>',
    ],
)
def test_entities_are_refused_whatever_they_would_do(tmp_path, head):
    with pytest.raises(InputError, match="can do harm"):
        read(tmp_path, landxml(POINTS, FACES, head=head))


def test_entities_in_another_encoding_are_refused_too(tmp_path):
    text = landxml(POINTS, FACES, head='<!DOCTYPE LandXML [<!ENTITY a "x">]>')
    (tmp_path / "a.xml").write_text(text.replace('"1.0"?', '"1.0" encoding="utf-16"?'), "utf-16")
    with pytest.raises(InputError, match="can do harm"):
        read_landxml(tmp_path / "a.xml")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (landxml(POINTS, FACES)[:-80], "no whole XML file"),
        ("", "no whole XML file"),
        ("<gpx/>", "no LandXML"),
        ("<LandXML/>", "neither a surface nor points"),
        (landxml(POINTS, [(0, 1, 9)]), "names the point '10'"),
        (landxml(POINTS, FACES).replace("<F>1 2 3</F>", "<F>1 2 3 4</F>"), "no triangles"),
        (landxml(np.full((5, 3), np.nan), FACES), "is not 3 numbers"),
        (landxml(POINTS, FACES).replace("</Surfaces>", '<Surface name="b"/></Surfaces>'),
         r"holds 2 surfaces \(floor, b\)"),
    ],
)  # fmt: skip
def test_files_that_make_no_surface_are_refused(tmp_path, text, said):
    with pytest.raises(InputError, match=said):
        read(tmp_path, text)


def test_one_of_several_surfaces_can_be_named(tmp_path):
    text = landxml(POINTS, FACES).replace("</Surfaces>", '<Surface name="b"/></Surfaces>')
    assert len(read(tmp_path, text, "floor").faces) == 2
    with pytest.raises(InputError, match="no surface “c”"):
        read(tmp_path, text, "c")
