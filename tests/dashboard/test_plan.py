from dataclasses import replace

import numpy as np
import pytest

from dashboard import theme
from dashboard.figures.deepest import DeepestPoint, deepest_points
from dashboard.figures.level_grid import MOST_CELLS, NOWHERE, level_grid, zone_edges
from dashboard.figures.plan import colour_range_m, plan_figure, plan_summary
from dashboard.figures.plan_key import MARKS, key_rows, left_out_words
from dashboard.figures.plan_labels import plan_labels
from dashboard.figures.plan_sheet import PlanSheet
from tests.dashboard import examples
from tracker.recording.demo import DEMO_DAY
from tracker.statements import survey_picture, survey_statement

WIDTHS = (358, 760, 1240)
LEFT_OUT = {
    "near_wall": [(500.2, 203.0, 85.0)],
    "above_ground": [(510.0, 205.0, 86.0), (511.0, 205.0, 86.2)],
    "below_ground": [(525.0, 206.0, 83.0)],
}
SOUND = DeepestPoint("A", 505.0, 204.0, 84.0, 83.9, False)
LOW = DeepestPoint("B", 530.0, 204.0, 85.7, 86.0, True)


def words_of(figure):
    return " ".join(a.text for a in figure.layout.annotations)


def test_the_grid_reads_the_plane_of_each_triangle_at_the_middle_of_each_cell():
    sloping = examples.picture(
        level_of=lambda _zone, e, n: 84.0 + 0.1 * (e - 500) - 0.2 * (n - 200)
    )
    grid = level_grid(sloping)
    e, n = np.meshgrid(grid.easting_m, grid.northing_m)
    assert grid.level_m == pytest.approx(84.0 + 0.1 * (e - 500) - 0.2 * (n - 200))
    assert grid.level_m.size <= MOST_CELLS


def test_every_cell_names_the_zone_it_lies_in():
    grid = level_grid(examples.picture())
    west = grid.easting_m < 520.0
    assert set(grid.zone[:, west].ravel().tolist()) == {0}
    assert set(grid.zone[:, ~west].ravel().tolist()) == {1}


def test_cells_that_no_triangle_covers_have_no_level():
    whole = examples.picture(zones=("A",))
    keep = whole.xyz_m[whole.triangles, 0].max(axis=1) <= 510.0
    keep[-1] = True  # one triangle in the far corner keeps the extent
    part = type(whole)(
        whole.zones, whole.xyz_m, whole.triangles[keep], whole.zone[keep], whole.left_out_m
    )
    grid = level_grid(part)
    gap = (grid.easting_m > 510.0) & (grid.easting_m < 519.0)
    assert np.isnan(grid.level_m[:, gap]).all()
    assert (grid.zone[:, gap] == NOWHERE).all()
    assert not np.isnan(grid.level_m[:, grid.easting_m < 510.0]).any()


def test_the_outline_of_a_zone_is_as_long_as_the_way_around_it():
    picture = examples.picture()
    for edges in zone_edges(picture):
        ends = picture.xyz_m[edges, :2]
        around_m = np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1).sum()
        assert around_m == pytest.approx(2 * (20 + 10))


@pytest.mark.parametrize("width_px", WIDTHS)
def test_a_metre_north_is_as_long_as_a_metre_east(width_px):
    layout = plan_figure(examples.picture(), [SOUND], {}, width_px).layout
    east, north = layout.xaxis.range, layout.yaxis.range
    wide_px = layout.width - layout.margin.l - layout.margin.r
    high_px = layout.height - layout.margin.t - layout.margin.b
    assert wide_px / (east[1] - east[0]) == pytest.approx(high_px / (north[1] - north[0]))
    assert north[1] > north[0]
    assert "true scale" in words_of(plan_figure(examples.picture(), [SOUND], {}, width_px))


def test_points_left_out_are_told_apart_by_shape_and_by_words():
    picture = examples.picture(left_out_m=LEFT_OUT)
    figure = plan_figure(picture, [SOUND], {why: len(p) for why, p in LEFT_OUT.items()})
    drawn = [trace for trace in figure.data if trace.type == "scatter" and trace.mode == "markers"]
    assert len({trace.marker.symbol for trace in drawn}) == len(LEFT_OUT)
    assert len({trace.marker.color for trace in drawn}) == 1
    for words in ("close to the wall: 1", "people, plant: 2", "echoes: 1"):
        assert words in words_of(figure)


def test_reasons_that_can_stand_on_a_plan_have_shapes_of_their_own():
    shapes = [MARKS[why][0] for why in LEFT_OUT]
    assert len(set(shapes)) == len(shapes)


def test_the_key_says_when_only_some_of_the_points_left_out_are_drawn():
    assert left_out_words("above_ground", 25_000, 1_000).endswith("25,000, 1,000 drawn")


def test_a_breach_on_the_plan_is_in_vermilion_and_in_words():
    figure = plan_figure(examples.picture(), [SOUND, LOW], {})
    assert "0.30 m below permitted" in words_of(figure)
    marks = [s.fillcolor for s in figure.layout.shapes if s.type == "path"]
    assert theme.BREACH in marks
    assert "BELOW PERMITTED" in plan_summary(examples.picture(), [SOUND, LOW])


def test_a_plan_without_a_breach_has_nothing_in_vermilion():
    figure = plan_figure(examples.picture(), [SOUND], {})
    assert theme.BREACH not in [s.fillcolor for s in figure.layout.shapes]
    assert "below" not in words_of(figure)


@pytest.mark.parametrize("width_px", WIDTHS)
def test_the_words_on_a_plan_never_collide_and_stay_on_the_sheet(width_px):
    picture = examples.picture(zones=tuple("ABCDE"))
    deepest = [
        DeepestPoint(zone, 500.0 + 20 * n, 210.0 - n, 84.0, 84.2 if n % 2 else 83.0, n % 2 == 1)
        for n, zone in enumerate("ABCDE")
    ]
    sheet = PlanSheet.of(picture, width_px, key_lines=1)
    labels = plan_labels(sheet, picture, deepest)
    assert len(labels) >= 5
    for n, one in enumerate(labels):
        assert one.box.left >= 0
        assert one.box.right <= width_px
        assert not any(one.box.overlaps(other.box) for other in labels[n + 1 :]), one.text


def test_rows_of_the_key_fit_the_width():
    picture = examples.picture(left_out_m=LEFT_OUT)
    assert len(key_rows(picture, [SOUND], {}, 358)) > len(key_rows(picture, [SOUND], {}, 1240))


def test_ground_that_is_almost_level_is_not_stretched_over_all_colours():
    low, high = colour_range_m(level_grid(examples.picture(zones=("A",))))
    assert high - low == pytest.approx(1.0)


def test_a_zone_where_nothing_was_measured_has_no_deepest_point(demo):
    zones = survey_statement(demo, DEMO_DAY, excavation="box").zones
    unmeasured = replace(zones[1], lowest_level_m=None, lowest_place_m=None)
    found = deepest_points([zones[0], unmeasured, *zones[2:]])
    assert [point.zone for point in found] == ["A", "C", "D", "E"]


def test_the_plan_of_a_real_survey_is_light_and_marks_the_measured_point(demo):
    statement = survey_statement(demo, DEMO_DAY, excavation="box")
    picture = survey_picture(demo, statement.entry_id)
    left_out = {one.reason: one.points for one in statement.left_out}
    figure = plan_figure(picture, deepest_points(statement.zones), left_out)
    assert len(figure.to_json()) < 300_000
    for zone in statement.zones:
        assert f"{zone.zone} {theme.level(zone.lowest_level_m)}" in words_of(figure)
        assert 500.0 <= zone.lowest_place_m[0] <= 620.0
        assert 200.0 <= zone.lowest_place_m[1] <= 230.0
