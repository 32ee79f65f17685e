import pytest

from tests.domain.surface.shapes import SIDE, bowl, box_region, halves, points_on, scattered
from tracker.domain.surface.net import net_dug
from tracker.domain.surface.reduced import level_ground, reduced_survey
from tracker.domain.surface.surface import surveyed_surface
from tracker.domain.surface.void_table import flat_void_table, void_table
from tracker.domain.surface.volumes import (
    ABOVE,
    BELOW,
    band_edges,
    bands,
    bands_m3,
    check_alike,
    net_by_zone_m3,
    to_formation,
)
from tracker.errors import InputError

WHERE = box_region(halves())
LEVELS = [-14.0, -12.0, -11.5, -11.0, -10.0, -6.0, -2.0, 0.0, 1.0]
POINTS = points_on(bowl, scattered(4000))
AFTER = void_table(surveyed_surface(POINTS, WHERE), LEVELS)
HALFWAY = void_table(surveyed_surface(POINTS * [1, 1, 0.5], WHERE), LEVELS)
SURVEY = reduced_survey(surveyed_surface(POINTS, WHERE), LEVELS)
LEVEL = level_ground(WHERE, 0.0, LEVELS)
GROUND = flat_void_table(WHERE, 0.0, LEVELS)


def net_m3(zone, upper, lower):
    return net_dug(LEVEL, SURVEY, zone, upper, lower).net_m3


def test_bands_sum_to_the_net_volume_of_each_zone():
    rows = bands(GROUND, AFTER)
    for row, zone in enumerate(WHERE.zones):
        summed = sum(b.net_m3 for b in rows if b.zone == zone)
        assert summed == pytest.approx(net_by_zone_m3(GROUND, AFTER)[row], rel=1e-12)


def test_two_steps_sum_to_one_in_every_band():
    steps = bands_m3(GROUND, HALFWAY) + bands_m3(HALFWAY, AFTER)
    assert steps == pytest.approx(bands_m3(GROUND, AFTER), abs=1e-8)


def test_a_stage_is_the_sum_of_its_metres():
    stage = net_m3("W", -2.0, -12.0)
    inner = [(-2.0, -6.0), (-6.0, -10.0), (-10.0, -11.0), (-11.0, -11.5), (-11.5, -12.0)]
    parts = [net_m3("W", a, b) for a, b in inner]
    assert stage == pytest.approx(sum(parts), rel=1e-12)


def test_above_all_ground_and_below_all_digging_hold_everything():
    for row, zone in enumerate(WHERE.zones):
        whole = net_m3(zone, ABOVE, BELOW)
        assert whole == pytest.approx(net_by_zone_m3(GROUND, AFTER)[row], rel=1e-12)
        upper = net_m3(zone, ABOVE, -6.0)
        assert upper + net_m3(zone, -6.0, BELOW) == pytest.approx(whole)


def test_a_band_dug_right_through_holds_its_whole_prism():
    assert net_m3("E", -2.0, -6.0) == pytest.approx(1800.0 * 4.0)


def test_fill_is_negative():
    assert net_by_zone_m3(AFTER, HALFWAY) == pytest.approx(-net_by_zone_m3(HALFWAY, AFTER))
    assert (net_by_zone_m3(AFTER, HALFWAY) < 0).all()


def test_bands_run_down_and_reach_as_far_as_the_surfaces_do():
    few = [-10.5, -5.0]
    after = void_table(surveyed_surface(POINTS, WHERE), few)
    ground = flat_void_table(WHERE, 0.0, few)
    west = [b for b in bands(ground, after) if b.zone == "W"]
    assert [b.from_level_m for b in west] == [0.0, -5.0, -10.5]
    assert [b.to_level_m for b in west] == [-5.0, -10.5, after.lowest_m[0]]
    assert west[0].net_m3 == pytest.approx(1800.0 * 5.0)
    assert sum(b.net_m3 for b in west) == pytest.approx(net_by_zone_m3(ground, after)[0])
    assert band_edges(ground, after).shape == (2, 4)


def test_above_and_below_formation_are_two_numbers():
    zone = to_formation(AFTER, {"W": -11.0, "E": -11.0})
    for part, row in zip(zone, (0, 1), strict=True):
        flat = 1800.0 * 11.0 + AFTER.level_integral_m3[row]
        assert part.above_m3 - part.below_m3 == pytest.approx(flat)
        assert part.above_m3 > 0
        assert part.below_m3 > 0
        assert 0 < part.below_m2 < 1800.0
        assert part.lowest_m == AFTER.lowest_m[row]
    assert to_formation(AFTER, {"W": -14.0})[0].below_m3 == 0.0


def test_unlike_zones_are_not_subtracted():
    with pytest.raises(InputError, match="same zones"):
        check_alike(flat_void_table(box_region(), 0.0, LEVELS), AFTER)


def test_unlike_levels_are_not_subtracted():
    with pytest.raises(InputError, match="unlike levels"):
        bands(flat_void_table(WHERE, 0.0, [0.0]), AFTER)


def test_tables_of_one_boundary_are_alike_and_of_another_are_not():
    part = WHERE.cut_to([(5, 5), (28, 5), (28, 40), (5, 40)])
    first = void_table(surveyed_surface(POINTS, part), LEVELS)
    with pytest.raises(InputError, match="cut both to one boundary"):
        bands(first, AFTER)
    assert first.area_m2.sum() == pytest.approx(23 * 35)
    assert AFTER.area_m2.sum() == pytest.approx(SIDE**2)
