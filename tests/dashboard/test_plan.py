"""The plan of a surveyed surface: levels where they lie, no word on another, shapes told apart."""

from __future__ import annotations

import json
from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pytest

from dashboard import theme
from dashboard.figures.deepest import DeepestPoint, deepest_points
from dashboard.figures.level_grid import NOWHERE, extent_m, level_grid, zone_edges
from dashboard.figures.plan import EVEN_M, colour_range_m, plan_figure, plan_summary
from dashboard.figures.plan_key import MARKS, key_rows
from dashboard.figures.plan_labels import plan_labels
from dashboard.figures.plan_sheet import PlanSheet
from tracker.recording.demo import DEMO_DAY
from tracker.statements import survey_list, survey_picture, survey_statement

WIDTHS = (340, 358, 760, 1180)


def two_floors(left_out=None, at=(500.0, 200.0)):
    """Two square zones of 10 m: one flat at 90 m, one that rises eastwards from 90 to 95 m."""
    x, y = at
    xyz = [(0, 0, 90), (10, 0, 90), (10, 10, 90), (0, 10, 90),
           (10, 0, 90), (20, 0, 95), (20, 10, 95), (10, 10, 90)]  # fmt: skip
    return SimpleNamespace(
        zones=("A", "B"),
        xyz_m=np.array(xyz, dtype=float) + np.array([x, y, 0.0]),
        triangles=np.array([(0, 1, 2), (0, 2, 3), (4, 5, 6), (4, 6, 7)]),
        zone=np.array([0, 0, 1, 1]),
        left_out_m=left_out or {},
    )


def hashable(picture):
    """The cache of the drawing asks for it; real pictures are."""
    return type("Picture", (), {**vars(picture)})()


DEEPEST = [
    DeepestPoint("A", 505.0, 205.0, 90.0, 90.0, False),
    DeepestPoint("B", 510.5, 205.0, 90.25, 91.0, True),
]


def test_the_grid_holds_the_level_of_the_surface_at_each_place():
    grid = level_grid(hashable(two_floors()))
    assert np.isfinite(grid.level_m).all()
    for column, east in enumerate(grid.easting_m):
        expected = 90.0 if east < 510.0 else 90.0 + (east - 510.0) / 2
        assert grid.level_m[:, column] == pytest.approx(expected), east
    assert set(np.unique(grid.zone)) == {0, 1}


def test_outside_the_surface_there_is_no_level():
    triangle = two_floors()
    triangle.triangles, triangle.zone = triangle.triangles[:1], triangle.zone[:1]
    grid = level_grid(hashable(triangle))
    assert np.isnan(grid.level_m[grid.zone == NOWHERE]).all()
    assert (grid.zone == NOWHERE).mean() > 0.5


def test_the_outline_of_a_zone_is_made_of_the_edges_of_one_triangle():
    west, east = zone_edges(hashable(two_floors()))
    assert len(west) == len(east) == 4
    assert {tuple(edge) for edge in west.tolist()} == {(0, 1), (1, 2), (2, 3), (0, 3)}


def test_a_level_surface_is_not_stretched_over_all_colours():
    flat = two_floors()
    flat.xyz_m[:, 2] = 90.0 + 0.01 * np.arange(8)
    low, high = colour_range_m(level_grid(hashable(flat)))
    assert high - low == pytest.approx(EVEN_M)


@pytest.mark.parametrize("width_px", WIDTHS)
def test_the_scale_is_true_and_the_plan_fits_its_width(width_px):
    sheet = PlanSheet.of(hashable(two_floors()), width_px, key_lines=1)
    east = sheet.x_px(510.0) - sheet.x_px(500.0)
    north = sheet.y_px(200.0) - sheet.y_px(210.0)
    assert east == pytest.approx(north)
    assert sheet.x_px(520.0) <= width_px


@pytest.mark.parametrize("width_px", WIDTHS)
@pytest.mark.parametrize("survey", ["SV1", "SV2", "SV3", "SV4"])
def test_no_word_stands_on_another_and_all_stay_on_the_sheet(demo, survey, width_px):
    statement = survey_statement(demo, DEMO_DAY, survey=survey)
    picture = survey_picture(demo, statement.entry_id)
    deepest = deepest_points(statement.zones)
    keys = key_rows(picture, deepest, {}, width_px)
    sheet = PlanSheet.of(picture, width_px, key_lines=len(keys))
    labels = plan_labels(sheet, picture, deepest)
    for one, other in combinations(labels, 2):
        assert not one.box.overlaps(other.box), (one.text, other.text)
    for label in labels:
        assert label.box.left >= 0
        assert label.box.right <= width_px
    said = " ".join(label.text for label in labels)
    assert all(theme.level(point.level_m) in said for point in deepest)


def test_a_breach_is_marked_in_vermilion_and_in_words():
    figure = plan_figure(hashable(two_floors()), DEEPEST, {}, 760)
    fills = [shape.fillcolor for shape in figure.layout.shapes if shape.type == "path"]
    assert theme.BREACH in fills
    assert theme.INK in fills
    words = " ".join(a.text for a in figure.layout.annotations)
    assert "below permitted" in words
    assert "B 90.25 (permitted 91.00, BELOW PERMITTED)" in plan_summary(
        hashable(two_floors()), DEEPEST
    )


def test_points_left_out_are_told_apart_by_shape_and_by_words():
    left_out = {"near_wall": np.array([[500.1, 205.0, 92.0]]),
                "above_ground": np.array([[505.0, 205.0, 93.0], [505.5, 205.0, 93.0]])}  # fmt: skip
    figure = plan_figure(hashable(two_floors(left_out)), DEEPEST, {"above_ground": 228}, 760)
    symbols = [t.marker.symbol for t in figure.data if t.type == "scatter" and t.mode == "markers"]
    assert len(symbols) == len(set(symbols)) == 2
    words = " ".join(a.text for a in figure.layout.annotations)
    assert f"Left out {MARKS['near_wall'][1]}: 1" in words
    assert f"Left out {MARKS['above_ground'][1]}: 228, 2 drawn" in words


def test_the_plan_is_light_enough_for_a_laptop(demo):
    for one in survey_list(demo, DEMO_DAY):
        statement = survey_statement(demo, DEMO_DAY, survey=one.survey)
        picture = survey_picture(demo, one.entry_id)
        figure = plan_figure(picture, deepest_points(statement.zones), {}, 1180)
        assert len(json.dumps(figure.to_plotly_json(), default=lambda a: a.tolist())) < 400_000


def test_the_extent_is_that_of_the_surface():
    low, high = extent_m(hashable(two_floors()))
    assert (low.tolist(), high.tolist()) == ([500.0, 200.0], [520.0, 210.0])
