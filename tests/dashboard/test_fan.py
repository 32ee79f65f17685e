import itertools
from dataclasses import replace

import pytest

from dashboard import theme
from dashboard.figures.fan import drawn, fan_figure, fan_summary, planned_on
from dashboard.figures.fan_names import names, names_height_px
from dashboard.figures.lanes import BEYOND, lane_name, lanes, lanes_words
from dashboard.figures.lettering import text_width
from tests.dashboard import examples, examples_ahead

WIDTHS = (358, 1240)
PROGRESS, FORECAST = examples_ahead.progress(), examples_ahead.forecast()


def traces(figure):
    return {trace.name: trace for trace in figure.data if trace.name}


def words_of(figure):
    return " ".join(a.text for a in figure.layout.annotations)


def surveyed(*surveys):
    """The progress example with (place on the curve, survey, standard uncertainty)."""
    points = list(PROGRESS.curve)
    for place, survey, u_m3 in surveys:
        points[place] = replace(points[place], survey=survey, u_dug_m3=u_m3)
    return replace(PROGRESS, curve=tuple(points))


@pytest.mark.parametrize("width_px", WIDTHS)
@pytest.mark.parametrize("zone", ["", "E"])
def test_the_fan_is_drawn_for_the_width_it_is_given(width_px, zone):
    assert fan_figure(PROGRESS, FORECAST, "BOX", zone, width_px).layout.width == width_px


def test_the_dug_line_stops_at_the_as_of_date_and_the_fan_goes_on_from_it():
    shown = traces(fan_figure(PROGRESS, FORECAST, "BOX"))
    assert max(shown["dug"].x) <= examples.AS_OF
    assert shown["low"].x[0] == shown["dug"].x[-1]
    assert shown["low"].y[0] == shown["high"].y[0] == shown["dug"].y[-1]
    assert all(low <= high for low, high in zip(shown["low"].y, shown["high"].y, strict=True))


def test_the_current_plan_is_blue_and_an_earlier_one_thin_grey_and_dashed():
    shown = traces(fan_figure(PROGRESS, FORECAST, "BOX"))
    assert shown["plan P2"].line.color == theme.PLANNED
    assert shown["plan P2"].line.dash is None
    assert shown["plan P1"].line.color == theme.WALL
    assert shown["plan P1"].line.width < shown["plan P2"].line.width
    assert shown["plan P1"].line.dash


def test_a_hold_of_the_plan_stays_a_flat_step():
    planned = traces(fan_figure(PROGRESS, FORECAST, "BOX"))["plan P2"].y
    flat = sum(a == b for a, b in itertools.pairwise(planned))
    assert flat >= 21


def test_a_refused_forecast_leaves_plan_and_dug_without_a_fan_or_dates():
    figure = fan_figure(PROGRESS, examples_ahead.refused(), "BOX")
    assert {"plan P1", "plan P2", "dug"} == set(traces(figure))
    assert "Formation by zone" not in words_of(figure)


def test_an_excavation_without_plan_or_digging_says_so():
    nothing = examples_ahead.forecast(plans=(), planned=(), fan=(), dates=())
    figure = fan_figure(examples.EMPTY_PROGRESS, nothing, "BOX")
    assert words_of(figure).startswith("No planned stages")
    assert fan_summary(examples.EMPTY_PROGRESS, nothing, "BOX") == "No volumes yet."


def test_the_target_is_a_line_down_the_chart_with_its_date():
    figure = fan_figure(PROGRESS, FORECAST, "BOX")
    assert "target 12 May 2027" in words_of(figure)
    assert examples_ahead.TARGET in [shape.x0 for shape in figure.layout.shapes]


@pytest.mark.parametrize("width_px", WIDTHS)
def test_every_line_is_named_in_its_colour(width_px):
    said = words_of(fan_figure(PROGRESS, FORECAST, "BOX", "", width_px))
    for name in ("<b>planned</b> P2", "<b>earlier</b> P1", "<b>dug</b>", "<b>ahead</b> P20 to P80"):
        assert name in said
    colours = {name: colour for name, _, _, colour in names(drawn(PROGRESS, FORECAST, "BOX"))}
    assert (colours["planned"], colours["dug"]) == (theme.PLANNED, theme.DONE_TEXT)


def test_the_names_over_a_phone_take_as_many_rows_as_they_need():
    parts = drawn(PROGRESS, FORECAST, "BOX")
    assert names_height_px(parts, 150) > names_height_px(parts, 340) > names_height_px(parts, 2000)


def test_without_a_zone_there_is_a_lane_for_the_formation_of_each():
    found = lanes(FORECAST.dates, "BOX")
    assert [lane_name(line) for line in found] == ["Zone B", "Zone C", "Zone D", "Zone E"]


def test_a_chosen_zone_shows_its_stages_with_their_levels():
    found = lanes(FORECAST.dates, "BOX", "E")
    assert [lane_name(line, "E") for line in found] == ["Stage 3 to 90.60 m", "Stage 4 to 84.80 m"]
    assert "Stages of the zone" in lanes_words("E", narrow=False)


def test_each_lane_has_a_row_of_its_own_so_that_no_two_dates_touch():
    figure = fan_figure(PROGRESS, FORECAST, "BOX")
    rows = [a.y for a in figure.layout.annotations if a.yref == "y2"]
    assert sorted(rows) == [0, 1, 2, 3]
    dated = [a.text for a in figure.layout.annotations if a.yref == "y2"]
    assert max(text_width(text, 12) for text in dated) < figure.layout.margin.r + 40


def test_a_date_after_the_calendar_is_said_in_words_and_its_bar_runs_to_the_edge():
    beyond = tuple(replace(line, p50=None, p80=None) for line in FORECAST.dates)
    figure = fan_figure(PROGRESS, examples_ahead.forecast(dates=beyond), "BOX")
    assert words_of(figure).count(BEYOND) == 4
    bars = [s for s in figure.layout.shapes if s.type == "rect"]
    assert len({bar.x1 for bar in bars}) == 1


def test_each_survey_is_marked_with_twice_its_uncertainty():
    shown = traces(fan_figure(surveyed((10, "SV1", 21.0), (30, "SV2", 400.0)), FORECAST, "BOX"))
    assert list(shown["survey"].text) == ["SV1", "SV2"]
    assert list(shown["survey"].error_y.array) == [42.0, 800.0]
    on_the_line = dict(zip(shown["dug"].x, shown["dug"].y, strict=True))
    assert list(shown["survey"].y) == [on_the_line[day] for day in shown["survey"].x]


def test_the_sentence_says_how_far_behind_and_what_the_surveys_do():
    statement = surveyed((10, "SV1", 21.0), (30, "SV2", 400.0))
    said = fan_summary(statement, FORECAST, "BOX")
    assert "m³ ahead of plan; in the band ahead, one walk in five is above" in said
    assert "steps to what each survey found (SV1, SV2; ± at most 800 m³, twice" in said
    assert "survey" not in fan_summary(PROGRESS, FORECAST, "BOX")


def test_the_plan_on_a_day_is_that_of_the_current_one():
    parts = drawn(PROGRESS, FORECAST, "BOX")
    _version, points = parts.plans[-1]
    assert planned_on(parts, points[40].day) == points[40].planned_bank_m3
    assert (
        planned_on(drawn(PROGRESS, examples_ahead.forecast(plans=()), "BOX"), points[0].day) is None
    )
