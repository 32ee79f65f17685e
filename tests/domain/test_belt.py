"""The figures of a belt of the set-up: stated first, else by its geometry."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tracker.domain.belt import belt_t_per_h, geometric_kwh_per_t, geometric_t_per_h
from tracker.domain.conveyor import belt_capacity, belt_section
from tracker.domain.conveyor_power import belt_drive, belt_power
from tracker.domain.site import Belt
from tracker.errors import InputError

STATED = Belt("b", 300.0, 0.8, "data sheet")
SIZES = {"width_m": 0.8, "trough_deg": 30.0, "surcharge_deg": 15.0, "speed_m_per_s": 1.6}
DRAWN = Belt("b", None, 0.8, "drawing", **SIZES, loose_density_t_per_m3=1.5)


def test_the_stated_capacity_holds_where_there_is_one():
    assert belt_t_per_h(replace(DRAWN, capacity_t_per_h=300.0)) == (300.0, "stated")


def test_else_it_is_that_of_the_full_cross_section():
    full = belt_capacity(belt_section(0.8, 30.0, 15.0), 1.6, 1.5).capacity_t_per_h
    assert belt_t_per_h(DRAWN) == (full, "by its geometry")


def test_a_belt_that_climbs_carries_less():
    level = geometric_t_per_h(replace(DRAWN, length_m=100.0, lift_m=0.0))
    assert geometric_t_per_h(replace(DRAWN, length_m=100.0, lift_m=10.0)) < level


def test_the_density_of_the_ground_stands_in_for_one_that_is_not_given():
    undrawn = replace(DRAWN, loose_density_t_per_m3=None)
    assert geometric_t_per_h(undrawn, 1.5) == geometric_t_per_h(DRAWN)
    with pytest.raises(InputError, match="loose_density_t_per_m3"):
        geometric_t_per_h(undrawn)


def test_a_belt_without_sizes_says_which_columns_to_fill():
    with pytest.raises(InputError, match=r"Belt b has no width_m, trough_deg.*belts\.csv"):
        geometric_t_per_h(STATED, 1.5)
    with pytest.raises(InputError, match="length_m, lift_m"):
        geometric_kwh_per_t(DRAWN, 200.0)


def test_energy_is_that_of_the_drive_at_the_flow():
    drawn = replace(DRAWN, length_m=200.0, lift_m=12.0)
    drive, _ = belt_drive(0.8, 200.0, 12.0, 1.6)
    assert geometric_kwh_per_t(drawn, 200.0) == belt_power(drive, 200.0, 1.5).kwh_per_t
