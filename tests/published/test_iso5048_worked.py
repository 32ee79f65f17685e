"""A worked flat conveyor after ISO 5048:1989, as reproduced in an open package's test data (read).

The first estimate allows 360 N for each of two pulleys; the refined one computes both from the belt
tensions. The pulleys' sizes and masses are printed with the example.

Source key: iso5048_worked, iso5048.
"""

import pytest

from tracker.domain.conveyor import belt_capacity, belt_section, usable_width
from tracker.domain.conveyor_power import (
    belt_drive,
    motor_power,
    pulley_resistance,
    resistances,
    sag_tension,
)

BELT_KG_PER_M = 16.44
LOAD_KG_PER_M = 2300.0 / 3.6 / 4.8
DRIVE, _ = belt_drive(
    1.2,
    143.0,
    0.0,
    4.8,
    belt_kg_per_m=BELT_KG_PER_M,
    carry_kg_per_m=15.5 / 1.2,
    return_kg_per_m=13.2 / 3.0,
    skirt_gap_m=0.75,
    pulleys_n=2 * 360.0,
    friction=0.02,
    load_on_belt_friction=0.5,
    load_on_skirt_friction=0.7,
    skirt_m=4.8,
    cleaners=4.0,
    cleaner_friction=0.6,
    cleaner_thickness_m=0.008,
    cleaner_kpa=30.0,
    efficiency=0.95 * 0.97,
)
FORCES = resistances(DRIVE, 2300.0, 0.85)
TOTAL_N = 13232.32


def test_the_cross_section_and_its_two_parts():
    section = belt_section(1.2, 45.0, 20.0, roller_m=0.436)
    assert usable_width(1.2) == pytest.approx(1.03)
    assert section.upper_area_m2 == pytest.approx(0.0445, abs=0.00005)
    assert section.lower_area_m2 == pytest.approx(0.1357, abs=0.00005)
    assert section.area_m2 == pytest.approx(0.180, abs=0.0005)


def test_2300_t_an_hour_are_87_percent_of_a_full_belt():
    """Printed: 2643.84 t/h, from a flow rounded down to 0.864 m³/s; unrounded it is 0.8646."""
    full = belt_capacity(belt_section(1.2, 45.0, 20.0, roller_m=0.436), 4.8, 0.85)
    assert full.capacity_t_per_h == pytest.approx(2643.84, rel=0.001)
    assert 2300.0 / full.capacity_t_per_h == pytest.approx(0.87, abs=0.005)


def test_the_mass_of_the_load_on_a_metre_of_belt():
    assert pytest.approx(133.1, abs=0.05) == LOAD_KG_PER_M


def test_the_resistances_of_the_first_estimate():
    assert FORCES.main_n == pytest.approx(5142.73, abs=0.01)
    assert FORCES.acceleration_n == pytest.approx(3066.7, abs=0.05)
    assert FORCES.feed_skirt_n == pytest.approx(2390.38, abs=0.01)
    assert FORCES.secondary_n == pytest.approx(6177.05, abs=0.01)
    assert FORCES.skirt_n == pytest.approx(1221.34, abs=0.01)
    assert FORCES.cleaners_n == pytest.approx(691.2, abs=0.05)
    assert FORCES.special_n == pytest.approx(1912.54, abs=0.01)
    assert FORCES.slope_n == 0.0
    assert FORCES.total_n == pytest.approx(TOTAL_N, abs=0.01)


def test_the_power_of_the_first_estimate():
    assert FORCES.total_n * 4.8 / 1000.0 == pytest.approx(63.52, abs=0.01)
    assert motor_power(DRIVE, FORCES.total_n) == pytest.approx(68.93, abs=0.01)


def test_the_refined_estimate_from_the_tensions_at_both_pulleys():
    least_n = sag_tension(BELT_KG_PER_M + LOAD_KG_PER_M, 1.2, 0.01)
    assert least_n == pytest.approx(22005, abs=0.5)
    tight_n = least_n + FORCES.total_n
    drive_n = pulley_resistance(1.2, 0.0125, 0.6, 0.14, 1050.0, (tight_n, least_n))
    tail_n = pulley_resistance(1.2, 0.0125, 0.5, 0.12, 800.0, (least_n, least_n))
    assert drive_n == pytest.approx(153, abs=0.5)
    assert tail_n == pytest.approx(141, abs=0.5)
    refined_n = FORCES.total_n - FORCES.pulleys_n + drive_n + tail_n
    assert refined_n == pytest.approx(12806, abs=0.5)
    assert motor_power(DRIVE, refined_n) == pytest.approx(66.71, abs=0.01)


def test_the_empty_belt_has_the_drag_of_its_own_masses_pulleys_and_cleaners_alone():
    idle = resistances(DRIVE, 0.0)
    turning_kg_per_m = 15.5 / 1.2 + 13.2 / 3.0 + 2 * BELT_KG_PER_M
    assert idle.main_n == pytest.approx(0.02 * 143.0 * 9.81 * turning_kg_per_m)
    assert idle.total_n == pytest.approx(idle.main_n + 720.0 + 691.2)
