import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq
from shapely import Polygon

from tracker.domain.conveyor import (
    FORMS,
    belt_capacity,
    belt_section,
    centre_roller,
    checked_loose_density,
    inclination_factor,
    lift_power,
    slope_angle,
    usable_width,
)
from tracker.errors import InputError, OutOfRange, OutsidePublishedRange, UnknownName

SECTION = belt_section(1.0, 35.0, 15.0)


def sketch(section, trough_deg):
    """The corners of the trough under the load, from one edge to the other."""
    side_m = (section.usable_width_m - section.roller_m) / 2
    out_m = side_m * math.cos(math.radians(trough_deg))
    up_m = side_m * math.sin(math.radians(trough_deg))
    half_m = section.roller_m / 2
    return [(-half_m - out_m, up_m), (-half_m, 0.0), (half_m, 0.0), (half_m + out_m, up_m)]


@pytest.mark.parametrize("trough_deg", [20.0, 35.0, 45.0])
def test_the_part_within_the_trough_is_the_area_of_its_drawing(trough_deg):
    section = belt_section(1.0, trough_deg, 15.0)
    drawn_m2 = Polygon(sketch(section, trough_deg)).area
    assert section.lower_area_m2 == pytest.approx(drawn_m2)


def test_the_heap_is_a_parabola_or_a_triangle_that_leaves_the_edge_at_the_surcharge_angle():
    (left_m, _), _, _, (right_m, _) = sketch(SECTION, 35.0)
    half_m, steep = (right_m - left_m) / 2, math.tan(math.radians(15.0))
    parabola_m2, _ = quad(lambda x: steep * (half_m**2 - x**2) / (2 * half_m), -half_m, half_m)
    triangle_m2, _ = quad(lambda x: steep * (half_m - abs(x)), -half_m, half_m, points=[0.0])
    assert SECTION.upper_area_m2 == pytest.approx(parabola_m2)
    assert belt_section(1.0, 35.0, 15.0, form="tan4").upper_area_m2 == pytest.approx(triangle_m2)


def test_a_flat_belt_carries_the_heap_alone_whatever_its_rollers():
    flat = belt_section(0.8, 0.0, 20.0)
    assert flat.lower_area_m2 == 0.0
    assert flat.upper_area_m2 == pytest.approx(0.67**2 * math.tan(math.radians(20.0)) / 6)
    assert belt_section(0.8, 0.0, 20.0, 0.3).upper_area_m2 == pytest.approx(flat.upper_area_m2)
    assert belt_section(2.0, 0.0, 20.0).area_m2 > 0.0


def test_load_that_is_level_fills_the_trough_alone():
    assert belt_section(1.0, 35.0, 0.0).upper_area_m2 == 0.0


def test_the_middle_roller_lies_on_a_line_between_published_widths_and_is_asked_for_beyond():
    assert centre_roller(1.0) == pytest.approx(0.39)
    assert belt_section(1.0, 35.0, 15.0).roller_m == pytest.approx(0.39)
    assert belt_section(2.0, 35.0, 15.0, 0.75).roller_m == 0.75
    with pytest.raises(InputError, match="State the length of the middle roller"):
        belt_section(2.0, 35.0, 15.0)


def test_the_usable_width_changes_its_formula_at_2_m_without_a_step():
    assert usable_width(2.0) == pytest.approx(1.75)
    assert usable_width(2.2) == pytest.approx(1.95)
    with pytest.raises(InputError, match="no width to carry on"):
        usable_width(0.05)


def across_deg(surcharge_deg, slope_deg):
    """Angle across the belt at which the surface of the load is as steep as the surcharge."""
    slope = math.radians(slope_deg)
    along = np.array([math.cos(slope), 0.0, math.sin(slope)])
    normal = np.array([-math.sin(slope), 0.0, math.cos(slope)])

    def excess_deg(across):
        climbing = math.cos(across) * np.array([0.0, 1.0, 0.0]) + math.sin(across) * normal
        surface = np.cross(along, climbing)
        return math.degrees(math.acos(surface[2] / np.linalg.norm(surface))) - surcharge_deg

    return math.degrees(brentq(excess_deg, 0.0, math.radians(60.0)))


@pytest.mark.parametrize("slope_deg", [2.0, 8.0, 14.0, -8.0])
def test_on_a_slope_the_heap_is_as_flat_as_a_surface_of_the_surcharge_angle(slope_deg):
    lower = math.tan(math.radians(across_deg(15.0, slope_deg))) / math.tan(math.radians(15.0))
    left_m2 = SECTION.lower_area_m2 + SECTION.upper_area_m2 * lower
    assert inclination_factor(SECTION, slope_deg) == pytest.approx(left_m2 / SECTION.area_m2)


def test_a_slope_as_steep_as_the_surcharge_leaves_the_trough_and_a_steeper_one_is_marked():
    trough_alone = SECTION.lower_area_m2 / SECTION.area_m2
    assert inclination_factor(SECTION, 15.0) == pytest.approx(trough_alone, abs=1e-6)
    assert belt_capacity(SECTION, 2.0, 1.5, 14.9).outside == ()
    steep = belt_capacity(SECTION, 2.0, 1.5, 18.0)
    assert steep.inclination_factor == pytest.approx(trough_alone)
    (mark,) = steep.outside
    assert isinstance(mark, OutsidePublishedRange)
    assert "The slope of 18° is beyond what the source covers, -15 to 15°" in str(mark)


@given(
    st.sampled_from(sorted(FORMS)),
    st.floats(0.5, 1.6),
    st.floats(0.0, 45.0),
    st.floats(1.0, 30.0),
    st.lists(st.floats(0.0, 60.0), min_size=2, max_size=2),
)
def test_a_steeper_belt_never_carries_more(form, belt_width_m, trough_deg, surcharge_deg, slopes):
    section = belt_section(belt_width_m, trough_deg, surcharge_deg, form=form)
    gentle, steep = (inclination_factor(section, slope) for slope in sorted(slopes))
    assert -1e-12 <= steep <= gentle + 1e-12 <= 1.0 + 1e-12


def test_the_capacity_grows_with_the_speed_and_the_mass_with_the_density():
    slow, fast = belt_capacity(SECTION, 1.0, 1.5), belt_capacity(SECTION, 2.0, 1.6)
    assert slow.capacity_m3_per_h == pytest.approx(3600 * SECTION.area_m2)
    assert fast.capacity_m3_per_h == pytest.approx(2 * slow.capacity_m3_per_h)
    assert fast.capacity_t_per_h == pytest.approx(1.6 * fast.capacity_m3_per_h)


@pytest.mark.parametrize(
    ("section", "words"),
    [
        (belt_section(1.0, 20.0, 20.0, form="tan4"), "surcharge angle of 20° .* covers, 15°"),
        (belt_section(1.0, 10.0, 15.0, form="tan4"), "trough angle of 10° .* 20 to 45°"),
        (belt_section(1.8, 20.0, 15.0, 0.67, form="tan4"), r"belt width of 1\.8 m .* to 1\.6 m"),
        (belt_section(1.0, 50.0, 15.0), "trough angle of 50° .* 0 to 45°"),
        (belt_section(2.2, 35.0, 15.0, 0.8), r"belt width of 2\.2 m .* 0 to 2 m"),
    ],
)
def test_beyond_its_source_a_section_is_computed_and_marked(section, words):
    assert section.area_m2 > 0.0
    with pytest.raises(OutsidePublishedRange, match=words):
        raise section.outside[0]
    assert belt_capacity(section, 1.0, 1.5).outside == section.outside


def test_the_slope_follows_from_length_and_lift_of_either_sign():
    assert slope_angle(100.0, 50.0) == pytest.approx(30.0)
    assert slope_angle(100.0, -50.0) == pytest.approx(-30.0)
    for lift_m in (100.0, -120.0, math.nan):
        with pytest.raises(InputError, match="needs a belt longer than 100 m"):
            slope_angle(100.0, lift_m)


def test_lift_power_is_negative_downwards_and_needs_a_load():
    assert lift_power(1000.0, -17.9) == -lift_power(1000.0, 17.9)
    with pytest.raises(InputError, match="mass flow is 0 t/h"):
        lift_power(0.0, 10.0)


def test_what_cannot_be_a_belt_is_refused_with_what_to_write():
    with pytest.raises(UnknownName, match="Known: tan4, tan6"):
        belt_section(1.0, 35.0, 15.0, form="tan5")
    with pytest.raises(OutOfRange, match="trough angle is 70 °"):
        belt_section(1.0, 70.0, 15.0)
    with pytest.raises(OutOfRange, match="surcharge angle is -1 °"):
        belt_section(1.0, 35.0, -1.0)
    with pytest.raises(OutOfRange, match="Give the length of the middle roller alone"):
        belt_section(1.0, 35.0, 15.0, 380.0)
    with pytest.raises(OutOfRange, match=r"write 1\.5 t/m³"):
        checked_loose_density(1500.0)
    with pytest.raises(InputError, match="carries nothing"):
        belt_capacity(belt_section(1.0, 0.0, 0.0), 2.0, 1.5)
    with pytest.raises(InputError, match="speed is nan m/s"):
        belt_capacity(SECTION, math.nan, 1.5)
