"""What is ahead on Progress, as a phone and a desk see it: filled as one scrolls down."""

import re

import pytest

from tests.dashboard.test_browser_pages import (
    DESK,
    PHONE,
    SMALL_LETTERS,
    SMALL_TARGETS,
    touching_words,
    violations,
)
from tests.dashboard.test_browser_spoil import field, pick, written_by

pytestmark = pytest.mark.browser
LATER = {
    "#progress-governs-note": ".summary",
    "#progress-lost-note": ".summary",
    "#progress-holds": ".table",
}
# On site the holds come before the dates.
DOWN_A_PHONE = ("#progress-section", "#progress-figures", "#progress-holds", "#progress-answer",
                "#progress-rows", "#progress-governs", "#progress-basis")  # fmt: skip


def opened(at):
    """Progress with its dates, and every part below them scrolled to and filled."""
    page = at.open("/progress")
    page.wait_for_selector("#progress-by-zone .table", timeout=60_000)
    page.wait_for_selector("#progress-fan .annotation-text", timeout=60_000)
    for place, filled in LATER.items():
        page.locator(place).evaluate("e => e.scrollIntoView()")
        page.wait_for_selector(f"{place} {filled}", timeout=60_000)
    at.settle()
    return page


@pytest.mark.parametrize("width_px", [PHONE, DESK])
def test_what_is_ahead_fits_and_can_be_used_by_everybody(seen, width_px):
    at = seen(width_px)
    page = opened(at)
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width_px
    assert violations(page) == []
    for graph in ("fan", "earned", "lost"):
        assert touching_words(page, f"#progress-{graph}") == []
    assert at.strangers == []
    assert at.errors == []
    if width_px == PHONE:
        assert page.evaluate(SMALL_TARGETS) == []
        assert page.evaluate(SMALL_LETTERS) == []
        tops = [page.locator(place).bounding_box()["y"] for place in DOWN_A_PHONE]
        assert tops == sorted(tops)
    else:
        paper = page.pdf(prefer_css_page_size=True)
        assert len(re.findall(rb"/Type\s*/Page\b", paper)) == 1


def test_a_chosen_zone_shows_its_stages_and_a_bar_its_returns(seen):
    at = seen(DESK)
    page = opened(at)
    page.locator("#progress-zone").click()
    page.get_by_role("option", name="Box zone E").click()
    page.wait_for_selector("#progress-by-zone td:has-text('4 to 84.80 m')", timeout=60_000)
    at.settle()
    assert page.locator("#progress-fan text", has_text="Stage 4 to 84.80 m").count() == 1
    page.locator("#progress-lost .bars path").first.click(force=True)
    page.wait_for_selector("#progress-returns tbody a", timeout=60_000)
    assert "/records?entry=" in page.locator("#progress-returns a").first.get_attribute("href")
    assert at.errors == []


def test_a_step_of_formation_is_checked_and_recorded_on_a_phone(seen, site):
    at = seen(PHONE)
    page = at.open("/progress?record=formation")
    assert page.locator("h1").inner_text() == "Record a formation step"
    page.wait_for_selector("#spoil-beside:has-text('permit on site govern')")
    pick(page, "zone", "Box zone A")
    pick(page, "step", "blinded")
    field(page, "done_at", "clock").fill("1105")
    field(page, "area_m2").fill("12.5")
    field(page, "checked_by", "known").fill("section engineer")
    page.locator("#spoil-by").fill("Form Ation")
    at.settle()
    page.wait_for_selector("#spoil-beside:has-text('48 h from reached to blinded')")
    page.get_by_role("button", name="Check").click()
    page.wait_for_selector("#spoil-save:visible")
    assert violations(page) == []
    assert page.evaluate(SMALL_TARGETS) == []
    page.locator("#spoil-save").click()
    page.wait_for_selector("#spoil-saved:has-text('Saved.')")
    at.settle()
    (line,) = written_by(site, "Form Ation", "formation")
    assert dict(line.fields)["area_dm2"] == "1250"
    link = page.locator("#spoil-last-ten a").first
    assert link.get_attribute("href").startswith("/progress?record=formation&amend=")
    assert at.errors == []
