"""Levels: what the released hold points permit, what lies below, and what that is called."""

from __future__ import annotations

from datetime import UTC, date, datetime
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain.levels import (
    CAUTION,
    breach,
    design_volume,
    designers_reserve,
    held_days,
    latest_status,
    outline_area,
    overdig_split,
    permitted_level,
    plan_area,
    stage_tops,
    stage_volume,
)
from tracker.domain.site import Deduction, Stage, Zone
from tracker.errors import InputError

OPENS = date(2026, 3, 2)
SQUARE = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))


def a_zone(**changes) -> Zone:
    given = {
        "zone": "A",
        "excavation": "BOX",
        "name": "West",
        "ground_level_m": 104.0,
        "outline": SQUARE,
        "opens": OPENS,
    }
    return Zone(**(given | changes))


def stages(*levels_m: float) -> tuple[Stage, ...]:
    return tuple(
        Stage("A", number, level_m, "props", 7, OPENS, OPENS)
        for number, level_m in enumerate(levels_m, start=1)
    )


STAGES = stages(100.0, 96.0, 92.0)


# --- permitted level -----------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("status", "level_m"),
    [
        ({}, 104.0),
        ({"1": "released"}, 100.0),
        ({"1": "released", "2": "released"}, 96.0),
        ({"1": "released", "2": "released", "3": "released"}, 92.0),
        ({"1": "released", "2": "suspended", "3": "released"}, 100.0),
        ({"1": "not released", "2": "released"}, 104.0),
        ({"1": "released", "3": "released"}, 100.0),  # never past an unreleased stage
        ({"formation": "released"}, 104.0),
        ({"1": "Released"}, 104.0),  # only the exact word releases
    ],
    ids=str,
)
def test_the_permitted_level_is_that_of_the_deepest_stage_released_without_a_gap(status, level_m):
    assert permitted_level(a_zone(), STAGES, status) == level_m


@given(st.lists(st.sampled_from(["released", "suspended", "not released"]), max_size=3))
def test_no_release_below_a_stage_that_is_not_released_permits_anything(statuses):
    status = {str(number): word for number, word in enumerate(statuses, start=1)}
    level_m = permitted_level(a_zone(), STAGES, status)
    for stage in STAGES:
        if stage.design_level_m >= level_m:
            assert status[str(stage.stage)] == "released"
    without_last = dict(list(status.items())[:-1])
    assert permitted_level(a_zone(), STAGES, without_last) >= level_m


def test_the_latest_decision_on_a_hold_counts():
    decisions = [("1", "released"), ("2", "released"), ("1", "suspended")]
    assert latest_status(decisions) == {"1": "suspended", "2": "released"}
    assert permitted_level(a_zone(), STAGES, latest_status(decisions)) == 104.0


# --- breach --------------------------------------------------------------------------------------
@pytest.mark.parametrize("lowest_m", [100.0, 100.001, 103.0, 99.9996])
def test_at_or_above_the_permitted_level_to_the_millimetre_there_is_no_breach(lowest_m):
    assert breach("A", lowest_m, 100.0) is None


@pytest.mark.parametrize("lowest_m", [99.999, 99.9994, 99.5, 80.0])
def test_a_millimetre_below_the_permitted_level_is_a_breach(lowest_m):
    found = breach("A", lowest_m, 100.0)
    assert found is not None
    assert found.depth_m == pytest.approx(100.0 - lowest_m)


def test_a_breach_says_how_deep_and_whom_to_ask_and_allows_nothing():
    sentence = str(breach("A", 99.85, 100.0))
    for part in ("Zone A", "99.850 m", "0.150 m below", "100.000 m", "Stop and ask", "reserve"):
        assert part in sentence
    for word in ("tolerance", "allowed", "acceptable"):
        assert word not in sentence


def test_the_caution_defers_to_the_permit_and_names_what_is_not_checked():
    for part in (
        "permit on site",
        "temporary works coordinator",
        "no wall",
        "alarms",
        "Local codes",
    ):
        assert part in CAUTION


@given(st.floats(0.001, 1_000.0))
def test_the_designers_reserve_is_never_more_than_half_a_metre_nor_a_tenth(height_m):
    reserve_m = designers_reserve(height_m)
    assert 0.0 < reserve_m <= 0.5
    assert reserve_m <= 0.1 * height_m


@pytest.mark.parametrize("height_m", [0.0, -3.0, float("nan")])
def test_a_height_that_is_none_has_no_reserve(height_m):
    with pytest.raises(InputError, match="height_m"):
        designers_reserve(height_m)


# --- areas and volumes ---------------------------------------------------------------------------
def test_the_area_of_an_outline_does_not_depend_on_the_way_round_nor_on_where_it_lies():
    far = tuple((x + 530_000.0, y + 180_000.0) for x, y in SQUARE)
    for outline in (SQUARE, SQUARE[::-1], far):
        assert outline_area(outline) == pytest.approx(100.0)


def test_the_plan_area_is_linear_between_stated_levels_and_constant_beyond():
    zone = a_zone(areas=((104.0, 200.0), (100.0, 100.0), (96.0, 100.0)))
    areas = {106.0: 200.0, 104.0: 200.0, 102.0: 150.0, 100.0: 100.0, 97.0: 100.0, 90.0: 100.0}
    assert {level_m: plan_area(zone, level_m) for level_m in areas} == pytest.approx(areas)


def test_the_design_volume_of_a_zone_is_its_area_times_its_depth():
    assert design_volume(a_zone(), 104.0, 92.0) == pytest.approx(1_200.0)
    assert design_volume(a_zone(), 100.0, 100.0) == 0.0


def test_a_band_that_runs_upwards_is_refused():
    with pytest.raises(InputError, match="upper level first"):
        design_volume(a_zone(), 92.0, 104.0)


def test_what_is_no_ground_is_deducted_from_the_bands_it_lies_in():
    basement = Deduction(104.0, 100.0, 80.0, "old basement")
    zone = a_zone(deductions=(basement,))
    assert design_volume(zone, 104.0, 100.0) == pytest.approx(400.0 - 80.0)
    assert design_volume(zone, 103.0, 102.0) == pytest.approx(100.0 - 20.0)
    assert design_volume(zone, 100.0, 92.0) == pytest.approx(800.0)


@given(
    st.lists(
        st.tuples(st.floats(80.0, 104.0), st.floats(1.0, 5_000.0)),
        max_size=5,
        unique_by=lambda a: a[0],
    ),
    st.lists(st.floats(80.0, 104.0), min_size=1, max_size=5),
)
def test_the_bands_of_a_zone_sum_to_the_whole(areas, cuts):
    zone = a_zone(
        areas=tuple(sorted(areas, reverse=True)),
        deductions=(Deduction(101.3, 88.7, 40.0, "piles"),),
    )
    levels = sorted({104.0, 80.0, *cuts}, reverse=True)
    parts = [design_volume(zone, upper, lower) for upper, lower in pairwise(levels)]
    assert sum(parts) == pytest.approx(design_volume(zone, 104.0, 80.0))


def test_each_stage_starts_where_the_one_above_stops():
    assert [top for _, top in stage_tops(a_zone(), STAGES)] == [104.0, 100.0, 96.0]
    assert [stage_volume(a_zone(), STAGES, n) for n in (1, 2, 3)] == pytest.approx([400.0] * 3)


def test_a_stage_that_a_zone_has_not_is_refused():
    with pytest.raises(InputError, match="no stage 4"):
        stage_volume(a_zone(), STAGES, 4)


# --- overdig -------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("from_m", "to_m", "net_m3", "overdig_m3"),
    [
        (96.0, 92.0, 120.0, 0.0),  # down to formation
        (96.0, 94.0, 120.0, 0.0),
        (93.0, 91.0, 60.0, 60.0),
        (92.0, 91.0, 0.0, 120.0),
        (92.0, 92.0, 120.0, 0.0),
        (None, None, 120.0, 0.0),
    ],
)
def test_what_is_dug_below_formation_is_overdig_in_proportion_to_depth(
    from_m, to_m, net_m3, overdig_m3
):
    dug = overdig_split(120.0, from_m, to_m, formation_m=92.0)
    assert (dug.net_m3, dug.overdig_m3) == pytest.approx((net_m3, overdig_m3))


@given(st.floats(0.0, 1e6), st.floats(80.0, 104.0), st.floats(0.0, 10.0))
def test_net_and_overdig_sum_to_what_was_dug(bank_m3, to_m, depth_m):
    dug = overdig_split(bank_m3, to_m + depth_m, to_m, formation_m=92.0)
    assert dug.net_m3 + dug.overdig_m3 == pytest.approx(bank_m3)
    assert dug.net_m3 >= 0.0
    assert dug.overdig_m3 >= 0.0


# --- how long a hold holds -----------------------------------------------------------------------
def october(day, hour=12):
    return datetime(2026, 10, day, hour, tzinfo=UTC)


@pytest.mark.parametrize(
    ("decisions", "days"),
    [
        ([], 20.0),
        ([(october(11), True)], 10.0),
        ([(october(11), True), (october(15), False)], 16.0),  # suspended, and still so
        ([(october(11), True), (october(15), False), (october(18), True)], 13.0),
        ([(datetime(2026, 9, 1, tzinfo=UTC), True)], 0.0),  # released before it began
        ([(datetime(2026, 9, 1, tzinfo=UTC), True), (october(3), False)], 18.0),
    ],
)
def test_a_hold_holds_while_it_is_not_released_suspensions_included(decisions, days):
    assert held_days(october(1), decisions, october(21)) == days


def test_an_hour_is_an_hour_on_the_night_on_which_clocks_change():
    assert held_days(october(24), [(october(26), True)], october(30)) == 2.0
