"""Hold points and formation worked by hand: days held, suspensions, ground that lies open."""

from __future__ import annotations

import copy
from datetime import UTC, date, datetime

import pytest

from tests.statements import paper
from tests.statements.test_delays import dig, hold, nil
from tracker.domain.levels import RELEASED
from tracker.recording.demo import DEMO_DAY
from tracker.statements import exceptions_statement, holds_statement

DAY = date(2026, 10, 28)
TABLES = copy.deepcopy(paper.FIRST)
for row, condition in zip(
    TABLES["stages"], ("props preloaded", "blinded", "", "", ""), strict=True
):
    row["hold_condition"] = condition
for row in TABLES["zones"]:
    row["exposure_limit_h"] = "48" if row["zone"] == "A" else ""


@pytest.fixture
def pit(empty):
    """A ledger of one's own; stage 1 of zones A and B released on 21 October."""
    paper.adopt(empty, TABLES, "first")
    for zone in "AB":
        hold(empty, "2026-10-21 15:00", zone, 1)
    return empty


def dug_out(book, zone="A"):
    """Stage 1 is dug out in the day shift of Saturday 24 October, which ends at 18:00 UTC."""
    dig(book, 23, "day", zone, 200, to_level_m="102")
    dig(book, 24, "day", zone, 200, to_level_m="100")


def to_formation(book):
    """Zone A is at formation, 100 m2, by the day shift of 26 October, from 07:00 UTC on."""
    dug_out(book)
    hold(book, "2026-10-24 20:00", "A", 2)
    dig(book, 26, "day", "A", 400, stage="2", from_level_m="100", to_level_m="96")


def step(book, at, what, area_m2, zone="A", reference=""):
    return paper.enter(book, "formation", done_at=at, zone=zone, step=what, area_m2=str(area_m2),
                       checked_by="engineer", reference=reference)  # fmt: skip


def line(book, hold="2", zone="A", day=DAY, **asked):
    (found,) = [
        x for x in holds_statement(book, day, **asked).holds if (x.zone, x.hold) == (zone, hold)
    ]
    return found


def timer(book, zone="A", day=DAY):
    (found,) = [x for x in holds_statement(book, day).formation if x.zone == zone]
    return found


def raised(book, rule, day=DAY):
    return [x for x in exceptions_statement(book, day).lines if x.rule == rule]


# --- holds ---------------------------------------------------------------------------------------
def test_every_hold_of_every_zone_is_listed_from_the_top_down_with_what_must_be_in_place(pit):
    found = holds_statement(pit, DAY).holds
    assert [(x.zone, x.hold) for x in found] == [
        ("A", "1"), ("A", "2"), ("A", "formation"),
        ("B", "1"), ("B", "2"), ("B", "formation"),
        ("C", "1"), ("C", "formation"),
    ]  # fmt: skip
    assert [(x.above, x.condition, x.planned_days) for x in found[:3]] == [
        ("", "", 0), ("upper props", "props preloaded", 2), ("base slab", "blinded", 2),
    ]  # fmt: skip
    assert [x.status for x in found[:2]] == ["released", "not released"]
    assert (found[0].permit, found[0].decided_by) == ("P", "coordinator")
    assert found[0].decided_on == date(2026, 10, 21)
    assert found[6].sentence == "Zone C, hold before stage 1: waits for the permit to dig."
    assert "stage 1 is not dug out yet; then 2 days planned" in found[1].sentence


def test_days_count_from_dug_out_to_released_in_hours_that_passed_not_on_the_clock(pit):
    dug_out(pit)
    hold(pit, "2026-10-26 18:00", "A", 2)  # two days later; clocks went back in between
    found = line(pit)
    assert (found.days, found.late_days, found.running) == (2.0, 0.0, False)
    assert (found.dug_out_on, found.planned_days) == (date(2026, 10, 24), 2)
    assert "released on Mon 26 Oct 2026 18:00 after 2.0 days, 2 days planned" in found.sentence


def test_a_hold_that_runs_says_how_long_and_how_late(pit):
    dug_out(pit)
    found = line(pit)  # to the end of 28 October: four days and six hours
    assert (found.days, found.late_days, found.running) == (4.25, 2.25, True)
    assert found.sentence == (
        "Zone A, hold before stage 2: runs since Sat 24 Oct 2026, 4.2 days of 2 planned, 2.2 days"
        " longer than planned; upper props. To be in place: props preloaded."
    )
    assert holds_statement(pit, DAY).headline == (
        "1 hold runs, 1 of them longer than planned; most in zone A, 2.2 days over the 2 for upper"
        " props."
    )


def test_a_hold_under_a_day_is_told_in_hours(pit):
    dug_out(pit)
    hold(pit, "2026-10-25 06:00", "A", 2)
    assert "released on Sun 25 Oct 2026 06:00 after 12 h, 2 days planned" in line(pit).sentence


def test_a_decision_at_night_is_dated_by_the_calendar_not_by_its_shift(pit):
    dug_out(pit)
    hold(pit, "2026-10-27 05:00", "A", 2)  # in the night shift of Monday
    found = line(pit)
    assert (found.decided_on, found.decided_at) == (date(2026, 10, 27), "2026-10-27 05:00")
    assert "released on Tue 27 Oct 2026 05:00" in found.sentence


def test_the_headline_names_every_breach(pit):
    for zone in "AB":
        dig(pit, 24, "day", zone, 600, to_level_m="98", lowest_level_m="98")
    headline = holds_statement(pit, DAY).headline
    assert headline.count("lowest level 98.000 m is 2.000 m below") == 2
    assert "Zone A: lowest" in headline
    assert "Zone B: lowest" in headline


def test_a_release_before_the_stage_above_is_dug_out_leaves_no_hold(pit):
    hold(pit, "2026-10-23 12:00", "A", 2)
    dug_out(pit)
    assert (line(pit).days, line(pit).running) == (0.0, False)


def test_a_suspension_holds_again_and_is_named(pit):
    dug_out(pit)
    hold(pit, "2026-10-26 18:00", "A", 2)
    hold(pit, "2026-10-27 06:00", "A", 2, "suspended")
    found = line(pit)
    assert (found.status, found.running, found.days) == ("suspended", True, 3.75)
    assert "suspended on Tue 27 Oct 2026 06:00: no digging below it." in found.sentence
    hold(pit, "2026-10-27 18:00", "A", 2)
    found = line(pit)
    assert (found.status, found.running, found.days) == ("released", False, 2.5)
    assert "It was suspended on Tue 27 Oct 2026 06:00 for 12 h." in found.sentence


def test_the_condition_of_a_release_is_shown_while_it_holds(pit):
    dug_out(pit)
    paper.enter(pit, "holds", decided_at="2026-10-26 18:00", zone="A", hold="2", status="released",
                permit="P-9", decided_by="coordinator", condition="steps of 0.5 m")  # fmt: skip
    assert line(pit).given_condition == "steps of 0.5 m"
    assert "Released on condition: steps of 0.5 m." in line(pit).sentence
    hold(pit, "2026-10-27 06:00", "A", 2, "suspended")
    assert line(pit).given_condition == ""


def test_the_hold_of_formation_runs_until_all_of_it_is_accepted(pit):
    to_formation(pit)
    accept(pit, "2026-10-27 12:00", 60)
    found = line(pit, "formation")
    assert (found.status, found.running) == ("partly accepted", True)
    assert found.standing == "60 of 100 m² accepted"
    assert "60 of 100 m² accepted" in found.sentence
    accept(pit, "2026-10-27 19:00", 100)
    found = line(pit, "formation")
    assert (found.running, found.days) == (False, 1.0)
    assert "accepted on Tue 27 Oct 2026 19:00" in found.sentence


def accept(book, at, area_m2):
    paper.enter(book, "holds", decided_at=at, zone="A", hold="formation", status="released",
                permit="F", decided_by="coordinator", accepted_m2=str(area_m2))  # fmt: skip


def test_a_stage_that_stopped_within_a_levels_doubt_counts_as_dug_out(pit):
    dig(pit, 23, "day", "A", 200, to_level_m="102")
    assert line(pit).dug_out_on is None
    dig(pit, 24, "day", "A", 196, to_level_m="100.04")
    nil(pit, 26, "day", "A")
    assert line(pit).dug_out_on == date(2026, 10, 24)


def test_a_deeper_stage_dug_in_breach_breaks_nothing_and_comes_first(pit):
    dig(pit, 23, "day", "A", 200, to_level_m="102", lowest_level_m="102")
    dig(pit, 24, "day", "A", 250, stage="2", to_level_m="99.5", lowest_level_m="99.3")
    stated = holds_statement(pit, DAY)
    assert stated.headline.startswith("Zone A: lowest level 99.300 m is 0.700 m below")
    assert line(pit).running


def test_the_statement_is_drawn_as_known_at_an_earlier_moment(pit, clock):
    dug_out(pit)
    clock.moment = datetime(2026, 11, 3, 9, tzinfo=UTC)
    hold(pit, "2026-10-26 18:00", "A", 2)
    assert not line(pit).running
    assert line(pit, known_at=datetime(2026, 11, 3, 8, 30, tzinfo=UTC)).running


# --- formation -----------------------------------------------------------------------------------
def test_formation_is_not_reached_until_the_last_stage_is_dug_out(pit):
    dug_out(pit)
    found = timer(pit)
    assert (found.reached_at, found.exposed_h, found.over) == ("", None, False)
    assert found.sentence == "Zone A: formation is not reached."


def test_without_steps_all_of_it_lies_open_from_the_shift_that_reached_its_level(pit):
    to_formation(pit)
    found = timer(pit, day=date(2026, 10, 27))
    assert (found.reached_at, found.exposed_m2) == ("2026-10-26 07:00", pytest.approx(100))
    assert (found.exposed_h, found.limit_h, found.over) == (41.0, 48.0, False)
    assert "7 h are left of the 48 h allowed" in found.sentence


def test_open_longer_than_the_limit_it_says_whom_to_ask(pit):
    to_formation(pit)
    found = timer(pit)
    assert (found.exposed_h, found.over) == (65.0, True)
    assert "Clay softens" in found.sentence
    assert "ask the temporary works coordinator and the designer" in found.sentence
    assert "Formation of zone A lies open longer than allowed" in holds_statement(pit, DAY).headline


def test_what_is_blinded_without_a_reference_is_what_was_reached_last_before_it(pit):
    to_formation(pit)
    step(pit, "2026-10-26 10:00", "reached", 60)
    step(pit, "2026-10-27 12:00", "reached", 40)
    step(pit, "2026-10-27 13:00", "blinded", 50)
    found = timer(pit)
    assert (found.exposed_m2, found.exposed_h) == (50.0, 62.0)  # 10 m2 of the first are open
    assert (found.blinded_m2, found.blinded_at) == (50.0, "2026-10-27 13:00")
    step(pit, "2026-10-28 09:00", "blinded", 10)
    found = timer(pit)
    assert (found.exposed_m2, found.exposed_h, found.over) == (40.0, 62.0, True)
    assert (
        "60 m² blinded without the reference of a reached part is taken from what was reached"
        in (found.sentence)
    )
    step(pit, "2026-10-28 15:00", "blinded", 39.5)  # the rest is how areas were rounded
    found = timer(pit)
    assert (found.exposed_m2, found.exposed_h) == (0.0, None)
    assert "100 m² of formation blinded, none open" in found.sentence


def test_a_blinding_covers_the_part_of_its_own_reference_however_that_is_typed(pit):
    to_formation(pit)
    step(pit, "2026-10-26 10:00", "reached", 60, reference="Bay 1")
    step(pit, "2026-10-27 12:00", "reached", 40, reference="Bay 2")
    step(pit, "2026-10-27 13:00", "blinded", 60, reference=" BAY 1 ")
    found = timer(pit)
    assert (found.exposed_m2, found.exposed_h, found.over) == (40.0, 36.0, False)
    assert "Blinded areas are matched to reached ones by their reference." in found.sentence


def test_ground_blinded_before_it_was_reached_still_counts_as_open_and_the_steps_are_doubted(pit):
    to_formation(pit)
    step(pit, "2026-10-26 10:00", "reached", 60)
    step(pit, "2026-10-26 20:00", "blinded", 100)
    step(pit, "2026-10-27 12:00", "reached", 40)
    found = timer(pit)
    assert (found.exposed_m2, found.exposed_h) == (40.0, 36.0)
    assert "40 m² was blinded before it was reached, by the record: check" in found.sentence


def test_ground_that_no_step_covers_lies_open_from_the_shift_that_reached_its_level(pit):
    to_formation(pit)
    step(pit, "2026-10-26 10:00", "reached", 60, reference="west")
    step(pit, "2026-10-27 13:00", "blinded", 60, reference="west")
    found = timer(pit)
    assert (found.exposed_m2, found.exposed_h) == (pytest.approx(40), 65.0)
    assert (found.reached_at, found.trimmed_at) == ("2026-10-26 07:00", "2026-10-26 10:00")
    assert "The hours run from the level: no step says when this part was" in found.sentence
    assert "48 h allowed: it was to be blinded by Wed 28 Oct 07:00. Clay" in found.sentence


def test_the_deadline_is_a_time_on_the_clock_also_over_a_change_of_the_clocks(pit):
    step(pit, "2026-10-24 12:00", "reached", 50)  # 11:00 UTC
    found = timer(pit, day=date(2026, 10, 25))
    assert found.blind_by == "2026-10-26 11:00"  # 48 hours that passed, one of them twice
    assert "blind by Mon 26 Oct 11:00: 11 h are left of the 48 h allowed." in found.sentence
    step(pit, "2026-10-26 09:00", "blinded", 50)
    assert timer(pit).blind_by == ""


def test_a_record_later_than_the_level_runs_the_timer_and_names_both_dates(pit):
    to_formation(pit)
    step(pit, "2026-10-28 09:00", "reached", 100)
    found = timer(pit)
    assert (found.exposed_h, found.level_at) == (15.0, "2026-10-26 07:00")
    assert (
        "By level the zone stands at formation since Mon 26 Oct 2026; last layer trimmed Wed 28 Oct"
        " 2026 as recorded: ask whether a protective layer was left till then."
    ) in found.sentence


def test_hours_open_are_those_that_passed_when_the_clocks_went_back(pit):
    step(pit, "2026-10-24 12:00", "reached", 50)  # 11:00 UTC
    step(pit, "2026-10-25 12:00", "inspected", 50)
    found = timer(pit, day=date(2026, 10, 25))  # its end is 24:00 UTC
    assert found.exposed_h == 37.0
    assert (found.inspected_m2, found.inspected_at) == (50.0, "2026-10-25 12:00")


def test_inspected_is_what_the_release_of_formation_accepts_where_no_step_says_so(pit):
    to_formation(pit)
    accept(pit, "2026-10-27 12:00", 60)
    assert (timer(pit).inspected_m2, timer(pit).inspected_at) == (60.0, "2026-10-27 12:00")
    step(pit, "2026-10-28 09:00", "inspected", 70)
    assert timer(pit).inspected_m2 == 70.0


# --- exceptions ----------------------------------------------------------------------------------
def test_a_hold_a_day_longer_than_planned_is_an_exception_until_it_is_released_or_closed(pit):
    dug_out(pit)
    assert raised(pit, "hold_late", date(2026, 10, 26)) == []  # 0.25 days over
    (found,) = raised(pit, "hold_late", date(2026, 10, 27))
    assert (found.zone, found.work_date) == ("A", date(2026, 10, 26))
    assert (found.severity, found.closes) == ("warning", "temporary works coordinator")
    assert pit.stored(found.about).entry.to_level_mm == 100_000
    assert "nothing below it may be dug" in found.sentence
    hold(pit, "2026-10-28 12:00", "A", 2)
    assert raised(pit, "hold_late") == []


def test_a_late_hold_that_a_person_closed_stays_closed(pit):
    dug_out(pit)
    (found,) = raised(pit, "hold_late")
    paper.enter(pit, "closures", rule=found.rule, about=found.about, reason="props on order",
                closed_by="coordinator")  # fmt: skip
    assert raised(pit, "hold_late") == []


def test_formation_open_too_long_is_serious_and_gone_once_it_is_blinded(pit):
    to_formation(pit)
    assert raised(pit, "formation_exposed", date(2026, 10, 27)) == []
    (found,) = raised(pit, "formation_exposed")
    assert (found.severity, found.work_date) == ("serious", DAY)
    assert (found.kind, found.sentence) == ("dig_returns", timer(pit).sentence)
    reached = step(pit, "2026-10-26 10:00", "reached", 100)
    (found,) = raised(pit, "formation_exposed")
    assert (found.kind, found.about) == ("formation_steps", reached)
    step(pit, "2026-10-28 23:00", "blinded", 100)
    assert raised(pit, "formation_exposed") == []


def test_a_late_record_leaves_a_warning_with_both_dates_until_it_is_closed(pit):
    to_formation(pit)
    late = step(pit, "2026-10-28 09:00", "reached", 100)  # 50 hours after the level
    assert raised(pit, "formation_exposed") == []
    (found,) = raised(pit, "formation_recorded_late")
    assert (found.severity, found.closes) == ("warning", "temporary works coordinator")
    assert (found.kind, found.about, found.work_date) == ("formation_steps", late, DAY)
    assert found.sentence.startswith(
        "Zone A: by level formation lies open since Mon 26 Oct 2026 07:00, but 100 m² of it is"
        " recorded as reached on Wed 28 Oct 2026 09:00, 50 h later; 48 h are allowed. Ask"
    )
    step(pit, "2026-10-28 20:00", "blinded", 100)
    assert len(raised(pit, "formation_recorded_late")) == 1
    paper.enter(pit, "closures", rule=found.rule, about=found.about, reason="0.3 m was left",
                closed_by="coordinator")  # fmt: skip
    assert raised(pit, "formation_recorded_late") == []


@pytest.mark.parametrize(("level", "lines"), [("96.01", 1), ("96.02", 0)])
def test_a_level_more_than_a_centimetre_above_formation_is_a_layer_left(pit, level, lines):
    dug_out(pit)
    hold(pit, "2026-10-24 20:00", "A", 2)
    dig(pit, 26, "day", "A", 396, stage="2", from_level_m="100", to_level_m=level)
    step(pit, "2026-10-28 09:00", "reached", 100)
    assert len(raised(pit, "formation_recorded_late")) == lines


def test_a_record_within_the_limit_after_the_level_raises_nothing(pit):
    to_formation(pit)
    step(pit, "2026-10-28 06:00", "reached", 100)
    assert raised(pit, "formation_recorded_late") == []


def test_formation_accepted_whole_and_never_blinded_stays_an_exception(pit):
    to_formation(pit)
    accept(pit, "2026-10-26 20:00", 100)
    assert [x.zone for x in raised(pit, "formation_exposed")] == ["A"]
    assert raised(pit, "hold_late") == []


def test_without_a_limit_in_the_set_up_formation_raises_nothing(pit):
    step(pit, "2026-10-22 10:00", "reached", 100, zone="B")
    assert timer(pit, "B").exposed_h > 100
    assert "the set-up gives no limit" in timer(pit, "B").sentence
    assert raised(pit, "formation_exposed") == []


def test_each_zone_raises_one_line_at_most(pit):
    to_formation(pit)
    hold(pit, "2026-10-26 21:00", "A", 2, "suspended")
    late = raised(pit, "hold_late", date(2026, 10, 31))
    assert [x.zone for x in late] == ["A"]
    assert "hold before stage 2" in late[0].sentence


# --- the demonstration ---------------------------------------------------------------------------
@pytest.mark.parametrize("day", [date(2026, m, 15) for m in (4, 5, 6, 7, 8, 9, 10)] + [DEMO_DAY])
def test_what_is_raised_is_what_the_statement_shows(demo, day):
    stated = holds_statement(demo, day)
    late = {x.zone for x in stated.holds if x.running and x.late_days >= 1}
    over = {x.zone for x in stated.formation if x.over}
    assert {x.zone for x in raised(demo, "hold_late", day)} == late
    assert {x.zone for x in raised(demo, "formation_exposed", day)} == over


def test_the_demonstration_shows_its_suspension_and_its_breach(demo):
    stated = holds_statement(demo, DEMO_DAY)
    assert stated.headline.startswith("Zone D: lowest level 90.410 m")
    (found,) = [x for x in stated.holds if (x.zone, x.hold) == ("E", "3")]
    assert found.status == RELEASED
    assert "It was suspended on Tue 29 Sep 2026 08:40 for 17.1 days." in found.sentence
    assert len(stated.holds) == 5 * 5 + 6
