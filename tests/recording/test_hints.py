import math

import pytest

from tracker.recording.entry import record
from tracker.recording.hints import (
    FORMATION_CAUTION,
    HOLD_CAUTION,
    SURCHARGE_CAUTION,
    heap_volume_m3,
    hints,
)


def words(book, kind, **fields):
    return [hint.words for hint in hints(book, kind, fields)]


@pytest.fixture
def reading(book, now):
    fields = {
        "read_at": "2026-04-07 18:30",
        "work_date": "2026-04-07",
        "shift": "day",
        "belt": "belt-1",
        "stream": "clay",
        "totaliser_t": "100",
    }
    return record(book, "belt", fields, by="tests", now=now)


def test_nothing_is_said_of_an_empty_form_or_of_a_kind_without_hints(book):
    assert hints(book, "loads", {}) == ()
    assert hints(book, "declarations", {"stream": "clay"}) == ()


# --- heaps ---------------------------------------------------------------------------------------
def test_a_cone_and_a_windrow_are_measured_by_their_dimensions():
    cone = {"method": "cone", "width_m": "10", "height_m": "3"}
    assert heap_volume_m3(cone) == pytest.approx(math.pi * 25 * 3 / 3)
    windrow = cone | {"method": "windrow", "length_m": "30"}
    assert heap_volume_m3(windrow) == pytest.approx(15 * 20 + math.pi * 25)


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"method": "cone", "width_m": "10"},
        {"method": "windrow", "width_m": "10", "height_m": "3"},
        {"method": "windrow", "width_m": "10", "height_m": "3", "length_m": "5"},
        {"method": "cone", "width_m": "10,5", "height_m": "3"},
        {"method": "survey", "width_m": "10", "height_m": "3"},
    ],
)
def test_too_little_or_nothing_sensible_gives_no_volume(fields):
    assert heap_volume_m3(fields) is None


def test_a_given_volume_wins_over_dimensions():
    fields = {"method": "cone", "width_m": "10", "height_m": "3", "loose_m3": "77.5"}
    assert heap_volume_m3(fields) == 77.5


def test_the_limit_stands_beside_the_volume_and_above_it_one_is_to_ask(book):
    below = hints(book, "stock", {"loose_m3": "59", "surcharge_limit_m3": "60"})
    assert below[0].words == "59.0 m³ loose; limit 60 m³ loose."
    assert below[0].meaning == ""
    above = hints(book, "stock", {"loose_m3": "61", "surcharge_limit_m3": "60"})
    assert "stop and ask the temporary works coordinator" in above[0].words
    assert above[0].meaning == "warning"
    assert below[1].words == above[1].words == SURCHARGE_CAUTION


def test_the_limit_recorded_last_for_a_place_is_remembered_with_its_date(book, now):
    count = {"counted_at": "2026-04-07 06:00", "location": "H1", "stream": "clay"}
    count |= {"method": "survey", "loose_m3": "20", "surcharge_limit_m3": "45"}
    record(book, "stock", count, by="tests", now=now)
    later = count | {"counted_at": "2026-04-08 06:00", "surcharge_limit_m3": ""}
    record(book, "stock", later, by="tests", now=now)
    said = words(book, "stock", location="H1", loose_m3="50")[0]
    assert "limit 45 m³ loose (as of 8 Apr 2026; it holds until another is stated)" in said
    assert "stop and ask" in said
    assert "no limit is set" in words(book, "stock", location="H2", loose_m3="50")[0]


# --- lorries -------------------------------------------------------------------------------------
def test_gross_less_tare_is_said_and_what_is_above_the_plate(book):
    fields = {"vehicle": "rigid", "gross_t": "31", "tare_t": "12"}
    assert words(book, "loads", **fields) == ["Gross less tare is 19.000 t net."]
    (above,) = hints(book, "loads", fields | {"gross_t": "33.5"})
    assert above.meaning == "warning"
    assert "21.500 t net is 1.500 t above the 20 t" in above.words


def test_what_a_lorry_carries_is_said_with_what_governs_and_never_above_the_plate(book):
    (said,) = words(book, "loads", vehicle="rigid", stream="clay")
    # 14 m³ x 1 / 1.3 x 2.0 t/m³ = 21.5 t, above the plate of 20 t.
    assert "carries at most 20.0 t of Stiff clay, by its plate" in said
    assert "the plate, the axle limits and local law govern" in said


@pytest.mark.parametrize("gross", ["", "30,5", "11", "x"])
def test_no_net_weight_is_said_of_weights_that_give_none(book, gross):
    assert words(book, "loads", gross_t=gross, tare_t="12") == []


# --- belts and receipts --------------------------------------------------------------------------
def test_the_reading_before_and_what_was_carried_since_are_said(book, reading):
    now = {"belt": "belt-1", "read_at": "2026-04-08 18:30"}
    before = "The reading before, Tue 7 Apr 2026 18:30: 100.000 t."
    assert words(book, "belt", **now) == [before]
    assert words(book, "belt", **now, totaliser_t="112.5") == [f"{before} Carried since: 12.500 t."]


def test_a_fall_a_reset_and_a_rollover_are_told_apart(book, reading):
    now = {"belt": "belt-1", "read_at": "2026-04-08 18:30", "totaliser_t": "20"}
    (fell,) = hints(book, "belt", now)
    assert fell.meaning == "warning"
    assert "Now it stands lower" in fell.words
    assert "is not known" in words(book, "belt", **now, event="reset")[0]
    assert "Carried since: 40.000 t" in words(book, "belt", **now, rollover_t="120")[0]


def test_the_first_reading_of_a_belt_has_none_before(book):
    assert words(book, "belt", belt="belt-1") == ["No earlier reading of belt-1 is recorded."]


def test_the_load_that_a_receipt_answers_is_said(book, now):
    load = {
        "ticket_issuer": "WB1",
        "ticket_number": "7",
        "gate_out_at": "2026-04-07 10:00",
        "carrier": "haul",
        "vehicle": "rigid",
        "stream": "clay",
        "route": "R-ROAD",
        "net_t": "19.4",
    }
    record(book, "loads", load, by="tests", now=now)
    said = words(book, "receipts", ticket_issuer="WB1", ticket_number="7")
    assert said == ["Its load: 19.400 t net of clay to quarry, out Tue 7 Apr 2026."]
    assert words(book, "receipts", ticket_issuer="WB1") == []
    (none,) = hints(book, "receipts", {"ticket_issuer": "WB1", "ticket_number": "8"})
    assert none.meaning == "warning"


# --- hold points ---------------------------------------------------------------------------------
def test_a_hold_names_what_must_be_in_place_above_it(book):
    first, caution = words(book, "holds", zone="A", hold="2")
    assert first.startswith("To be in place: ")
    assert caution == HOLD_CAUTION
    assert words(book, "holds", zone="A", hold="1") == [HOLD_CAUTION]
    assert words(book, "holds") == [HOLD_CAUTION]


def test_formation_says_its_limit_or_that_there_is_none(book):
    assert words(book, "formation", zone="A") == [
        "No limit is set for how long it may lie open.",
        FORMATION_CAUTION,
    ]
    assert words(book, "formation") == [FORMATION_CAUTION]
