"""What people do with records of spoil on a phone and at a desk, in a real browser."""

import re

import pytest

from dashboard.pages.spoil_out import PARTS
from tests.dashboard.test_browser_pages import SMALL_LETTERS, SMALL_TARGETS, violations
from tracker.recording.columns import KINDS
from tracker.statements import records_statement

pytestmark = pytest.mark.browser
PHONE, DESK = 390, 1440
FORM, IMPORT = "/spoil-out?record={}", "/spoil-out?import={}"
HEADING = "ticket_issuer,ticket_number,gate_out_at,carrier,vehicle,registration,stream,route,net_t"


def field(page, column, part=""):
    return page.locator(f'[id=\'{{"column":"{column}","part":"{part}","type":"spoil-field"}}\']')


def pick(page, column, words):
    field(page, column, "choice").click()
    page.get_by_role("option", name=words).first.click()


def fill_load(at, number, *, by, gross="30.5"):
    page = at.open(FORM.format("loads"))
    field(page, "ticket_issuer", "known").fill("WB1")
    field(page, "ticket_number").fill(number)
    field(page, "gate_out_at", "clock").fill("1420")
    pick(page, "stream", "Stiff clay")
    pick(page, "route", "Clay by road")
    pick(page, "carrier", "First invented")
    pick(page, "vehicle", "Four-axle")
    field(page, "registration").fill("demo-r05")
    field(page, "gross_t").fill(gross)
    field(page, "tare_t").fill("11.7")
    page.locator("#spoil-by").fill(by)
    at.settle()
    return page


def written_by(site, by, kind="loads"):
    name = KINDS[kind].ledger_kind
    lines = records_statement(site.ledger, kind=name, text=by, limit=50).lines
    return [line for line in lines if line.recorded_by == by]


def fits(page, width_px):
    return page.evaluate("document.documentElement.scrollWidth") <= width_px


@pytest.mark.parametrize("kind", ["loads", "stock", "notes"])
@pytest.mark.parametrize("width_px", [PHONE, DESK])
def test_a_form_fits_and_can_be_used_by_everybody(seen, width_px, kind):
    at = seen(width_px)
    page = at.open(FORM.format(kind))
    page.locator("#spoil-form summary").click()
    assert fits(page, width_px)
    assert violations(page) == []
    assert at.errors == []
    if width_px == PHONE:
        assert page.evaluate(SMALL_TARGETS) == []
        assert page.evaluate(SMALL_LETTERS) == []


def test_a_load_is_refused_with_reasons_mended_and_stored_once_by_a_double_tap(seen, site):
    at = seen(PHONE)
    page = fill_load(at, "91001", by="Gate Keeper", gross="30,5")
    page.get_by_role("button", name="Check").click()
    at.until("document.activeElement.className === 'echo'")
    assert "has a comma" in page.locator("#spoil-echo").inner_text()
    assert page.locator("#spoil-save").is_hidden()
    assert violations(page) == []
    assert field(page, "gross_t").input_value() == "30,5"
    field(page, "gross_t").fill("30.5")
    at.settle()
    page.wait_for_selector("#spoil-beside:has-text('18.800 t net')")
    page.get_by_role("button", name="Check").click()
    page.wait_for_selector("#spoil-echo:has-text('One load, two movements')")
    page.locator("#spoil-save").dblclick()
    page.wait_for_selector("#spoil-saved:has-text('Saved.')")
    at.settle()
    (line,) = written_by(site, "Gate Keeper")
    assert dict(line.fields)["net_kg"] == "18800"
    assert dict(line.fields)["gate_out_at"].startswith("2026-10-27 14:20")
    assert field(page, "ticket_number").input_value() == ""
    assert "First invented" in field(page, "carrier", "choice").input_value()
    assert "91001" in page.locator("#spoil-last-ten").inner_text()
    assert at.errors == []


def test_what_is_changed_after_the_check_must_be_checked_again(seen):
    at = seen(PHONE)
    page = fill_load(at, "91002", by="Changer")
    page.get_by_role("button", name="Check").click()
    page.wait_for_selector("#spoil-save:visible")
    field(page, "tare_t").fill("11.8")
    page.wait_for_selector("#spoil-save", state="hidden")
    assert page.locator("#spoil-echo").inner_text() == ""


def test_nothing_typed_is_lost_by_a_change_of_page(seen):
    at = seen(PHONE)
    page = fill_load(at, "91003", by="Wanderer")
    page.get_by_role("link", name="Today", exact=True).click()
    page.wait_for_selector("#today-date")
    at.open(FORM.format("belt"))
    assert page.locator("#spoil-draft-note").inner_text() == ""
    at.open(FORM.format("loads"))
    page.wait_for_selector("#spoil-draft-note:has-text('restored')")
    assert field(page, "ticket_number").input_value() == "91003"
    assert "Stiff clay" in field(page, "stream", "choice").input_value()
    page.get_by_role("link", name="Start afresh").click()
    at.settle()
    assert field(page, "ticket_number").input_value() == ""


def test_a_load_is_amended_with_a_reason_and_withdrawn_with_another(seen, site):
    at = seen(DESK)
    page = fill_load(at, "91004", by="Amender")
    page.get_by_role("button", name="Check").click()
    page.locator("#spoil-save").click()
    page.wait_for_selector("#spoil-last-ten a:has-text('Amend')")
    page.locator("#spoil-last-ten a", has_text="Amend").first.click()
    at.settle()
    assert page.locator("h1").inner_text() == "Amend a load"
    assert field(page, "gate_out_at", "clock").input_value() == "14:20"
    field(page, "gross_t").fill("30.7")
    page.get_by_role("button", name="Check").click()
    page.locator("#spoil-save").click()
    page.wait_for_selector("text=Say why the load is amended.")
    page.locator("#spoil-reason").fill("Misread the ticket.")
    page.get_by_role("button", name="Check").click()
    page.locator("#spoil-save").click()
    page.wait_for_selector("#spoil-saved:has-text('Amended.')")
    at.settle()
    page.locator("#spoil-last-ten a", has_text="Withdraw").first.click()
    page.wait_for_selector("#spoil-withdraw-what:has-text('91004')")
    assert violations(page) == []
    page.locator("#spoil-reason").fill("The lorry was turned back.")
    page.locator("#spoil-withdraw").click()
    page.wait_for_selector("#spoil-saved:has-text('Withdrawn.')")
    reasons = {line.reason for line in written_by(site, "Amender")}
    assert reasons == {"", "Misread the ticket.", "The lorry was turned back."}
    assert at.errors == []


def test_a_heap_is_measured_and_its_limit_stands_beside_it(seen, site):
    at = seen(PHONE)
    page = at.open(FORM.format("stock"))
    assert field(page, "height_m").is_hidden()
    field(page, "location", "known").fill("H2")
    page.get_by_role("option", name="H2 beside the wall").click()
    pick(page, "stream", "Stiff clay")
    pick(page, "method", "cone")
    assert field(page, "length_m").is_hidden()
    field(page, "height_m").fill("4.5")
    field(page, "width_m").fill("12")
    field(page, "counted_at", "clock").fill("14:30")
    page.locator("#spoil-by").fill("Heap Counter")
    page.wait_for_selector("#spoil-beside:has-text('169.6 m³ loose; limit 160 m³ loose')")
    assert "stop and ask the temporary works coordinator" in (
        page.locator("#spoil-beside").inner_text()
    )
    at.settle()
    page.get_by_role("button", name="Check").click()
    page.locator("#spoil-save").click()
    page.wait_for_selector("#spoil-saved:has-text('Saved.')")
    (line,) = written_by(site, "Heap Counter", "stock")
    assert dict(line.fields)["loose_l"] == "169646"
    assert at.errors == []


def test_a_silent_server_is_told_beside_the_button_that_was_pressed(seen):
    at = seen(PHONE)
    page = fill_load(at, "91005", by="Offline")
    at.context.set_offline(True)
    page.get_by_role("button", name="Check").click()
    page.wait_for_selector("#spoil-saved:has-text('The server does not answer')")
    assert field(page, "ticket_number").input_value() == "91005"


# --- the parts of the page -----------------------------------------------------------------------
@pytest.mark.parametrize("part", PARTS)
def test_a_part_over_the_whole_job_fits_a_phone_and_can_be_used_by_everybody(seen, part):
    at = seen(PHONE)
    page = at.open(f"/spoil-out?part={part}")
    page.get_by_text("the whole job", exact=True).click()
    at.settle()
    for summary in page.locator(".parts details > summary").all():
        if summary.is_visible():
            summary.click()
    assert page.get_by_role("tab", name=PARTS[part][0]).get_attribute("aria-selected") == "true"
    assert fits(page, PHONE)
    assert violations(page) == []
    assert page.evaluate(SMALL_TARGETS) == []
    assert at.errors == []


def test_an_address_that_names_a_part_opens_at_that_part(seen):
    at = seen(PHONE)
    page = at.open("/spoil-out")
    page.get_by_role("link", name="Other records …").click()
    page.wait_for_selector(".kinds a:has-text('Record a note')")
    at.until("document.querySelector('.parts').getBoundingClientRect().top < 100")
    page.get_by_role("link", name="Record a note").click()
    page.wait_for_selector("h1:has-text('Record a note')")
    assert at.errors == []


# --- files ---------------------------------------------------------------------------------------
def tickets(path, *nets, first=1):
    rows = [
        f"WB7,{n},2026-10-26 {9 + n % 8:02d}:{10 + n:02d},carrier_1,rigid_32,Q{n},stiff_clay,"
        f"R-LORRY-CLAY,{net}"
        for n, net in enumerate(nets, start=first)
    ]
    path.write_text("\n".join((HEADING, *rows)) + "\n", encoding="utf-8")
    return path


def check_file(at, path, kind="loads"):
    page = at.open(IMPORT.format(kind))
    page.locator("#import-file-file").set_input_files(path)
    page.wait_for_selector("#import-file:has-text('is with the server')")
    page.get_by_role("button", name="Check the file").click()
    page.wait_for_selector(".report-heading")
    at.settle()
    return page


@pytest.mark.parametrize("width_px", [PHONE, DESK])
def test_the_import_of_a_file_fits_and_can_be_used_by_everybody(seen, width_px):
    at = seen(width_px)
    page = at.open(IMPORT.format("loads"))
    page.locator(".page summary").click()
    assert fits(page, width_px)
    assert violations(page) == []
    assert at.errors == []
    if width_px == PHONE:
        assert page.evaluate(SMALL_TARGETS) == []


def test_a_file_is_checked_its_refused_rows_taken_away_and_its_good_rows_recorded(
    seen, site, tmp_path
):
    at = seen(PHONE)
    page = check_file(at, tickets(tmp_path / "gate.csv", "18.2", "nineteen", "17.9", first=1))
    report = page.locator("#import-report").inner_text()
    assert "2 rows can be recorded." in report
    assert "nineteen" in report
    assert fits(page, PHONE)
    assert violations(page) == []
    with page.expect_download() as waiting:
        page.get_by_role("button", name=re.compile("refused rows")).click()
    mended = waiting.value.path().read_text("utf-8-sig").replace("nineteen", "19")
    assert written_by(site, "File Sender") == []
    page.locator("#import-by").fill("File Sender")
    page.get_by_role("button", name="Record the good rows").click()
    page.wait_for_selector("#import-report:has-text('2 rows are recorded.')")
    assert len(written_by(site, "File Sender")) == 2
    (tmp_path / "mended.csv").write_text(mended, encoding="utf-8")
    page = check_file(at, tmp_path / "mended.csv")
    assert "1 row can be recorded." in page.locator("#import-report").inner_text()
    assert at.errors == []


def test_the_page_can_be_left_while_a_file_is_checked_and_found_as_it_was(seen, tmp_path):
    at = seen(DESK)
    page = check_file(at, tickets(tmp_path / "gate.csv", "18.2", first=11))
    page.get_by_role("link", name="Progress", exact=True).click()
    page.wait_for_selector("#progress-section")
    at.open(IMPORT.format("loads"))
    page.wait_for_selector("#import-report:has-text('1 row can be recorded.')")
    assert at.errors == []


def test_a_file_to_fill_in_is_handed_out_for_the_chosen_kind(seen):
    at = seen(DESK)
    page = at.open(IMPORT.format("receipts"))
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Workbook (XLSX)").click()
    assert waiting.value.suggested_filename == "receipts.xlsx"


# --- the names of the pages ----------------------------------------------------------------------
def test_more_pages_open_by_keyboard_on_a_phone_and_close_on_choice(seen):
    at = seen(PHONE)
    page = at.open("/")
    more = page.get_by_role("button", name="More", exact=True)
    assert more.get_attribute("aria-expanded") == "false"
    assert page.get_by_role("link", name="Records", exact=True).is_hidden()
    more.focus()
    page.keyboard.press("Enter")
    assert more.get_attribute("aria-expanded") == "true"
    assert violations(page) == []
    page.keyboard.press("Escape")
    assert more.get_attribute("aria-expanded") == "false"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    at.settle()
    assert page.locator("h1").inner_text() == "What if"
    assert more.get_attribute("aria-expanded") == "false"


@pytest.mark.parametrize("width_px", [852, 1024, 1440])
def test_every_name_stands_in_one_line_of_the_header_on_wider_screens(seen, width_px):
    page = seen(width_px).open("/")
    assert page.get_by_role("button", name="More", exact=True).is_hidden()
    boxes = [link.bounding_box() for link in page.locator("nav a").all()]
    assert len({round(box["y"]) for box in boxes}) == 1
    assert max(box["x"] + box["width"] for box in boxes) <= width_px
    assert max(box["height"] for box in boxes) < 60
