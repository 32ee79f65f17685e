from itertools import pairwise

import numpy as np
import pytest

from tests.domain.surface.shapes import (
    BOWL_VOID_M3,
    SIDE,
    bowl,
    box_region,
    halves,
    points_on,
    scattered,
)
from tracker.domain.surface.faces import surface_of_faces
from tracker.domain.surface.net import Net, net_dug
from tracker.domain.surface.reduced import level_ground, reduced_survey
from tracker.domain.surface.surface import surveyed_surface
from tracker.domain.surface.uncertainty import Accuracy, Uncertainty, half_of, random_u_m3
from tracker.domain.surface.void_table import void_table
from tracker.domain.surface.volumes import ABOVE, BELOW
from tracker.errors import NotEnoughData

WHERE = box_region(halves())
LEVELS = [-14.0, -11.0, -10.5, -5.0, 0.0]


def dug(surface, accuracy=None, upper=ABOVE, lower=BELOW, zones=None, before=None):
    """What was dug from level ground, or since an earlier survey, in some zones or all of them."""
    later = reduced_survey(surface, LEVELS, accuracy)
    earlier = before or level_ground(surface.region, 0.0, LEVELS)
    where = zones or surface.region.zones
    return sum((net_dug(earlier, later, zone, upper, lower) for zone in where), Net())


def void_m3(points):
    return void_table(surveyed_surface(points, box_region()), [0.0]).void_m3[0, 0]


def test_random_errors_count_as_the_volume_answers_to_each_point():
    """One point after the other is raised, and the volume computed anew."""
    points = points_on(lambda x, y: -10.0 + 0.02 * x - 0.01 * y, scattered(150))
    answers = [
        (void_m3(points + np.outer(np.arange(150) == k, [0, 0, 1e-3])) - void_m3(points)) / 1e-3
        for k in range(150)
    ]
    said = random_u_m3(surveyed_surface(points, box_region()), 0.01)[0]
    assert said == pytest.approx(0.01 * np.linalg.norm(answers), rel=1e-6)
    assert sum(answers) == pytest.approx(-(SIDE**2))


def test_level_and_wall_are_what_the_rule_says():
    surface = surveyed_surface(points_on(lambda x, y: -10.0 + 0 * x, scattered(3000)), box_region())
    total = dug(surface, Accuracy(0.01, 0.01, 0.02)).uncertainty
    assert total.level_m3 == pytest.approx(SIDE**2 * 0.01)
    assert total.edge_m3 == pytest.approx(4 * SIDE * 10.0 * 0.02)
    assert total.interpolation_m3 == pytest.approx(0.0, abs=1e-6)
    assert total.random_m3 < 1.0
    parts = (total.random_m3, total.level_m3, total.edge_m3)
    assert total.combined_m3 == pytest.approx(np.sqrt(sum(p**2 for p in parts)))
    assert total.expanded_m3 == 2 * total.combined_m3


def test_a_band_dug_right_through_has_no_level_error_only_the_wall_s():
    surface = surveyed_surface(points_on(bowl, scattered(3000)), WHERE)
    through = dug(surface, upper=0.0, lower=-5.0, zones=["W"])
    assert through.level_m3 == through.random_m3 == 0.0
    assert through.edge_m3 == pytest.approx(2 * SIDE * 5.0 * 0.01, rel=1e-3)
    assert dug(surface, upper=-10.5, lower=-11.0, zones=["W"]).level_m3 > 1.0


def test_parts_add_up_to_the_whole_in_every_part_of_the_uncertainty():
    surface = surveyed_surface(points_on(bowl, scattered(3000)), WHERE)
    edges = [ABOVE, *reversed(LEVELS), BELOW]
    parts = [dug(surface, upper=a, lower=b) for a, b in pairwise(edges)]
    summed, whole = sum(parts, Net()), dug(surface)
    assert summed.net_m3 == pytest.approx(whole.net_m3, rel=1e-12)
    assert summed.level_m3 == pytest.approx(3600 * 0.01)
    assert summed.edge_m3 == pytest.approx(whole.edge_m3)
    assert summed.half_m3 == pytest.approx(whole.half_m3, abs=1e-9)


def test_two_surveys_add_their_random_errors_in_squares():
    upper = surveyed_surface(points_on(lambda x, y: -1.0 + 0 * x, scattered(500, 2)), WHERE)
    lower = surveyed_surface(points_on(bowl, scattered(3000)), WHERE)
    total = dug(lower, before=reduced_survey(upper, LEVELS)).uncertainty
    squares = (random_u_m3(upper, 0.01) ** 2).sum() + (random_u_m3(lower, 0.01) ** 2).sum()
    assert total.random_m3 == pytest.approx(np.sqrt(squares))


def test_the_error_of_interpolation_is_of_the_size_that_halves_say():
    surface = surveyed_surface(points_on(bowl, scattered(1000)), box_region())
    found = dug(surface)
    error = abs(found.net_m3 - BOWL_VOID_M3)
    assert error / 4 < found.uncertainty.interpolation_m3 < error * 6


def test_the_same_points_give_the_same_uncertainty():
    surface = surveyed_surface(points_on(bowl, scattered(800)), WHERE)
    assert dug(surface) == dug(surface)


def test_where_half_is_too_few_nothing_is_claimed():
    places = np.array([[10, 10], [50, 10], [30, 50.0], [20, 30]])
    surface = surveyed_surface(points_on(bowl, places), box_region())
    total = dug(surface).uncertainty
    assert total.interpolation_m3 is None
    assert total.combined_m3 > 0


def test_a_surface_of_triangles_has_no_half():
    surface = surveyed_surface(points_on(bowl, scattered(100)), box_region())
    given = surface_of_faces(surface.xyz_m, surface.triangles.astype(np.int64), box_region())
    with pytest.raises(NotEnoughData, match="no half"):
        half_of(given, np.random.default_rng(0))


def test_parts_combine_in_squares():
    assert Uncertainty(3.0, 4.0, 0.0, None).combined_m3 == pytest.approx(5.0)
    assert Uncertainty(2.0, 2.0, 2.0, 2.0).combined_m3 == pytest.approx(4.0)
