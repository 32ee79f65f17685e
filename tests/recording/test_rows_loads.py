"""Lorry loads: weights, gate times, documents on the date of the load."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time

import pytest

from tracker.domain.site import GatePermission
from tracker.ledger.entries import LorryLoad
from tracker.recording.setups import Setups

GOOD = {
    "ticket_issuer": "WB1", "ticket_number": "00123", "gate_in_at": "2026-04-07 09:05",
    "gate_out_at": "2026-04-07 09:40", "carrier": "haul", "vehicle": "rigid",
    "registration": "ab12 cde", "stream": "clay", "zone": "A", "route": "R-ROAD",
    "gross_t": "31.20", "tare_t": "11.80", "net_t": "19.40", "weight_basis": "weighed",
    "outcome": "accepted", "transfer_note": "WTN-1",
}  # fmt: skip


def said(row, severity):
    return [f"{p.field}: {p.message}" for p in row.problems if p.severity == severity]


def test_a_good_load_becomes_an_entry_in_kilograms_and_local_hours(read):
    row = read("loads", GOOD)
    assert row.problems == []
    load = row.entry
    assert isinstance(load, LorryLoad)
    assert (load.gross_kg, load.tare_kg, load.net_kg) == (31_200, 11_800, 19_400)
    assert (load.ticket_number, load.registration) == ("00123", "AB12 CDE")
    assert (load.gate_out_at.hour, load.out_hour, load.in_hour) == (8, 9, 9)
    assert (load.destination, load.flags) == ("quarry", "")


@pytest.mark.parametrize(
    ("changes", "column", "sentence"),
    [
        ({"gross_t": "19,860"}, "gross_t", "If it is kilograms, write 19.860 t"),
        ({"gross_t": "31200"}, "gross_t", "If it is kilograms, write 31.200 t"),
        ({"gross_t": "11.8", "tare_t": "31.2"}, "tare_t", "above the gross"),
        ({"net_t": "19.43"}, "net_t", "not gross minus tare, 19.400 t"),
        ({"gross_t": "60", "net_t": ""}, "gross_t", "Check the decimal point"),
        ({"gross_t": "31,2"}, "gross_t", "comma"),
        ({"gate_out_at": "2026-04-07 08:40"}, "gate_out_at", "before it came in"),
        ({"gate_out_at": "2026-12-24 08:40"}, "gate_out_at", "in the future"),
        ({"gate_out_at": "07/04/2026 09:40"}, "gate_out_at", "not a date and time"),
        ({"gate_out_at": "2010-01-01 00:27"}, "gate_out_at", "before the first date"),
        ({"ticket_number": ""}, "ticket_number", "must be filled"),
        ({"carrier": "hual"}, "carrier", "Did you mean “haul”?"),
        ({"route": "R-RAOD"}, "route", "Did you mean “R-ROAD”?"),
        ({"route": "R-BELT"}, "route", "leaves the site by belt: a lorry load goes by one"),
        ({"stream": "made"}, "stream", "is not classified"),
        ({"stream": "made", "override_reason": "boss"}, "stream", "is not classified"),
        ({"gross_t": "", "tare_t": "", "net_t": ""}, "net_t", "has a net weight"),
        ({"weight_basis": "none"}, "weight_basis", "weighed or estimated"),
        ({"weight_basis": "guess"}, "weight_basis", "not known"),
        ({"outcome": "lost"}, "outcome", "not known"),
        ({"reconsigned_from": "00123"}, "reconsigned_from", "own ticket"),
        ({"route": "R-TIP"}, "destination", "not authorised for 17 05 04"),
        ({"gate_in_at": "", "gate_out_at": "2026-09-07 09:40"}, "destination", "lapsed on"),
        ({"ticket_number": "=HYPERLINK(1)"}, "ticket_number", "formula"),
    ],
)
def test_each_slip_keeps_the_load_out_with_a_sentence(read, changes, column, sentence):
    row = read("loads", GOOD | changes)
    assert row.entry is None
    assert any(s.startswith(f"{column}:") and sentence in s for s in said(row, "error")), (
        row.problems
    )


@pytest.mark.parametrize(
    ("changes", "flag", "sentence"),
    [
        ({"gross_t": "32.4", "net_t": ""}, "over_plate", "above the plate of 32 t"),
        ({"gross_t": "", "tare_t": "", "net_t": "20.4"}, "over_plate", "above the plate of 20 t"),
        ({"gate_in_at": "", "gate_out_at": "2026-04-07 19:10"}, "outside_window", "07:30 to 18:30"),
        ({"gate_in_at": "2026-04-07 06:10"}, "outside_window", "Tue 06:10"),
        ({"gate_in_at": "", "gate_out_at": "2026-04-05 12:00"}, "outside_window", "closed all day"),
        ({"carrier": "new"}, "unknown_authorisation", "Invented newcomer"),
        ({"route": "R-FIELD"}, "unknown_authorisation", "which codes Invented field takes"),
    ],
)
def test_a_load_that_broke_a_rule_goes_in_with_its_flag(read, changes, flag, sentence):
    row = read("loads", GOOD | changes)
    assert isinstance(row.entry, LorryLoad), row.problems
    assert row.entry.flags == flag
    assert any(sentence in s for s in said(row, "warning")), row.problems


def test_a_permission_lets_a_lorry_pass_when_the_gate_is_usually_shut(read, site):
    leave = GatePermission(
        "letter 1", date(2026, 4, 7), date(2026, 4, 7), opens=time(20), closes=time(22)
    )
    setups = Setups([(date(2026, 3, 1), replace(site, gate_permissions=(leave,)))])
    evening = GOOD | {"gate_in_at": "2026-04-07 20:00", "gate_out_at": "2026-04-07 22:00"}
    assert read("loads", evening, setups=setups).entry.flags == ""
    assert read("loads", evening).entry.flags == "outside_window"
    between = evening | {"gate_in_at": "2026-04-07 19:59"}
    row = read("loads", between, setups=setups)
    assert "07:30 to 18:30 and 20:00 to 22:00" in said(row, "warning")[0]


def test_an_overload_carries_the_caution(read):
    row = read("loads", GOOD | {"gross_t": "32.4", "net_t": ""})
    assert "unsafe and unlawful" in said(row, "warning")[0]


@pytest.mark.parametrize("changes", [{"route": "R-TIP"}, {"destination": "tip"}])
def test_a_refused_document_goes_in_only_with_the_reason_of_an_override(read, changes):
    assert read("loads", GOOD | changes).failed
    row = read("loads", GOOD | changes | {"override_reason": "regulator agreed by letter 7"})
    assert isinstance(row.entry, LorryLoad)
    assert row.entry.flags == "override"
    assert row.entry.override_reason == "regulator agreed by letter 7"


def test_validity_is_tested_on_the_date_of_the_load(read):
    last_day = {"gate_in_at": "", "gate_out_at": "2026-08-31 09:40"}
    assert read("loads", GOOD | last_day).problems == []
    assert read("loads", GOOD | last_day | {"gate_out_at": "2026-09-01 09:40"}).failed


def test_net_is_worked_out_where_only_gross_and_tare_are_given(read):
    load = read("loads", GOOD | {"net_t": "", "weight_basis": ""}).entry
    assert (load.net_kg, load.weight_basis) == (19_400, "weighed")


def test_a_net_within_one_interval_of_the_weighbridge_is_kept_as_printed(read):
    assert read("loads", GOOD | {"net_t": "19.42"}).entry.net_kg == 19_420


def test_a_load_without_weights_says_so_itself(read):
    blank = {"gross_t": "", "tare_t": "", "net_t": "", "weight_basis": ""}
    load = read("loads", GOOD | blank).entry
    assert (load.net_kg, load.weight_basis) == (None, "none")


def test_a_way_in_that_was_not_noted_counts_in_the_hour_of_the_way_out(read):
    load = read("loads", GOOD | {"gate_in_at": ""}).entry
    assert (load.gate_in_at, load.in_date, load.in_hour) == (None, load.gate_date, load.out_hour)


def test_a_load_after_midnight_counts_on_its_own_calendar_day(read):
    load = read("loads", GOOD | {"gate_in_at": "", "gate_out_at": "2026-04-07T23:30Z"}).entry
    assert (str(load.gate_date), load.out_hour) == ("2026-04-08", 0)


def test_an_hour_shown_twice_is_taken_first_with_a_warning_that_says_how_to_tell(read):
    row = read("loads", GOOD | {"gate_in_at": "", "gate_out_at": "2026-10-25 01:30",
                                "override_reason": "night move agreed"})  # fmt: skip
    assert any("Add the offset" in s for s in said(row, "warning"))
    assert row.entry.gate_out_at.hour == 0


def test_every_problem_of_a_load_comes_at_once(read):
    wrong = GOOD | {"carrier": "x", "gross_t": "a", "gate_out_at": "?", "stream": "made"}
    assert {p.field for p in read("loads", wrong).problems} == {
        "carrier", "gross_t", "gate_out_at", "stream",
    }  # fmt: skip
