"""What the invented site shows of its programme: late, by how much, why, and what runs."""

from __future__ import annotations

from datetime import date

import pytest

from tracker.domain.programme import governing
from tracker.ledger.store import Ledger
from tracker.statements.capacity import capacity_statement
from tracker.statements.capacity_shapes import CapacityStatement, FormationTimer
from tracker.statements.delays import delays_statement
from tracker.statements.forecast import forecast_statement
from tracker.statements.forecast_shapes import DateLine, ForecastStatement
from tracker.statements.holds import holds_statement

LAST_DAY = date(2026, 10, 27)


@pytest.fixture(scope="module")
def forecast(demo: Ledger) -> ForecastStatement:
    found = forecast_statement(demo, LAST_DAY, walks=2000)
    assert found.refused == ""
    return found


@pytest.fixture(scope="module")
def season(demo: Ledger) -> CapacityStatement:
    return capacity_statement(demo, LAST_DAY, since=date(2026, 4, 7), until=date(2027, 1, 15))


def formation(forecast: ForecastStatement, excavation: str, zone: str = "") -> DateLine:
    found = (line for line in forecast.dates if (line.excavation, line.stage) == (excavation, None))
    return next(line for line in found if line.zone == zone)


# The forecast


def test_the_box_is_some_weeks_late_for_its_target_and_uncertain_by_its_plan(
    forecast: ForecastStatement,
) -> None:
    box = formation(forecast, "box")
    assert box.target
    assert box.p50
    assert 3 <= (box.p50 - box.target).days / 7 <= 9
    assert box.chance_of_target is not None
    assert box.chance_of_target < 0.01
    assert box.chance_of_plan is not None
    assert 0.02 < box.chance_of_plan < 0.9


def test_the_shaft_makes_its_target_though_later_than_its_plan(forecast: ForecastStatement) -> None:
    shaft = formation(forecast, "shaft")
    assert shaft.planned_finish
    assert shaft.p50
    assert shaft.p50 > shaft.planned_finish
    assert shaft.chance_of_target is not None
    assert shaft.chance_of_target > 0.8


def test_zone_e_comes_last_and_waits_for_its_lower_props_a_quarter_of_its_shifts(
    forecast: ForecastStatement,
) -> None:
    ends = {zone: formation(forecast, "box", zone).p50 for zone in "BCDE"}
    assert max(ends, key=lambda zone: ends[zone] or date.max) == "E"
    share = {(g.zone, g.cause): g.share for g in forecast.governs if g.excavation == "box"}
    assert share["E", governing.HOLD] > 0.2
    assert share["E", governing.DIG] > share["E", governing.HOLD]


def test_two_releases_of_lower_props_are_assumed_and_none_other(
    forecast: ForecastStatement,
) -> None:
    assumed = {(r.zone, r.stage, r.support) for r in forecast.releases}
    assert assumed == {("D", 4, "lower props"), ("E", 4, "lower props")}


def test_no_work_is_forecast_over_christmas(forecast: ForecastStatement) -> None:
    dates = [day for line in forecast.dates for day in (line.p20, line.p50, line.p80) if day]
    assert not [day for day in dates if date(2026, 12, 24) <= day <= date(2027, 1, 3)]


def test_the_box_is_behind_both_plans_and_less_behind_the_second(
    forecast: ForecastStatement,
) -> None:
    behind = {
        e.plan: e.ahead_days for e in forecast.earned if (e.excavation, e.zone) == ("box", "")
    }
    assert behind["programme 1"] < behind["programme 2"] < -3.0
    current = {plan.plan for plan in forecast.plans if plan.current}
    assert current == {"programme 2"}


# What governs


def test_the_gate_governed_while_all_went_by_lorry_and_while_the_belt_was_out(
    season: CapacityStatement,
) -> None:
    gate = [d.work_date for d in season.days if d.governs == governing.GATE and not d.expected]
    by_lorry = [day for day in gate if day < date(2026, 6, 1)]
    outages = [day for day in gate if day.isocalendar().week in (30, 35)]
    assert len(set(by_lorry)) >= 5
    assert len(set(outages)) >= 5
    assert set(gate) == {*by_lorry, *outages}


def test_ahead_stops_govern_their_nights_and_holds_once_the_released_ground_is_dug(
    season: CapacityStatement,
) -> None:
    ahead = [d for d in season.days if d.expected and d.excavation == "box"]
    held = [d.work_date for d in ahead if d.governs == governing.HOLD]
    assert held[0] == date(2026, 12, 22)
    before = next(d for d in ahead if d.work_date == date(2026, 12, 21))
    assert before.note == "The ground that is released now ends on this day by that rate."
    # Zone D is dug to its hold: B, C and E have 9,498 m³ of released ground.
    assert sum(d.dig_bank_m3 for d in ahead) == pytest.approx(9498.0)
    eve = next(d for d in ahead if d.work_date == date(2026, 12, 23))
    assert eve.least_bank_m3 == 0.0  # the restoration is shut
    stops = [d.work_date for d in ahead if d.governs == governing.STOP]
    assert stops == [date(2026, *day) for day in ((10, 31), (11, 14), (11, 28), (12, 12))] + [
        date(2027, 1, 9)
    ]


def test_the_belts_meter_and_the_lorries_rounds_are_measured_and_used(
    season: CapacityStatement,
) -> None:
    measured = {(m.what, m.about): m for m in season.measured}
    energy = measured["kwh_per_t", "BELT1"]
    assert energy.used == "measured"
    assert energy.measured == pytest.approx(0.446, abs=0.005)
    assert energy.modelled
    assert energy.modelled < energy.measured
    rounds = [m for m in season.measured if m.what == "cycle_min"]
    assert len(rounds) == 4
    assert all(m.used == "measured" and m.count > 100 for m in rounds)


# Holds, formation, delays


def timer(demo: Ledger, day: date) -> FormationTimer:
    return next(t for t in holds_statement(demo, day).formation if t.zone == "A")


def test_the_timer_of_zone_a_runs_within_its_limit_and_passes_it_before_the_pour(
    demo: Ledger,
) -> None:
    now, at_the_pour = timer(demo, LAST_DAY), timer(demo, date(2026, 10, 29))
    assert now.exposed_m2 == at_the_pour.exposed_m2 == 288
    assert now.exposed_h
    assert now.limit_h == 48
    assert 24 < now.exposed_h < now.limit_h
    assert not now.over
    assert at_the_pour.over


def test_the_hold_of_zone_d_runs_and_that_of_zone_e_was_suspended(demo: Ledger) -> None:
    holds = {(h.zone, h.hold): h for h in holds_statement(demo, LAST_DAY).holds}
    assert holds["D", "4"].running
    assert "suspended" in holds["E", "3"].sentence
    assert holds["E", "3"].given_condition.startswith("prop loads read every shift")


def test_late_supports_lead_the_lost_ground_and_temporary_works_own_them(demo: Ledger) -> None:
    lines = delays_statement(demo, LAST_DAY).lines
    leading = lines[0]
    assert (leading.cause, leading.owner) == ("support_late", "temporary works")
    # While crews were at work elsewhere a late support cost no ground: most of its hours did not.
    assert 0.15 < leading.share < 0.35
    assert leading.busy_minutes > leading.minutes


def test_the_suspension_of_zone_e_stands_apart_at_the_rate_of_the_stage_that_waited(
    demo: Ledger,
) -> None:
    stated = delays_statement(demo, LAST_DAY)
    rows = [row for row in stated.rows if row.cause == "suspended"]
    assert {(row.zone, row.stage, row.rate_stage, row.coded) for row in rows} == {
        ("E", 2, 3, "permit")
    }
    # 308 h from 29 September to 15 October at the 5.06 m³/h of its third stage.
    hours = sum(row.minutes for row in rows) / 60.0
    cost_m3 = sum(row.lost_bank_m3 + row.busy_bank_m3 for row in rows)
    assert (hours, cost_m3) == (pytest.approx(308.0), pytest.approx(1558.0, abs=2.0))
    apart = stated.lines[-1]
    assert (apart.cause, apart.owner, apart.governing) == ("suspended", "no owner", False)
    assert "a suspension is no delay to be removed" in stated.headline
