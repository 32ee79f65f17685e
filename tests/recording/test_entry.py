"""One entry at a time."""

from __future__ import annotations

import pytest

from tracker.errors import (
    AlreadySuperseded,
    DuplicateEntry,
    EntryNotFound,
    InputError,
    UnknownName,
)
from tracker.recording.entry import amend, close_exception, record, withdraw

RETURN = {
    "work_date": "2026-04-07", "shift": "day", "zone": "A", "stage": "1", "stream": "clay",
    "basis": "measured", "bank_m3": "100", "lowest_level_m": "103",
}  # fmt: skip
LOAD = {
    "ticket_issuer": "WB1", "ticket_number": "1", "gate_out_at": "2026-04-07 09:40",
    "carrier": "haul", "vehicle": "rigid", "registration": "AB12 CDE", "stream": "clay",
    "route": "R-ROAD", "gross_t": "31.2", "tare_t": "11.8", "transfer_note": "N-1",
}  # fmt: skip


@pytest.fixture
def write(book, now):
    def write_one(fields, kind="returns", **options):
        return record(book, kind, fields, by="tests", now=now, **options)

    return write_one


def test_an_entry_is_recorded_with_its_warnings(write, book):
    done = write(RETURN)
    assert [p.severity for p in done.problems] == ["warning"]  # below the permitted level
    stored = book.stored(done.entry_id)
    assert (stored.action, stored.recorded_by, stored.entry.bank_l) == (
        "recorded",
        "tests",
        100_000,
    )


def test_an_id_of_the_callers_makes_sending_twice_harmless(write, book):
    first, second = write(RETURN, entry_id="tap-1"), write(RETURN, entry_id="tap-1")
    assert (first.already, second.already) == (False, True)
    assert len(book.current("dig_returns")) == 1


def test_the_same_fact_under_another_id_is_refused(write):
    write(RETURN)
    with pytest.raises(DuplicateEntry):
        write(RETURN | {"bank_m3": "120"})


def test_a_refusal_carries_every_problem(write, book):
    with pytest.raises(InputError) as caught:
        write(RETURN | {"zone": "Z", "bank_m3": "1,5"})
    assert {p.field for p in caught.value.problems} == {"zone", "bank_m3"}
    assert "zone: zone “Z” is not known" in str(caught.value)
    assert "bank_m3: “1,5” has a comma" in str(caught.value)
    assert book.current("dig_returns") == []


@pytest.mark.parametrize(
    ("kind", "fields", "sentence"),
    [("retruns", RETURN, "Did you mean “returns”"), ("returns", {"zon": "A"}, "mean “zone”")],
)
def test_an_unknown_kind_or_column_is_named(write, kind, fields, sentence):
    with pytest.raises(UnknownName, match=sentence):
        write(fields, kind)


def test_an_amendment_changes_what_it_names_and_keeps_the_rest(write, book, now):
    first = write(RETURN)
    done = amend(book, first.entry_id, {"bank_m3": "90"}, reason="recount", by="me", now=now)
    (entry,) = book.current("dig_returns")
    assert entry.entry_id == done.entry_id
    assert (entry.bank_l, entry.zone, entry.lowest_level_mm) == (90_000, "A", 103_000)
    assert book.stored(first.entry_id).superseded_by == done.entry_id


def test_a_dug_shift_may_be_amended_to_a_nil_one(write, book, now):
    first = write(RETURN)
    changes = {"basis": "", "bank_m3": "", "stream": "", "nil_reason": "wind"}
    amend(book, first.entry_id, changes, reason="wrong zone", by="me", now=now)
    assert book.current("dig_returns")[0].nil_reason == "wind"


def test_what_follows_from_a_changed_column_is_worked_out_anew(write, book, now):
    first = write(LOAD, "loads")
    done = amend(book, first.entry_id, {"tare_t": "12"}, reason="reweighed", by="me", now=now)
    assert book.stored(done.entry_id).entry.net_kg == 19_200
    changes = {"route": "R-FIELD", "transfer_note": "N-2"}
    moved = amend(book, done.entry_id, changes, reason="sent elsewhere", by="me", now=now)
    entry = book.stored(moved.entry_id).entry
    assert (entry.destination, entry.flags) == ("field", "unknown_authorisation")


def test_an_amendment_is_no_short_cycle_of_itself(write, book, now):
    first = write(LOAD, "loads")
    done = amend(
        book, first.entry_id, {"gate_out_at": "2026-04-07 09:50"}, reason="slip", by="me", now=now
    )
    assert done.problems == ()


def test_an_amendment_is_refused_as_a_record_is(write, book, now):
    first = write(RETURN)
    with pytest.raises(InputError, match="comma"):
        amend(book, first.entry_id, {"bank_m3": "1,5"}, reason="r", by="me", now=now)
    with pytest.raises(InputError, match="reason"):
        amend(book, first.entry_id, {"bank_m3": "15"}, reason="  ", by="me", now=now)
    with pytest.raises(EntryNotFound):
        amend(book, "no-such", {"bank_m3": "15"}, reason="r", by="me", now=now)
    assert book.current("dig_returns")[0].entry_id == first.entry_id


def test_an_entry_is_amended_once(write, book, now):
    first = write(RETURN)
    amend(book, first.entry_id, {"bank_m3": "90"}, reason="r", by="me", now=now)
    with pytest.raises(AlreadySuperseded):
        amend(book, first.entry_id, {"bank_m3": "80"}, reason="r", by="me", now=now)


def test_a_withdrawal_needs_its_reason_and_counts_no_more(write, book, now):
    first = write(RETURN)
    with pytest.raises(InputError, match="reason"):
        withdraw(book, first.entry_id, reason="", by="me")
    gone = withdraw(book, first.entry_id, reason="wrong site", by="me")
    assert book.current("dig_returns") == []
    with pytest.raises(EntryNotFound, match="is a withdrawal"):
        amend(book, gone.entry_id, {"bank_m3": "15"}, reason="r", by="me", now=now)
    assert write(RETURN).entry_id  # and the fact may be stated anew


def test_an_exception_is_closed_with_its_reason(write, book):
    first = write(RETURN)
    about = {"reason": "filled", "closed_by": "coordinator", "by": "me"}
    close_exception(book, "below_permitted_level", first.entry_id, **about)
    assert book.current("closed_exceptions")[0].about == first.entry_id
    with pytest.raises(InputError, match="reason: This must be filled"):
        close_exception(book, "r", first.entry_id, **about | {"reason": " "})


def test_a_set_up_is_not_amended_by_its_columns(book, now):
    (revision,) = book.revisions()
    with pytest.raises(UnknownName):
        amend(book, revision.entry_id, {"title": "x"}, reason="r", by="me", now=now)
