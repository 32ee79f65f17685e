"""The day statement of the paper pit, against what a reader works out from paper.py by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from tests.statements import paper
from tracker.errors import NotEnoughData
from tracker.recording.entry import amend
from tracker.statements import day_statement


def october(day: int) -> date:
    return date(2026, 10, day)


def states(statement, day: date) -> dict[str, str]:
    return {f"{x.zone} {x.shift}": x.state for x in statement.shifts if x.work_date == day}


def about(statement) -> set[str]:
    return {breach.about for breach in statement.breaches}


# --- shifts --------------------------------------------------------------------------------------
def test_a_shift_is_received_or_nil_or_missing(book):
    friday = day_statement(book, october(24))
    assert states(friday, october(23)) == {
        "A day": "received",
        "A night": "received",
        "B day": "received",
        "B night": "missing",
    }


def test_a_shift_that_is_not_over_is_due_and_not_missing(book):
    # Night shifts end at 06:00 on the day after: at the end of Thursday they are still at work.
    # Their returns are in by now, so they show; on Friday B's night is due, as it never comes.
    friday = day_statement(book, october(23))
    assert states(friday, october(23))["B night"] == "due"
    assert states(friday, october(22))["B night"] == "nil"


def test_a_return_that_no_one_expected_shows_and_stands_in_for_none_that_is_missing(book):
    # Saturday: A and B are expected by day; C opens on Monday, yet sent one. B's did not come.
    sunday = day_statement(book, october(25))
    assert states(sunday, october(24)) == {
        "A day": "nil",
        "B day": "missing",
        "A night": "nil",
        "B night": "nil",
        "C day": "nil",
    }
    assert (sunday.basis.returns_expected, sunday.basis.returns_received) == (4, 3)


def test_no_returns_are_expected_on_a_closed_day_or_a_sunday(book):
    assert states(day_statement(book, october(30)), october(30)) == {}
    assert states(day_statement(book, october(25)), october(25)) == {}


def test_each_day_has_the_shifts_of_the_set_up_in_force_on_it(book):
    thursday = day_statement(book, october(29))  # the second set-up holds from this day on
    assert states(thursday, october(28))["B night"] == "missing"
    assert states(thursday, october(29)) == {"A day": "nil", "B day": "nil", "C day": "received"}


def test_the_lowest_level_of_a_shift_stands_beside_it(book):
    lines = day_statement(book, october(23)).shifts
    (line,) = [x for x in lines if (x.work_date, x.shift, x.zone) == (october(23), "night", "A")]
    assert (line.bank_m3, line.detail) == (pytest.approx(100.0), "lowest 99.800 m")


# --- output --------------------------------------------------------------------------------------
def test_output_adds_up_over_streams_and_bases(book):
    friday = day_statement(book, october(23))
    # A: 200 t / 2.0 = 100 m3 clay; 10 m3 made; 100 m3 clay. B: 50 m3 clay.
    assert friday.bank_m3 == pytest.approx(100 + 10 + 100 + 50)
    # 200 t; 10 x 1.8; 100 x 2.0; 50 x 2.0
    assert friday.mass_t == pytest.approx(200 + 18 + 200 + 100)
    assert friday.belt_t == pytest.approx(100 + 50)  # the night run keeps its work date
    # Ticket 4 was refused with 19 t; the same 19 t went on as ticket 5: once.
    assert friday.lorry_t == pytest.approx(19)


def test_the_factors_are_those_of_the_set_up_in_force_on_the_day(book):
    thursday = day_statement(book, october(29))
    assert thursday.bank_m3 == pytest.approx(3 * 10 / 1.5)
    assert thursday.mass_t == pytest.approx(3 * 10 / 1.5 * 2.2)


def test_loads_without_weight_are_said_and_not_guessed_into_the_days_tonnes(book):
    thursday = day_statement(book, october(22))
    assert thursday.lorry_t == pytest.approx(18 + 17)
    assert "Loads of the day without weight, so not in its lorry tonnes: 1." in (
        thursday.basis.quality
    )


# --- movements -----------------------------------------------------------------------------------
def test_a_lorry_in_before_and_out_after_midnight_moves_on_two_days(book):
    saturday, sunday = day_statement(book, october(24)), day_statement(book, october(25))
    assert (saturday.loads, saturday.movements) == (0, 1)  # ticket 6 in at 23:50
    assert (sunday.loads, sunday.movements) == (2, 3)  # ticket 6 out; ticket 7 in and out
    assert [(h.hour, h.movements_in, h.movements_out) for h in saturday.hours] == [(23, 1, 0)]


def test_an_hour_that_comes_twice_holds_the_movements_of_both(book):
    # Ticket 7 came at 01:10 by summer time and left 70 minutes later, at 01:20 by winter time.
    sunday = day_statement(book, october(25))
    assert [(h.hour, h.movements_in, h.movements_out) for h in sunday.hours] == [
        (0, 0, 1),
        (1, 1, 1),
    ]


def test_a_rejected_load_that_is_sent_on_moved_once(book):
    assert (day_statement(book, october(23)).loads, day_statement(book, october(23)).movements) == (
        1,
        2,
    )


def test_the_gate_window_and_the_caps_stand_beside_the_movements(book):
    monday = day_statement(book, paper.LAST_DAY)
    assert (monday.gate_window, monday.cap_day, monday.cap_hour) == ("07:00 to 19:00", 5, None)
    assert day_statement(book, october(25)).gate_window == "gate shut"


# --- levels and breaches -------------------------------------------------------------------------
def test_open_breaches_come_first_newest_first(book):
    monday = day_statement(book, paper.LAST_DAY)
    assert [(b.zone, b.about, b.severity) for b in monday.breaches] == [
        ("B", "b28d", "breach"),
        ("A", "a27n", "breach"),
    ]
    assert monday.headline.startswith("Zone B: lowest level 99.700 m is 0.300 m below")
    assert "1 more below" in monday.headline


def test_a_night_shift_is_held_to_what_was_released_by_its_end(book):
    # A, Friday night: stage 2 released at 05:00, the shift ended at 06:00 with a point at 99.8.
    assert "a23n" not in about(day_statement(book, october(24)))
    # B, Monday night: ended at 06:00 with a point at 99.9, stage 2 released only at 07:30.
    assert "b26n" in about(day_statement(book, october(27), known_at=at(28, 8)))


def test_a_later_set_up_without_the_night_shift_makes_no_breach_of_an_old_night(book):
    assert "a23n" not in about(day_statement(book, october(29)))


def test_a_breach_stays_until_it_is_closed_with_a_reason(book):
    assert "b26n" in about(day_statement(book, october(28), known_at=at(28, 8)))
    assert "b26n" not in about(day_statement(book, october(28), known_at=at(28, 10)))


def test_digging_while_a_stage_is_suspended_is_a_breach_also_after_it_is_released_again(book):
    assert "b28d" in about(day_statement(book, october(28)))
    assert "b28d" in about(day_statement(book, paper.LAST_DAY))


def test_a_release_that_is_recorded_after_the_report_does_not_clear_its_breach(book):
    # C dug to 103 on Monday, released that morning at 06:30; the paper came on Thursday at 09:00.
    assert "c26d" in about(day_statement(book, october(28), known_at=at(29, 8)))
    late = day_statement(book, october(28), known_at=at(29, 10))
    (found,) = [b for b in late.breaches if b.about == "c26d"]
    assert "below the permitted 104.000 m" in found.sentence
    assert found.sentence.endswith(
        "Stage 1 was released afterwards: recorded Thu 29 Oct 2026 09:00, decided"
        " Mon 26 Oct 2026 06:30."
    )
    assert "c26d" not in about(day_statement(book, october(28), known_at=at(30, 9)))  # closed


def test_releases_recorded_before_the_reports_raise_nothing_however_late(own, clock):
    clock.moment = at(30, 8)
    hold(own, "A", "1", "2026-10-21 15:00")
    clock.moment = at(30, 9)
    dig(own, "2026-10-22", "A", lowest_level_m="103.5")
    assert day_statement(own, october(29)).breaches == ()


def test_amending_papers_makes_no_breach_and_clears_none(own, clock):
    clock.moment = at(21, 16)
    release = hold(own, "A", "1", "2026-10-21 15:00")
    clock.moment = at(23, 20)
    fine = dig(own, "2026-10-22", "A", lowest_level_m="101")
    deep = dig(own, "2026-10-23", "A", lowest_level_m="99.5")
    clock.moment = at(24, 8)
    amend(own, release, {"permit": "P-1a"}, reason="slip", by="tests", now=clock.moment)
    assert about(day_statement(own, october(24))) == {deep}
    hold(own, "A", "2", "2026-10-23 06:00")
    clock.moment = at(24, 9)
    deep = amend(own, deep, {"note": "beside the ramp"}, reason="said", by="tests",
                 now=clock.moment).entry_id  # fmt: skip
    assert about(day_statement(own, october(24))) == {deep}
    back = {"decided_at": "2026-10-22 06:00"}
    (first,) = [d.entry_id for d in own.current("hold_releases") if d.hold == "1"]
    amend(own, first, back, reason="typed wrong", by="tests", now=clock.moment)
    assert fine not in about(day_statement(own, october(24)))


def test_dating_a_release_back_by_an_amendment_clears_no_breach(own, clock):
    clock.moment = at(22, 20)
    early = dig(own, "2026-10-22", "A", lowest_level_m="103")
    release = hold(own, "A", "1", "2026-10-22 20:00")
    clock.moment = at(23, 8)
    amend(own, release, {"decided_at": "2026-10-22 06:00"}, reason="r", by="t", now=clock.moment)
    (found,) = day_statement(own, october(23)).breaches
    assert found.about == early
    assert "recorded Fri 23 Oct 2026 09:00, decided Thu 22 Oct 2026 06:00" in found.sentence


def test_ground_dug_as_permitted_lies_below_what_is_permitted_since_a_suspension(own, clock):
    clock.moment = at(21, 16)
    hold(own, "A", "1", "2026-10-21 15:00")
    clock.moment = at(22, 20)
    dig(own, "2026-10-22", "A", lowest_level_m="100.5")
    hold(own, "A", "1", "2026-10-22 20:30", status="suspended")
    (found,) = day_statement(own, october(22)).breaches
    assert found.sentence == (
        "Zone A: lowest level 100.500 m lies 3.500 m below the level now permitted, 104.000 m,"
        " since the suspension of stage 1 on Thu 22 Oct 2026. Stop and ask the temporary works"
        " coordinator."
    )


def test_the_level_of_a_zone_is_its_deepest_point_by_return_or_survey(book):
    zones = {z.zone: z for z in day_statement(book, paper.LAST_DAY).zones}
    assert (zones["A"].lowest_level_m, zones["A"].lowest_on) == (95.7, october(27))
    assert (zones["B"].lowest_level_m, zones["B"].lowest_on) == (99.65, october(31))  # survey
    assert (zones["C"].lowest_level_m, zones["C"].permitted_level_m) == (102.2, 101.0)


def test_a_suspended_stage_permits_no_more_than_the_one_above_it(book):
    # B, end of Wednesday: stage 2 suspended at 15:00, released again on Thursday at 12:00.
    wednesday = {z.zone: z for z in day_statement(book, october(28)).zones}["B"]
    assert (wednesday.permitted_level_m, wednesday.stage, wednesday.in_breach) == (100.0, 1, True)
    assert wednesday.waits_for == "Stage 2 is suspended: no digging until it is released again."
    thursday = {z.zone: z for z in day_statement(book, october(29)).zones}["B"]
    assert (thursday.permitted_level_m, thursday.stage, thursday.in_breach) == (96.0, 2, False)


def test_a_zone_waits_for_the_support_that_comes_before_its_next_stage(book):
    zones = {z.zone: z.waits_for for z in day_statement(book, october(23)).zones}
    assert zones["B"] == "Stage 2 (to 96.000 m) waits for upper props."
    zones = {z.zone: z.waits_for for z in day_statement(book, paper.LAST_DAY).zones}
    assert zones["A"] == "60 of 100 m² of formation inspected and accepted."


def test_the_headline_never_says_that_no_zone_is_below_while_one_is(own, clock):
    clock.moment = at(22, 8)
    hold(own, "A", "1", "2026-10-21 15:00")
    clock.moment = at(22, 20)
    entry = dig(own, "2026-10-22", "A", lowest_level_m="99.9")
    assert "Zone A: lowest level 99.900 m" in day_statement(own, october(22)).headline
    closed = {"reason": "filled", "closed_by": "coordinator"}
    paper.enter(own, "closures", rule="below_permitted_level", about=entry, **closed)
    assert day_statement(own, october(22)).headline.startswith(
        "No breach is open. Still below the permitted level, and closed with a reason: zone A."
    )


def test_a_stage_that_a_later_set_up_makes_shallower_makes_no_breach_of_what_was_permitted(
    own, clock
):
    clock.moment = at(22, 8)
    hold(own, "A", "1", "2026-10-21 15:00")
    clock.moment = at(22, 20)
    dig(own, "2026-10-22", "A", lowest_level_m="100.1")
    shallower = paper.second_setup()
    shallower["stages"][0]["design_level_m"] = "100.2"
    paper.adopt(own, shallower, "shallower", october(26))
    clock.moment = at(26, 20)
    assert day_statement(own, october(25)).breaches == ()
    # Now the same ground stands below what is permitted now: that is said, as of now.
    (now,) = day_statement(own, october(26)).breaches
    assert "0.100 m below the permitted 100.200 m" in now.sentence


# --- exceptions ----------------------------------------------------------------------------------
def test_every_rule_broken_and_not_closed_is_listed(book):
    monday = day_statement(book, paper.LAST_DAY)
    assert {(x.rule, x.about) for x in monday.exceptions} == {
        ("outside_window", "t7"),
        ("outside_window", "t8"),
        ("outside_window", "t9"),
        ("over_plate", "t10"),
        ("over_movement_cap", "day 2026-10-22"),  # 6 movements, 5 allowed
        ("hold_late", "a27n"),  # at formation since then, 60 of 100 m2 accepted; planned 2 days
        # no load names a note, and none of those of two working days ago has a receipt
        ("no_transfer_note", "day 2026-10-22 made haul tip"),
        ("no_transfer_note", "day 2026-10-23 clay haul quarry"),
        ("no_transfer_note", "day 2026-10-23 clay haul tip"),
        ("no_transfer_note", "day 2026-10-25 clay haul quarry"),
        ("no_transfer_note", "day 2026-11-01 clay haul quarry"),
        ("no_transfer_note", "day 2026-11-02 clay haul quarry"),
        *(("no_receipt", ticket) for ticket in ("t1", "t2", "t3", "t5", "t6", "t7")),
    }
    assert all(x.severity != "breach" for x in monday.exceptions)


def above_cap(statement):
    return [x for x in statement.exceptions if x.rule == "over_movement_cap"]


def test_a_day_above_the_cap_can_be_closed_with_a_reason(own, clock):
    for number in range(3):
        load(own, number, f"2026-10-22 {8 + number:02d}:00", f"2026-10-22 {8 + number:02d}:30")
    (above,) = above_cap(day_statement(own, october(22)))
    assert above.sentence == (
        "6 movements on Thu 22 Oct 2026, 1 more than the cap of 5 a day (invented condition 1)."
    )
    paper.enter(
        own, "closures", rule=above.rule, about=above.about, reason="agreed", closed_by="manager"
    )
    assert above_cap(day_statement(own, october(22))) == []


@pytest.mark.parametrize("known", [False, True])
def test_an_hour_above_its_cap_is_an_exception(empty, clock, known):
    tables = paper.second_setup()
    tables["caps"] = paper.rows("per|movements|reference", "hour|3|invented condition 2")
    paper.adopt(empty, tables, "hourly")
    for number in range(2):
        load(empty, number, "2026-10-22 08:00", "2026-10-22 08:30")
    load(empty, 2, "2026-10-22 09:00", "2026-10-22 10:30")
    moment = clock.moment if known else None
    (above,) = above_cap(day_statement(empty, october(22), known_at=moment))
    assert (above.rule, above.about) == ("over_movement_cap", "hour 2026-10-22 08")
    assert above.sentence == (
        "4 movements on Thu 22 Oct 2026, 08:00 to 08:59, 1 more than the cap of 3 an hour"
        " (invented condition 2)."
    )


def test_a_later_cap_does_not_judge_earlier_days(own, clock):
    for number in range(3):
        load(own, number, f"2026-10-22 {8 + number:02d}:00", f"2026-10-22 {8 + number:02d}:30")
    wider = paper.second_setup()
    wider["caps"] = paper.rows("per|movements|reference", "day|50|invented condition 3")
    paper.adopt(own, wider, "wider", october(26))
    (above,) = above_cap(day_statement(own, october(26)))
    assert above.about == "day 2026-10-22"


def test_when_all_is_in_and_nothing_below_the_headline_says_so(own, clock):
    clock.moment = at(21, 12)
    assert day_statement(own, october(21)).headline == (
        "No zone is below its permitted level. Every return due by Wed 21 Oct 2026 is in."
    )


def test_missing_returns_are_counted_in_the_headline(own, clock):
    clock.moment = at(22, 20)  # the two day shifts are over, nothing has come
    assert day_statement(own, october(22)).headline == (
        "No zone is below its permitted level. Returns missing of this day and the day before: 2."
    )


def test_without_a_set_up_there_is_no_statement_but_a_sentence(empty):
    with pytest.raises(NotEnoughData, match="spoil init --setup"):
        day_statement(empty, october(22))


# --- short ways to write entries -----------------------------------------------------------------
def at(day: int, hour: int) -> datetime:
    return datetime(2026, 10, day, hour, tzinfo=UTC)


def hold(book, zone: str, number: str, decided_at: str, status: str = "released") -> str:
    return paper.enter(
        book,
        "holds",
        decided_at=decided_at,
        zone=zone,
        hold=number,
        status=status,
        permit="P",
        decided_by="coordinator",
    )


def dig(book, work_date: str, zone: str, **fields: str) -> str:
    given = {"shift": "day", "stage": "1", "stream": "clay", "basis": "measured", "bank_m3": "50"}
    return paper.enter(book, "returns", work_date=work_date, zone=zone, **given, **fields)


def load(book, number: int, came: str, left: str) -> str:
    return paper.enter(
        book,
        "loads",
        ticket_number=f"X{number}",
        gate_in_at=came,
        gate_out_at=left,
        stream="clay",
        route="R-ROAD",
        net_t="18",
    )
