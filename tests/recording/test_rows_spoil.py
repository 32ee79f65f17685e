"""Belt readings, heaps, receipts."""

from __future__ import annotations

from datetime import date

import pytest

from tracker.domain.site_tables import site_from_tables
from tracker.ledger.entries import BeltReading, Receipt, StockCount
from tracker.recording.setups import Setups

BELT = {
    "read_at": "2026-04-07 19:05", "work_date": "2026-04-07", "shift": "day", "belt": "belt-1",
    "stream": "clay", "totaliser_t": "12,345.6", "energy_kwh": "210.5", "running_min": "640",
}  # fmt: skip
STOCK = {
    "counted_at": "2026-04-08 02:00", "location": "bay 1", "stream": "clay", "loose_m3": "120",
    "method": "cone", "surcharge_limit_m3": "150",
}  # fmt: skip
RECEIPT = {
    "receipt_number": "Q-1", "receipt_date": "2026-04-09", "destination": "quarry",
    "ticket_issuer": "WB1", "ticket_number": "00123", "waste_code": "17 05 04",
    "accepted_t": "19.38",
}  # fmt: skip


def said(row, severity):
    return [f"{p.field}: {p.message}" for p in row.problems if p.severity == severity]


def test_a_belt_reading_is_stored_in_kilograms_and_watt_hours(read):
    row = read("belt", BELT)
    assert row.problems == []
    reading = row.entry
    assert isinstance(reading, BeltReading)
    assert (reading.totaliser_kg, reading.energy_wh) == (12_345_600, 210_500)
    assert (reading.route, reading.event) == ("R-BELT", "reading")


@pytest.mark.parametrize(
    ("changes", "column", "sentence"),
    [
        ({"belt": "belt-2"}, "belt", "Did you mean “belt-1”?"),
        ({"route": "R-ROAD"}, "route", "does not use belt-1"),
        ({"totaliser_t": "-1"}, "totaliser_t", "negative"),
        ({"totaliser_t": "12345,6"}, "totaliser_t", "comma"),
        ({"event": "jump"}, "event", "not known"),
        ({"running_min": "9.5"}, "running_min", "not a whole number"),
    ],
)
def test_a_slip_keeps_the_reading_out(read, changes, column, sentence):
    row = read("belt", BELT | changes)
    assert row.entry is None
    assert any(s.startswith(f"{column}:") and sentence in s for s in said(row, "error"))


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"running_min": "900"}, "more than the 720 min"),
        ({"read_at": "2026-04-06 19:05"}, "does not fall in the day shift"),
        ({"stream": "made"}, "not classified"),
    ],
)
def test_a_doubtful_reading_goes_in_with_a_warning(read, changes, sentence):
    row = read("belt", BELT | changes)
    assert row.entry is not None
    assert any(sentence in s for s in said(row, "warning"))


def test_a_belt_of_several_routes_needs_its_route(tables, read):
    tables["routes"].append({"route": "R-TWO", "name": "Two", "destination": "quarry"})
    leg = {"route": "R-TWO", "leg": "1", "mode": "belt", "from_place": "site", "to_place": "quarry",
           "distance_km": "1", "belt": "belt-1"}  # fmt: skip
    tables["legs"].append(leg)
    two = Setups([(date(2026, 3, 1), site_from_tables(tables)[0])])
    row = read("belt", BELT, setups=two)
    assert said(row, "error") == [
        "route: Several routes use belt-1: R-BELT, R-TWO. Say which it fed."
    ]
    assert read("belt", BELT | {"route": "R-TWO"}, setups=two).entry.route == "R-TWO"


def test_a_heap_counted_in_the_night_belongs_to_the_date_on_which_the_shift_began(read):
    stock = read("stock", STOCK).entry
    assert isinstance(stock, StockCount)
    assert (str(stock.work_date), stock.loose_l) == ("2026-04-07", 120_000)


def test_a_stock_is_never_negative(read):
    assert said(read("stock", STOCK | {"loose_m3": "-1"}), "error")[0].startswith("loose_m3")


def test_a_heap_above_the_limit_near_the_wall_goes_in_with_the_caution(read):
    row = read("stock", STOCK | {"loose_m3": "151"})
    assert row.entry is not None
    assert "temporary works coordinator" in said(row, "warning")[0]


def test_a_receipt_keeps_the_asterisk_of_its_code(read):
    row = read("receipts", RECEIPT | {"waste_code": "17 05 03*"})
    assert isinstance(row.entry, Receipt)
    assert row.entry.waste_code == "17 05 03*"
    assert "takes 17 05 04 only" in said(row, "warning")[0]


@pytest.mark.parametrize(
    ("changes", "column", "sentence"),
    [
        ({"accepted_t": "19,380"}, "accepted_t", "If it is kilograms, write 19.38"),
        ({"accepted_t": "33"}, "accepted_t", "One receipt answers one ticket"),
        ({"waste_code": "170504"}, "waste_code", "Write 17 05 04"),
        ({"receipt_date": "2026-11-03"}, "receipt_date", "in the future"),
        ({"outcome": "maybe"}, "outcome", "not known"),
    ],
)
def test_a_slip_keeps_the_receipt_out(read, changes, column, sentence):
    row = read("receipts", RECEIPT | changes)
    assert row.entry is None
    assert any(s.startswith(f"{column}:") and sentence in s for s in said(row, "error"))


@pytest.mark.parametrize(
    ("accepted_t", "sentence"), [("31.2", "may be the gross weight"), ("0", "say rejected")]
)
def test_a_doubtful_receipt_goes_in_with_a_warning(read, accepted_t, sentence):
    row = read("receipts", RECEIPT | {"accepted_t": accepted_t})
    assert row.entry is not None
    assert any(sentence in s for s in said(row, "warning"))
