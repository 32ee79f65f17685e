import numpy as np
import pytest

from tests.domain.surface.shapes import bowl, box_region, halves, moved, points_on, scattered
from tracker.domain.surface.net import net_dug
from tracker.domain.surface.reduced import (
    at_levels,
    level_ground,
    reduced_survey,
    survey_from_text,
    survey_text,
)
from tracker.domain.surface.surface import surveyed_surface
from tracker.errors import InputError, UnknownName

AT = (530_000.0, 180_000.0)
WHERE = box_region(halves(AT), AT)
LEVELS = [-14.0, -12.0, -11.0, -10.0, -5.0, 0.0, 1.0]
POINTS = moved(points_on(bowl, scattered(4000)), *AT)
SURFACE = surveyed_surface(POINTS, WHERE)
AFTER = reduced_survey(SURFACE, LEVELS)
GROUND = level_ground(WHERE, 0.0, LEVELS)


def test_a_survey_comes_back_from_its_text_to_the_last_digit():
    again = survey_from_text(survey_text(AFTER))
    for name, value in vars(AFTER.table).items():
        assert np.array_equal(getattr(again.table, name), value), name
    assert again.accuracy == AFTER.accuracy
    for zone in WHERE.zones:
        assert net_dug(GROUND, again, zone) == net_dug(GROUND, AFTER, zone)


def test_ground_without_halves_comes_back_as_well():
    again = survey_from_text(survey_text(GROUND))
    assert again.half_void_m3.shape == (0, 2, len(LEVELS))
    assert net_dug(again, AFTER, "W") == net_dug(GROUND, AFTER, "W")


def test_the_deepest_measured_point_is_kept_with_its_place():
    for row, zone in enumerate(WHERE.zones):
        mine = POINTS[(POINTS[:, 0] < AT[0] + 30.0) == (zone == "W")]
        assert AFTER.lowest_m[row] == pytest.approx(mine[np.argmin(mine[:, 2])])


def test_some_zones_of_a_survey_are_kept_apart_from_the_rest():
    east = AFTER.only(["E"])
    assert east.table.zones == ("E",)
    assert net_dug(GROUND, east, "E") == net_dug(GROUND, AFTER, "E")
    with pytest.raises(UnknownName):
        AFTER.only(["N"])


def test_a_zone_drawn_elsewhere_is_not_subtracted():
    other = box_region({"W": halves(AT)["W"].buffer(-1.0), "E": halves(AT)["E"]}, AT)
    elsewhere = level_ground(other, {"W": 0.0, "E": 0.0, "outside zones": 0.0}, LEVELS)
    assert net_dug(elsewhere, AFTER, "E").net_m3 > 0
    with pytest.raises(InputError, match="not reduced over the same zones"):
        net_dug(elsewhere, AFTER, "W")


def test_at_its_own_levels_a_survey_is_itself():
    same, between = at_levels(AFTER, LEVELS)
    assert same is AFTER
    assert between == []


def test_at_levels_between_its_own_it_is_near_and_says_which():
    wanted = [-13.0, -11.0, -7.0, 0.0, 3.0]
    other, between = at_levels(AFTER, wanted)
    exact = reduced_survey(SURFACE, wanted).table
    assert between == [-13.0, -7.0, 3.0]
    assert other.table.void_m3[:, 1] == pytest.approx(AFTER.table.void_m3[:, 2])
    assert other.table.void_m3 == pytest.approx(exact.void_m3, rel=0.01, abs=20.0)
    assert other.table.void_m3[:, 4] == pytest.approx(exact.void_m3[:, 4])
    assert other.table.void_m3[:, 2] == pytest.approx(exact.void_m3[:, 2], rel=1e-4)


def test_below_all_that_was_surveyed_there_is_nothing():
    other, _ = at_levels(AFTER, [-20.0, 0.0])
    assert other.table.void_m3[:, 0].tolist() == [0.0, 0.0]
    assert other.table.area_below_m2[:, 0].tolist() == [0.0, 0.0]
