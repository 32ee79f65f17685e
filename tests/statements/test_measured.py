"""What was measured beside model and plan: it is used once enough readings stand behind it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from tests.statements import pit
from tracker.domain.belt import geometric_kwh_per_t
from tracker.domain.fleet import finite_queue
from tracker.domain.site_tables import site_from_tables
from tracker.statements.capacity_shapes import MeasuredLine
from tracker.statements.measured import belt_energy, measured_lines
from tracker.statements.recent import Load, Recent, Round, Run, Worked

SITE, _ = site_from_tables(pit.tables())
DAY = date(2026, 11, 2)
FLOW = (100.0, 110.0, 90.0, 100.0, 120.0)  # t in an hour of each reading


def runs(count: int = 5, kwh_per_t: float = 0.5) -> tuple[Run, ...]:
    return tuple(Run("belt-1", DAY, "clay", t, t * kwh_per_t, 1.0) for t in FLOW[:count])


def loads(*each_t: float | None) -> tuple[Load, ...]:
    at = datetime(2026, 11, 2, 9, tzinfo=UTC)
    return tuple(
        Load("INV 1", DAY, at + timedelta(hours=n), None, "rigid", "clay", "R-ROAD", t)
        for n, t in enumerate(each_t)
    )


def rounds(*each_min: float) -> tuple[Round, ...]:
    return tuple(Round("R-ROAD", "rigid", x, x - 30.0) for x in each_min)


def lines(site=SITE, **given) -> dict[str, MeasuredLine]:
    empty = {"runs": (), "loads": (), "rounds": (), "worked": Worked({}, {})}
    record = Recent(DAY, DAY, **(empty | given))
    return {line.what: line for line in measured_lines(site, record)}


# --- belts ---------------------------------------------------------------------------------------
def test_energy_is_the_sum_of_the_meter_over_the_sum_of_the_tonnes():
    unequal = (*runs(4), Run("belt-1", DAY, "clay", 400.0, 100.0, 4.0))
    line = lines(runs=unequal)["kwh_per_t"]
    assert line.measured == pytest.approx((0.5 * 400.0 + 100.0) / 800.0)
    assert (line.count, line.used, line.unit) == (5, "measured", "kWh/t")


def test_under_five_readings_the_model_of_the_geometry_is_used():
    line = lines(runs=runs(4))["kwh_per_t"]
    assert line.used == "modelled"
    assert line.modelled == pytest.approx(geometric_kwh_per_t(SITE.belts[0], 100.0))
    assert "Fewer than 5 readings: the model is used." in line.sentence
    assert "The set-up states 0.500." in line.sentence


def test_a_meter_far_above_the_model_says_what_the_model_leaves_out():
    assert "empty running, skirts and cleaners" in lines(runs=runs())["kwh_per_t"].sentence


def test_without_sizes_the_figure_stated_for_the_legs_stands_in():
    undrawn = replace(SITE, belts=(replace(SITE.belts[0], length_m=None),))
    line = lines(undrawn)["kwh_per_t"]
    assert (line.modelled, line.measured, line.count) == (0.5, None, 0)
    assert line.model == "stated for its legs in the set-up"


def test_a_belt_that_only_readings_name_is_measured_too():
    line = lines(replace(SITE, belts=()), runs=runs())["belt_t_per_h"]
    assert (line.measured, line.modelled) == (pytest.approx(104.0), None)


def test_what_a_belt_was_fed_never_stands_in_for_its_capacity():
    line = lines(runs=runs())["belt_t_per_h"]
    assert (line.measured, line.modelled, line.used) == (pytest.approx(104.0), 100.0, "modelled")
    assert (line.low, line.high) == (100.0, 110.0)
    assert "2 readings lie above that" in line.sentence


def test_energy_by_belt_is_the_figure_that_is_used():
    empty = {"loads": (), "rounds": (), "worked": Worked({}, {})}
    measured = belt_energy(SITE, Recent(DAY, DAY, runs=runs(), **empty))
    modelled = belt_energy(SITE, Recent(DAY, DAY, runs=runs(1), **empty))
    assert measured == {"belt-1": pytest.approx(0.5)}
    assert modelled == {"belt-1": pytest.approx(geometric_kwh_per_t(SITE.belts[0], 100.0))}


# --- lorries -------------------------------------------------------------------------------------
def test_payload_is_the_mean_of_the_weighed_loads_beside_plate_and_body():
    line = lines(loads=loads(*[18.0, 19.0] * 10, None))["payload_t"]
    assert (line.measured, line.count, line.used) == (pytest.approx(18.5), 20, "measured")
    assert line.modelled == pytest.approx(19.2)


def test_a_mean_above_the_plate_is_marked_and_the_plate_holds():
    said = lines(loads=loads(*[21.0] * 20))["payload_t"].sentence
    assert "above the plate of 20 t: the plate is used" in said
    assert "unsafe and unlawful" in said


def test_a_round_is_a_median_beside_the_plan_with_its_queue():
    line = lines(rounds=rounds(*[120.0] * 12, *[140.0] * 13))["cycle_min"]
    there_h = finite_queue(4, 60.0 / 90.0, 60.0 / 10.0).time_in_system_h
    assert (line.measured, line.count, line.used) == (140.0, 25, "measured")
    assert line.modelled == pytest.approx(90.0 + 60.0 * there_h)
    assert "110 of them from gate to gate" in line.sentence


def test_under_twenty_rounds_the_plan_is_used():
    assert lines(rounds=rounds(*[120.0] * 19))["cycle_min"].used == "modelled"


def test_a_route_that_no_fleet_serves_has_no_plan():
    line = lines(replace(SITE, fleets=()), rounds=rounds(100.0))["cycle_min"]
    assert (line.modelled, line.low) == (None, None)
    assert "No plan." in line.sentence
