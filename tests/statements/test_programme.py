"""What the programme of a forecast is filled with: stages, shifts and holds of a small pit."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from tests.statements import paper
from tests.statements.steady_pit import (
    FRIDAY,
    MONDAY,
    begun,
    dig,
    first_week,
    nil,
    november,
    october,
    release,
    set_up,
)
from tracker.errors import NotEnoughData
from tracker.statements.frame import framed
from tracker.statements.programme import programme_of
from tracker.statements.site_shifts import site_shifts


def built(book, on=FRIDAY, **options):
    return programme_of(framed(book, on), **options)


def worked(book, on=FRIDAY, **options):
    return [
        (s.zone, s.stage, s.work_date.day, s.bank_m3)
        for s in built(book, on, **options).programme.shifts
    ]


def test_what_is_left_is_design_less_dug_and_the_hold_comes_from_the_stage_above(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    first, second = built(empty).programme.stages
    assert (first.stage, first.remaining_m3, first.hold_days_planned) == (1, 150, 0)
    assert (first.released, first.hold_runs_since) == (True, None)
    assert (second.stage, second.remaining_m3, second.hold_days_planned) == (2, 400, 2)
    assert (second.released, second.hold_runs_since) == (False, None)


def test_a_hold_runs_from_the_end_of_the_shift_in_which_the_stage_above_was_dug_out(empty):
    begun(empty, set_up("A"))
    first_week(empty, bank_m3=80.0)  # 400 m3 by Friday
    found = built(empty)
    (second,) = found.programme.stages
    assert second.hold_runs_since == datetime(2026, 10, 23, 16, tzinfo=UTC)  # 17:00 in summer
    assert [shift.limited for shift in found.programme.shifts] == [False] * 4 + [True]


def test_a_stage_counts_as_dug_out_by_its_level_and_what_is_not_accounted_for_is_named(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    dig(empty, october(26), 50, 100)
    found = built(empty, october(26))
    assert [s.stage for s in found.programme.stages] == [2]
    assert any("100 m³ of its design volume are not accounted for" in x for x in found.basis)


def test_overdig_below_formation_earns_nothing(empty):
    begun(empty, set_up("A"))
    first_week(empty, bank_m3=80.0)
    release(empty, "A", "2", "2026-10-25 12:00")
    # From 96.2 to 95.8 m: half of it is below formation at 96 m.
    dig(empty, october(26), 40, 95.8, stage="2")
    (line,) = [s for s in built_shifts(empty) if s.work_date == october(26)]
    assert line.bank_m3 == pytest.approx(20)


def built_shifts(book):
    from tracker.statements.shift_record import shift_record
    from tracker.statements.stage_record import site_record

    frame = framed(book, october(26))
    shifts = site_shifts(frame, MONDAY, october(26))
    return shift_record(site_record(frame), shifts, MONDAY, None, lambda _: ({}, {})).shifts


def test_several_returns_of_a_zone_in_a_shift_are_one_shift(empty):
    begun(empty, set_up("A"))
    dig(empty, MONDAY, 30, 103.7)
    dig(empty, MONDAY, 20, 103.5, stream="made")
    assert worked(empty) == [("A", 1, 19, 50)]


def test_a_shift_lost_to_a_coded_cause_counts_and_one_spent_waiting_does_not(empty):
    begun(empty, set_up("A", "B"), "A")
    first_week(empty)
    nil(empty, october(19), "waiting for props", zone="B")
    nil(empty, october(26), "rain", delays="rain:600")
    nil(empty, october(26), "rain", zone="B", delays="rain:600")
    found = built(empty, october(26))
    assert [(s.zone, s.bank_m3) for s in found.programme.shifts] == [("A", 50)] * 5 + [("A", 0)]
    assert found.programme.shifts[-1].one_off == "rain"
    assert found.shifts.standing == 2


def test_less_than_half_a_shift_is_no_one_off(empty):
    begun(empty, set_up("A"))
    dig(empty, MONDAY, 50, 103.5, delays="rain:299")
    dig(empty, october(20), 50, 103, delays="rain:300")
    assert [s.one_off for s in built(empty).programme.shifts] == ["", "rain"]


def test_a_shift_in_which_nobody_dug_counts_though_no_cause_is_coded(empty):
    begun(empty, set_up("A", "B"), "A", "B")
    first_week(empty)
    for day in range(19, 24):
        nil(empty, october(day), "crew in A", zone="B")
    nil(empty, october(26))
    nil(empty, october(26), zone="B")
    # One crew: B stood by while A was dug; on Monday 26 October A, planned first, lost the shift.
    found = built(empty, october(26)).programme
    assert [(s.zone, s.bank_m3) for s in found.shifts] == [("A", 50)] * 5 + [("A", 0)]
    assert found.zones_at_once == 1


def test_the_set_up_says_how_many_zones_are_dug_at_once_where_it_does(empty):
    begun(empty, set_up("A", "B", zones_at_once="2"), "A", "B")
    first_week(empty)
    found = built(empty)
    assert found.programme.zones_at_once == 2
    said = "Zones dug at once: 2; by the set-up, while the last 4 weeks show 1"
    assert any(line.startswith(said) for line in found.basis)


def test_a_shift_lies_ahead_until_it_is_over_or_a_return_of_it_is_recorded(empty, clock):
    begun(empty, set_up("A"))
    first_week(empty)
    clock.moment = datetime(2026, 10, 26, 12, tzinfo=UTC)  # noon of a shift that runs to 17:00
    assert built(empty, october(26)).programme.slots[0].work_date == october(26)
    dig(empty, october(26), 10, 101.4)
    assert built(empty, october(26)).programme.slots[0].work_date == october(27)


def test_only_shifts_of_the_weekday_lie_ahead_and_closures_are_among_them(empty):
    tables = set_up("A")
    tables["closures"] = paper.rows("day|reason", "2026-10-28|invented holiday")
    begun(empty, tables)
    first_week(empty)
    slots = built(empty, until=november(2)).programme.slots
    assert [(s.work_date.day, s.closed) for s in slots] == [
        (26, False), (27, False), (28, True), (29, False), (30, False), (2, False),
    ]  # fmt: skip


def test_a_later_set_up_holds_from_its_day_on(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    later = set_up("A")
    later["shifts"][0]["weekdays"] = "Mon"
    paper.adopt(empty, later, "second", october(27))
    slots = built(empty, until=november(9)).programme.slots
    assert [slot.work_date for slot in slots] == [october(26), november(2), november(9)]


def test_holds_that_were_taken_run_from_dug_out_to_released_suspensions_included(empty):
    begun(empty, set_up("A"))
    first_week(empty, bank_m3=80.0)
    release(empty, "A", "2", "2026-10-26 16:00")  # three days later, in winter time
    (hold,) = built(empty, october(26)).programme.holds
    assert (hold.planned_days, hold.actual_days) == (2, 3)
    release(empty, "A", "2", "2026-10-27 08:00", status="suspended")
    assert built(empty, october(27)).programme.holds == ()  # it holds still
    release(empty, "A", "2", "2026-10-28 08:00")
    (hold,) = built(empty, october(28)).programme.holds
    assert (hold.planned_days, hold.actual_days) == (2, 4)


def test_a_release_while_the_stage_above_is_not_dug_out_is_taken_as_not_given(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    release(empty, "A", "2", "2026-10-23 12:00")
    found = built(empty)
    second = found.programme.stages[1]
    assert (second.released, second.hold_days_planned, second.hold_runs_since) == (False, 2, None)
    assert (
        "Zone A stage 2 is released while the stage above is not dug out: taken as not given, since"
        " its upper props cannot be in; it waits 2 days as planned."
    ) in found.basis


def test_a_release_counts_once_the_stage_above_is_dug_out(empty):
    begun(empty, set_up("A"))
    first_week(empty, bank_m3=80.0)
    release(empty, "A", "2", "2026-10-24 12:00")
    (second,) = built(empty, october(26)).programme.stages
    assert second.released


def test_a_suspended_hold_runs_from_the_suspension_and_is_named(empty):
    begun(empty, set_up("A"))
    first_week(empty, bank_m3=80.0)
    release(empty, "A", "2", "2026-10-24 12:00")
    release(empty, "A", "2", "2026-10-27 08:00", status="suspended")
    found = built(empty, october(27))
    (second,) = found.programme.stages
    assert (second.released, second.hold_days_planned) == (False, 2)
    assert second.hold_runs_since == datetime(2026, 10, 27, 8, tzinfo=UTC)
    assert any("Zone A stage 2 is suspended" in line for line in found.basis)


def test_a_zone_that_nobody_has_begun_waits_for_its_opening_and_its_plan(empty):
    tables = set_up("A", "B")
    for row in tables["zones"]:
        row["opens"] = "2026-10-19" if row["zone"] == "A" else "2026-11-02"
    begun(empty, tables, "A")
    first_week(empty)
    found = built(empty)
    assert found.not_before == {"B": november(2)}  # its plan, 22 October, is past
    shut = [s.work_date for s in found.programme.slots if s.zone_limits.get("B")]
    assert shut == [october(day) for day in range(26, 31)]
    assert found.programme.zones == ("A", "B")


def test_a_zone_whose_stage_is_begun_goes_on_before_one_that_is_planned_sooner(empty):
    begun(empty, set_up("A", "B"), "A", "B")
    first_week(empty, zone="B")  # planned for the 22nd, A for the 19th
    assert built(empty).programme.zones == ("B", "A")


def test_zones_come_in_the_order_of_their_next_stage_in_the_plan(empty):
    tables = set_up("A", "B")
    begun(empty, tables, "A", "B")
    first_week(empty)
    # A stage 1 since 19 October, B stage 1 since the 22nd; once A is at stage 2, planned for
    # 30 October, B comes first.
    assert built(empty).programme.zones == ("A", "B")
    dig(empty, october(26), 150, 100)
    assert built(empty, october(26)).programme.zones == ("B", "A")


def test_no_ground_left_is_no_programme(empty):
    tables = set_up("A")
    tables["stages"] = [row | {"design_level_m": "101.5"} for row in tables["stages"][:1]]
    begun(empty, tables)
    first_week(empty)
    with pytest.raises(NotEnoughData, match="No ground is left"):
        built(empty)


def test_the_calendar_goes_a_year_beyond_the_target(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    assert built(empty).programme.slots[-1].work_date == date(2027, 12, 1)


def test_a_stop_of_a_zone_is_a_limit_of_nothing(empty):
    tables = set_up("A")
    tables["stops"] = paper.rows(
        "kind|about|first_day|last_day|reason", "zone|A|2026-10-27|2026-10-27|invented possession"
    )
    begun(empty, tables)
    first_week(empty)
    slots = built(empty).programme.slots
    assert [s.work_date for s in slots if s.zone_limits.get("A", {}).get("stop") == 0.0] == [
        october(27)
    ]


def test_a_shift_at_a_limit_might_have_given_more(empty):
    tables = set_up("A")
    # Ten hours at 5 lifts of 1 m3 loose are 50 m3, 40 m3 in the ground at 1.25 loose for bank.
    tables["hoists"] = paper.rows(
        "hoist|zones|skip_m3|fill|lifts_per_h|source", "crane|A|1|1|5|invented"
    )
    begun(empty, tables)
    dig(empty, MONDAY, 37, 103.63)
    dig(empty, october(20), 38, 103.25)
    found = built(empty).programme
    assert [s.limited for s in found.shifts] == [False, True]
    assert found.slots[0].zone_limits["A"]["hoist"] == pytest.approx(40)
