"""Without chance every date follows by hand; with it, the plain loop gives the same dates."""

from __future__ import annotations

import random
from collections import Counter
from datetime import timedelta

import numpy as np
import pytest

from tests.domain.programme.plain_walk import plain_walk
from tests.domain.programme.seasons import STARTS, Season, slots_of
from tests.domain.programme.steady import march, steady, to_dig
from tracker.domain.programme.forecast import forecast
from tracker.domain.programme.output import luck, outputs
from tracker.domain.programme.walk import walked


def days(programme, walks=20):
    """Zone and stage -> the one day on which every walk reached it."""
    answer = forecast(programme, walks=walks)
    assert all(r.p20 == r.p80 and len(r.by) == 1 for r in answer.stages)
    return {(r.zone, r.stage): r.p50 for r in answer.stages}


def test_a_steady_rate_digs_ten_shifts_of_ground_in_ten_shifts():
    # Monday 2nd to Saturday 7th are six, Monday 9th to Thursday 12th the other four.
    assert days(steady(to_dig(m3=1000.0))) == {("A", 1): march(12)}


def test_the_last_shift_may_be_a_part_of_one():
    assert days(steady(to_dig(m3=901.0))) == {("A", 1): march(12)}
    assert days(steady(to_dig(m3=900.0))) == {("A", 1): march(11)}


def test_a_holiday_costs_a_shift():
    assert days(steady(to_dig(), off=[3])) == {("A", 1): march(13)}


def test_a_hold_begins_when_the_stage_above_is_dug_out_and_runs_through_sundays():
    # Dug out on Thursday 5th at 17:00; ten days end on Sunday 15th: dug from Monday 16th.
    stages = to_dig(m3=400.0), to_dig(stage=2, m3=300.0, hold=10.0, released=False)
    assert days(steady(*stages)) == {("A", 1): march(5), ("A", 2): march(18)}


def test_a_released_stage_is_dug_on_the_next_shift():
    stages = to_dig(m3=400.0), to_dig(stage=2, m3=300.0, hold=10.0, released=True)
    assert days(steady(*stages)) == {("A", 1): march(5), ("A", 2): march(9)}


def test_a_hold_that_runs_already_has_only_its_rest_ahead():
    began = STARTS - timedelta(days=7)
    stage = to_dig(stage=2, m3=100.0, hold=10.0, released=False, since=began)
    assert days(steady(stage)) == {("A", 2): march(5)}


def test_a_hold_that_is_not_released_and_has_not_begun_begins_now():
    stage = to_dig(stage=2, m3=100.0, hold=10.0, released=False)
    assert days(steady(stage)) == {("A", 2): march(12)}


def test_zones_are_dug_side_by_side_and_each_waits_for_its_own_hold():
    stages = (
        to_dig("A", m3=200.0),
        to_dig("A", 2, 100.0, 6.0, released=False),
        to_dig("B", m3=500.0),
        to_dig("B", 2, 100.0, 2.0, released=False),
    )
    assert days(steady(*stages)) == {
        ("A", 1): march(3), ("A", 2): march(10), ("B", 1): march(6), ("B", 2): march(9),
    }  # fmt: skip


def test_where_one_zone_can_be_dug_at_a_time_the_next_has_its_turn_while_the_first_waits():
    stages = (
        to_dig("A", m3=200.0),
        to_dig("A", 2, 200.0, 3.0, released=False),
        to_dig("B", m3=500.0),
    )
    # A: 2nd, 3rd; holds to the 6th, 17:00. B: 4th to 6th. A: 7th, 9th. B: 10th, 11th.
    assert days(steady(*stages, zones_at_once=1)) == {
        ("A", 1): march(3), ("A", 2): march(9), ("B", 1): march(11),
    }  # fmt: skip


def test_all_zones_together_give_no_more_than_the_least_capacity():
    # Two zones give 200 m³, of which the lorries take 125: 62.5 each, so that 500 m³ take 8 shifts.
    stages = to_dig("A", m3=500.0), to_dig("B", m3=500.0)
    programme = steady(*stages, most_m3={"belt": 180.0, "lorries": 125.0})
    assert days(programme) == {("A", 1): march(10), ("B", 1): march(10)}


def test_a_shift_in_which_nothing_can_leave_digs_nothing():
    programme = steady(to_dig(m3=100.0), most_m3={"receivers": 0.0})
    assert forecast(programme, walks=5).formation.p80 is None


def test_a_hoist_limits_its_own_zone_only():
    # A gives 40 a shift: 5 shifts for 200 m³, of which the last 40 are all that is left of it.
    stages = to_dig("A", m3=200.0), to_dig("B", m3=500.0)
    programme = steady(*stages, own_m3=lambda day: {"A": {"hoist": 40.0, "ramp": 70.0}})
    assert days(programme) == {("A", 1): march(6), ("B", 1): march(6)}
    a, b = forecast(programme, walks=5).governs
    assert {cause: share for cause, share in a.shares.items() if share} == {
        "hoist": 0.8,
        "dig": 0.2,
    }
    assert b.shares["dig"] == 1.0


def test_the_limit_of_a_zone_comes_before_that_of_all_zones_which_then_governs():
    # A is cut to 40, B gives 100: the belt takes 112 of these 140, so 32 and 80.
    stages = to_dig("A", m3=320.0), to_dig("B", m3=800.0)
    programme = steady(*stages, most_m3={"belt": 112.0}, own_m3=lambda day: {"A": {"hoist": 40.0}})
    assert days(programme) == {("A", 1): march(12), ("B", 1): march(12)}
    a, b = forecast(programme, walks=5).governs
    # Ten shifts and a Sunday; in the last shift both need no more than the belt takes.
    assert a.shares["belt"] == b.shares["belt"] == pytest.approx(9 / 11)
    assert a.shares["hoist"] == 0.0


def test_a_zone_that_is_stopped_leaves_its_turn_to_the_next():
    def possession(day: int) -> dict[str, dict[str, float]]:
        return {"A": {"stop": 0.0}} if day in (1, 2) else {}

    stages = to_dig("A", m3=400.0), to_dig("B", m3=300.0)
    programme = steady(*stages, zones_at_once=1, own_m3=possession)
    # A: 2nd, 5th to 7th. B: 3rd and 4th, while A is stopped, and its last 100 m³ on Monday 9th.
    assert days(programme) == {("A", 1): march(7), ("B", 1): march(9)}
    a, b = forecast(programme, walks=5).governs
    assert a.shares == pytest.approx(
        {"hold": 0, "calendar": 0, "turn": 0, "dig": 4 / 6, "stop": 2 / 6}
    )
    assert b.shares == pytest.approx(
        {"hold": 0, "calendar": 1 / 8, "turn": 4 / 8, "dig": 3 / 8, "stop": 0}
    )


def test_a_hold_governs_a_zone_that_waits_while_it_is_stopped():
    stage = to_dig(stage=2, m3=100.0, hold=10.0, released=False)
    programme = steady(stage, own_m3=lambda day: {"A": {"stop": 0.0}} if day < 12 else {})
    assert days(programme) == {("A", 2): march(14)}
    (a,) = forecast(programme, walks=5).governs
    # The hold ends on the 12th before the shift; two shifts are stopped, the third digs.
    assert a.shares["hold"] == pytest.approx(10 / 13)
    assert a.shares["stop"] == pytest.approx(2 / 13)


def test_what_governs_is_counted_zone_by_zone():
    stages = (
        to_dig("A", m3=200.0),
        to_dig("A", 2, 200.0, 5.0, released=False),
        to_dig("B", m3=300.0),
    )
    answer = forecast(steady(*stages, zones_at_once=1, most_m3={"belt": 50.0}), walks=4)
    # A takes 4 shifts, to Thursday 5th; holds to the 10th; takes 4 more, to Saturday 14th.
    # B waits 4 shifts, digs on 6th, 7th, 9th, 10th, waits from the 11th, goes on on Monday 16th.
    a, b = (dict(g.shares) for g in answer.governs)
    # The last 50 m³ of a stage are no more than the belt takes: there the digging governs.
    assert a == pytest.approx(
        {"hold": 5 / 13, "calendar": 0, "turn": 0, "dig": 2 / 13, "belt": 6 / 13}
    )
    assert b == pytest.approx(
        {"hold": 0, "calendar": 2 / 16, "turn": 8 / 16, "dig": 1 / 16, "belt": 5 / 16}
    )
    assert answer.last_zone == {"A": 0.0, "B": 1.0}
    first, sunday = answer.governs_in_slot[0], answer.governs_in_slot[6]
    assert first.shares == {"hold": 0, "calendar": 0, "turn": 0.5, "dig": 0, "belt": 0.5}
    assert sunday.work_date == march(8)
    assert sunday.shares == {"hold": 0.5, "calendar": 0.5, "turn": 0, "dig": 0, "belt": 0}
    assert len(answer.governs_in_slot) == 16


def test_a_calendar_that_ends_first_gives_no_date():
    answer = forecast(steady(to_dig(m3=1000.0), days=5), walks=5)
    assert answer.formation.p20 is None
    assert answer.formation.chance_by(march(31)) == 0.0


def test_chance_gives_the_dates_and_causes_of_the_plain_loop():
    season = Season(7)
    programme = season.programme(block_shifts=1, holds=())
    drawn_from = outputs(programme)
    done = walked(programme, drawn_from, 4000, np.random.default_rng(3))
    fast = done.finished_slot.max(axis=0)
    chance = random.Random(3)
    ratios = luck(drawn_from, 400, np.random.default_rng(4))[1]
    pool = list(drawn_from.values_m3[: drawn_from.count[0]])
    slow, governed = [], Counter()
    for ratio in ratios:
        walk = plain_walk(
            programme.stages,
            programme.slots,
            lambda slot, stage, ratio=ratio: ratio * chance.choice(pool),
            lambda stage: stage.hold_days_planned * chance.triangular(0.9, 1.5, 1.0),
            programme.zones_at_once,
        )
        slow.append(max(walk.finished_slot.values()))
        governed += walk.governed
    for share in (0.1, 0.5, 0.9):
        assert np.quantile(fast, share) == pytest.approx(np.quantile(slow, share), abs=3)
    assert np.std(fast) == pytest.approx(np.std(slow), rel=0.15)
    for zone, counts in zip(programme.zones, done.governed.sum(axis=0) / 4000, strict=True):
        plain = [governed[zone, cause] / 400 for cause in done.causes]
        assert counts == pytest.approx(plain, rel=0.1, abs=1.0)


def test_walks_done_in_parts_are_all_there():
    programme = steady(*(to_dig(zone) for zone in "ABCDEFGH"))
    done = walked(programme, outputs(programme), 4500, np.random.default_rng(1))
    assert done.finished_slot.shape == (8, 4500)
    assert set(done.finished_slot.ravel()) == {10}


def test_slots_of_the_tests_leave_out_sundays():
    closed = [slot.work_date.weekday() for slot in slots_of(28) if slot.closed]
    assert closed == [6, 6, 6, 6]
