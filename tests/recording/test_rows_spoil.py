"""Belt readings, heaps, receipts."""

from __future__ import annotations

from datetime import date

import pytest

from tracker.domain.site_tables import site_from_tables
from tracker.ledger.entries import BeltReading, Receipt, SiteReuse, StockCount
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


# --- rollovers, checks, dimensions, re-use -------------------------------------------------------
def test_a_totaliser_that_began_again_at_nought_says_its_highest_value(read):
    row = read("belt", BELT | {"totaliser_t": "12.5", "rollover_t": "99999.9"})
    assert (row.entry.totaliser_kg, row.entry.rollover_kg) == (12_500, 99_999_900)
    for changes in ({"event": "reset"}, {"rollover_t": "12"}):
        refused = read("belt", BELT | {"rollover_t": "99999"} | changes)
        assert any(s.startswith("rollover_t: ") for s in said(refused, "error"))


CHECK = {
    "checked_at": "2026-04-07 06:40", "belt": "belt-1", "method": "zero", "shown_t": "-0.04",
    "running_min": "6", "allowed_t": "0.1",
}  # fmt: skip


def test_a_zero_check_may_be_below_nought(read):
    row = read("belt_checks", CHECK)
    assert row.problems == []
    assert (row.entry.shown_kg, row.entry.reference_kg) == (-40, 0)


def test_a_check_beyond_what_is_allowed_is_said(read):
    material = CHECK | {"method": "material", "shown_t": "20.3", "reference_t": "20"}
    assert "+0.300 t off" in said(read("belt_checks", material), "warning")[0]


@pytest.mark.parametrize(
    "changes", [{"reference_t": "5"}, {"method": "material"}, {"method": "look"}]
)
def test_a_check_that_is_neither_zero_nor_material_is_refused(read, changes):
    assert read("belt_checks", CHECK | changes).entry is None


def test_a_cone_or_windrow_is_found_from_its_dimensions(read):
    """π / 12 × 5² × 1.5 = 9.817 m³; 4 × 1.5 / 2 × (10 − 4) + π / 12 × 4² × 1.5 = 24.283 m³."""
    cone = STOCK | {"loose_m3": "", "width_m": "5", "height_m": "1.5"}
    assert read("stock", cone).entry.loose_l == 9_817
    windrow = cone | {"method": "windrow", "width_m": "4", "length_m": "10"}
    row = read("stock", windrow)
    assert (row.entry.loose_l, row.entry.length_mm) == (24_283, 10_000)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"loose_m3": ""}, "or the dimensions"),
        ({"height_m": "1.5"}, "exactly two"),
        ({"method": "survey", "height_m": "1.5", "width_m": "5"}, "Say which"),
        ({"method": "windrow", "height_m": "1.5", "width_m": "5"}, "from toe to toe"),
        ({"height_m": "1.5", "width_m": "5"}, "not the volume of these dimensions"),
    ],
)
def test_a_heap_that_cannot_be_is_refused(read, changes, sentence):
    row = read("stock", STOCK | changes)
    assert row.entry is None
    assert sentence in " ".join(said(row, "error"))


def test_a_heap_too_steep_to_stand_is_asked_about(read):
    steep = STOCK | {"loose_m3": "", "width_m": "2", "height_m": "5"}
    assert "stand at 79°" in said(read("stock", steep), "warning")[0]


REUSED = {
    "placed_at": "2026-04-07 16:00", "stream": "clay", "location": "haul ramp", "basis": "bank",
    "bank_m3": "40",
}  # fmt: skip


def test_ground_placed_on_site_states_one_amount_and_waste_is_asked_about(read):
    row = read("reuse", REUSED)
    assert isinstance(row.entry, SiteReuse)
    assert row.entry.bank_l == 40_000
    assert "needs an authorisation" in said(row, "warning")[0]
    for changes in ({"basis": "weighed"}, {"mass_t": "80"}, {"bank_m3": "0"}):
        assert read("reuse", REUSED | changes).entry is None


def test_a_volume_in_place_needs_the_compaction_of_its_ground(read):
    placed = REUSED | {"bank_m3": "", "basis": "compacted", "compacted_m3": "36"}
    assert read("reuse", placed).entry.compacted_l == 36_000
    assert "compacted / bank" in said(read("reuse", placed | {"stream": "made"}), "error")[0]
