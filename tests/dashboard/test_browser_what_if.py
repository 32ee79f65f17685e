"""The page What if in a real browser: slider and field, comparing, the link that reproduces it."""

from __future__ import annotations

import pytest

from tests.dashboard.test_browser_pages import (
    DESK,
    PHONE,
    SMALL_LETTERS,
    SMALL_TARGETS,
    touching_words,
    violations,
)

pytestmark = pytest.mark.browser
ANSWER = "#whatif-answer:not([hidden])"


def switched_on(page, side, *changes):
    part = page.locator(f"section[aria-label='Option {side}']")
    for words in changes:
        part.locator(".mantine-Switch-root", has_text=words).locator("label").first.click()
    return part


def compared(at, page):
    page.get_by_role("button", name="Compare").click()
    page.wait_for_selector(ANSWER)
    at.settle()


@pytest.mark.parametrize("width_px", [PHONE, DESK])
def test_a_comparison_can_be_made_read_and_used_by_everybody(seen, width_px):
    at = seen(width_px)
    page = at.open("/what-if")
    changes = ("Add a shift", "Belt out for days", "Movement cap a day", "Belt width and speed")
    switched_on(page, "B", *changes[:1], *changes[2:])
    compared(at, page)
    at.until("document.activeElement.id === 'whatif-headline'")
    assert "to formation of" in page.locator("#whatif-headline").inner_text()
    switched_on(page, "A", *changes)
    for summary in page.locator("#whatif-answer details > summary").all():
        summary.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width_px
    assert violations(page) == []
    assert touching_words(page, "#whatif-ranges") == []
    if width_px == PHONE:
        assert page.evaluate(SMALL_TARGETS) == []
        assert page.evaluate(SMALL_LETTERS) == []
    assert (at.errors, at.strangers) == ([], [])


def test_slider_and_field_follow_each_other(seen):
    at = seen(DESK)
    page = at.open("/what-if")
    part = switched_on(page, "B", "Movement cap a day")
    field = part.get_by_label("Cap a day, movements")
    slider = part.get_by_role("slider", name="Cap a day of option B")
    field.fill("60")
    at.until(
        "document.querySelector('[aria-label=\"Cap a day of option B\"]').ariaValueNow == '60'"
    )
    slider.focus()
    page.keyboard.press("ArrowRight")
    at.until("[...document.querySelectorAll('input')].some((e) => e.value === '61')")
    field.fill("9999")
    at.until(
        "document.querySelector('[aria-label=\"Cap a day of option B\"]').ariaValueNow == '240'"
    )
    assert field.input_value() == "9999"
    field.fill("6,1")
    page.wait_for_timeout(200)
    assert field.input_value() == "6,1"
    assert at.errors == []


def test_a_wrong_value_is_said_beside_its_field(seen):
    at = seen(PHONE)
    page = at.open("/what-if")
    part = switched_on(page, "B", "Payload of the lorries")
    part.get_by_label("Payload, t").fill("25,5")
    page.get_by_role("button", name="Compare").click()
    page.wait_for_selector("#whatif-said .notice")
    assert "comma" in part.locator(".mantine-InputWrapper-error").inner_text()
    assert page.locator(ANSWER).count() == 0
    part.get_by_label("Payload, t").fill("18")
    compared(at, page)
    assert part.locator(".mantine-InputWrapper-error").count() == 0
    assert violations(page) == []


def test_the_link_that_is_copied_gives_the_same_comparison(seen):
    at = seen(DESK)
    page = at.open("/what-if")
    switched_on(page, "B", "Add a shift")
    compared(at, page)
    headline = page.locator("#whatif-headline").inner_text()
    page.locator("#whatif-copy").click()
    at.until("navigator.clipboard.readText().then((t) => t.includes('/what-if?as_of='))")
    copied = page.evaluate("navigator.clipboard.readText()").strip()
    assert copied.startswith(at.address)
    other = seen(DESK)
    again = other.open(copied.removeprefix(at.address))
    again.wait_for_selector(ANSWER)
    assert again.locator("#whatif-headline").inner_text() == headline
    assert again.locator("#whatif-link").inner_text().strip() == copied
    again.get_by_text("The two options").click()
    assert again.locator("section[aria-label='Option B'] [role=switch]").first.is_checked()
    assert other.errors == []
