import pytest

from dashboard.returns import form
from tracker.recording.columns import RETURNS

VALUES = {
    "work_date": "2026-10-27",
    "shift": "day",
    "zone": "B",
    "stage": "4",
    "stream": "stiff_clay",
    "basis": "measured",
    "bank_m3": " 240.5 ",
    "count": "12",
    "capacity_m3": "11",
    "mass_t": "400",
    "from_level_m": "88.1",
    "to_level_m": "87.8",
    "lowest_level_m": "87.75",
    "nil_reason": "wind",
    "note": None,
    "by": "AB",
}
NO_DELAYS = ([None] * 3, [""] * 3)


def test_the_form_has_a_field_for_every_column_of_a_return():
    assert set(form.FIELDS) - {"by"} | {"delays", "entry_id"} == {c.name for c in RETURNS.columns}


@pytest.mark.parametrize(("basis", "kept"), form.QUANTITIES.items())
def test_only_the_quantity_of_the_chosen_basis_is_sent(basis, kept):
    fields = form.written(VALUES | {"basis": basis}, False, *NO_DELAYS)
    sent = {name for name in ("bank_m3", "count", "capacity_m3", "mass_t") if fields[name]}
    assert sent == set(kept)
    assert fields["nil_reason"] == ""


def test_a_nil_shift_sends_its_reason_and_no_quantity_or_level():
    fields = form.written(VALUES, True, *NO_DELAYS)
    filled = {name for name, text in fields.items() if text}
    assert filled == {"work_date", "shift", "zone", "stage", "nil_reason"}


def test_texts_are_sent_as_typed_but_for_the_blanks_around_them():
    assert form.written(VALUES, False, *NO_DELAYS)["bank_m3"] == "240.5"


def test_half_a_delay_is_sent_so_that_the_check_can_refuse_it():
    assert form.delays_text(["rain", None, None], ["", "20", ""]) == "rain:; :20"


def test_delays_come_back_into_the_rows_they_left():
    causes, minutes = form.delay_rows("rain:30; belt_down:90")
    assert causes == ["rain", "belt_down", None]
    assert minutes == ["30", "90", ""]
    assert form.delays_text(causes, minutes) == "rain:30; belt_down:90"
