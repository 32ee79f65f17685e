import pytest

from dashboard import theme
from dashboard.figures.ground import DigLevel, exaggeration, ground_figure, ground_summary
from tests.dashboard import examples
from tracker.recording.demo import DEMO_DAY
from tracker.statements import survey_picture, survey_statement

RING = ((500.0, 200.0), (520.0, 200.0), (520.0, 210.0), (500.0, 210.0))
LEVELS = [
    DigLevel("A", 1, 90.0, False, RING),
    DigLevel("A", 2, 84.0, True, RING),
]


def test_the_surface_is_drawn_whole_under_the_design_dig_levels():
    picture = examples.picture()
    surface, planned, formation, _names = ground_figure(picture, LEVELS).data
    assert len(surface.i) == len(picture.triangles)
    assert len(surface.x) == len(picture.xyz_m)
    assert (planned.line.color, formation.line.color) == (theme.PLANNED, theme.INK)
    assert set(planned.z) - {None} == {90.0}
    assert set(formation.z) - {None} == {84.0}


def test_an_outline_is_closed():
    _surface, planned, *_more = ground_figure(examples.picture(), LEVELS).data
    assert (planned.x[0], planned.y[0]) == (planned.x[4], planned.y[4])


def test_the_levels_are_named_with_formation_by_its_name():
    *_traces, names = ground_figure(examples.picture(), LEVELS).data
    assert list(names.text) == ["Stage 1 90.00", "Formation 84.00", "north side"]


def test_how_far_heights_are_stretched_is_said_and_is_what_is_drawn():
    picture = examples.picture()
    scale = exaggeration(picture, LEVELS)
    assert f"Heights are drawn {scale:g} times up" in ground_summary(picture, LEVELS)
    ratio = ground_figure(picture, LEVELS).layout.scene.aspectratio
    assert abs((ratio.z / 6.0) / (ratio.x / 40.0) - scale) < 1e-9
    assert abs(ratio.x / 40.0 - ratio.y / 10.0) < 1e-9


def test_a_deep_and_narrow_excavation_is_not_stretched():
    deep = examples.picture(zones=("S",), level_of=lambda _z, e, _n: 60.0 + (e - 500.0))
    assert exaggeration(deep, LEVELS) == 1
    assert "true to the plan" in ground_summary(deep, LEVELS)


@pytest.mark.parametrize("width_px", [358, 1240])
def test_the_colours_of_the_surface_are_those_of_its_key(width_px):
    surface = ground_figure(examples.picture(), LEVELS, width_px).data[0]
    assert surface.showscale is not False
    assert "m above site datum" in surface.colorbar.title.text
    assert (surface.lighting.ambient, surface.lighting.diffuse) == (1.0, 0.0)
    assert [colour for _, colour in surface.colorscale] == list(reversed(theme.LEVELS))


def test_the_view_stands_still():
    assert not ground_figure(examples.picture(), LEVELS).frames


def test_the_drawing_of_a_real_survey_is_light(demo):
    statement = survey_statement(demo, DEMO_DAY, excavation="box")
    figure = ground_figure(survey_picture(demo, statement.entry_id), LEVELS)
    assert len(figure.to_json()) < 300_000
