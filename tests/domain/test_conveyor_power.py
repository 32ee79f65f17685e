import math

import pytest

from tracker.domain.conveyor_power import (
    belt_drive,
    belt_power,
    motor_power,
    pulley_resistance,
    resistances,
    sag_tension,
)
from tracker.errors import InputError, OutOfRange, OutsidePublishedRange, UnknownName

UP, ASSUMED = belt_drive(1.0, 120.0, 15.0, 2.0)
DOWN, _ = belt_drive(1.0, 120.0, -15.0, 2.0)


def test_what_is_not_stated_is_scaled_by_width_from_the_example_and_named():
    assert ASSUMED["belt_kg_per_m"] == pytest.approx(16.44 / 1.2)
    assert ASSUMED["pulleys_n"] == pytest.approx(600.0)
    assert ASSUMED["friction"] == 0.02
    assert UP.belt_kg_per_m == ASSUMED["belt_kg_per_m"]


def test_what_is_stated_wins_and_is_not_named_as_assumed():
    drive, assumed = belt_drive(1.0, 120.0, 15.0, 2.0, belt_kg_per_m=18.0, cleaners=None)
    assert drive.belt_kg_per_m == 18.0
    assert "belt_kg_per_m" not in assumed
    assert assumed["cleaners"] == 0.0
    with pytest.raises(UnknownName, match="Did you mean “cleaners”"):
        belt_drive(1.0, 120.0, 15.0, 2.0, cleaner=2.0)


def test_a_climbing_belt_lifts_its_load_and_its_own_mass_comes_back_down():
    level, _ = belt_drive(1.0, 120.0, 0.0, 2.0)
    forces = resistances(UP, 400.0, 1.5)
    load_kg_per_m = 400.0 / 3.6 / 2.0
    assert forces.slope_n == pytest.approx(load_kg_per_m * 9.81 * 15.0)
    assert resistances(UP, 0.0).slope_n == 0.0
    assert forces.main_n < resistances(level, 400.0, 1.5).main_n


def test_the_total_is_the_sum_of_its_parts():
    drive, _ = belt_drive(1.0, 60.0, 8.0, 2.0, skirt_m=3.0, cleaners=2.0)
    forces = resistances(drive, 300.0, 1.5)
    parts = (forces.main_n, forces.secondary_n, forces.special_n, forces.slope_n)
    assert all(force_n > 0.0 for force_n in parts)
    assert forces.total_n == pytest.approx(sum(parts))


def test_a_load_that_lands_at_the_speed_of_the_belt_needs_no_push():
    drive, _ = belt_drive(1.0, 60.0, 8.0, 2.0, feed_speed_m_per_s=2.0)
    forces = resistances(drive, 300.0, 1.5)
    assert (forces.acceleration_n, forces.feed_skirt_n) == (0.0, 0.0)


def test_the_push_at_the_feed_is_twice_the_energy_that_the_load_then_has():
    """The other half is lost in sliding: the work of the belt is m v², the load keeps m v² / 2."""
    forces = resistances(UP, 360.0, 1.5)
    assert forces.acceleration_n * 2.0 == pytest.approx(2 * (100.0 * 2.0**2 / 2))


def test_a_drive_takes_more_than_the_belt_uses_and_gives_back_less_than_the_load_yields():
    assert motor_power(UP, 10_000.0) == pytest.approx(20.0 / 0.9215)
    assert motor_power(DOWN, -10_000.0) == pytest.approx(-20.0 * 0.9215)


def test_a_belt_that_its_load_drives_uses_nothing_and_earns_nothing():
    power = belt_power(DOWN, 900.0, 1.5)
    assert power.belt_power_kw < 0.0
    assert power.lift_power_kw < 0.0
    assert power.kwh_per_t == 0.0


def test_energy_for_a_tonne_is_power_over_flow_and_empty_hours_add_to_it():
    steady = belt_power(UP, 400.0, 1.5)
    assert steady.kwh_per_t == pytest.approx(steady.motor_power_kw / 400.0)
    shift = belt_power(UP, 400.0, 1.5, idle_share=0.25)
    eight_hours_kwh = 6.0 * steady.motor_power_kw + 2.0 * steady.idle_power_kw
    assert shift.kwh_per_t == pytest.approx(eight_hours_kwh / (6.0 * 400.0))
    assert 0.0 < steady.idle_power_kw < steady.motor_power_kw


def test_a_friction_factor_beyond_the_common_range_is_computed_and_marked():
    drive, _ = belt_drive(1.0, 120.0, 15.0, 2.0, friction=0.05)
    assert resistances(drive, 400.0, 1.5).main_n > resistances(UP, 400.0, 1.5).main_n
    with pytest.raises(OutsidePublishedRange, match=r"friction factor of 0\.05 .* 0\.016 to 0\.03"):
        raise drive.outside[0]
    assert UP.outside == ()


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"friction": 2.0}, "Write 0.02, not 2 %"),
        ({"efficiency": 92.0}, "Write 0.92, not 92 %"),
        ({"skirt_gap_m": 750.0}, "skirt_gap_m is 750 m"),
        ({"skirt_gap_m": 0.0}, "more than 0 m"),
        ({"feed_speed_m_per_s": 3.0}, "feed_speed_m_per_s is 3 m/s"),
        ({"cleaners": -1.0}, "must be 0"),
        ({"belt_kg_per_m": math.nan}, "belt_kg_per_m is nan kg/m"),
        ({"load_on_belt_friction": 0.0}, "load_on_belt_friction is 0"),
    ],
)
def test_what_cannot_be_a_conveyor_is_refused_with_what_to_write(given, words):
    with pytest.raises(InputError, match=words):
        belt_drive(1.0, 120.0, 15.0, 2.0, **given)


def test_a_load_must_be_stated_and_a_belt_is_never_empty_all_the_time():
    with pytest.raises(InputError, match="mass flow is 0 t/h"):
        belt_power(UP, 0.0, 1.5)
    with pytest.raises(InputError, match=r"Write 0\.3, not 30 %"):
        belt_power(UP, 400.0, 1.5, idle_share=30.0)
    with pytest.raises(InputError, match="idle_share is nan"):
        belt_power(UP, 400.0, 1.5, idle_share=math.nan)


def test_a_belt_held_tighter_sags_less_and_drags_more_at_its_pulleys():
    assert sag_tension(150.0, 1.2, 0.005) == pytest.approx(2 * sag_tension(150.0, 1.2, 0.01))
    slack = pulley_resistance(1.0, 0.01, 0.5, 0.1, 500.0, (10_000.0, 10_000.0))
    assert pulley_resistance(1.0, 0.01, 0.5, 0.1, 500.0, (20_000.0, 20_000.0)) > slack
    with pytest.raises(OutOfRange, match="sag is 1"):
        sag_tension(150.0, 1.2, 1.0)
    with pytest.raises(InputError, match="pulley is 0 m"):
        pulley_resistance(1.0, 0.01, 0.0, 0.1, 500.0, (10_000.0, 10_000.0))
