"""One list of everything open: papers, receipts, tickets, heaps, weighers; closed by a person."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.recording.conftest import NOTE
from tests.statements import paper
from tracker.domain.rules import CLOSED_BY, RULES, SERIOUS
from tracker.recording.entry import record, withdraw
from tracker.statements import exceptions_statement

DAY = date(2026, 10, 22)
SEASON = NOTE | {
    "made_out_at": "2026-10-20 08:00", "valid_from": "2026-10-20", "valid_to": "2026-10-31",
}  # fmt: skip


def load(book, number, day=22, **fields):
    given = {
        "ticket_number": str(number), "gate_in_at": f"2026-10-{day} 08:00", "stream": "clay",
        "gate_out_at": f"2026-10-{day} 08:30", "route": "R-ROAD", "net_t": "18",
        "transfer_note": "N-1", "registration": f"INV {number}",
    }  # fmt: skip
    return paper.enter(book, "loads", **given | fields)


def note(book, **fields):
    return record(book, "notes", SEASON | fields, by="office", now=book.now()).entry_id


def stated(book, rule, day=DAY):
    return [x for x in exceptions_statement(book, day).lines if x.rule == rule]


def test_every_rule_says_who_usually_closes_it_and_how_serious_it_is():
    assert set(SERIOUS) < set(RULES) == set(CLOSED_BY)
    assert all(CLOSED_BY.values())


# --- notes ---------------------------------------------------------------------------------------
def test_loads_under_a_note_that_is_not_on_record_are_open_until_it_is(own):
    load(own, 1)
    load(own, 2)
    (found,) = stated(own, "note_not_recorded")
    assert found.about == "note N-1"
    assert found.sentence.startswith("2 loads from Thu 22 Oct 2026 on go under note N-1")
    note(own)
    assert stated(own, "note_not_recorded") == []
    assert stated(own, "note_does_not_cover") == []


def test_a_note_recorded_after_its_loads_is_held_against_them(own):
    load(own, 1)
    note(own, valid_to="2026-10-21")
    (found,) = stated(own, "note_does_not_cover")
    assert "1 load: Note N-1 covers 2026-10-20 to 2026-10-21" in found.sentence
    assert (found.severity, found.closes) == ("serious", "environmental manager")
    paper.enter(own, "closures", rule=found.rule, about=found.about,
                reason="extended by letter", closed_by="environmental manager")  # fmt: skip
    assert stated(own, "note_does_not_cover") == []


def test_a_transfer_note_named_by_two_loads_is_said(own):
    load(own, 1)
    load(own, 2)
    note(own, form="transfer", valid_from="2026-10-22", valid_to="")
    (found,) = stated(own, "note_used_twice")
    assert "covers one load and is named by 2" in found.sentence


def test_a_rejected_load_that_is_sent_on_goes_under_the_same_note(own):
    load(own, 1, outcome="rejected")
    load(own, 2, reconsigned_from="1")
    note(own, form="transfer", valid_from="2026-10-22", valid_to="")
    assert stated(own, "note_used_twice") == []


def test_waste_without_a_note_is_listed_by_day(own):
    load(own, 1, transfer_note="")
    load(own, 2, transfer_note="")
    (found,) = stated(own, "no_transfer_note")
    assert found.sentence.startswith("2 loads of clay to quarry on Thu 22 Oct 2026")
    assert found.look_for == "1"


# --- plates --------------------------------------------------------------------------------------
def test_a_load_above_its_plate_says_which_weight_was_given(own):
    load(own, 1, gross_t="32.4", tare_t="12", net_t="")
    load(own, 2, net_t="20.6")
    by_net, by_gross = sorted(x.sentence for x in stated(own, "over_plate"))[::-1]
    assert "gross 32.40 t is above the plated 32 t" in by_gross
    assert "net 20.60 t is above the plated payload of 20 t" in by_net


# --- receipts, tickets ---------------------------------------------------------------------------
def test_a_load_has_two_working_days_for_its_receipt(own):
    ticket = load(own, 1)
    assert [stated(own, "no_receipt", date(2026, 10, day)) for day in (22, 23, 24)] == [[], [], []]
    (found,) = stated(own, "no_receipt", date(2026, 10, 26))  # Friday and Saturday were worked
    assert found.about == ticket
    paper.enter(own, "receipts", receipt_number="Q-1", receipt_date="2026-10-26",
                destination="quarry", ticket_issuer="gate", ticket_number="1",
                accepted_t="18")  # fmt: skip
    assert stated(own, "no_receipt", date(2026, 10, 26)) == []


def test_a_number_missing_from_a_book_is_open_until_the_ticket_comes(own):
    load(own, 41)
    after = load(own, 43)
    (found,) = stated(own, "tickets_missing")
    assert (found.about, "1 ticket is missing" in found.sentence) == (after, True)
    load(own, 42)
    assert stated(own, "tickets_missing") == []


# --- declared re-use -----------------------------------------------------------------------------
@pytest.fixture
def declared(empty):
    tables = paper.second_setup()
    tables["streams"][0] |= {"regime": "declared re-use elsewhere", "waste_code": ""}
    paper.adopt(empty, tables, "declared")
    return empty


def declare(book, **fields):
    given = {"declaration": "D-1", "received_on": "2026-10-19", "stream": "clay",
             "destination": "quarry", "declared_t": "100"}  # fmt: skip
    return record(book, "declarations", given | fields, by="o", now=book.now()).entry_id


def test_ground_for_re_use_without_a_declaration_or_before_it_is_serious(declared):
    load(declared, 1)
    (found,) = stated(declared, "no_declaration")
    assert "18 t of clay went to quarry" in found.sentence
    declare(declared, received_on="2026-10-23")
    (found,) = stated(declared, "no_declaration", date(2026, 10, 26))
    assert "received on Fri 23 Oct 2026" in found.sentence
    assert found.severity == "serious"


def test_the_highest_warning_reached_is_open_since_the_day_it_was_reached(declared):
    """18 t a load: 90 t on the 23rd, 108 t on the 24th, of 100 t."""
    entry = declare(declared)
    for number in range(5):
        load(declared, number, 22 if number < 4 else 23)
    rules = ("reuse_at_80_percent", "reuse_at_90_percent", "reuse_used_up")
    friday = [stated(declared, rule, date(2026, 10, 23)) for rule in rules]
    assert [len(found) for found in friday] == [0, 1, 0]
    assert (friday[1][0].about, friday[1][0].work_date) == (entry, date(2026, 10, 23))
    load(declared, 6, 24)
    (found,) = stated(declared, "reuse_used_up", date(2026, 10, 24))
    assert (found.severity, "Stop" in found.sentence) == ("serious", True)


def test_a_declared_volume_is_held_against_tonnes_by_the_density_of_the_set_up(declared):
    """2.2 t/m³: 50 m³ bank are 110 t; five loads of 18 t are 81.8 %."""
    declare(declared, declared_t="", declared_m3="50")
    for number in range(5):
        load(declared, number)
    (found,) = stated(declared, "reuse_at_80_percent")
    assert "41 m³ bank of 50 m³ bank moved (81.8 %)" in found.sentence


# --- heaps, weighers, authorisations -------------------------------------------------------------
def test_a_heap_above_its_surcharge_limit_is_serious(own):
    given = {"counted_at": "2026-10-22 07:00", "location": "beside the wall", "stream": "clay",
             "method": "cone", "surcharge_limit_m3": "100"}  # fmt: skip
    paper.enter(own, "stock", **given, loose_m3="100")
    assert stated(own, "over_surcharge_limit") == []
    paper.enter(own, "stock", **given | {"counted_at": "2026-10-22 17:00"}, loose_m3="101")
    (found,) = stated(own, "over_surcharge_limit")
    assert (found.severity, found.closes) == ("serious", "temporary works coordinator")


def test_a_check_of_the_weigher_beyond_what_is_allowed_is_open(own):
    given = {"checked_at": "2026-10-22 07:00", "belt": "belt-1", "method": "zero",
             "allowed_t": "0.1"}  # fmt: skip
    paper.enter(own, "belt_checks", **given, shown_t="-0.12")
    (found,) = stated(own, "belt_check_failed")
    assert "-0.120 t off" in found.sentence
    withdraw(own, found.about, reason="wrong belt", by="o")
    assert stated(own, "belt_check_failed") == []


def test_a_reading_that_rises_faster_than_a_belt_carries_is_serious(own):
    given = {"work_date": "2026-10-22", "shift": "day", "belt": "belt-1", "stream": "clay"}
    paper.enter(own, "belt", **given, read_at="2026-10-22 08:00", totaliser_t="100")
    late = {"read_at": "2026-10-22 08:30", "totaliser_t": "90000", "note": "as displayed"}
    slip = paper.enter(own, "belt", **given | late)
    (found,) = stated(own, "belt_reading_jumps")
    assert (found.about, found.severity) == (slip, "serious")
    assert "89,900 t in 0.5 h" in found.sentence


def test_an_authorisation_that_ends_within_thirty_days_is_said(empty):
    tables = paper.second_setup()
    tables["carriers"][0]["valid_to"] = "2026-11-21"
    paper.adopt(empty, tables, "ends")
    assert stated(empty, "authorisation_ends", date(2026, 10, 21)) == []
    (found,) = stated(empty, "authorisation_ends")
    assert found.about == "carrier haul 2026-11-21"
    assert stated(empty, "authorisation_ends", date(2026, 11, 22)) == []


# --- the list ------------------------------------------------------------------------------------
def test_the_worst_comes_first_and_each_rule_is_counted(book):
    found = exceptions_statement(book, paper.LAST_DAY)
    order = [x.severity for x in found.lines]
    assert order == sorted(order, key=["breach", "serious", "warning"].index)
    assert sum(of.count for of in found.rules) == len(found.lines)
    first = next(of for of in found.rules if of.rule == "outside_window")
    assert (first.count, first.oldest) == (3, date(2026, 10, 25))
    assert found.headline.startswith("Open on Mon 2 Nov 2026: ")


def test_nothing_open_is_said(own):
    assert exceptions_statement(own, date(2026, 10, 20)).headline == (
        "No exception is open on Tue 20 Oct 2026."
    )


def test_an_exception_that_was_open_at_an_earlier_moment_is_shown_as_known_then(own, clock):
    load(own, 1)
    before = clock.moment
    clock.moment += timedelta(hours=1)
    note(own)
    then = exceptions_statement(own, DAY, known_at=before)
    assert [x.rule for x in then.lines if "note" in x.rule] == ["note_not_recorded"]
