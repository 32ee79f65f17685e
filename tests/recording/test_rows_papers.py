"""Notes and declarations as rows."""

from __future__ import annotations

from datetime import date

import pytest

from tests.recording.conftest import NOTE
from tracker.domain.site_tables import site_from_tables
from tracker.ledger.entries import ReuseDeclaration, TransferNote
from tracker.recording.setups import Setups

DECLARED = {
    "declaration": "D-1", "received_on": "2026-03-30", "stream": "clay", "destination": "field",
    "declared_m3": "1,200",
}  # fmt: skip


def said(row, severity):
    return [f"{p.field}: {p.message}" for p in row.problems if p.severity == severity]


def test_a_season_note_is_read_whole(read):
    row = read("notes", NOTE)
    assert row.problems == []
    note = row.entry
    assert isinstance(note, TransferNote)
    assert (note.valid_from, note.valid_to) == (date(2026, 3, 30), date(2027, 3, 29))
    assert (note.waste_code, note.hierarchy_confirmed) == ("17 05 04", True)


def test_a_transfer_note_is_valid_on_the_day_it_was_made_out(read):
    row = read("notes", NOTE | {"form": "transfer", "valid_from": "", "valid_to": ""})
    assert (row.entry.valid_from, row.entry.valid_to) == (date(2026, 3, 30), date(2026, 3, 30))


@pytest.mark.parametrize(
    ("changes", "column", "sentence"),
    [
        ({"form": "ticket"}, "form", "not known"),
        ({"valid_to": ""}, "valid_to", "says to which date"),
        ({"valid_to": "2026-03-01"}, "valid_to", "before it begins"),
        ({"waste_code": "17 05 03*"}, "waste_code", "was classified 17 05 04 by consultant"),
        ({"waste_code": "17 5 4"}, "waste_code", "17 5 4"),
        ({"carrier": "hual"}, "carrier", "Did you mean “haul”?"),
        ({"form": "consignment"}, "quantity_t", "states its quantity"),
        ({"made_out_at": "2027-03-30 08:00"}, "made_out_at", "future"),
        ({"description": ""}, "description", "must be filled"),
        ({"signed_in_by": ""}, "signed_in_by", "must be filled"),
        ({"hierarchy_confirmed": "perhaps"}, "hierarchy_confirmed", "perhaps"),
    ],
)
def test_a_note_that_cannot_be_is_refused(read, changes, column, sentence):
    row = read("notes", NOTE | changes)
    assert row.entry is None
    assert any(p.startswith(f"{column}: ") and sentence in p for p in said(row, "error"))


def test_a_note_without_hierarchy_or_of_many_years_goes_in_with_a_warning(read):
    row = read("notes", NOTE | {"hierarchy_confirmed": "no", "valid_to": "2028-03-29"})
    assert row.entry is not None
    assert len(said(row, "warning")) == 2


def test_hazardous_ground_takes_a_consignment_note(read, tables):
    tables["streams"][0] |= {"regime": "hazardous waste", "waste_code": "17 05 03*"}
    site, _ = site_from_tables(tables)
    hazardous = Setups([(date(2026, 3, 1), site)])
    note = NOTE | {"waste_code": "17 05 03*"}
    assert "one for each movement" in said(read("notes", note, setups=hazardous), "error")[0]
    note |= {"form": "consignment", "quantity_t": "18"}
    assert read("notes", note, setups=hazardous).entry.quantity_kg == 18_000


def test_a_declaration_is_of_a_volume_or_of_a_mass(read):
    row = read("declarations", DECLARED)
    assert isinstance(row.entry, ReuseDeclaration)
    assert (row.entry.declared_l, row.entry.declared_kg) == (1_200_000, None)
    for changes in ({"declared_t": "5"}, {"declared_m3": ""}, {"declared_m3": "0"}):
        refused = read("declarations", DECLARED | changes)
        assert refused.entry is None
        assert "once" in said(refused, "error")[0]


def test_a_declaration_of_ground_set_up_as_waste_is_asked_about(read):
    assert "not as declared re-use" in said(read("declarations", DECLARED), "warning")[0]
