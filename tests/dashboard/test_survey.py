"""The Survey page: what was measured, and whether it can be defended."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dashboard.desk import Desk
from dashboard.figures.ground import NO_WEBGL
from dashboard.pages import survey
from dashboard.surveys import shown as parts
from dashboard.surveys.view import drawn, survey_words
from tests.dashboard.conftest import USER
from tests.dashboard.pieces import texts_of
from tracker.recording.demo import DEMO_DAY
from tracker.statements import survey_statement


@pytest.fixture
def desk(demo):
    return Desk(demo, lambda: DEMO_DAY, USER)


@pytest.fixture(scope="module")
def last(demo):
    return survey_statement(demo, DEMO_DAY)


def test_the_page_opens_with_the_last_survey_in_one_sentence(desk):
    found = survey.shown(desk, "box", "", "")
    assert found["survey"] == "SV4"
    assert [option["value"] for option in found["surveys"]] == ["SV4", "SV3", "SV2", "SV1"]
    said = texts_of(found["headline"])
    assert "49,910 ± 110 m³ bank dug since the ground" in said
    assert "they agree within their uncertainty" in said


def test_an_earlier_survey_can_be_asked_for_and_only_earlier_ones_counted_from(desk):
    found = survey.shown(desk, "box", "SV2", "SV1")
    assert (found["survey"], found["since"]) == ("SV2", "SV1")
    assert [option["value"] for option in found["sinces"]] == ["", "SV1"]
    assert survey.shown(desk, "box", "SV2", "SV4")["since"] == ""


def test_an_excavation_without_a_survey_has_an_empty_page_that_says_so(desk):
    found = survey.shown(desk, "shaft", "", "")
    assert found["nothing"] is True
    assert found["headline"] is None
    assert found["surveys"] == []


def test_what_stands_beside_a_volume_is_all_there(last):
    words = texts_of(parts.figures(last))
    for name in ("Dug since the ground", "Returns say", "Covered", "Second method", "Points used"):
        assert name in words
    assert "twice the standard uncertainty" in words
    words = texts_of(parts.uncertainty_rows(last.total))
    for part in ("Single points", "Level of the whole survey", "wall line", "Combined"):
        assert part in words


def test_zones_come_first_and_stages_that_disagree_with_them(last):
    words = texts_of(parts.comparison_rows(last))
    first = words.split("Every stage (")[0]
    assert "Box zone A" in first
    assert "B, stage 4" in first
    assert "A, stage 1" not in first
    assert "A, stage 1: ground to 101.60" in words


def test_a_difference_beyond_a_limit_is_marked_and_one_within_them_is_not(last):
    by_severity = {line.severity: parts.verdict_meaning(line) for line in last.volumes}
    assert by_severity["red"] == "breach"
    assert by_severity["amber"] == "warning"


def test_gates_that_are_not_passed_are_listed_the_worst_first(demo):
    amber = survey_statement(demo, DEMO_DAY, survey="SV2")
    red = replace(amber.findings[0], severity="red", message="Far too little.")
    words = texts_of(parts.findings_list((*amber.findings, red)))
    assert words.index("Red: Far too little.") < words.index("Amber:")
    assert "Every gate is passed." in texts_of(parts.findings_list(()))


def test_how_a_file_was_read_is_said_so_that_another_could_read_it_alike(last):
    words = texts_of(parts.reading_list(last))
    assert "columns ENZ, unit m, 0.000 m added to levels" in words
    assert "Ground filter on" in words


def test_the_list_of_surveys_names_file_hash_and_verdict(last):
    words = texts_of(parts.surveys_rows(last, survey.survey_link))
    for one in last.surveys:
        assert one.file in words
        assert one.sha256[:8] in words


def test_a_plan_is_drawn_and_3d_only_where_the_browser_can(desk, last):
    figure, said = drawn(desk, {"kind": "plan", "webgl": True}, 1180, last)
    assert figure.data[0].type == "heatmap"
    assert "Deepest point by zone" in said
    figure, said = drawn(desk, {"kind": "3d", "webgl": True}, 1180, last)
    assert figure.data[0].type == "mesh3d"
    _, said = drawn(desk, {"kind": "3d", "webgl": False}, 1180, last)
    assert said == NO_WEBGL


def test_a_surveyed_breach_is_said_in_vermilion(last):
    low = replace(last, zones=(replace(last.zones[0], in_breach=True), *last.zones[1:]))
    assert "breach" in str(survey_words(low, "/survey"))
    assert "breach" not in str(survey_words(last, "/survey"))


def test_the_address_may_name_excavation_survey_and_earlier_survey():
    asked = {"excavation": "box", "survey": "SV2", "since": "SV1"}
    assert survey.asked_of(asked, "box") == ("SV2", "SV1")
    assert survey.asked_of(asked, "shaft") == ("", "")
