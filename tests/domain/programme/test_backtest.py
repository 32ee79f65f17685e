"""Forecasts made again from what was known then, beside what came."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.domain.programme.seasons import Season, Truth
from tests.domain.programme.steady import AS_PLANNED
from tracker.domain.programme.backtest import Backtest, Case, Held, backtest, programme_at
from tracker.errors import InputError, NotEnoughData

SEASON = Season(11)


def march(day):
    return date(2026, 3, day)


def case(actual, *dates):
    return Case(march(1), "A", 1, dates, actual)


def test_a_date_is_judged_once_it_has_passed_finished_or_not():
    dates = tuple(march(day) for day in (5, 6, 10, 15, 20))
    late, ahead = case(None, *dates), case(march(12), *dates)
    tested = Backtest((late, ahead), march(16), ())
    assert tested.held(0.5) == Held(2, 0)
    assert tested.held(0.8) == Held(2, 1)
    assert tested.held(0.8).share == 0.5
    assert tested.held(0.9) == Held(0, 0)
    assert tested.held(0.9).share is None


def test_a_range_holds_what_lies_between_its_dates_both_included():
    dates = tuple(march(day) for day in (5, 6, 10, 15, 20))
    cases = [case(actual, *dates) for actual in (march(4), march(5), march(20), march(21), None)]
    assert Backtest(tuple(cases), march(31), ()).within() == Held(5, 2)
    assert Backtest(tuple(cases), march(19), ()).within() == Held(0, 0)


def test_how_far_off_dates_had_to_be_for_their_share_to_hold():
    dates = tuple(march(day) for day in (5, 6, 10, 15, 20))  # the 80 % date lies 14 days ahead
    cases = [case(actual, *dates) for actual in (march(8), march(15), march(22), march(25), None)]
    assert Backtest(tuple(cases), march(31), ()).stretch(0.8) == pytest.approx(24 / 14)
    assert Backtest(tuple(cases[:2]), march(31), ()).stretch(0.8) == 1.0
    assert Backtest(tuple(cases[3:]), march(31), ()).stretch(0.8) is None  # half are not reached
    assert Backtest(tuple(cases), march(14), ()).stretch(0.8) is None  # no date has passed


def test_a_date_beyond_the_calendar_is_never_judged():
    assert Backtest((case(None, *[None] * 5),), march(31), ()).held(0.8) == Held(0, 0)


def test_nothing_that_came_later_is_in_what_was_known():
    known = programme_at(SEASON.record(), SEASON.programme(), 45)
    now = SEASON.slots[45].starts
    assert known.slots[0].starts == now
    assert max(shift.shift_index for shift in known.shifts) < 45
    released = {k for k, at in SEASON.happened.released_at.items() if at <= now}
    assert {(hold.zone, hold.stage) for hold in known.holds} == released
    assert all(s.hold_runs_since is None or s.hold_runs_since <= now for s in known.stages)
    assert all((s.zone, s.stage) in released for s in known.stages if s.released and s.stage > 1)


def test_what_was_left_is_the_design_volume_less_what_was_dug():
    known = programme_at(SEASON.record(), SEASON.programme(), 45)
    dug = sum(shift.bank_m3 for shift in SEASON.happened.shifts if shift.shift_index < 45)
    whole = sum(stage.design_m3 for stage in SEASON.record())
    assert sum(stage.remaining_m3 for stage in known.stages) == pytest.approx(whole - dug)


def test_a_season_without_chance_ends_on_the_day_forecast():
    sure = Truth(scatter=0.0, hold_spread=(1.0, 1.0, 1.0), belt_m3=1e9)
    season = Season(1, sure)
    programme = season.programme(hold_spread=AS_PLANNED)
    tested = backtest(season.record(), programme, [10, 30, 60], walks=20)
    assert len(tested.cases) > 20
    assert {len({*case.dates, case.actual}) for case in tested.cases} == {1}
    assert tested.held(0.1).share == tested.within().share == 1.0


def test_holds_that_take_twice_as_long_break_the_dates_made_before_they_are_on_record():
    late = Truth(hold_spread=(2.0, 2.2, 2.4), hold_days=30.0, zones_at_once=4, belt_m3=1e9)
    seasons = [Season(seed, late) for seed in range(8)]
    tested = [backtest(s.record(), s.programme(), [9], walks=200) for s in seasons]
    ends = [case for t in tested for case in t.cases if case.stage is None]
    assert sum(end.actual <= end.date_by(0.8) for end in ends) <= 1


def test_a_day_on_which_no_forecast_could_be_made_is_listed_with_the_reason():
    tested = backtest(SEASON.record(), SEASON.programme(), [1, 45], walks=50)
    ((day, reason),) = tested.refused
    assert day == SEASON.slots[1].work_date
    assert "2 worked shifts" in reason
    assert {case.made_on for case in tested.cases} == {SEASON.slots[45].work_date}


def test_a_stage_that_is_not_finished_yet_has_no_actual_date():
    now = SEASON.slots[70].starts
    cut = [
        replace(s, dug_out_at=None) if s.dug_out_at and s.dug_out_at > now else s
        for s in SEASON.record()
    ]
    shifts = tuple(s for s in SEASON.happened.shifts if s.shift_index < 70)
    tested = backtest(cut, SEASON.programme(shifts=shifts), [40], walks=50)
    assert tested.until <= now.date()
    assert {case.actual for case in tested.cases if case.stage is None} == {None}
    judged = [c for c in tested.cases if c.date_by(0.8) <= tested.until]
    assert 0 < len(judged) < len(tested.cases)
    assert tested.held(0.8).judged == len(judged)


def test_dates_are_those_of_the_shift_in_which_a_stage_was_dug_out():
    tested = backtest(SEASON.record(), SEASON.programme(), [20], walks=50)
    for case in tested.cases:
        if case.stage is not None:
            slot = SEASON.happened.finished_slot[case.zone, case.stage]
            assert case.actual == SEASON.slots[slot].work_date
            assert case.actual - case.made_on > timedelta(0)


def test_an_origin_outside_the_calendar_and_an_empty_record_are_refused():
    with pytest.raises(InputError, match="Slot 500 is not one of the 420 slots"):
        backtest(SEASON.record(), SEASON.programme(), [500])
    with pytest.raises(NotEnoughData, match="no worked shift"):
        backtest(SEASON.record(), SEASON.programme(shifts=()), [20])
