from dataclasses import replace
from datetime import date

import pytest
from dash.exceptions import PreventUpdate

from dashboard import theme
from dashboard.figures.ground import NO_WEBGL
from dashboard.pages import survey
from dashboard.surveys import shown, view
from tests.dashboard.pieces import parts_of, texts_of
from tracker.recording.demo import DEMO_DAY
from tracker.statements import survey_statement
from tracker.statements.survey_shapes import GateFinding


@pytest.fixture(scope="module")
def last(demo):
    return survey_statement(demo, DEMO_DAY, excavation="box")


def test_the_last_survey_is_shown_unless_another_is_chosen(desk):
    assert survey.shown(desk, "box", "", "")["survey"] == "SV4"
    assert survey.shown(desk, "box", "SV2", "")["survey"] == "SV2"


def test_the_headline_says_volume_uncertainty_returns_and_verdict(desk):
    words = survey.shown(desk, "box", "", "")["headline"]
    for part in ("SV4", "±", "m³ bank dug since the ground", "The returns say", "agree"):
        assert part in words


def test_a_volume_is_counted_since_an_earlier_survey_only(desk):
    answer = survey.shown(desk, "box", "SV3", "SV1")
    assert answer["since"] == "SV1"
    assert [option["value"] for option in answer["sinces"]] == ["", "SV2", "SV1"]
    assert "Dug since SV1" in texts_of(answer["figures"])


@pytest.mark.parametrize("since", ["SV4", "SV9"])
def test_an_earlier_survey_that_is_none_gives_way_to_the_ground(desk, since):
    answer = survey.shown(desk, "box", "SV3", since)
    assert answer["since"] == ""
    assert "Dug since the ground" in texts_of(answer["figures"])


def test_an_excavation_without_a_survey_shows_nothing_but_the_sentence_of_its_view(desk):
    answer = survey.shown(desk, "shaft", "", "")
    assert answer["nothing"] is True
    assert answer["headline"] is None
    assert answer["surveys"] == []


def test_an_address_names_the_survey_of_its_own_excavation_only():
    asked = {"excavation": "box", "survey": "SV2", "since": "SV1"}
    assert survey.asked_of(asked, "box", "box") == ("SV2", "SV1")
    assert survey.asked_of(asked, "shaft", "box") == ("", "")


def test_an_address_without_an_excavation_means_the_first():
    asked = {"excavation": "", "survey": "SV2", "since": ""}
    assert survey.asked_of(asked, "box", "box") == ("SV2", "")
    assert survey.asked_of(asked, "shaft", "box") == ("", "")


def test_a_survey_that_is_not_there_is_said_and_the_last_one_shown(desk):
    answer = survey.shown(desk, "box", "SV99", "SV1")
    assert (answer["survey"], answer["since"]) == ("SV4", "")
    words = texts_of(answer["headline"])
    assert words.startswith("There is no survey “SV99” here. This is the last one.")
    assert "Survey SV4" in words


def test_the_page_waits_until_an_excavation_is_chosen():
    with pytest.raises(PreventUpdate):
        survey._chosen(None)


def test_every_volume_stands_beside_twice_its_uncertainty(last):
    words = texts_of(shown.figures(last))
    assert shown.plus_minus(last.total.net_m3, last.total.u_combined_m3, "m³ bank") in words
    twice = theme.number(2.0 * last.total.u_combined_m3)
    assert f"± {twice} m³ bank" in words


def test_zones_and_the_stages_that_disagree_come_first_and_every_stage_behind(last):
    first, behind = shown.comparison_rows(last).children
    odd = [line for line in last.volumes if line.stage is not None and line.severity]
    assert odd
    for line in odd:
        assert shown.stage_words(line) in texts_of(first)
    agreeing = next(v for v in last.volumes if v.stage and not v.severity)
    assert shown.stage_words(agreeing) not in texts_of(first)
    assert shown.stage_words(agreeing) in texts_of(behind)


def test_a_verdict_beyond_the_red_limit_is_marked_and_one_within_is_not_called_done(last):
    red = next(line for line in last.volumes if line.severity == "red")
    assert shown.verdict_meaning(red) == "breach"
    within = replace(red, severity="")
    assert shown.verdict_meaning(within) == ""
    agreed = next(line for line in last.volumes if line.verdict.startswith("agree"))
    assert shown.verdict_meaning(agreed) == "done"


def test_ground_below_formation_is_a_line_of_its_own(last):
    line = replace(last.volumes[1], stage=0, from_level_m=84.8, to_level_m=None)
    assert shown.stage_words(line) == "A, below formation 84.80"


def test_gates_that_are_not_passed_are_listed_the_worst_first():
    found = (GateFinding("amber", "wall", "Near."), GateFinding("red", "covered", "Gap."))
    listed = texts_of(shown.findings_list(found))
    assert listed.index("Red: Gap.") < listed.index("Amber: Near.")
    assert "Every gate is passed" in texts_of(shown.findings_list(()))


def test_the_parts_of_the_uncertainty_add_up_to_what_is_stated(last):
    total = last.total
    parts = (total.u_random_m3, total.u_level_m3, total.u_edge_m3, total.u_interpolation_m3)
    assert sum(u**2 for u in parts) == pytest.approx(total.u_combined_m3**2)
    words = texts_of(shown.uncertainty_rows(total))
    for value in (*parts, total.u_combined_m3, 2.0 * total.u_combined_m3):
        assert theme.number(value, decimals=1) in words


def test_each_survey_has_its_file_its_hash_and_its_record(last):
    rows = shown.surveys_rows(last, survey.survey_link)
    hashes = [part.title for part in parts_of(rows) if type(part).__name__ == "Code"]
    assert hashes == [one.sha256 for one in last.surveys]
    links = [part.href for part in parts_of(rows) if type(part).__name__ == "Link"]
    assert f"/records?entry={last.entry_id}" in links
    assert "/survey?excavation=box&survey=SV4" in links


def test_a_survey_that_found_a_breach_says_so_in_vermilion(last):
    low = replace(last.zones[3], in_breach=True)
    found = replace(last, zones=(*last.zones[:3], low))
    assert shown.headline(found).className == "mark breach"
    assert "below permitted" in texts_of(view.zone_rows(found))
    assert view.survey_words(found, "/survey").children[0].className == "mark breach"


def test_the_plan_is_drawn_first_and_3d_only_where_the_browser_can(desk, last):
    plan, words = view.drawn(desk, {"kind": "plan", "webgl": False}, 1240, last)
    assert plan.data[0].type == "heatmap"
    assert "Deepest point by zone" in words
    ground, words = view.drawn(desk, {"kind": "3d", "webgl": True}, 1240, last)
    assert ground.data[0].type == "mesh3d"
    nothing, words = view.drawn(desk, {"kind": "3d", "webgl": False}, 1240, last)
    assert not nothing.data
    assert words == NO_WEBGL


def test_every_zone_has_its_design_dig_levels_in_3d_and_one_formation(desk):
    levels = view.dig_levels(desk, DEMO_DAY, "box")
    assert len(levels) == 20
    formations = [level.zone for level in levels if level.is_formation]
    assert formations == ["A", "B", "C", "D", "E"]


def test_the_survey_of_an_earlier_day_is_asked_for_as_of_that_day(desk):
    before = survey_statement(desk.ledger, date(2026, 8, 1), excavation="box")
    assert before.survey == "SV2"
