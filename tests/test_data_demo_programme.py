"""The invented site's programme: plans, stops, ways out and formation fit what the season did."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pandas as pd
import pytest

from data_demo.season import STAGES_DUG
from tests.statements import recount
from tracker.domain.calendar import days, shift_minutes, shift_times, shifts_on
from tracker.domain.conveyor import belt_capacity, belt_section, slope_angle
from tracker.domain.fleet import fleet_output
from tracker.domain.levels import plan_area, stage_volume
from tracker.domain.site import Site, Stop
from tracker.recording.setup import read_setup

LAST_DAY, FIRST_PLAN, SECOND_PLAN = date(2026, 10, 27), "programme 1", "programme 2"


@pytest.fixture(scope="module")
def site() -> Site:
    built, _, problems = read_setup(recount.FOLDER / "setup")
    assert not problems
    assert built is not None
    return built


def plan(name: str) -> pd.DataFrame:
    rows = recount.table("records/plan.csv")
    dated = ("frozen_on", "planned_start", "planned_finish")
    for column in dated:
        rows[column] = pd.to_datetime(rows[column]).dt.date
    return rows[rows.plan == name].set_index(["zone", "stage"])


# The plans


def test_the_first_plan_is_that_of_the_set_up(site: Site) -> None:
    first = plan(FIRST_PLAN)
    assert len(first) == len(site.stages)
    for stage in site.stages:
        row = first.loc[stage.zone, stage.stage]
        assert (row.planned_start, row.planned_finish) == (
            stage.planned_start,
            stage.planned_finish,
        )
        assert row.hold_days == stage.hold_days
    assert set(first.frozen_on) == {site.first_date}


def test_each_plan_freezes_the_design_volume_of_every_stage(site: Site) -> None:
    for name in (FIRST_PLAN, SECOND_PLAN):
        rows = plan(name)
        for stage in site.stages:
            volume_m3 = stage_volume(site.zone(stage.zone), site.stages_of(stage.zone), stage.stage)
            frozen_m3 = rows.loc[stage.zone, stage.stage].design_m3
            assert frozen_m3 == pytest.approx(volume_m3, abs=0.001)


def test_a_planned_stage_begins_after_the_hold_above_it_and_on_working_days(site: Site) -> None:
    ahead = days(site.first_date, date(2027, 2, 1))
    worked = {d for d in ahead if d.weekday() < 5 and d not in site.closed_days}
    for name in (FIRST_PLAN, SECOND_PLAN):
        rows = plan(name)
        assert {*rows.planned_start, *rows.planned_finish} <= worked
        for (zone, stage), row in rows.iterrows():
            if stage > 1:
                above = rows.loc[zone, stage - 1]
                free = above.planned_finish + timedelta(days=int(above.hold_days))
                assert row.planned_start >= free, (name, zone, stage)


def test_the_second_plan_holds_what_was_dug_before_it_and_moves_only_what_came_after() -> None:
    first, second = plan(FIRST_PLAN), plan(SECOND_PLAN)
    frozen_on = second.frozen_on.iloc[0]
    assert frozen_on == date(2026, 9, 14)
    dug = {(d.zone, d.stage): d for d in STAGES_DUG if d.ends < frozen_on}
    for key, row in second.iterrows():
        if key in dug:
            assert (row.planned_start, row.planned_finish) == (dug[key].starts, dug[key].ends)
        else:
            assert row.planned_finish > max(first.loc[key].planned_finish, frozen_on)


def test_the_second_plan_passes_the_targets_of_the_box_but_not_of_the_shaft(site: Site) -> None:
    second = plan(SECOND_PLAN).reset_index()
    box, shaft = site.excavations
    assert box.target_formation
    assert shaft.target_formation
    in_shaft = second.zone == "S"
    assert second[~in_shaft].planned_finish.max() > box.target_formation
    assert second[in_shaft].planned_finish.max() < shaft.target_formation


# Stops


def stopped(stop: Stop, site: Site) -> list[tuple[datetime, datetime]]:
    """The spans of a stop until the last day, in UTC."""
    spans = []
    for day in days(stop.first_day, min(stop.last_day, LAST_DAY)):
        if stop.weekdays and day.weekday() not in stop.weekdays:
            continue
        midnight = datetime.combine(day, datetime.min.time())
        starts = datetime.combine(day, stop.starts) if stop.starts else midnight
        ends = datetime.combine(day, stop.ends) if stop.ends else midnight + timedelta(days=1)
        ends += timedelta(days=ends <= starts)
        local = pd.Series([starts.isoformat(), ends.isoformat()])
        spans.append(tuple(m.to_pydatetime() for m in recount.on_site(local).dt.tz_convert(UTC)))
    return spans


def test_nobody_dug_in_a_possession_or_on_a_night_of_maintenance(site: Site) -> None:
    dug = recount.dug(recount.season())
    worked = set(zip(dug.work_date, dug["shift"], dug.zone, strict=True))
    looked_at = 0
    for stop in site.stops:
        if stop.kind not in ("site", "zone"):
            continue
        for starts, ends in stopped(stop, site):
            for day in (starts.date(), starts.date() - timedelta(days=1)):
                for shift in shifts_on(site, day):
                    begins, finishes = shift_times(shift, day, site.time_zone)
                    if begins < ends and starts < finishes:
                        zones = {stop.about} if stop.about else {z.zone for z in site.zones}
                        assert not {(str(day), shift.shift, z) for z in zones} & worked, stop
                        looked_at += 1
    assert looked_at >= 4 + 17


def test_the_belt_had_time_for_its_running_minutes_outside_its_maintenance(site: Site) -> None:
    belt = recount.belt_runs(recount.season())
    belt["at"] = belt["at"].dt.tz_convert(UTC)
    spans = [s for stop in site.stops if stop.kind == "belt" for s in stopped(stop, site)]
    assert len(spans) > 15
    crossed = 0
    for before, row in pairwise(belt.itertuples()):
        begins, _ = shift_times(
            site.shift(row.shift), date.fromisoformat(row.work_date), site.time_zone
        )
        since = max(before.at, pd.Timestamp(begins))
        lost = [(min(row.at, end) - max(since, start)).total_seconds() for start, end in spans]
        lost_min = sum(max(seconds, 0.0) for seconds in lost) / 60
        crossed += lost_min > 0
        if row.event == "reading":
            assert row.running_min <= (row.at - since).total_seconds() / 60 - lost_min
    assert crossed > 10


def test_weekly_maintenance_of_the_belt_follows_the_check_of_the_empty_belt(site: Site) -> None:
    weekly = next(stop for stop in site.stops if stop.about == "BELT1" and stop.starts)
    checks = recount.table("records/belt_checks.csv")
    on = pd.to_datetime(checks[checks.method == "zero"].checked_at)
    regular = on[on.dt.date >= weekly.first_day]
    regular = regular[regular.dt.date != date(2026, 9, 1)]  # after the bank holiday
    assert set(regular.dt.day_of_week) == set(weekly.weekdays)
    assert weekly.starts
    assert (regular.dt.time < weekly.starts).all()


def test_the_outages_of_the_season_are_no_stops(site: Site) -> None:
    out = [date(2026, 7, day) for day in range(20, 25)]
    out += [date(2026, 8, day) for day in range(24, 29)]
    whole_days = [stop for stop in site.stops if stop.kind == "belt" and not stop.starts]
    assert not any(s.first_day <= day <= s.last_day for s in whole_days for day in out)


def test_catching_up_and_maintenance_share_the_weekend_nights_ahead(site: Site) -> None:
    nights = [day for day in days(date(2026, 10, 31), date(2026, 12, 19)) if day.weekday() == 5]
    stops = [stop.first_day for stop in site.stops if stop.kind == "site"]
    assert [night in stops for night in nights] == [True, False] * 4


def test_the_site_is_shut_over_christmas_and_on_bank_holidays_to_come(site: Site) -> None:
    shut = days(date(2026, 12, 24), date(2027, 1, 3))
    assert set(shut) <= site.closed_days
    assert {date(2027, 3, 26), date(2027, 3, 29)} <= site.closed_days
    assert not {date(2026, 12, 23), date(2027, 1, 4)} & site.closed_days


# Ways out


def test_the_belt_carried_what_its_data_sheet_and_its_geometry_say(site: Site) -> None:
    (belt,) = site.belts
    assert belt.capacity_t_per_h
    runs = recount.belt_runs(recount.season()).dropna(subset="running_min")
    t_per_h = runs.run_t / runs.running_min * 60
    assert t_per_h.median() == pytest.approx(238, abs=1)
    assert 0.97 * belt.capacity_t_per_h < t_per_h.max() <= belt.capacity_t_per_h
    geometry = (belt.width_m, belt.trough_deg, belt.surcharge_deg, belt.speed_m_per_s)
    width_m, trough_deg, surcharge_deg, speed_m_per_s = (value or 0.0 for value in geometry)
    section = belt_section(width_m, trough_deg, surcharge_deg)
    slope_deg = slope_angle(belt.length_m or 0.0, belt.lift_m or 0.0)
    full = belt_capacity(section, speed_m_per_s, belt.loose_density_t_per_m3 or 0.0, slope_deg)
    assert full.capacity_t_per_h == pytest.approx(belt.capacity_t_per_h, rel=0.05)
    assert not full.outside


def test_no_shift_put_more_on_the_belt_than_its_share_of_running(site: Site) -> None:
    (belt,) = site.belts
    runs = recount.belt_runs(recount.season())
    for (day, name), run in runs.groupby(["work_date", "shift"]):
        minutes = shift_minutes(site.shift(name), date.fromisoformat(day), site.time_zone)
        assert run.running_min.sum() <= belt.running_share * minutes
        assert run.run_t.sum() <= (belt.capacity_t_per_h or 0) * belt.running_share * minutes / 60


def test_the_crane_over_the_shaft_could_lift_what_every_shift_dug_there(site: Site) -> None:
    (hoist,) = site.hoists
    dug = recount.dug(recount.season())
    lifted = dug[dug.zone.isin(hoist.zones)].groupby(["work_date", "shift"]).dug_m3.sum()
    hour_m3 = hoist.skip_m3 * hoist.fill * hoist.lifts_per_h / 1.3
    hours = lifted.index.get_level_values("shift").map({"day": 12, "night": 12, "weekend": 8})
    assert (lifted < hour_m3 * hours).all()


def fleets_and_loads(site: Site) -> list[tuple[float, float, pd.DataFrame]]:
    """Loads an hour and the round [min] by plan, and the loads, of each fleet."""
    loads = recount.carried(recount.season())
    loads = loads[loads.is_load & (loads.vehicle == "rigid_32")]
    found = []
    for fleet in site.fleets:
        round_min = fleet.load_min + fleet.away_min
        output = fleet_output(fleet.lorries, fleet.load_min / 60, round_min / 60, fleet.loaders)
        found.append((output.output_per_h, round_min, loads[loads.route.isin(fleet.routes)]))
    return found


def test_the_planned_fleets_could_carry_the_loads_of_every_day(site: Site) -> None:
    for loads_per_h, _, loads in fleets_and_loads(site):
        by_day = loads.groupby(loads.left.dt.date).size()
        hours = pd.Series([5.0 if day.weekday() == 5 else 11.0 for day in by_day.index])
        assert (by_day.to_numpy() <= loads_per_h * hours.to_numpy()).all()
    assert sum(fleet.lorries for fleet in site.fleets) == 34


def test_the_planned_round_is_that_of_the_tickets_within_a_tenth(site: Site) -> None:
    for _, round_min, loads in fleets_and_loads(site):
        in_order = loads.sort_values(["registration", "left"])
        gaps = in_order.groupby(["registration", in_order.left.dt.date]).left.diff()
        gaps_min = gaps.dt.total_seconds() / 60
        usual_min = gaps_min[gaps_min < 240].median()
        assert round_min == pytest.approx(usual_min, rel=0.1)


def received_t(site: Site) -> pd.Series:
    """Tonnes by destination and date, by lorry and by belt."""
    ends = {route.route: route.destination for route in site.routes}
    loads = recount.carried(recount.season())
    by_lorry = loads.assign(day=loads.left.dt.date, destination=loads.route.map(ends))
    belt = recount.belt_runs(recount.season())
    by_belt = belt.assign(day=belt["at"].dt.date, destination=belt.route.map(ends), t=belt.run_t)
    both = pd.concat([f[["destination", "day", "t"]] for f in (by_lorry, by_belt)])
    return both.groupby(["destination", "day"]).t.sum()


def test_no_receiver_was_sent_more_in_a_day_than_it_takes(site: Site) -> None:
    most_t = {(r.destination, day): r.daily_t for r in site.receiving for day in r.weekdays}
    for (destination, day), t in received_t(site).items():
        if day.weekday() != 6:  # what the belt brought in the night from Saturday
            assert t <= (most_t[destination, day.weekday()] or 0.0), (destination, day)


def test_every_lorry_left_early_enough_to_be_taken_in(site: Site) -> None:
    closes = {(r.destination, day): r.closes for r in site.receiving for day in r.weekdays}
    away_min = {route: f.away_min for f in site.fleets for route in f.routes}
    ends = {route.route: route.destination for route in site.routes}
    loads = recount.carried(recount.season())
    for load in loads[loads.is_load].itertuples():
        there = load.left + timedelta(minutes=away_min[load.route] / 2)
        assert there.time() <= closes[ends[load.route], load.left.weekday()], load


def test_the_crews_dug_in_at_most_four_zones_and_how_many_is_left_to_the_record(
    site: Site,
) -> None:
    dug = recount.dug(recount.season())
    at_once = dug.groupby(["work_date", "shift"]).zone.nunique()
    assert (at_once.median(), at_once.max()) == (2, 4)
    assert site.zones_at_once is None


# Holds and formation


def test_a_stage_says_what_must_be_in_place_and_some_releases_on_what_condition(
    site: Site,
) -> None:
    assert all(stage.hold_condition for stage in site.stages)
    holds = recount.table("records/holds.csv")
    given = holds[holds.condition.notna()]
    assert list(given.permit) == ["PTD-A4-01", "PTD-B4-01", "PTD-E3-02", "PTD-S5-01", "PTD-C4-01"]
    assert set(given.status) == {"released"}


def formation(step: str) -> pd.DataFrame:
    rows = recount.table("records/formation.csv")
    rows["at"] = recount.on_site(rows.done_at)
    return rows[rows.step == step]


def test_the_formation_of_zone_a_is_reached_in_two_parts_that_are_all_of_it(site: Site) -> None:
    reached = formation("reached")
    zone = site.zone("A")
    assert set(reached.zone) == {"A"}
    assert reached.area_m2.sum() == plan_area(zone, site.formation_level_m("A"))
    dug = recount.dug(recount.season())
    assert str(reached["at"].iloc[0].date()) > dug[dug.zone == "A"].work_date.max()


def test_the_west_bays_were_inspected_and_blinded_within_the_limit_and_accepted_after(
    site: Site,
) -> None:
    reached, inspected, blinded = (formation(s) for s in ("reached", "inspected", "blinded"))
    open_h = (blinded["at"].iloc[0] - reached["at"].iloc[0]).total_seconds() / 3600
    assert open_h == pytest.approx(22.8, abs=0.1)
    assert open_h < (site.zone("A").exposure_limit_h or 0.0)
    holds = recount.table("records/holds.csv").set_index("hold")
    accepted = holds.loc["formation"]
    assert inspected.area_m2.sum() == blinded.area_m2.sum() == accepted.accepted_m2 == 432
    done = recount.on_site(pd.Series([accepted.decided_at]))[0]
    assert inspected["at"].iloc[0] < blinded["at"].iloc[0] < done


def test_the_east_bays_lie_open_within_the_limit_until_the_day_before_their_pour(
    site: Site,
) -> None:
    limit_h = site.zone("A").exposure_limit_h or 0.0
    since = formation("reached")["at"].iloc[1]
    season_ends = recount.on_site(pd.Series(["2026-10-27T19:00"]))[0]
    assert 24 < (season_ends - since).total_seconds() / 3600 < limit_h
    pour = recount.table("records/bookings.csv").set_index("booking").loc["POUR-A-SLAB-EAST"]
    assert str((since + timedelta(hours=limit_h)).date()) < pour.gate_date
