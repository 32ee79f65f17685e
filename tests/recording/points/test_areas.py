import json

import ezdxf
import pytest

from tracker.errors import InputError
from tracker.recording.points.areas import read_outline, read_zones, text_of

SQUARE = [[0, 0], [10, 0], [10, 10], [0, 10], [0, 0]]


def outline(tmp_path, text, encoding="utf-8"):
    (tmp_path / "a.csv").write_text(text, encoding)
    return [ring.tolist() for ring in read_outline(tmp_path / "a.csv")]


def test_corners_with_or_without_headings_give_a_ring(tmp_path):
    ring = [[[0.0, 0.0], [10.0, 0.0], [10.0, 10.0]]]
    assert outline(tmp_path, "0,0\n10,0\n10,10\n") == ring
    assert outline(tmp_path, "east;north\n0;0\n10;0\n10;10\n", "utf-8-sig") == ring
    assert outline(tmp_path, "# wall\n0 0\n10 0\n10 10", "utf-16") == ring
    assert outline(tmp_path, "E,N,Z\n0,0,5\n10,0,5\n10,10,5\n") == ring


def test_a_blank_line_begins_a_hole(tmp_path):
    assert len(outline(tmp_path, "0,0\n10,0\n10,10\n\n1,1\n2,1\n2,2\n")) == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no corners"),
        ("0,0\n10,x\n", "line 2: “10,x”"),
        ("0;0\n10,5;3,5\n", "line 2"),
        ("0,0\n10,nan\n", "line 2"),
    ],
)
def test_a_corner_that_is_none_is_named(tmp_path, text, said):
    with pytest.raises(InputError, match=said):
        outline(tmp_path, text)


def test_closed_lines_of_a_drawing_are_an_outline_and_its_holes(tmp_path):
    doc = ezdxf.new("R2010")
    model = doc.modelspace()
    model.add_lwpolyline([(1, 1), (2, 1), (2, 2)], close=True)
    model.add_lwpolyline(SQUARE[:4], close=True)
    doc.saveas(tmp_path / "a.dxf")
    rings = read_outline(tmp_path / "a.dxf")
    assert rings[0].max() == 10.0
    assert len(rings) == 2


def feature(name="A", kind="Polygon", ring=SQUARE):
    return {
        "type": "Feature",
        "properties": {"zone": name},
        "geometry": {"type": kind, "coordinates": [ring] if kind == "Polygon" else ring},
    }


def zones(tmp_path, *features):
    text = json.dumps({"type": "FeatureCollection", "features": list(features)})
    (tmp_path / "z.geojson").write_text(text)
    return read_zones(tmp_path / "z.geojson")


def test_zones_have_names_and_shapes(tmp_path):
    named = feature("B")
    named["properties"] = {"name": "B"}
    found = zones(tmp_path, feature(), named)
    assert {name: shape.area for name, shape in found.items()} == {"A": 100.0, "B": 100.0}


@pytest.mark.parametrize(
    ("features", "said"),
    [
        ([], "no features"),
        ([feature(), feature()], "drawn twice"),
        ([feature(name="")], "no property"),
        ([feature(kind="LineString")], "is a LineString"),
        ([{"type": "Feature", "properties": {"zone": "A"}}], "feature 1 has no geometry"),
        ([feature(ring=[[0, 0], [1, 1]])], "feature 1 has no geometry"),
        ([None], "feature 1 has no geometry"),
    ],
)
def test_zones_that_are_none_are_refused(tmp_path, features, said):
    with pytest.raises(InputError, match=said):
        zones(tmp_path, *features)


def test_what_is_no_geojson_is_refused(tmp_path):
    (tmp_path / "z.geojson").write_text("[1, 2")
    with pytest.raises(InputError, match="no GeoJSON"):
        read_zones(tmp_path / "z.geojson")


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        text_of(tmp_path / "none.csv")
