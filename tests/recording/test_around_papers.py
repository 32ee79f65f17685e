"""Loads held against notes and re-use declarations on record."""

from __future__ import annotations

from datetime import date

import pytest

from tests.recording.conftest import NOTE, SMALL
from tests.recording.test_around import LOAD, warnings, write
from tracker.recording.entry import amend, record
from tracker.recording.refused import RowRefused
from tracker.recording.setup import adopt_setup


def test_a_load_that_its_note_does_not_cover_is_refused_unless_somebody_says_why(book, now):
    write(book, now, "notes", NOTE | {"note_number": "N-2", "valid_to": "2026-04-06"})
    late = LOAD | {"transfer_note": "N-2"}
    with pytest.raises(RowRefused, match=r"covers 2026-03-30 to 2026-04-06.*override_reason"):
        write(book, now, "loads", late)
    done = write(book, now, "loads", late | {"override_reason": "note extended by phone, J. I."})
    assert book.stored(done.entry_id).entry.flags == "override"
    assert "covers" in warnings(done)[0]


def test_waste_without_a_note_or_under_an_unknown_one_goes_in_with_a_warning(book, now):
    assert (
        "waste goes under one"
        in warnings(write(book, now, "loads", LOAD | {"transfer_note": ""}))[0]
    )
    other = LOAD | {"ticket_number": "2", "registration": "X", "transfer_note": "N-9"}
    assert "N-9 is not on record" in warnings(write(book, now, "loads", other))[0]


def test_a_transfer_note_covers_one_load_also_when_it_is_amended(book, now):
    write(book, now, "notes", NOTE | {"note_number": "T-1", "form": "transfer", "valid_to": "",
          "valid_from": "2026-04-07"})  # fmt: skip
    first = write(book, now, "loads", LOAD | {"transfer_note": "T-1"})
    assert warnings(first) == []
    second = LOAD | {"transfer_note": "T-1", "ticket_number": "2", "registration": "X"}
    with pytest.raises(RowRefused, match="used by ticket 1 already"):
        write(book, now, "loads", second)
    done = amend(book, first.entry_id, {"net_t": "19"}, reason="reweighed", by="t", now=now)
    assert done.problems == ()


def test_hazardous_waste_moves_only_under_a_consignment_note_on_record(book, now):
    tables = {name: [dict(row) for row in rows] for name, rows in SMALL.items()}
    tables["streams"][0] |= {"regime": "hazardous waste", "waste_code": "17 05 03*"}
    tables["destinations"][0]["waste_codes"] = "17 05 03*"
    adopt_setup(book, tables, title="hazardous", by="t", now=now, effective_date=date(2026, 4, 1))
    load = LOAD | {"transfer_note": "C-1"}
    with pytest.raises(RowRefused, match="consignment note of its own"):
        write(book, now, "loads", load)
    note = NOTE | {"note_number": "C-1", "form": "consignment", "waste_code": "17 05 03*",
                   "quantity_t": "20", "made_out_at": "2026-04-07 09:00", "valid_from": "",
                   "valid_to": ""}  # fmt: skip
    write(book, now, "notes", note)
    assert warnings(write(book, now, "loads", load)) == []
    with pytest.raises(RowRefused, match="used by ticket 1 already"):
        write(book, now, "loads", load | {"ticket_number": "2", "registration": "X"})


@pytest.fixture
def declared(book, now):
    """The small site with its clay declared for re-use on the field."""
    tables = {name: [dict(row) for row in rows] for name, rows in SMALL.items()}
    tables["streams"][0] |= {"regime": "declared re-use elsewhere", "waste_code": ""}
    adopt_setup(book, tables, title="declared", by="t", now=now, effective_date=date(2026, 4, 1))
    return book


def to_field(number, net="19"):
    return LOAD | {"route": "R-FIELD", "transfer_note": "", "ticket_number": str(number),
                   "registration": f"R{number}", "net_t": net}  # fmt: skip


def test_no_load_goes_before_the_declaration_was_received(declared, now):
    assert any(
        "No re-use declaration" in w for w in warnings(write(declared, now, "loads", to_field(1)))
    )
    declare(declared, now, received_on="2026-04-08")
    with pytest.raises(RowRefused, match="received on 2026-04-08; the load is of 2026-04-07"):
        write(declared, now, "loads", to_field(2))


def declare(book, now, **changes):
    fields = {"declaration": "D-1", "received_on": "2026-04-01", "stream": "clay",
              "destination": "field", "declared_m3": "50"} | changes  # fmt: skip
    return record(book, "declarations", fields, by="t", now=now)


def test_the_load_that_reaches_80_90_or_100_percent_says_so(declared, now):
    """50 m³ bank at 2.0 t/m³ are 100 t."""
    declare(declared, now)
    heard = []
    for number in range(1, 7):
        done = write(declared, now, "loads", to_field(number, "19"))
        heard.append([w.split("(")[1].split(")")[0] for w in warnings(done) if "Re-use" in w])
    assert heard == [[], [], [], [], ["95.0 %"], ["114.0 %"]]


def test_a_load_without_a_weight_counts_at_the_payload_of_its_vehicle(declared, now):
    """The plate, 20 t, governs: the fifth load reaches 100 t of 100 t."""
    declare(declared, now)
    said = []
    for number in range(1, 6):
        load = to_field(number, "") | {"weight_basis": "none"}
        said.append([w for w in warnings(write(declared, now, "loads", load)) if "Re-use" in w])
    assert [len(found) for found in said] == [0, 0, 0, 1, 1]
    assert "(80.0 %)" in said[3][0]
    assert "(100.0 %). Stop" in said[4][0]


def test_a_load_whose_weight_comes_later_counts_once(declared, now):
    declare(declared, now)
    for number in range(1, 4):
        write(declared, now, "loads", to_field(number, "19"))
    load = to_field(4, "") | {"weight_basis": "none"}
    fourth = write(declared, now, "loads", load)
    weighed = {"net_t": "19", "weight_basis": "weighed"}
    done = amend(declared, fourth.entry_id, weighed, reason="ticket came", by="t", now=now)
    assert [w for w in warnings(done) if "Re-use" in w] == []
    assert "(95.0 %)" in " ".join(warnings(write(declared, now, "loads", to_field(5, "19"))))
