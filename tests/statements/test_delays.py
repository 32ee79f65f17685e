"""Coded delays of a few shifts worked by hand, and what governed each shift of a zone."""

from __future__ import annotations

import copy
from datetime import date, timedelta

import pytest

from tests.statements import paper
from tracker.recording.demo import DEMO_DAY
from tracker.recording.entry import withdraw
from tracker.statements import delays_statement

DAY = date(2026, 10, 28)
TABLES = copy.deepcopy(paper.FIRST) | {
    "causes": paper.rows(
        "cause|name|owner",
        "rain|heavy rain|nobody",
        "plant|excavator down|plant manager",
        "permit|permit awaited|coordinator",
    )
}


@pytest.fixture
def pit(empty):
    """A ledger of one's own with the set-up and stage 1 of zones A and B released on 21 October."""
    paper.adopt(empty, TABLES, "first")
    for zone in "AB":
        hold(empty, "2026-10-21 15:00", zone, 1)
    return empty


def hold(book, at, zone, stage, status="released"):
    paper.enter(book, "holds", decided_at=at, zone=zone, hold=str(stage), status=status,
                permit="P", decided_by="coordinator")  # fmt: skip


def dig(book, day, shift, zone, bank_m3, delays="", **fields):
    given = {"stage": "1", "stream": "clay", "basis": "measured", "bank_m3": str(bank_m3)} | fields
    return paper.enter(book, "returns", work_date=f"2026-10-{day}", shift=shift, zone=zone,
                       delays=delays, **given)  # fmt: skip


def nil(book, day, shift, zone, delays="", reason="nothing", stage="1"):
    return paper.enter(book, "returns", work_date=f"2026-10-{day}", shift=shift, zone=zone,
                       stage=stage, nil_reason=reason, delays=delays)  # fmt: skip


def five_shifts(book):
    """A at 10 m3 an hour: 480 m3 in 48 worked hours of five shifts, and one nil shift.

    Plant 120 + 480 min are 20 + 80 m3; rain of 180 min is 30 m3, in a night that was nine hours
    long, since the clocks went back.
    """
    dig(book, 22, "day", "A", 100, "plant:120", to_level_m="103.5")  # 10 h
    dig(book, 22, "night", "A", 80, to_level_m="102.9")  # 8 h
    dig(book, 23, "day", "A", 120, to_level_m="102")  # 12 h
    nil(book, 23, "night", "A", "plant:480", reason="excavator down")
    dig(book, 24, "day", "A", 120, to_level_m="101")  # 12 h
    dig(book, 24, "night", "A", 60, "rain:180", to_level_m="100.4")  # 9 h - 3 h


def shares(statement, zone=""):
    return {g.cause: g.shifts for g in statement.governed if g.zone == zone}


def test_delays_are_worked_as_on_paper(pit):
    five_shifts(pit)
    stated = delays_statement(pit, DAY)
    assert (stated.since, stated.until) == (date(2026, 10, 22), DAY)
    found = [(x.cause, x.shifts, x.minutes, x.governing) for x in stated.lines]
    assert found == [("plant", 2, 600, True), ("rain", 1, 180, False)]
    assert [x.lost_bank_m3 for x in stated.lines] == pytest.approx([100, 30])
    assert [x.share for x in stated.lines] == pytest.approx([100 / 130, 30 / 130])
    assert [x.cumulative_share for x in stated.lines] == pytest.approx([100 / 130, 1])
    assert [(o.owner, o.minutes) for o in stated.owners] == [("plant manager", 600), ("", 180)]
    assert [row.shift_minutes for row in stated.rows] == [720, 480, 540]
    assert {row.rate_of for row in stated.rows} == {"zone and stage"}
    assert stated.headline == (
        "Since 22 Oct, coded delays took 130 m³ of digging in 13 h; excavator down leads with"
        " 77 %; whose matter: plant manager."
    )


def test_the_rows_of_a_bar_add_up_to_it_and_lead_to_their_returns(pit):
    five_shifts(pit)
    stated = delays_statement(pit, DAY)
    for line in stated.lines:
        mine = [row for row in stated.rows if row.cause == line.cause]
        assert sum(row.minutes for row in mine) == line.minutes
        assert sum(row.lost_bank_m3 for row in mine) == pytest.approx(line.lost_bank_m3)
        for row in mine:
            entry = pit.stored(row.entry_id).entry
            assert (entry.work_date, entry.zone) == (row.work_date, row.zone)


def test_where_the_first_has_no_owner_the_headline_names_the_first_that_has_one(pit):
    five_shifts(pit)
    nil(pit, 26, "day", "A", "rain:720")
    headline = delays_statement(pit, DAY).headline
    assert "heavy rain leads with 60 %, a cause that has no owner." in headline
    assert "excavator down took most, 40 % of all; whose matter: plant manager." in headline
    alone = delays_statement(pit, DAY, since=date(2026, 10, 26))
    assert "so there is no rate" in alone.headline
    assert "Delays without any rate, so without lost ground: 1." in alone.basis.quality


def test_two_returns_of_a_zone_and_shift_count_a_delay_once(pit):
    dig(pit, 22, "day", "B", 60, "plant:60")
    longer = dig(pit, 22, "day", "B", 45, "plant:90; permit:30", stream="made")
    stated = delays_statement(pit, DAY)
    assert [(x.cause, x.minutes) for x in stated.lines] == [("plant", 90), ("permit", 30)]
    (row, _) = stated.rows
    # 105 m3 in the 10 h that are left of 12: 10.5 m3 an hour, of all zones, since one shift is few.
    assert (row.entry_id, row.rate_of) == (longer, "all zones")
    assert row.lost_bank_m3 == pytest.approx(1.5 * 10.5)
    assert any("several returns code the same cause: 1." in x
               for x in stated.basis.quality)  # fmt: skip


def test_minutes_recorded_before_a_set_up_shortened_the_shift_are_cut_to_it(pit):
    five_shifts(pit)
    nil(pit, 26, "day", "A", "plant:600; rain:120")
    shorter = copy.deepcopy(TABLES)
    shorter["shifts"][0]["ends"] = "13:00"
    paper.adopt(pit, shorter, "second", date(2026, 10, 26))
    stated = delays_statement(pit, DAY)
    cut = {row.cause: row.minutes for row in stated.rows if row.work_date.day == 26}
    assert cut == {"plant": 300, "rain": 60}
    assert any("together code more than the shift: 1." in x for x in stated.basis.quality)


def test_the_rate_is_that_of_the_period_and_earlier_delays_are_left_out(pit):
    five_shifts(pit)
    stated = delays_statement(pit, DAY, since=date(2026, 10, 24))
    assert [(x.cause, x.minutes) for x in stated.lines] == [("rain", 180)]
    # 180 m3 in 18 h by two shifts of one zone.
    assert stated.lines[0].lost_bank_m3 == pytest.approx(30)
    assert stated.rows[0].rate_of == "all zones"
    assert stated.headline.startswith("Since 24 Oct, coded delays took 30 m³")


def test_a_return_withdrawn_later_counts_as_it_was_known(pit, clock):
    five_shifts(pit)
    before = clock.moment
    clock.moment += timedelta(hours=1)
    wrong = next(r for r in delays_statement(pit, DAY).rows if r.minutes == 480)
    withdraw(pit, wrong.entry_id, reason="another zone", by="engineer")
    assert [x.minutes for x in delays_statement(pit, DAY).lines] == [180, 120]
    known = delays_statement(pit, DAY, known_at=before)
    assert [x.minutes for x in known.lines] == [600, 180]


def test_a_cause_that_the_set_up_no_longer_has_keeps_its_name(pit):
    five_shifts(pit)
    fewer = copy.deepcopy(TABLES)
    fewer["causes"] = fewer["causes"][:1]
    paper.adopt(pit, fewer, "second", date(2026, 10, 26))
    assert delays_statement(pit, DAY).lines[0].name == "excavator down"


# --- what cost no ground, and what is no delay to be removed ------
def test_a_nil_shift_is_rated_by_the_stage_that_waits_in_it(pit):
    slots = [(22, "day"), (22, "night"), (23, "day"), (23, "night"), (24, "day")]
    for day, shift in slots:  # 10 m3 an hour in stage 1
        level = "100" if day == 24 else "103"
        dig(pit, day, shift, "A", 120 if shift == "day" else 80, to_level_m=level)
    nil(pit, 24, "night", "A", "permit:540")  # stage 1 is dug out: stage 2 waits
    hold(pit, "2026-10-26 06:00", "A", 2)
    for day, shift in [(day + 4, shift) for day, shift in slots]:  # 5 m3 an hour in stage 2
        dig(pit, day, shift, "A", 60 if shift == "day" else 40, stage="2", to_level_m="99")
    (row,) = delays_statement(pit, DAY).rows
    assert (row.stage, row.rate_stage, row.rate_of) == (1, 2, "zone and stage")
    assert row.lost_bank_m3 == pytest.approx(9 * 5)


def test_a_delay_while_all_crews_dig_elsewhere_costs_no_ground(pit):
    five_shifts(pit)
    dig(pit, 26, "day", "A", 20)
    nil(pit, 26, "day", "B", "permit:720")  # one crew by the record: it was at work in A
    stated = delays_statement(pit, DAY)
    permit = next(x for x in stated.lines if x.cause == "permit")
    assert (permit.minutes, permit.lost_bank_m3, permit.shifts) == (0, 0.0, 0)
    assert (permit.busy_minutes, permit.busy_bank_m3 > 0.0) == (720, True)
    assert stated.headline.endswith(
        "A further 12 h that nil returns code cost no ground: all crews were at work in other"
        " zones."
    )


def test_with_a_crew_left_over_the_same_delay_costs_ground(empty):
    tables = copy.deepcopy(TABLES)
    tables["site"][0]["zones_at_once"] = "2"
    paper.adopt(empty, tables, "first")
    for zone in "AB":
        hold(empty, "2026-10-21 15:00", zone, 1)
    five_shifts(empty)
    dig(empty, 26, "day", "A", 20)
    nil(empty, 26, "day", "B", "permit:720")
    permit = next(x for x in delays_statement(empty, DAY).lines if x.cause == "permit")
    assert (permit.minutes, permit.busy_minutes) == (720, 0)
    assert permit.lost_bank_m3 > 0.0


def test_what_is_coded_while_a_stage_is_suspended_stands_apart_and_never_leads(pit):
    five_shifts(pit)
    hold(pit, "2026-10-26 06:00", "A", 1, "suspended")
    for day in (26, 27):
        nil(pit, day, "day", "A", "permit:720")
    stated = delays_statement(pit, DAY)
    assert [(x.cause, x.governing) for x in stated.lines] == [
        ("plant", True), ("rain", False), ("suspended", False),
    ]  # fmt: skip
    apart = stated.lines[-1]
    assert (apart.name, apart.owner) == ("suspended for safety", "no owner")
    assert apart.lost_bank_m3 > stated.lines[0].lost_bank_m3
    assert "excavator down leads with" in stated.headline
    assert "a suspension is no delay to be removed" in stated.headline
    assert ("no owner", 1440) in [(o.owner, o.minutes) for o in stated.owners]


# --- what governed -------------------------------------------------------------------------------
def test_each_shift_of_a_zone_is_governed_by_one_thing(pit):
    five_shifts(pit)
    assert shares(delays_statement(pit, DAY), "A") == {"dig": 5, "plant": 1}
    dig(pit, 26, "day", "A", 30, "permit:360", to_level_m="100")  # half of its shift, dug out
    nil(pit, 26, "night", "A", "permit:480")  # coded, yet stage 2 is not released
    nil(pit, 27, "day", "A")
    hold(pit, "2026-10-27 12:00", "A", 2)
    nil(pit, 27, "night", "A", stage="2")  # released, nobody digs anywhere
    nil(pit, 28, "day", "A", stage="2")  # released, and B is dug
    dig(pit, 28, "day", "B", 50)
    stated = delays_statement(pit, DAY)
    assert shares(stated, "A") == {
        "dig": 5, "plant": 1, "permit": 1, "hold": 2, "uncoded": 1, "turn": 1,
    }  # fmt: skip
    assert shares(stated)["dig"] == 6
    assert sum(g.share for g in stated.governed if g.zone == "A") == pytest.approx(1)
    (said,) = [x for x in stated.basis.quality if "no coded cause" in x]
    assert "no coded cause: 2." in said
    assert "Most often: nothing (2)." in said


def test_a_suspended_stage_is_a_hold_from_the_next_shift_on(pit):
    dig(pit, 22, "day", "A", 50, to_level_m="103")
    hold(pit, "2026-10-22 15:00", "A", 1, "suspended")
    nil(pit, 22, "night", "A")
    assert shares(delays_statement(pit, DAY), "A") == {"dig": 1, "hold": 1}


def test_a_nil_shift_that_was_stopped_for_half_of_it_is_governed_by_the_stop(empty):
    tables = copy.deepcopy(TABLES) | {
        "stops": paper.rows(
            "kind|about|first_day|last_day|weekdays|starts|ends|reason|reference",
            "site||2026-10-22|2026-10-22||13:00|19:00|maintenance|M-1",
            "zone|B|2026-10-23|2026-10-23|||| pour beside it|M-2",
        )
    }
    paper.adopt(empty, tables, "first")
    hold(empty, "2026-10-21 15:00", "A", 1)
    for zone in "AB":  # nothing of B is released
        nil(empty, 22, "day", zone)
        nil(empty, 23, "day", zone)
    nil(empty, 22, "night", "A")
    stated = delays_statement(empty, DAY)
    assert shares(stated, "A") == {"stop": 1, "uncoded": 2}
    assert shares(stated, "B") == {"stop": 2}


def test_a_nil_shift_with_a_short_code_is_governed_by_the_longest_coded(pit):
    nil(pit, 22, "day", "A", "rain:60; plant:90")
    assert shares(delays_statement(pit, DAY), "A") == {"plant": 1}


def test_a_zone_dug_to_formation_is_left_out_of_what_governed(pit):
    hold(pit, "2026-10-22 12:00", "A", 2)
    dig(pit, 22, "day", "A", 400, to_level_m="100")
    dig(pit, 23, "day", "A", 400, stage="2", to_level_m="96")
    nil(pit, 24, "day", "A", stage="2", reason="blinding")
    stated = delays_statement(pit, DAY)
    assert shares(stated, "A") == {"dig": 2}
    assert any(x.endswith("left out of what governed: 1.") for x in stated.basis.quality)


def test_a_stage_is_dug_out_without_levels_once_its_design_volume_is_returned(pit):
    dig(pit, 22, "day", "A", 390)
    nil(pit, 22, "night", "A")
    assert shares(delays_statement(pit, DAY), "A") == {"dig": 1, "uncoded": 1}
    dig(pit, 23, "day", "A", 10)
    nil(pit, 23, "night", "A")
    assert shares(delays_statement(pit, DAY), "A") == {"dig": 2, "uncoded": 1, "hold": 1}


# --- little or much ------------------------------------------------------------------------------
def test_without_delays_the_headline_says_so(pit):
    dig(pit, 22, "day", "A", 50)
    stated = delays_statement(pit, DAY)
    assert stated.headline == "Since 22 Oct no return codes a delay, to 28 Oct 2026."
    assert stated.lines == stated.owners == stated.rows == ()


def test_the_demonstration_adds_up_to_its_own_returns(demo):
    stated = delays_statement(demo, DEMO_DAY)
    returns = demo.current("dig_returns", until=DEMO_DAY)
    coded_min = sum(d.minutes for r in returns for d in r.delays)
    counted_min = sum(x.minutes + x.busy_minutes for x in stated.lines)
    assert counted_min == coded_min  # no shift of it codes a cause twice
    lost_m3 = sum(x.lost_bank_m3 for x in stated.lines)
    assert sum(o.lost_bank_m3 for o in stated.owners) == pytest.approx(lost_m3)
    assert stated.lines[-1].cumulative_share == pytest.approx(1)
    assert max(row.minutes for row in stated.rows) <= 720
    shifts = {(r.work_date, r.shift, r.zone) for r in returns}
    finished = next(x for x in stated.basis.quality if "dug to formation" in x)
    left_out = int(finished.split(": ")[1].rstrip("."))
    assert sum(g.shifts for g in stated.governed if not g.zone) == len(shifts) - left_out
