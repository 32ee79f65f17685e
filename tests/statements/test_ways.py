"""The ways out for the ground ahead, by hand from the season of paper.py and the week of pit.py."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from tests.statements import paper, pit
from tracker.statements.frame import framed
from tracker.statements.recent import recent
from tracker.statements.ways import ground_left, record_start, ways_of


@pytest.fixture
def ways(book):
    return ways_of(framed(book, paper.LAST_DAY))


@pytest.fixture
def week(empty, clock):
    clock.moment = pit.ENTERED
    pit.enter(empty)
    return empty


def test_the_ground_left_lies_below_the_general_level_of_each_zone(book):
    # A is below formation; B stands at 99.75 m with 96 m to reach, C at 102.2 m with 101 m
    left = ground_left(framed(book, paper.LAST_DAY))
    assert left == {"B": {"clay": pytest.approx(375.0)}, "C": {"clay": pytest.approx(30.0)}}


def test_shares_are_those_of_the_days_on_which_the_belt_ran(ways):
    # Belt 270 t. On its days T5 took 19 t to the tip, T9 and T10 took 18 t and 20.4 t to the quarry
    # by road; T6, T7 and T8 left on days without the belt.
    assert {(s.stream, s.route): s.share for s in ways.shares} == {
        ("clay", "R-BELT"): pytest.approx(270.0 / 327.4),
        ("clay", "R-TIP"): pytest.approx(19.0 / 327.4),
        ("clay", "R-ROAD"): pytest.approx(38.4 / 327.4),
    }
    assert ways.sentences == (
        "Clay: 891 t are left; 82 % by R-BELT, 12 % by R-ROAD, 6 % by R-TIP (327 t in 28 days to"
        " Mon 2 Nov 2026; days on which its belt carried nothing are left out).",
        "Clay: while belt-1 is stopped it goes by R-ROAD to quarry, the same destination, if its"
        " papers and authorisations cover that.",
    )


def test_the_factors_are_those_of_the_ground_left_by_the_set_up_in_force(ways):
    assert (ways.bank_density_t_per_m3, ways.loose_per_bank) == (
        pytest.approx(2.2), pytest.approx(1.5),
    )  # fmt: skip
    assert ways.zone_loose_per_bank == {"B": pytest.approx(1.5), "C": pytest.approx(1.5)}


def test_the_fall_back_goes_to_the_destination_of_the_belt_where_it_went_there_before(ways):
    assert ways.fall_back == {"clay": "R-ROAD"}


def test_a_stream_that_never_went_by_lorry_falls_back_on_the_set_up(week):
    early = framed(week, date(2026, 11, 5))
    assert ways_of(early).fall_back == {"clay": "R-ROAD"}


def test_few_loads_and_rounds_leave_the_plan_in_place(week):
    found = ways_of(framed(week, pit.AS_OF))
    assert (found.payloads_t, found.away_min) == ({}, {})


def test_a_zone_that_was_not_dug_takes_the_rate_of_those_beside_it(week):
    found = ways_of(framed(week, pit.AS_OF))
    rate = (100 + 10 + 290 + 38) / 48
    assert found.dig_m3_per_h == {"A": pytest.approx(rate), "B": pytest.approx(rate)}
    assert found.shift_h == 12.0


def test_other_traffic_is_a_mean_over_the_open_weekdays_of_the_record(week):
    day = {"purpose": "concrete", "direction": "both"}
    paper.enter(week, "traffic", passed_at="2026-11-02 09:10", vehicles="6", **day)
    paper.enter(week, "traffic", passed_at="2026-11-09 09:40", vehicles="2", **day)
    found = ways_of(framed(week, pit.AS_OF)).other
    # the site began on 19 October: four Mondays to 9 November
    assert found == {(0, 9): (2.0, 2.0)}


def test_bookings_ahead_stand_by_local_hour_and_those_behind_are_left_out(week):
    for name, day in (("pour", "2026-11-10"), ("old", "2026-11-05")):
        paper.enter(week, "bookings", booking=name, gate_date=day, from_hour="8", to_hour="10",
                    purpose="concrete", movements_in="4", movements_out="3",
                    booked_by="foreman")  # fmt: skip
    booked = ways_of(framed(week, pit.AS_OF, None)).booked
    assert booked == {date(2026, 11, 10): {8: (2, 1), 9: (2, 2)}}


def test_nothing_on_record_leaves_the_ways_unknown_and_says_so(own):
    found = ways_of(framed(own, paper.LAST_DAY))
    assert found.shares == ()
    assert any("no record says by which route they go" in line for line in found.sentences)


def test_at_formation_there_is_no_way_left_to_ask_for(week, clock):
    clock.moment = datetime.fromisoformat("2026-11-20T20:00:00+00:00")
    for zone, stage, level in (("A", 2, "96"), ("B", 2, "96"), ("C", 1, "101")):
        paper.enter(
            week, "returns", work_date="2026-11-20", shift="day", zone=zone, stage=str(stage),
            stream="clay", basis="measured", bank_m3="1", to_level_m=level, from_level_m="99.6"
            if zone == "B" else "104",
        )  # fmt: skip
    found = ways_of(framed(week, date(2026, 11, 20)))
    assert (found.shares, found.zone_loose_per_bank, found.bank_density_t_per_m3) == ((), {}, None)


# --- the record ----------------------------------------------------------------------------------
def test_rounds_run_from_one_departure_to_the_next_of_the_same_lorry(week):
    record = recent(framed(week, pit.AS_OF), pit.MONDAY)
    assert [(x.route, x.round_min, x.away_min) for x in record.rounds] == [
        ("R-ROAD", 130.0, 100.0), ("R-ROAD", 140.0, 110.0),
    ]  # fmt: skip


def test_a_gap_of_more_than_four_hours_is_no_round(week):
    for number, gate_in, gate_out in (("5", "14:00", "14:11"), ("6", "18:00", "18:10")):
        paper.enter(
            week, "loads", ticket_number=number, gate_in_at=f"2026-11-07 {gate_in}",
            gate_out_at=f"2026-11-07 {gate_out}", registration="INV 1", gross_t="31", tare_t="12",
            stream="clay", route="R-ROAD", weight_basis="weighed",
        )  # fmt: skip
    record = recent(framed(week, pit.AS_OF), pit.MONDAY)
    rounds = sorted(x.round_min for x in record.rounds)
    assert rounds == [130.0, 140.0, 239.0]  # 10:10 to 14:11 is 241 min


def test_runs_of_the_belt_carry_their_meter_and_minutes(week):
    record = recent(framed(week, pit.AS_OF), pit.MONDAY)
    assert [(run.mass_t, run.energy_kwh, run.running_h) for run in record.runs] == [
        (200.0, 90.0, 2.5), (20.0, 8.0, 0.25), (580.0, 261.0, 7.0),
    ]  # fmt: skip


def test_the_record_begins_four_weeks_back(book):
    frame = framed(book, paper.LAST_DAY)
    assert frame.as_of - record_start(frame) == timedelta(days=27)
