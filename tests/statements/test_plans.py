"""Frozen plans: which is current, what it says nothing of, and that old ones stay as they were."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from tests.statements import paper
from tests.statements.steady_pit import FRIDAY, begun, first_week, october, plan, set_up
from tracker.statements import forecast_statement, progress_statement
from tracker.statements.earned import earned_lines
from tracker.statements.frame import framed
from tracker.statements.plans import plan_points, plan_versions, plans_of
from tracker.statements.stage_record import site_record


def freeze(book, name, frozen_on, starts, finishes, stage="1", **other):
    fields = {
        "plan": name, "frozen_on": frozen_on, "zone": "A", "stage": stage,
        "planned_start": starts, "planned_finish": finishes, "hold_days": "2",
        "reference": f"letter {name}",
    }  # fmt: skip
    paper.enter(book, "plan", **(fields | other))


@pytest.fixture
def two_plans(empty):
    """Plan 1 has stage 1 in four working days, plan 2 in eight; and nothing of stage 2."""
    begun(empty, set_up("A"))
    freeze(empty, "plan 1", "2026-10-19", "2026-10-19", "2026-10-22")
    freeze(empty, "plan 1", "2026-10-19", "2026-10-26", "2026-10-29", stage="2")
    freeze(empty, "plan 2", "2026-10-21", "2026-10-19", "2026-10-28", design_m3="480")
    first_week(empty)
    return empty


def test_without_a_frozen_plan_the_dates_of_the_set_up_are_the_plan(empty):
    begun(empty, set_up("A"))
    (only,) = plans_of(framed(empty, FRIDAY))
    assert (only.plan, only.current, only.words) == ("set-up", True, "the dates of the set-up")
    assert only.stage("A", 1).starts == october(19)
    assert only.finish("BOX") == only.finish("BOX", "A") == date(2026, 11, 10)
    assert only.finish("BOX", "B") is None


def test_the_plan_frozen_last_is_current_and_the_first_one_stands_beside_it(two_plans):
    first, second = plan_versions(plans_of(framed(two_plans, FRIDAY)))
    assert (first.plan, first.current, first.missing) == ("plan 1", False, "")
    assert (second.plan, second.current) == ("plan 2", True)
    assert (second.frozen_on, second.reference) == (october(21), "letter plan 2")
    assert second.missing == "plan 2 says nothing of zone A stage 2."
    (only,) = plan_versions(plans_of(framed(two_plans, october(20))))
    assert (only.plan, only.current) == ("plan 1", True)


def test_a_plan_that_was_recorded_more_than_a_day_after_it_was_frozen_says_when(empty, clock):
    begun(empty, set_up("A"))
    clock.moment = datetime(2026, 11, 3, 8, 0, tzinfo=UTC)
    freeze(empty, "plan 1", "2026-10-19", "2026-10-19", "2026-10-22")
    freeze(empty, "plan 2", "2026-11-02", "2026-10-19", "2026-10-28")
    first, second = plan_versions(plans_of(framed(empty, date(2026, 11, 3))))
    assert (first.frozen_on, first.recorded_on) == (october(19), date(2026, 11, 3))
    assert (second.frozen_on, second.recorded_on) == (date(2026, 11, 2), None)


def test_each_plan_has_a_curve_with_its_own_volumes_and_flat_steps(two_plans):
    points = {
        (p.plan, p.day.day): p.planned_bank_m3
        for p in plan_points(plans_of(framed(two_plans, FRIDAY)))
    }
    assert [points["plan 1", day] for day in (19, 22, 23, 25, 26, 29)] == pytest.approx(
        [100, 400, 400, 400, 500, 800]
    )
    assert [points["plan 2", day] for day in (19, 23, 25, 28)] == pytest.approx([60, 300, 300, 480])


def test_progress_draws_the_current_plan(two_plans):
    curve = {p.day.day: p.planned_bank_m3 for p in progress_statement(two_plans, FRIDAY).curve}
    assert (curve[19], curve[23]) == (pytest.approx(60), pytest.approx(300))


def test_a_later_set_up_does_not_move_a_frozen_plan(two_plans):
    def points():
        return list(plan_points(plans_of(framed(two_plans, october(28)))))

    before = points()
    later = set_up("A")
    later["closures"] = paper.rows("day|reason", "2026-10-27|invented holiday")
    plan(later, "A", 1, "2026-10-19", "2026-11-05")
    paper.adopt(two_plans, later, "second", october(26))
    assert points() == before


# 250 m3 after five working days. Plan 2: 60 m3 a day, ES = 4 + 10 / 60. Plan 1: 100 m3 a day,
# ES = 2.5.
def test_days_behind_are_told_in_the_current_plan_and_in_the_first(two_plans):
    frame = framed(two_plans, FRIDAY)
    lines = list(earned_lines(site_record(frame), plans_of(frame)))
    told = [(x.plan, x.current, x.zone, x.earned_days, x.actual_days) for x in lines]
    assert told == [
        ("plan 2", True, "", pytest.approx(4 + 1 / 6), 5),
        ("plan 2", True, "A", pytest.approx(4 + 1 / 6), 5),
        ("plan 1", False, "", 2.5, 5),
        ("plan 1", False, "A", 2.5, 5),
    ]
    assert lines[1].sentence == (
        "Zone A is 0.8 working days behind plan 2 of Wed 21 Oct 2026 (ES 4.2, AT 5; SPI(t) 0.83);"
        " since it was frozen 1.7 working days were earned in 2 (0.83)."
    )
    assert lines[2].sentence == (
        "The box is 2.5 working days behind plan 1 of Mon 19 Oct 2026 (ES 2.5, AT 5; SPI(t) 0.50)."
    )


# Plan 2 is frozen on Wednesday evening: 150 m3 at 60 m3 a day, ES = 2.5 of AT = 3.
def test_what_a_plan_frozen_after_its_start_earned_since_is_told_by_itself(two_plans):
    frame = framed(two_plans, FRIDAY)
    second, first = [x for x in earned_lines(site_record(frame), plans_of(frame)) if x.zone]
    assert second.since_frozen_earned_days == pytest.approx(4 + 1 / 6 - 2.5)
    assert second.since_frozen_actual_days == 2
    assert (first.since_frozen_earned_days, first.since_frozen_actual_days) == (None, None)
    assert "since it was frozen" not in first.sentence


def test_every_earlier_plan_is_told_after_the_current_one_the_latest_first(two_plans):
    freeze(two_plans, "plan 3", "2026-10-23", "2026-10-19", "2026-11-06")
    statement = forecast_statement(two_plans, FRIDAY, walks=100)
    told = [(x.plan, x.current) for x in statement.earned if x.zone]
    assert told == [("plan 3", True), ("plan 2", False), ("plan 1", False)]


def test_a_forecast_gives_the_chance_of_the_current_plan(two_plans):
    lines = {x.stage: x for x in forecast_statement(two_plans, FRIDAY, walks=100).dates if x.zone}
    assert (lines[1].planned_finish, lines[1].chance_of_plan) == (october(28), 1.0)
    assert (lines[2].planned_finish, lines[2].chance_of_plan) == (None, None)
