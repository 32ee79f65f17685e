"""What people do on a phone: record, correct and close, with the ledger looked at afterwards."""

from datetime import date

import pytest

from tests.dashboard.test_browser_pages import violations
from tracker.statements import day_statement, records_statement

pytestmark = pytest.mark.browser
PHONE = 390
DAY = date(2026, 10, 27)


def choose(page, id, words):
    page.locator(f"#{id}").click()
    page.get_by_role("option", name=words).first.click()


def fill_night_return(at, *, by, zone="Box zone B", bank="60.5", level="87.9"):
    """A night shift of the last day, as a foreman would fill it."""
    page = at.open("/dig-return")
    choose(page, "return-shift", "Night")
    choose(page, "return-zone", zone)
    page.wait_for_selector("#return-permit:has-text('Permitted level')")
    page.locator("#return-bank").fill(bank)
    page.locator("#return-lowest-level").fill(level)
    page.locator("#return-by").fill(by)
    at.settle()
    return page


def written_by(site, by):
    lines = records_statement(site.ledger, kind="dig_returns", text=by, limit=50).lines
    return [line for line in lines if line.recorded_by == by]


def test_a_return_is_checked_saved_once_by_a_double_tap_and_shows_on_today(seen, site):
    at = seen(PHONE)
    page = fill_night_return(at, by="Double Tap")
    page.get_by_role("button", name="Check").click()
    page.wait_for_selector("#return-echo:has-text('60.5 m³')")
    assert written_by(site, "Double Tap") == []
    assert violations(page) == []
    page.locator("#return-save").dblclick()
    page.wait_for_selector("#return-saved:has-text('Saved.')")
    at.settle()
    assert len(written_by(site, "Double Tap")) == 1
    assert "zone B" in page.locator("#return-last-ten").inner_text()
    page.get_by_role("link", name="Today", exact=True).click()
    page.wait_for_selector("#today-shifts td")
    night = page.locator("#today-shifts tr", has_text="Tue 27 Oct, night").inner_text()
    assert "61" in night.split() or "60" in night.split()
    assert at.errors == []


def test_the_check_of_a_breach_comes_into_view_and_saving_asks_for_a_second_act(seen, site):
    at = seen(PHONE)
    page = fill_night_return(at, by="Breacher", zone="Box zone D", level="90.2")
    page.get_by_role("button", name="Check").click()
    at.until("document.activeElement.className === 'echo'")
    first = page.locator("#return-echo p").first
    assert "90.200 m is 0.400 m below the permitted" in first.inner_text()
    assert 0 <= first.bounding_box()["y"] < 400
    assert page.locator("#return-save").is_disabled()
    assert violations(page) == []
    page.get_by_role("checkbox", name="Yes, 90.200 m is right").check()
    at.until("!document.querySelector('#return-save').disabled")
    assert written_by(site, "Breacher") == []
    assert at.errors == []


def test_a_silent_server_is_told_beside_the_button_that_was_pressed(seen):
    at = seen(PHONE)
    page = fill_night_return(at, by="Offline", zone="Box zone E", level="94.5")
    at.context.set_offline(True)
    page.get_by_role("button", name="Check").click()
    page.wait_for_selector("#return-saved:has-text('The server does not answer')")
    at.until("document.activeElement.className === 'notice breach'")
    assert page.locator("#return-bank").input_value() == "60.5"


def test_a_decimal_comma_is_answered_beside_the_field_and_saves_nothing(seen, site):
    at = seen(PHONE)
    page = fill_night_return(at, by="Comma", zone="Box zone E", bank="240,5", level="94.4")
    page.get_by_role("button", name="Check").click()
    page.wait_for_selector(".mantine-TextInput-error:has-text('240,5')")
    assert not page.locator("#return-save").is_visible()
    assert written_by(site, "Comma") == []
    assert page.locator("#return-bank").input_value() == "240,5"


def test_a_half_filled_form_survives_a_change_of_page(seen):
    at = seen(PHONE)
    page = fill_night_return(at, by="Drafter", zone="Box zone E", bank="33.3", level="94.41")
    page.get_by_role("link", name="Today", exact=True).click()
    page.wait_for_selector("#today-figures dd")
    page.get_by_role("link", name="Return", exact=True).click()
    page.wait_for_selector("#return-draft-note:has-text('restored')")
    assert page.locator("#return-bank").input_value() == "33.3"
    assert page.locator("#return-lowest-level").input_value() == "94.41"
    page.reload()
    page.wait_for_selector("#return-draft-note:has-text('restored')")
    assert page.locator("#return-bank").input_value() == "33.3"


def test_a_change_after_the_check_must_be_checked_again(seen):
    at = seen(PHONE)
    page = fill_night_return(at, by="Changer", zone="Box zone E", bank="33.3", level="94.41")
    page.get_by_role("button", name="Check").click()
    page.wait_for_selector("#return-save:visible")
    page.locator("#return-bank").fill("44.4")
    page.wait_for_selector("#return-save", state="hidden")


def test_a_nil_shift_asks_for_its_reason_and_for_no_quantity(seen, site):
    at = seen(PHONE)
    page = at.open("/dig-return")
    choose(page, "return-shift", "Night")
    choose(page, "return-zone", "Box zone C")
    page.get_by_role("switch", name="Nothing was dug in this shift").check()
    page.wait_for_selector("#return-bank", state="hidden")
    page.locator("#return-nil-reason").fill("waiting for props")
    page.locator("#return-by").fill("Nil")
    page.get_by_role("button", name="Check").click()
    page.wait_for_selector("#return-save:visible")
    page.locator("#return-save").click()
    page.wait_for_selector("#return-saved:has-text('Saved.')")
    assert "nil, waiting for props" in written_by(site, "Nil")[0].what


def test_a_return_is_amended_and_withdrawn_with_reasons_and_keeps_its_history(seen, site):
    at = seen(PHONE)
    page = fill_night_return(at, by="Amender", zone="Box zone E", bank="20", level="94.5")
    page.get_by_role("button", name="Check").click()
    page.locator("#return-save").click()
    page.wait_for_selector("#return-last-ten a:has-text('Amend')")
    page.get_by_role("link", name="Amend").click()
    page.wait_for_selector("#return-reason:visible")
    at.until("document.querySelector('#return-bank').value === '20'")
    page.locator("#return-bank").fill("21")
    page.get_by_role("button", name="Check").click()
    page.locator("#return-save").click()
    page.wait_for_selector("text=Say why the return is amended.")
    page.locator("#return-reason").fill("Misread the strip.")
    page.locator("#return-save").click()
    page.wait_for_selector("#return-saved:has-text('Amended.')")
    page.goto(f"{at.address}/dig-return?withdraw={written_by(site, 'Amender')[0].entry_id}")
    page.wait_for_selector("#return-withdraw:visible")
    page.locator("#return-reason").fill("Belongs to zone D.")
    page.get_by_role("button", name="Withdraw this return").click()
    page.wait_for_selector("#return-saved:has-text('Withdrawn.')")
    page.get_by_role("link", name="See its versions").click()
    page.wait_for_selector("#records-history h3")
    history = page.locator("#records-history").inner_text()
    for words in ("Version 1", "Misread the strip.", "Belongs to zone D."):
        assert words in history


def test_a_breach_is_closed_with_a_reason_and_a_role_and_not_without(seen, site):
    at = seen(PHONE)
    page = at.open("/progress")
    page.wait_for_selector("#shell-breach:has-text('Open level breach in zone D')")
    page.get_by_role("link", name="See it on Today").click()
    page.wait_for_selector("#today-breaches button")
    page.locator("#today-breaches").get_by_role("button", name="Close …").click()
    page.wait_for_selector("#today-close-save:visible")
    page.locator("#today-close-save").click()
    page.wait_for_selector("text=Say why it is closed")
    assert violations(page) == []
    assert len(day_statement(site.ledger, DAY).breaches) == 1
    page.locator("#today-close-reason").fill("Strip filled with lean concrete; readings reviewed.")
    page.locator("#today-close-role").fill("temporary works coordinator")
    page.locator("#today-close-save").click()
    page.wait_for_selector("#today-close-save", state="hidden")
    page.wait_for_selector("#today-headline:has-text('No breach is open')")
    assert day_statement(site.ledger, DAY).breaches == ()
    assert at.errors == []


def test_a_row_is_reached_from_its_address(seen, site):
    line = records_statement(site.ledger, kind="hold_releases", limit=1).lines[0]
    page = seen(PHONE).open(f"/records?entry={line.entry_id}")
    page.wait_for_selector("#records-history:has-text('Version 1')")
    assert line.what in page.locator("#records-history").inner_text()


def test_an_address_that_names_no_entry_says_so(seen):
    page = seen(PHONE).open("/records?entry=nothing-like-it")
    page.wait_for_selector("#shell-notice [role=alert]")
    assert "nothing-like-it" in page.locator("#shell-notice").inner_text()
