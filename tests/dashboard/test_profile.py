from itertools import combinations

import pytest

from dashboard import theme
from dashboard.figures.profile import profile_boxes, profile_numbers, profile_traces, surveys_shown
from dashboard.figures.section import section_figure, section_summary
from dashboard.figures.section_labels import key_rows, right_labels, zone_labels
from dashboard.figures.sheet import Sheet
from tests.dashboard import examples

ZONES = tuple(examples.surveyed(z, z.general_level_m + 0.4) for z in examples.BOX_ZONES)
WIDTHS = (358, 760, 1180)


def test_a_section_without_a_survey_has_no_profile_and_no_word_of_one():
    assert profile_traces(examples.BOX_ZONES) == []
    assert surveys_shown(examples.BOX_ZONES) == []
    words = [w for row in key_rows(examples.BOX_ZONES, {}, "box", 1180) for _, w in row]
    assert not any("Surveyed" in word or "General" in word for word in words)
    assert "profile" not in section_summary(examples.progress(), "BOX")


def test_the_mean_runs_from_edge_to_edge_of_each_zone_and_breaks_between_zones():
    _band, mean = profile_traces(ZONES)
    stops = [n for n, x in enumerate(mean["x"]) if x is None]
    assert len(stops) == len(ZONES)
    first = mean["x"][: stops[0]]
    assert (first[0], first[-1]) == (0, 24)
    assert mean["y"][: stops[0]] == pytest.approx([91.3] * stops[0])


def test_the_band_reaches_from_the_lowest_to_the_highest_level_across():
    band, _mean = profile_traces(ZONES[:1])
    levels = [y for y in band["y"] if y is not None]
    assert (min(levels), max(levels)) == (pytest.approx(91.0), pytest.approx(91.6))


def test_the_pointer_reads_survey_day_and_the_three_levels():
    words = profile_numbers(ZONES[0], ZONES[0].profile[3])
    assert "survey SV9, Fri 23 Oct 2026" in words
    assert "3.5 m along" in words
    for level in ("mean 91.30 m", "lowest 91.00 m", "highest 91.60 m", "90.90 m (reported)"):
        assert level in words


def test_the_key_and_the_summary_say_which_survey_and_of_which_day():
    words = [w for row in key_rows(ZONES, {}, "box", 1180) for _, w in row]
    assert words[:2] == ["Surveyed SV9, 23 Oct 2026", "General level"]
    assert "SV9 of Fri 23 Oct 2026" in section_summary(examples.progress(ZONES), "BOX")


@pytest.mark.parametrize("width_px", WIDTHS)
def test_no_label_stands_on_another_or_on_the_profile(width_px):
    sheet = Sheet.of(ZONES, width_px, key_lines=1)
    labels = [*right_labels(sheet, ZONES), *zone_labels(sheet, ZONES, "box")]
    for one, other in combinations(labels, 2):
        assert not one.box.overlaps(other.box), (one.text, other.text)
    taken = [box for zone in ZONES for box in profile_boxes(sheet, zone)]
    inside = [label for label in labels if label.box.top > sheet.top_px]
    for label in inside:
        assert not any(label.box.overlaps(box) for box in taken), label.text


def test_the_triangle_of_the_lowest_point_stays_beside_the_profile():
    with_profile = section_figure(examples.progress(ZONES), "BOX").layout.shapes
    without = section_figure(examples.progress(), "BOX").layout.shapes
    marks = [[s for s in shapes if s.type == "path"] for shapes in (with_profile, without)]
    assert [m.yanchor for m in marks[0][:5]] == [m.yanchor for m in marks[1][:5]]
    assert theme.BREACH in {m.fillcolor for m in marks[0]}
