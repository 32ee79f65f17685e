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
        "rollover_t": "9999.999", "energy_kwh": "12.5", "running_min": "600",
        "event": "reading",
    },
    "belt_checks": {
        "checked_at": "2026-04-07T08:00:00+00:00", "belt": "belt-1", "method": "material",
        "shown_t": "-20.5", "reference_t": "20", "running_min": "9", "allowed_t": "0.1",
    },
    "reuse": {
        "placed_at": "2026-04-07T08:00:00+00:00", "stream": "clay", "location": "haul ramp",
        "basis": "compacted", "compacted_m3": "40.5",
    },
    "notes": {
        "note_number": "N-1", "form": "season", "made_out_at": "2026-04-07T05:00:00+00:00",
        "valid_from": "2026-04-07", "valid_to": "2026-05-06", "stream": "clay",
        "waste_code": "17 05 04", "description": "stiff clay", "quantity_t": "900",
        "quantity_basis": "estimated", "container": "loose", "place": "gate",
        "transferor": "invented contractor", "transferor_status": "producer", "carrier": "haul",
        "destination": "quarry", "industry_code": "43.12", "hierarchy_confirmed": "yes",
        "signed_out_by": "A", "signed_in_by": "B",
    },
    "declarations": {
        "declaration": "D", "received_on": "2026-04-01", "stream": "clay", "destination": "quarry",
        "declared_m3": "500",
    },
    "traffic": {
        "passed_at": "2026-04-07T08:00:00+00:00", "purpose": "concrete", "vehicles": "6",
        "direction": "both", "reference": "pour 3",
    },
    "bookings": {
        "booking": "P3", "gate_date": "2026-04-14", "from_hour": "8", "to_hour": "12",
        "purpose": "concrete", "movements_in": "20", "movements_out": "20", "booked_by": "foreman",
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
        "loose_m3": "10.5", "method": "cone", "height_m": "1.582", "width_m": "5.035",
        "surcharge_limit_m3": "20",
    },
    "holds": {
        "decided_at": "2026-04-07T08:00:00+00:00", "zone": "A", "hold": "formation",
        "status": "released", "permit": "P", "decided_by": "coordinator", "accepted_m2": "60.5",
    },
    "formation": {
        "done_at": "2026-04-07T08:00:00+00:00", "zone": "A", "step": "reached",
        "area_m2": "60.5", "checked_by": "engineer", "reference": "P",
    },
    "plan": {
        "plan": "one", "frozen_on": "2026-03-20", "zone": "A", "stage": "2",
        "planned_start": "2026-04-01", "planned_finish": "2026-04-20", "hold_days": "14",
        "design_m3": "399.5", "reference": "letter",
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
