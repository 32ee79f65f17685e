"""Other traffic and bookings as rows."""

from __future__ import annotations

from datetime import date

import pytest

from tracker.ledger.entries import GateBooking, GateTraffic

TRAFFIC = {
    "passed_at": "2026-04-07 08:10", "purpose": "Concrete", "vehicles": "6", "direction": "both",
    "reference": "pour 3",
}  # fmt: skip
BOOKING = {
    "booking": "P3", "gate_date": "2026-11-09", "from_hour": "8", "to_hour": "12",
    "purpose": "concrete", "movements_in": "20", "movements_out": "20", "booked_by": "foreman",
}  # fmt: skip


def said(row, severity):
    return [f"{p.field}: {p.message}" for p in row.problems if p.severity == severity]


def test_traffic_counts_in_its_local_hour(read):
    row = read("traffic", TRAFFIC)
    assert row.problems == []
    assert isinstance(row.entry, GateTraffic)
    assert (row.entry.gate_date, row.entry.hour) == (date(2026, 4, 7), 8)
    assert row.entry.purpose == "concrete"


@pytest.mark.parametrize(
    ("changes", "column"),
    [
        ({"vehicles": "0"}, "vehicles"),
        ({"vehicles": "900"}, "vehicles"),
        ({"direction": "up"}, "direction"),
        ({"purpose": ""}, "purpose"),
        ({"passed_at": "2026-11-05 08:00"}, "passed_at"),
    ],
)
def test_traffic_that_cannot_be_is_refused(read, changes, column):
    row = read("traffic", TRAFFIC | changes)
    assert row.entry is None
    assert any(p.startswith(f"{column}: ") for p in said(row, "error"))


def test_a_pour_is_booked_ahead(read):
    row = read("bookings", BOOKING)
    assert row.problems == []
    assert isinstance(row.entry, GateBooking)
    assert row.entry.gate_date == date(2026, 11, 9)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"to_hour": "8"}, "first before the last"),
        ({"to_hour": "25"}, "24 at most"),
        ({"movements_in": "0", "movements_out": "0"}, "at least one movement"),
        ({"gate_date": "9/11/2026"}, "9/11/2026"),
    ],
)
def test_a_booking_that_cannot_be_is_refused(read, changes, sentence):
    row = read("bookings", BOOKING | changes)
    assert row.entry is None
    assert sentence in " ".join(said(row, "error"))


def test_a_booking_on_a_day_with_the_gate_shut_is_said(read):
    assert (
        "gate is shut"
        in said(read("bookings", BOOKING | {"gate_date": "2026-11-08"}), "warning")[0]
    )
