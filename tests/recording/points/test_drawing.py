import ezdxf
import numpy as np
import pytest

from tests.recording.points.files import floor_points
from tracker.errors import InputError
from tracker.recording.points.drawing import read_drawing

POINTS = floor_points(20)


def drawing(path, unit=6):
    doc = ezdxf.new("R2010")
    doc.header["$INSUNITS"] = unit
    return doc, doc.modelspace(), path


def test_points_breaklines_and_outlines_are_told_apart(tmp_path):
    doc, model, path = drawing(tmp_path / "a.dxf")
    for point in POINTS:
        model.add_point(point)
    model.add_polyline3d([(0, 0, 1), (5, 0, 2), (5, 5, 3)])
    model.add_polyline3d([(1, 1, -1), (2, 1, -1), (2, 2, -1)], close=True)
    model.add_lwpolyline([(0, 0), (60, 0), (60, 40), (0, 40)], close=True)
    model.add_lwpolyline([(0, 0), (60, 0)])
    doc.saveas(path)
    found = read_drawing(path)
    assert found.points == pytest.approx(POINTS)
    assert [len(line) for line in found.breaklines] == [3, 4]
    assert len(found.outlines) == 1
    assert found.unit == "m"


def test_arcs_of_an_outline_are_followed(tmp_path):
    doc, model, path = drawing(tmp_path / "a.dxf")
    model.add_lwpolyline([(0, 0, 1), (10, 0, 1)], format="xyb", close=True)  # two half circles
    doc.saveas(path)
    (ring,) = read_drawing(path).outlines
    radii = np.hypot(*(ring - (5, 0)).T)
    assert radii == pytest.approx(5.0, abs=0.005)
    assert len(ring) > 50


def test_the_unit_of_the_drawing_is_told(tmp_path):
    doc, model, path = drawing(tmp_path / "a.dxf", unit=2)
    model.add_point((1, 2, 3))
    doc.saveas(path)
    assert read_drawing(path).unit == "ft"


@pytest.mark.parametrize("text", ["", "no drawing", "0\nSECTION\n2\nENTITIES\n0\n"])
def test_what_is_no_drawing_is_refused(tmp_path, text):
    (tmp_path / "a.dxf").write_text(text)
    with pytest.raises(InputError, match=r"DXF|holds no points"):
        read_drawing(tmp_path / "a.dxf")


def test_a_drawing_that_is_cut_off_is_refused(tmp_path):
    doc, model, path = drawing(tmp_path / "a.dxf")
    model.add_point((1, 2, 3))
    doc.saveas(path)
    path.write_bytes(path.read_bytes()[:3000])
    with pytest.raises(InputError, match=r"DXF|holds no points"):
        read_drawing(path)


def test_a_drawing_without_a_survey_is_refused(tmp_path):
    doc, model, path = drawing(tmp_path / "a.dxf")
    model.add_circle((0, 0), 3)
    doc.saveas(path)
    with pytest.raises(InputError, match="holds no points"):
        read_drawing(path)
