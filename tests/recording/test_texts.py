"""Entries back to the text of their columns."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain.written import whole_thousandths
from tracker.recording.columns import KINDS
from tracker.recording.texts import fields_of, thousandths_text

ROWS = {
    "returns": {
        "work_date": "2026-04-07", "shift": "day", "zone": "A", "stage": "1", "stream": "clay",
        "basis": "counted", "count": "10", "capacity_m3": "9.5", "from_level_m": "103.25",
        "to_level_m": "102.5", "lowest_level_m": "102.4", "delays": "rain:30; belt_down:5",
        "note": "wet",
    },
    "belt": {
        "read_at": "2026-04-07T18:05:00+00:00", "work_date": "2026-04-07", "shift": "day",
        "belt": "belt-1", "route": "R-BELT", "stream": "clay", "totaliser_t": "1234.567",
        "event": "swap", "energy_kwh": "12.5", "running_min": "600",
    },
    "loads": {
        "ticket_issuer": "WB1", "ticket_number": "007", "gate_in_at": "2026-04-07T08:00:00+00:00",
        "gate_out_at": "2026-04-07T08:30:00+00:00", "carrier": "haul", "vehicle": "rigid",
        "registration": "AB12", "stream": "clay", "zone": "A", "route": "R-ROAD",
        "destination": "quarry", "gross_t": "31.2", "tare_t": "11.8", "net_t": "19.4",
        "weight_basis": "weighed", "outcome": "rejected", "reconsigned_from": "006",
        "transfer_note": "W", "override_reason": "none needed",
    },
    "stock": {
        "counted_at": "2026-04-07T08:00:00+00:00", "location": "bay", "stream": "clay",
        "loose_m3": "10.25", "method": "cone", "surcharge_limit_m3": "20",
    },
    "holds": {
        "decided_at": "2026-04-07T08:00:00+00:00", "zone": "A", "hold": "formation",
        "status": "released", "permit": "P", "decided_by": "coordinator", "accepted_m2": "60.5",
    },
    "surveys": {
        "survey": "S", "surveyed_at": "2026-04-07T08:00:00+00:00", "zone": "A",
        "lowest_level_m": "100.001", "dug_bank_m3": "300", "method": "scan",
    },
    "receipts": {
        "receipt_number": "Q", "receipt_date": "2026-04-09", "destination": "quarry",
        "ticket_issuer": "WB1", "ticket_number": "007", "waste_code": "17 05 04",
        "accepted_t": "19.38", "outcome": "accepted",
    },
    "baseline": {
        "baseline": "b", "frozen_on": "2026-03-02", "vehicle": "rigid", "payload_low_t": "18",
        "payload_t": "19", "payload_high_t": "20", "distance_km": "46.2", "destination": "quarry",
        "empty_return": "yes", "reference": "plan",
    },
    "closures": {
        "rule": "over_plate", "about": "e", "reason": "filled", "closed_by": "coordinator",
    },
}  # fmt: skip


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_columns_of_an_entry_come_back_as_they_were_read(read, kind):
    row = read(kind, ROWS[kind])
    assert row.entry is not None, row.problems
    texts = fields_of(row.entry)
    assert list(texts) == [c.name for c in KINDS[kind].columns]
    assert {name: text for name, text in texts.items() if text and name != "entry_id"} == ROWS[kind]
    assert texts["entry_id"] == row.entry.entry_id


@given(st.integers(-(10**12), 10**12))
def test_thousandths_are_written_so_that_they_read_the_same(thousandths):
    assert whole_thousandths(thousandths_text(thousandths)) == thousandths
