"""Surveyed ground as a phone and a desk see it: looking at surveys, and recording one."""

import re

import pytest

from tests.dashboard.survey_files import box_file
from tests.dashboard.test_browser_pages import (
    SMALL_LETTERS,
    SMALL_TARGETS,
    touching_words,
    violations,
)
from tracker.recording.demo import DEMO_DAY
from tracker.statements import survey_statement

pytestmark = pytest.mark.browser
PHONE, DESK = 390, 1440
FORM = "/survey?mode=record"
DRIVER = re.compile("GPU stall|willReadFrequently|WebGL")  # of the drawing software of the test


def surveys_of(site):
    statement = survey_statement(site.ledger, DEMO_DAY, excavation="box")
    return [one.survey for one in statement.surveys]


def fits(page, width_px):
    return page.evaluate("document.documentElement.scrollWidth") <= width_px


def fill(at, path, *, survey, day="24 October 2026"):
    """The form as a surveyor would fill it, with the file handed over."""
    page = at.open(FORM)
    page.locator("#record-points-file").set_input_files(path)
    page.wait_for_selector(f"#record-points p:has-text('{path.name} is with the server')")
    page.locator("#record-survey").fill(survey)
    page.locator("#record-date").click()
    page.get_by_role("button", name=day).click()
    page.locator("#record-time").fill("10:00")
    page.locator("#record-method").fill("scan")
    at.settle()
    return page


def look(at, page):
    page.get_by_role("button", name="Look at it").click()
    page.wait_for_selector(".report-heading, #record-said .breach")
    at.settle()


@pytest.mark.parametrize("width_px", [PHONE, DESK])
def test_the_form_of_a_survey_can_be_used_by_everybody(seen, width_px):
    at = seen(width_px)
    page = at.open(FORM)
    for summary in page.locator("details > summary").all():
        summary.click()
    assert page.locator("input[type=file]").count() == 4
    assert fits(page, width_px)
    assert violations(page) == []
    assert page.evaluate(SMALL_LETTERS) == []
    if width_px == PHONE:
        assert page.evaluate(SMALL_TARGETS) == []
    assert (at.strangers, at.errors) == ([], [])


@pytest.mark.parametrize("width_px", [PHONE, DESK])
def test_a_survey_is_looked_at_recorded_and_shown(seen, site, tmp_path, width_px):
    at, survey = seen(width_px), f"SV{width_px}"
    path = box_file(tmp_path, f"{survey}.csv", low_m=width_px / 1e5)
    page = fill(at, path, survey=survey)
    look(at, page)
    assert page.evaluate("document.activeElement.textContent") == f"What {survey}.csv says"
    assert "1,600 of 1,600" in page.locator("#record-report").inner_text()
    page.wait_for_selector("#record-plan .heatmaplayer image")
    assert fits(page, width_px)
    assert violations(page) == []
    assert survey not in surveys_of(site)
    page.get_by_role("button", name="Record it").dblclick()
    page.wait_for_selector(f"#record-saved:has-text('Recorded survey {survey}')")
    at.settle()
    assert surveys_of(site).count(survey) == 1
    assert not page.locator("#record-save").is_visible()
    at.until("document.activeElement.matches('#record-saved .notice')")
    assert fits(page, width_px)
    assert violations(page) == []
    page.get_by_role("link", name="See the survey").click()
    page.wait_for_selector(f"#survey-headline:has-text('{survey}')")
    at.settle()
    page.goto(at.address + FORM)
    page.wait_for_selector("#record-points-file")
    at.settle()
    page.wait_for_timeout(1000)  # longer than the page takes to ask after its work
    assert page.locator("#record-said").inner_text() == ""
    assert (at.strangers, at.errors) == ([], [])


def test_a_refused_file_answers_beside_the_button_and_nothing_typed_is_lost(seen, tmp_path):
    at = seen(PHONE)
    bad = tmp_path / "bad.csv"
    bad.write_text("easting,northing,level\n501,201,90\n502,x,91\n")
    page = fill(at, bad, survey="SV77")
    look(at, page)
    refused = page.locator("#record-said [role=alert]")
    assert "bad.csv" in refused.inner_text()
    at.until("document.activeElement.matches('#record-said .notice')")
    box, foot = refused.bounding_box(), page.locator("#shell-nav").bounding_box()
    assert 0 <= box["y"] < box["y"] + box["height"] <= foot["y"]
    assert page.locator("#record-survey").input_value() == "SV77"
    assert page.locator("#record-time").input_value() == "10:00"
    assert not page.locator("#record-save").is_visible()
    assert violations(page) == []
    assert at.errors == []


def test_a_red_gate_is_recorded_only_with_a_reason(seen, site, tmp_path):
    at = seen(DESK)
    page = fill(at, box_file(tmp_path, "GAP.csv", gap_m=(530.0, 545.0)), survey="GAP")
    look(at, page)
    assert "Red: " in page.locator("#record-report").inner_text()
    assert violations(page) == []
    page.get_by_role("button", name="Record it").click()
    page.wait_for_selector("#record-saved:has-text('A gate is red')")
    assert "GAP" not in surveys_of(site)
    page.locator("#record-reason").fill("Under water until Monday.")
    page.get_by_role("button", name="Record it").click()
    page.wait_for_selector("#record-saved:has-text('Recorded survey GAP')")
    assert "GAP" in surveys_of(site)


def test_a_reason_is_not_left_over_for_the_next_survey(seen, tmp_path):
    at = seen(DESK)
    gap_m = (530.0, 545.0)
    page = fill(at, box_file(tmp_path, "OLD.csv", gap_m, low_m=0.04), survey="OLD")
    look(at, page)
    page.locator("#record-reason").fill("Under water until Monday.")
    new = box_file(tmp_path, "NEW.csv", gap_m, low_m=0.05)
    page.locator("#record-points-file").set_input_files(new)
    page.wait_for_selector("#record-points p:has-text('NEW.csv is with the server')")
    look(at, page)
    assert page.locator(".report-heading").inner_text() == "What NEW.csv says"
    assert page.locator("#record-reason").input_value() == ""


def test_an_address_may_name_a_survey_alone_or_one_that_is_not_there(seen):
    at = seen(PHONE)
    page = at.open("/survey?survey=SV2")
    page.wait_for_selector("#survey-headline:has-text('Survey SV2')")
    page = at.open("/survey?excavation=box&survey=SV99")
    page.wait_for_selector("#survey-headline:has-text('There is no survey “SV99” here')")
    at.settle()
    page.wait_for_selector("#survey-graph .heatmaplayer image")
    assert page.locator("#shell-notice").inner_text() == ""
    assert violations(page) == []
    assert at.errors == []


def test_what_is_changed_after_the_look_must_be_looked_at_again(seen, tmp_path):
    at = seen(DESK)
    page = fill(at, box_file(tmp_path, "SV78.csv", low_m=0.01), survey="SV78")
    look(at, page)
    page.locator("#record-survey").fill("SV79")
    page.wait_for_selector("#record-save", state="hidden")
    assert page.locator(".report-heading").count() == 0


def test_the_page_can_be_left_while_it_works_and_found_as_it_was(seen, tmp_path):
    at = seen(DESK)
    page = fill(at, box_file(tmp_path, "SV80.csv", low_m=0.02), survey="SV80")
    page.get_by_role("button", name="Look at it").click()
    page.wait_for_selector("#record-said .at-work, .report-heading")
    page.get_by_role("link", name="Today", exact=True).click()
    page.wait_for_selector("#today-figures dd")
    page.goto(at.address + FORM)
    page.wait_for_selector(".report-heading:has-text('What SV80.csv says')")
    assert page.locator("#record-survey").input_value() == "SV80"
    assert page.locator("#record-points p").inner_text() == "SV80.csv is with the server."
    assert at.errors == []


def test_another_tab_knows_nothing_of_the_file(seen, tmp_path):
    at = seen(DESK)
    fill(at, box_file(tmp_path, "SV81.csv", low_m=0.03), survey="SV81")
    other = at.context.new_page()
    other.goto(at.address + FORM)
    other.wait_for_selector("#record-points-file")
    other.get_by_role("button", name="Look at it").click()
    other.wait_for_selector("#record-said:has-text('Choose the file of points first')")


def test_a_file_that_is_too_large_is_never_sent(seen, tmp_path):
    at = seen(PHONE)
    page = at.open(FORM)
    sent = []
    page.on("request", lambda request: sent.append(request.url))
    big = tmp_path / "big.las"
    with big.open("wb") as file:
        file.truncate(40_000_001)
    page.locator("#record-points-file").set_input_files(big)
    page.wait_for_selector("#record-points [role=alert]:has-text('spoil survey import')")
    assert not any("survey-file" in url for url in sent)


@pytest.mark.parametrize("width_px", [PHONE, DESK])
@pytest.mark.parametrize(("path", "prefix"), [("/survey", "survey"), ("/progress", "progress")])
def test_plan_and_3d_are_drawn_inside_the_page(seen, width_px, path, prefix):
    at = seen(width_px)
    page = at.open(path)
    page.wait_for_selector(f"#{prefix}-graph .heatmaplayer image")
    assert fits(page, width_px)
    page.locator(f"#{prefix}-kind").get_by_text("3D", exact=True).click()
    page.wait_for_selector(
        f"#{prefix}-graph .gl-container canvas, #{prefix}-graph-note:has-text('no WebGL')"
    )
    at.settle()
    assert fits(page, width_px)
    assert violations(page) == []
    assert at.strangers == []
    assert [words for words in at.errors if not DRIVER.search(words)] == []


def test_a_browser_without_webgl_is_told_and_keeps_the_rows(seen):
    at = seen(DESK)
    at.page.add_init_script(
        "HTMLCanvasElement.prototype.getContext = (function (given) {"
        " return function (kind) {"
        "  return kind.startsWith('webgl') ? null : given.apply(this, arguments); }; })"
        "(HTMLCanvasElement.prototype.getContext)"
    )
    page = at.open("/survey")
    page.locator("#survey-kind").get_by_text("3D", exact=True).click()
    page.wait_for_selector("#survey-graph-note:has-text('no WebGL')")
    page.locator("#survey-graph-note summary").click()
    assert page.locator("#survey-graph-note tbody tr").count() == 5


def test_the_shaft_without_a_survey_says_how_to_record_one(seen):
    at = seen(PHONE)
    page = at.open("/survey")
    page.get_by_text("Lined shaft").click()
    page.wait_for_selector("#survey-graph-note:has-text('No survey of Lined shaft is recorded')")
    at.settle()
    assert not page.locator("#survey-frame").is_visible()
    assert page.locator("#survey-headline").inner_text() == ""
    assert violations(page) == []
    assert at.errors == []


def test_words_of_the_plan_do_not_touch_as_the_browser_sets_them(seen):
    for width_px in (PHONE, DESK):
        page = seen(width_px).open("/survey")
        assert touching_words(page, "#survey-graph") == []


def test_another_survey_and_an_earlier_one_are_chosen_from_lists(seen):
    at = seen(DESK)
    page = at.open("/survey?excavation=box&survey=SV3&since=SV1")
    page.wait_for_selector("#survey-headline:has-text('since SV1')")
    page.locator("#survey-survey").click()
    page.get_by_role("option", name="SV2").click()
    page.wait_for_selector("#survey-headline:has-text('Survey SV2')")
    at.settle()
    assert violations(page) == []
    assert at.errors == []
