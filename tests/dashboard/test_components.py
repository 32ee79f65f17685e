import pytest

from dashboard import components, controls
from dashboard.components import Head
from tests.dashboard import examples
from tests.dashboard.pieces import parts_of, texts_of


def test_a_table_repeats_its_headings_beside_the_values_for_a_phone():
    table = components.table("Levels", [Head("Zone"), Head("Lowest, m", True)], [("A", "90.70")])
    cells = [p for p in parts_of(table) if type(p).__name__ == "Td"]
    assert [getattr(cell, "data-label") for cell in cells] == ["Zone", "Lowest, m"]
    assert cells[1].className == "numeric"


def test_a_table_keeps_the_roles_that_its_look_on_a_phone_would_lose():
    table = components.table("Levels", [Head("Zone")], [("A",)])
    assert {p.role for p in parts_of(table) if hasattr(p, "role")} == {
        "table",
        "rowgroup",
        "row",
        "columnheader",
        "cell",
    }


def test_a_table_without_rows_says_none():
    assert texts_of(components.table("Levels", [Head("Zone")], [])) == "Levels: none."
    assert texts_of(components.matrix("Shifts", "Shift", [], [])) == "Shifts: none."


def test_the_basis_says_what_the_statement_stands_on():
    words = texts_of(components.basis_block(examples.BASIS, attribution=["Source named."]))
    assert "Returns received: 38 of 40 expected" in words
    assert "Source named." in words
    assert "The permit on site governs" in texts_of(components.cautions(examples.BASIS))


def test_a_notice_that_interrupts_is_an_alert_and_another_is_not():
    assert components.notice("Stop.", alert=True).role == "alert"
    assert components.notice("Saved.").role == "status"


def test_numbers_are_typed_on_a_decimal_keyboard_as_text():
    field = components.decimal_field("x", "Dug, m³ bank")
    assert type(field).__name__ == "TextInput"
    assert field.attributes["input"]["inputMode"] == "decimal"


@pytest.mark.parametrize(("kind", "starts"), [("csv", ""), ("json", "{"), ("xlsx", "")])
def test_a_statement_goes_out_in_three_forms(kind, starts):
    sent = controls.download(examples.movements(), kind, "movements")
    assert sent["filename"] == f"movements.{kind}"
    assert sent["base64"] == (kind == "xlsx")
    assert sent["content"].startswith(starts)
    assert len(sent["content"]) > 100


def test_the_buttons_of_a_date_go_from_the_date_that_is_shown():
    ids = controls.DateIds("d", "today", "yesterday", "earlier", "later")
    today = examples.AS_OF
    after = {b: controls.date_after(ids, b, "2026-10-20", today) for b in (None, *vars_of(ids))}
    assert after == {
        None: "2026-10-20",
        "today": "2026-10-27",
        "yesterday": "2026-10-26",
        "earlier": "2026-10-19",
        "later": "2026-10-21",
    }


def vars_of(ids):
    return (ids.to_today, ids.to_yesterday, ids.earlier, ids.later)


def test_a_page_opens_on_today():
    ids = controls.DateIds("d", "today", "yesterday", "earlier", "later")
    assert controls.date_after(ids, None, None, examples.AS_OF) == "2026-10-27"
