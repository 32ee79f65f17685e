"""University materials-handling course sheet: 1000 t/h raised 17.9 m take 48.77 kW (read).

Source key: lift_course.
"""

import pytest

from tracker.domain.conveyor import lift_power
from tracker.domain.conveyor_power import belt_drive, resistances


def test_1000_t_an_hour_raised_17_9_m_take_48_77_kw():
    assert lift_power(1000.0, 17.9) == pytest.approx(48.77, abs=0.01)


def test_the_slope_resistance_times_the_speed_is_that_power_but_for_its_rounding():
    drive, _ = belt_drive(1.0, 100.0, 17.9, 2.5)
    slope_kw = resistances(drive, 1000.0).slope_n * 2.5 / 1000.0
    assert slope_kw == pytest.approx(48.77, rel=0.0005)
