"""Rows held against the records around them, in the ledger and in their own file."""

from __future__ import annotations

import pytest

from tracker.recording.entry import amend, record
from tracker.recording.refused import RowRefused

LOAD = {
    "ticket_issuer": "WB1", "ticket_number": "1", "gate_out_at": "2026-04-07 09:40",
    "carrier": "haul", "vehicle": "rigid", "registration": "AB12 CDE", "stream": "clay",
    "route": "R-ROAD", "net_t": "19.4", "transfer_note": "N-1",
}  # fmt: skip
BELT = {
    "read_at": "2026-04-07 19:00", "work_date": "2026-04-07", "shift": "day", "belt": "belt-1",
    "stream": "clay", "totaliser_t": "1000",
}  # fmt: skip
NEXT_BELT = BELT | {"read_at": "2026-04-08 19:00", "work_date": "2026-04-08"}
RETURN = {
    "work_date": "2026-04-07", "shift": "day", "zone": "A", "stage": "1", "stream": "clay",
    "basis": "measured", "bank_m3": "100", "lowest_level_m": "100.9",
}  # fmt: skip
HOLD = {
    "decided_at": "2026-04-07 06:00", "zone": "A", "hold": "1", "status": "released",
    "permit": "PTD-1", "decided_by": "temporary works coordinator",
}  # fmt: skip
RECEIPT = {
    "receipt_number": "Q-1", "receipt_date": "2026-04-09", "destination": "quarry",
    "ticket_issuer": "WB1", "ticket_number": "1", "accepted_t": "19.38",
}  # fmt: skip


def write(book, now, kind, fields):
    return record(book, kind, fields, by="tests", now=now)


def warnings(done):
    return [p.message for p in done.problems]


# --- belt ----------------------------------------------------------------------------------------
def test_a_totaliser_that_falls_is_refused(book, now):
    write(book, now, "belt", BELT)
    with pytest.raises(RowRefused, match=r"below the 1,000\.000 t at 2026-04-07 19:00"):
        write(book, now, "belt", NEXT_BELT | {"totaliser_t": "999"})


@pytest.mark.parametrize("event", ["reset", "swap"])
def test_a_totaliser_falls_where_a_reset_or_a_swap_is_recorded(book, now, event):
    write(book, now, "belt", BELT)
    done = write(book, now, "belt", NEXT_BELT | {"totaliser_t": "0", "event": event})
    assert warnings(done) == []


def test_a_late_reading_may_not_be_above_the_one_after_it(book, now):
    write(book, now, "belt", NEXT_BELT)
    with pytest.raises(RowRefused, match="above the next reading"):
        write(book, now, "belt", BELT | {"totaliser_t": "1001"})
    assert warnings(write(book, now, "belt", BELT | {"totaliser_t": "400"})) == []


def test_more_than_a_belt_carries_is_refused_unless_a_note_says_why(book, now):
    write(book, now, "belt", BELT)
    slip = NEXT_BELT | {"totaliser_t": "100000"}
    with pytest.raises(RowRefused, match=r"more than a belt carries.*say why in the note"):
        write(book, now, "belt", slip)
    done = write(book, now, "belt", slip | {"note": "two shifts without a reading"})
    assert ["more than a belt carries" in w for w in warnings(done)] == [True]


def test_a_fall_names_the_earlier_reading_that_may_be_the_wrong_one(book, now):
    first = write(book, now, "belt", BELT)
    with pytest.raises(RowRefused, match=f"amend that .entry {first.entry_id}."):
        write(book, now, "belt", NEXT_BELT | {"totaliser_t": "999"})


# --- heaps ---------------------------------------------------------------------------------------
def test_the_limit_of_a_place_holds_until_another_is_stated(book, now):
    heap = {"counted_at": "2026-04-07 08:00", "location": "beside the wall", "stream": "clay",
            "method": "survey", "loose_m3": "100"}  # fmt: skip
    write(book, now, "stock", heap | {"surcharge_limit_m3": "120"})
    later = heap | {"counted_at": "2026-04-08 08:00", "loose_m3": "130"}
    done = write(book, now, "stock", later)
    assert "above the limit of 120 m³" in warnings(done)[0]
    assert book.stored(done.entry_id).entry.surcharge_limit_l == 120_000
    other = write(book, now, "stock", later | {"location": "bay"})
    assert book.stored(other.entry_id).entry.surcharge_limit_l is None


def test_a_reading_is_amended_without_being_held_against_itself(book, now):
    first = write(book, now, "belt", BELT)
    write(book, now, "belt", NEXT_BELT | {"totaliser_t": "1500"})
    lower = amend(book, first.entry_id, {"totaliser_t": "900"}, reason="misread", by="t", now=now)
    assert lower.problems == ()
    with pytest.raises(RowRefused, match="above the next reading"):
        amend(book, lower.entry_id, {"totaliser_t": "1600"}, reason="again", by="t", now=now)


# --- loads ---------------------------------------------------------------------------------------
def test_a_lorry_back_before_it_can_be_is_flagged(book, now):
    write(book, now, "loads", LOAD)
    early = LOAD | {"ticket_number": "2", "gate_out_at": "2026-04-07 10:39"}
    done = write(book, now, "loads", early)
    assert "59 min apart; a rigid needs 60 min" in warnings(done)[0]
    assert book.stored(done.entry_id).entry.flags == "short_cycle"
    later = LOAD | {"ticket_number": "3", "gate_out_at": "2026-04-07 11:39"}
    assert warnings(write(book, now, "loads", later)) == []


def test_other_lorries_and_unknown_plates_are_no_short_cycle(book, now):
    write(book, now, "loads", LOAD)
    for number, plate in (("2", "XY34 ZZZ"), ("3", "")):
        same_time = LOAD | {"ticket_number": number, "registration": plate}
        assert warnings(write(book, now, "loads", same_time)) == []


def test_a_rejected_load_sent_on_is_no_short_cycle(book, now):
    write(book, now, "loads", LOAD | {"outcome": "rejected"})
    onward = LOAD | {"ticket_number": "2", "gate_out_at": "2026-04-07 10:00",
                     "reconsigned_from": "1"}  # fmt: skip
    assert warnings(write(book, now, "loads", onward)) == []


def test_a_load_that_carries_on_an_unknown_rejected_one_goes_in_with_a_warning(book, now):
    write(book, now, "loads", LOAD)
    onward = LOAD | {"ticket_number": "2", "registration": "", "reconsigned_from": "1"}
    assert "No rejected load with ticket 1" in warnings(write(book, now, "loads", onward))[0]


def test_a_short_cycle_is_seen_across_midnight(book, now):
    night = {"gate_out_at": "2026-04-07 23:50"}
    write(book, now, "loads", LOAD | night)
    done = write(
        book, now, "loads", LOAD | {"ticket_number": "2", "gate_out_at": "2026-04-08 00:10"}
    )
    assert any("20 min apart" in w for w in warnings(done))


# --- nil or not ---------------------------------------------------------------------------------
@pytest.mark.parametrize("nil_first", [True, False])
def test_a_shift_is_nil_or_has_dug_and_not_both(book, now, nil_first):
    nil = {name: RETURN[name] for name in ("work_date", "shift", "zone", "stage")}
    nil["nil_reason"] = "waiting for props"
    first, second = (nil, RETURN) if nil_first else (RETURN, nil)
    done = write(book, now, "returns", first)
    with pytest.raises(RowRefused, match="is recorded as"):
        write(book, now, "returns", second)
    changes = {"nil_reason": "", **{k: RETURN[k] for k in ("stream", "basis", "bank_m3")}}
    if nil_first:
        amend(book, done.entry_id, changes, reason="it did dig", by="tests", now=now)


# --- levels --------------------------------------------------------------------------------------
def test_a_breach_is_recorded_and_said(book, now):
    done = write(book, now, "returns", RETURN)
    assert "Stop and ask the temporary works coordinator" in warnings(done)[0]
    assert "below the permitted 104.000 m" in warnings(done)[0]
    assert book.stored(done.entry_id).entry.lowest_level_mm == 100_900


def test_a_release_by_the_end_of_the_shift_permits_its_stage(book, now):
    write(book, now, "holds", HOLD)
    assert warnings(write(book, now, "returns", RETURN)) == []
    deeper = RETURN | {"work_date": "2026-04-08", "lowest_level_m": "99.9"}
    assert (
        "0.100 m below the permitted 100.000 m" in warnings(write(book, now, "returns", deeper))[0]
    )


def test_a_release_after_the_shift_permits_nothing_in_it(book, now):
    write(book, now, "holds", HOLD | {"decided_at": "2026-04-07 19:30"})
    assert warnings(write(book, now, "returns", RETURN)) != []


def test_a_suspension_takes_the_permission_back(book, now):
    write(book, now, "holds", HOLD)
    suspended = {"decided_at": "2026-04-07 10:00", "status": "suspended"}
    write(book, now, "holds", HOLD | suspended)
    assert "permitted 104.000 m" in warnings(write(book, now, "returns", RETURN))[0]


def test_a_survey_below_the_permitted_level_is_said_too(book, now):
    survey = {"survey": "S1", "surveyed_at": "2026-04-07 12:00", "zone": "A",
              "lowest_level_m": "103.5"}  # fmt: skip
    assert "0.500 m below the permitted" in warnings(write(book, now, "surveys", survey))[0]


@pytest.mark.parametrize("hold", ["2", "formation"])
def test_a_release_that_skips_a_stage_goes_in_with_a_warning(book, now, hold):
    done = write(book, now, "holds", HOLD | {"hold": hold})
    assert "Stage 1" in warnings(done)[0]


def test_releases_in_order_of_what_is_dug_out_are_no_matter(book, now):
    write(book, now, "holds", HOLD)
    write(book, now, "returns", RETURN | {"lowest_level_m": "100"})
    second = HOLD | {"hold": "2", "decided_at": "2026-04-20 06:00"}
    assert warnings(write(book, now, "holds", second)) == []


# --- receipts and closures -----------------------------------------------------------------------
def test_a_receipt_is_held_against_its_load(book, now):
    done = write(book, now, "receipts", RECEIPT)
    assert "No load with ticket 1 of WB1" in warnings(done)[0]
    write(book, now, "loads", LOAD)
    assert warnings(write(book, now, "receipts", RECEIPT | {"receipt_number": "Q-2"})) == []
    off = RECEIPT | {"receipt_number": "Q-3", "accepted_t": "16"}
    assert "16.000 t was accepted of the 19.400 t" in warnings(write(book, now, "receipts", off))[0]


def test_an_exception_is_closed_only_about_an_entry_that_there_is(book, now):
    closure = {"rule": "below_permitted_level", "about": "no-such", "reason": "r", "closed_by": "c"}
    with pytest.raises(RowRefused, match="No entry has the id"):
        write(book, now, "closures", closure)


# --- formation -----------------------------------------------------------------------------------
STEP = {
    "done_at": "2026-04-07 10:00", "zone": "A", "step": "blinded", "area_m2": "60",
    "checked_by": "site engineer",
}  # fmt: skip


def test_areas_of_a_step_add_up_to_the_zone_at_most(book, now):
    write(book, now, "formation", STEP)
    again = STEP | {"done_at": "2026-04-08 10:00"}
    with pytest.raises(RowRefused, match="120 m² of zone A would be blinded; it has 100 m²"):
        write(book, now, "formation", again)
    write(book, now, "formation", again | {"area_m2": "40"})
    write(book, now, "formation", again | {"step": "inspected"})
    write(book, now, "formation", again | {"zone": "B"})


def test_amending_an_area_does_not_count_the_old_one(book, now):
    done = write(book, now, "formation", STEP)
    amend(book, done.entry_id, {"area_m2": "90"}, reason="slip", by="tests", now=now)
    assert [step.area_dm2 for step in book.current("formation_steps")] == [9_000]
