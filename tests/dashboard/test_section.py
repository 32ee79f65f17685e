from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard import theme
from dashboard.figures.drawing import Drawing
from dashboard.figures.lettering import Box
from dashboard.figures.section import section_figure, section_summary
from dashboard.figures.section_labels import key_rows, obstacles, right_labels, zone_labels
from dashboard.figures.sheet import SCALES, Sheet
from tests.dashboard import examples

WIDTHS = (300, 358, 699, 760, 1180, 1240)


def sheet_of(zones, width_px):
    return Sheet.of(zones, width_px, key_lines=1)


def labels_of(zones, width_px, kind="box"):
    sheet = sheet_of(zones, width_px)
    return [*right_labels(sheet, zones), *zone_labels(sheet, zones, kind)]


@st.composite
def boxes(draw):
    """A box of one to six zones dug anyhow, some without a level, some in breach."""
    count = draw(st.integers(1, 6))
    edges = [0.0]
    for _ in range(count):
        edges.append(edges[-1] + draw(st.floats(16, 30)))
    zones = []
    for n in range(count):
        released = draw(st.integers(0, 4))
        general = draw(st.floats(84.8, 104.2))
        lowest = draw(st.none() | st.floats(84.0, general))
        zones.append(
            examples.zone(
                "ABCDEF"[n],
                edges[n],
                edges[n + 1],
                general=general,
                lowest=None if lowest is None else round(lowest, 3),
                released=released,
            )
        )
    return tuple(zones)


@settings(max_examples=60, deadline=None)
@given(boxes(), st.sampled_from(WIDTHS))
def test_labels_of_a_section_never_collide(zones, width_px):
    labels = labels_of(zones, width_px)
    for one, other in combinations(labels, 2):
        assert not one.box.overlaps(other.box), (one.text, other.text)


@settings(max_examples=60, deadline=None)
@given(boxes(), st.sampled_from(WIDTHS))
def test_labels_of_a_section_stay_on_the_sheet(zones, width_px):
    for label in labels_of(zones, width_px):
        assert label.box.left >= 0
        assert label.box.right <= width_px + 1, label.text


@pytest.mark.parametrize("width_px", WIDTHS)
def test_the_lowest_levels_cover_no_support_and_no_line(width_px):
    zones = examples.BOX_ZONES
    sheet = sheet_of(zones, width_px)
    taken = [box for zone in zones for box in obstacles(sheet, zone, "box")]
    inside = [label for label in zone_labels(sheet, zones, "box") if label.box.top > sheet.top_px]
    assert inside
    for label in inside:
        assert not any(label.box.overlaps(box) for box in taken), label.text


def test_a_breach_is_said_in_words_and_in_vermilion():
    label = next(
        label for label in labels_of(examples.BOX_ZONES, 1180) if "below permitted" in label.text
    )
    assert "0.30 m below permitted" in label.text
    assert label.colour == theme.BREACH_TEXT


def test_a_zone_that_is_not_in_breach_says_nothing_of_the_kind():
    sound = tuple(z for z in examples.BOX_ZONES if not z.in_breach)
    assert not any("below" in label.text for label in labels_of(sound, 1180))


def test_the_point_of_the_triangle_stands_on_the_lowest_level():
    zone = examples.BOX_ZONES[0]
    sheet = sheet_of([zone], 1180)
    figure = section_figure(examples.progress((zone,), ()), "BOX", 1180)
    point = next(s for s in figure.layout.shapes if s.type == "path" and s.fillcolor == theme.INK)
    y_px = sheet.top_px + (1 - point.yanchor) * sheet.plot_height_px
    assert sheet.level_m(y_px) == pytest.approx(zone.lowest_level_m)


def test_supports_are_filled_once_released_and_hollow_before():
    drawn = [
        shape.fillcolor
        for shape in section_figure(examples.progress(), "BOX").layout.shapes
        if shape.type == "rect" and shape.line.width == 1.25
    ]
    stages = [s for z in examples.BOX_ZONES for s in z.stages[:-1]]
    assert drawn.count(theme.INK) == 4 * sum(s.support_released for s in stages)
    assert drawn.count(theme.PAPER) == 4 * sum(not s.support_released for s in stages)


def test_a_level_that_is_a_zones_own_is_named_inside_it():
    own = examples.zone(
        "D", 74, 98, general=103.2, lowest=103.0, released=1, levels=(100.2, 95.2, 90.6, 84.8)
    )
    texts = [label.text for label in labels_of((*examples.BOX_ZONES[:3], own), 1180)]
    assert "1: 100.20" in texts
    assert "2: 95.20" in texts
    assert any("Stage 1  101.60 m" in text for text in texts)


def test_ground_that_is_not_level_is_named_from_its_lowest_to_its_highest():
    sloping = (replace(examples.BOX_ZONES[0], ground_level_m=104.35), *examples.BOX_ZONES[1:])
    ground = right_labels(sheet_of(sloping, 1180), sloping)[0]
    assert "104.20 to 104.35 by zone" in ground.text
    even = right_labels(sheet_of(examples.BOX_ZONES, 1180), examples.BOX_ZONES)[0]
    assert "by zone" not in even.text


def test_the_ground_left_in_a_zone_ends_at_its_general_level():
    figure = section_figure(examples.progress(), "BOX")
    tops = {}
    for bars in figure.data:
        if "dug" in bars.hovertext[0].split("<br>")[0]:
            continue
        for zone, base, high in zip(bars.customdata, bars.base, bars.y, strict=True):
            tops[zone[0]] = max(tops.get(zone[0], 0), base + high)
    assert tops == pytest.approx({z.zone: z.general_level_m for z in examples.BOX_ZONES})


def test_the_vertical_scale_that_is_stated_is_the_one_drawn():
    for width_px in WIDTHS:
        sheet = sheet_of(examples.BOX_ZONES, width_px)
        figure = section_figure(examples.progress(), "BOX", width_px)
        stated = next(a.text for a in figure.layout.annotations if "scale" in a.text)
        assert f"{sheet.exaggeration:g} : 1" in stated
        assert sheet.exaggeration in SCALES
        plot_px = figure.layout.height - figure.layout.margin.t - figure.layout.margin.b
        across_px = figure.layout.width - figure.layout.margin.l - figure.layout.margin.r
        up = plot_px / (figure.layout.yaxis.range[1] - figure.layout.yaxis.range[0])
        along = across_px / (figure.layout.xaxis.range[1] - figure.layout.xaxis.range[0])
        assert up / along == pytest.approx(sheet.exaggeration)


def test_a_click_anywhere_in_a_zone_names_the_zone():
    figure = section_figure(examples.progress(), "BOX")
    named = {zone[0] for bars in figure.data for zone in bars.customdata}
    assert named == {"A", "B", "C", "D", "E"}


def test_the_shaft_is_a_section_of_its_own_with_rings_for_supports():
    figure = section_figure(examples.progress(), "SHAFT")
    texts = [a.text for a in figure.layout.annotations]
    assert any("Lining ring to come" in text for text in texts)
    assert not any("Zone A" in text for text in texts)


def test_the_key_names_only_the_ground_that_is_left():
    names = {"made": "Made ground", "gravel": "Gravel", "clay": "Stiff clay"}
    words = [w for row in key_rows(examples.BOX_ZONES, names, "box", 1180) for _, w in row]
    assert "Stiff clay" in words
    assert "Made ground" not in words


def test_a_zone_with_no_level_yet_is_drawn_without_a_triangle():
    zone = replace(examples.BOX_ZONES[4], lowest_level_m=None, in_breach=False)
    figure = section_figure(examples.progress((zone,), ()), "BOX")
    key_only = [s for s in figure.layout.shapes if s.type == "path"]
    assert len(key_only) == 1


def test_an_excavation_without_zones_says_so():
    figure = section_figure(examples.EMPTY_PROGRESS, "BOX")
    assert "No zones are set up" in figure.layout.annotations[0].text
    assert section_summary(examples.EMPTY_PROGRESS, "BOX") == "No zones are set up yet."


def test_the_summary_says_every_lowest_level_and_every_breach():
    words = section_summary(examples.progress(), "BOX")
    assert "Zone A 90.70 (permitted 90.60)" in words
    assert "Zone D 96.10 (permitted 96.40, BELOW PERMITTED)" in words


def test_a_drawing_keeps_pixels_where_they_were_put():
    sheet = sheet_of(examples.BOX_ZONES, 1180)
    drawing = Drawing(sheet)
    drawing.rectangle(Box(sheet.left_px, sheet.top_px, 200, 300), theme.INK)
    shape = drawing.figure({}).layout.shapes[0]
    assert (shape.x0, shape.y0) == (0, 1)
    assert shape.x1 == pytest.approx((200 - sheet.left_px) / sheet.plot_width_px)
