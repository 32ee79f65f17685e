"""Every page as a phone and a desk see it, in a real browser."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe

from dashboard.app import PAGES

pytestmark = pytest.mark.browser
PHONE, DESK = 390, 1440
PATHS = [page.PATH for page in PAGES]

SMALL_TARGETS = """() => {
  const wanted = 'a[href], button, summary, select, input, textarea, [role=radio], [role=switch]';
  const named = (e) => e.outerHTML.slice(0, 120);
  return [...document.querySelectorAll(wanted)]
    .filter((e) => e.type !== 'radio' && e.type !== 'checkbox' && e.type !== 'hidden')
    .filter((e) => e.checkVisibility() && !e.classList.contains('skip'))
    .map((e) => [e.getBoundingClientRect(), named(e)])
    .filter(([box]) => box.width > 0 && (box.height < 43.5 || box.width < 43.5))
    .map(([box, name]) => `${Math.round(box.width)} x ${Math.round(box.height)}: ${name}`);
}"""
SMALL_LETTERS = """() => [...document.querySelectorAll('input, textarea, select')]
  .filter((e) => e.checkVisibility() && e.type !== 'radio' && e.type !== 'checkbox')
  .filter((e) => parseFloat(getComputedStyle(e).fontSize) < 16).map((e) => e.id)"""


TOUCHING = """(graph) => {
  const boxes = [...document.querySelectorAll(graph + ' .annotation-text')]
    .map((e) => [e.getBoundingClientRect(), e.textContent]);
  const over = ([a], [b]) => a.left < b.right - 1 && b.left < a.right - 1
    && a.top < b.bottom - 2 && b.top < a.bottom - 2;
  const found = [];
  boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b) => {
    if (over(a, b)) found.push(a[1] + ' / ' + b[1]);
  }));
  return found;
}"""


def touching_words(page, graph):
    """Pairs of words on a drawing that touch as the browser sets them."""
    page.wait_for_selector(f"{graph} .annotation-text")
    return page.evaluate(TOUCHING, graph)


def violations(page):
    found = Axe().run(page).response["violations"]
    return [f"{v['id']}: {[n['html'][:160] for n in v['nodes'][:3]]}" for v in found]


@pytest.mark.parametrize("width_px", [PHONE, DESK])
@pytest.mark.parametrize("path", PATHS)
def test_a_page_fits_can_be_used_by_everybody_and_asks_nobody_else(seen, path, width_px):
    at = seen(width_px)
    page = at.open(path)
    for summary in page.locator("details > summary").all():
        summary.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width_px
    assert violations(page) == []
    assert at.strangers == []
    assert at.errors == []
    if width_px == PHONE:
        assert page.evaluate(SMALL_TARGETS) == []
        assert page.evaluate(SMALL_LETTERS) == []


def test_a_change_of_page_moves_the_focus_and_names_the_window(seen):
    at = seen(DESK)
    page = at.open("/")
    page.get_by_role("link", name="Progress", exact=True).click()
    at.until("document.activeElement.tagName === 'H1'")
    assert page.evaluate("document.activeElement.textContent") == "Progress"
    assert page.title() == "Progress · Spoil ledger"
    assert page.locator("nav [aria-current=page]").inner_text() == "Progress"


def test_the_whole_navigation_is_in_sight_on_a_phone(seen):
    page = seen(PHONE).open("/")
    page.get_by_role("button", name="More", exact=True).click()
    links = page.locator("nav a").all()
    assert len(links) == len(PAGES)
    for link in links:
        box = link.bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= PHONE
        assert box["y"] + box["height"] <= 844


def test_a_keyboard_reaches_the_page_past_the_navigation(seen):
    page = seen(DESK).open("/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the page"


@pytest.mark.parametrize("width_px", [PHONE, DESK])
def test_the_section_is_drawn_inside_the_page_and_opens_the_rows_of_a_zone(seen, width_px):
    at = seen(width_px)
    page = at.open("/progress")
    page.wait_for_selector("#progress-section .bars path")
    box = page.locator("#progress-section svg.main-svg").first.bounding_box()
    assert box["x"] + box["width"] <= width_px
    zone_c = page.locator("#progress-section text", has_text=re.compile("^(Box zone )?C$"))
    over = zone_c.first.bounding_box()
    page.mouse.click(over["x"] + over["width"] / 2, over["y"] + 60)
    at.until("document.querySelector('#progress-zone').value.includes('C')")
    at.settle()
    rows = page.locator("#progress-rows tbody tr")
    assert rows.count() == 4
    assert at.errors == []


def test_no_words_of_the_section_touch_as_the_browser_sets_them(seen):
    for width_px in (PHONE, DESK):
        page = seen(width_px).open("/progress")
        assert touching_words(page, "#progress-section") == []


def test_the_shaft_is_chosen_beside_the_date(seen):
    at = seen(DESK)
    page = at.open("/progress")
    page.get_by_text("Lined shaft").click()
    page.wait_for_selector("#progress-section text:has-text('Lining ring to come')")
    assert at.errors == []


def test_another_day_is_asked_for_with_the_labelled_arrows(seen):
    at = seen(DESK)
    page = at.open("/")
    page.get_by_role("button", name="← Before").click()
    page.wait_for_selector("#today-date:has-text('Mon 26 Oct 2026')")
    at.settle()
    assert "Sun 25 Oct, night" not in page.locator("#today-shifts").inner_text()
    assert "Mon 26 Oct, night" in page.locator("#today-shifts").inner_text()


def test_an_open_calendar_can_be_used_by_everybody(seen):
    at = seen(PHONE)
    page = at.open("/progress")
    page.locator("#progress-date").click()
    page.get_by_role("button", name="Month before").wait_for()
    assert violations(page) == []
    assert page.evaluate(SMALL_TARGETS) == []
    page.get_by_role("button", name="19 October 2026").click()
    page.wait_for_selector("#progress-basis:has-text('as of Mon 19 Oct 2026')")


def test_an_open_choice_can_be_used_by_everybody(seen):
    at = seen(PHONE)
    page = at.open("/dig-return")
    page.locator("#return-zone").click()
    page.get_by_role("option", name="Box zone A").wait_for()
    assert violations(page) == []
    heights = [o.bounding_box()["height"] for o in page.get_by_role("option").all()]
    assert min(heights) >= 44


def test_a_server_that_does_not_answer_is_noticed(seen):
    at = seen(PHONE)
    page = at.open("/")
    at.context.set_offline(True)
    page.get_by_role("button", name="Yesterday").click()
    page.wait_for_selector("#shell-notice:has-text('The server does not answer')")


def test_the_claim_is_copied_whole(seen):
    at = seen(DESK)
    page = at.open("/movements")
    page.wait_for_selector("#movements-claim:has-text('frozen on')")
    page.locator("#movements-copy").click()
    at.until("navigator.clipboard.readText().then((t) => t.length > 100)")
    copied = page.evaluate("navigator.clipboard.readText()")
    assert copied.strip() == page.locator("#movements-claim").inner_text().strip()


@pytest.mark.parametrize(("name", "suffix"), [("CSV", "csv"), ("Workbook (XLSX)", "xlsx")])
def test_a_statement_can_be_taken_away(seen, name, suffix):
    page = seen(DESK).open("/progress")
    with page.expect_download() as waiting:
        page.get_by_role("button", name=name).click()
    assert waiting.value.suggested_filename == f"progress.{suffix}"


@pytest.mark.parametrize("path", ["/progress", "/movements"])
def test_progress_and_movements_print_to_one_page(seen, path):
    page = seen(DESK).open(path)
    page.wait_for_selector(".main-svg")
    paper = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", paper)) == 1
