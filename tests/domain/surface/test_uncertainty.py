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
from tracker.domain.surface.surface import surveyed_surface
from tracker.domain.surface.uncertainty import (
    Accuracy,
    Uncertainty,
    half_of,
    interpolation_changes_m3,
    random_u_m3,
    uncertainties,
)
from tracker.domain.surface.void_table import flat_void_table, void_table
from tracker.domain.surface.volumes import bands_m3
from tracker.errors import NotEnoughData

WHERE = box_region(halves())
LEVELS = [-14.0, -11.0, -10.5, -5.0, 0.0]


def tables(surface, ground=0.0):
    where = surface.region
    return flat_void_table(where, ground, LEVELS), void_table(surface, LEVELS)


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
    total, _ = uncertainties(surface, 0.0, tables(surface), Accuracy(0.01, 0.01, 0.02))
    assert total.level_m3 == pytest.approx(SIDE**2 * 0.01)
    assert total.edge_m3 == pytest.approx(4 * SIDE * 10.0 * 0.02)
    assert total.interpolation_m3 == pytest.approx(0.0, abs=1e-6)
    assert total.random_m3 < 1.0
    parts = (total.random_m3, total.level_m3, total.edge_m3)
    assert total.combined_m3 == pytest.approx(np.sqrt(sum(p**2 for p in parts)))
    assert total.expanded_m3 == 2 * total.combined_m3


def test_a_band_dug_right_through_has_no_level_error_only_the_wall_s():
    surface = surveyed_surface(points_on(bowl, scattered(3000)), WHERE)
    _, by_band = uncertainties(surface, 0.0, tables(surface), Accuracy())
    through = by_band[0][4]  # from -5 to 0
    assert through.level_m3 == through.random_m3 == 0.0
    assert through.edge_m3 == pytest.approx(2 * SIDE * 5.0 * 0.01, rel=1e-3)
    bottom = by_band[0][1]
    assert bottom.level_m3 > 1.0
    assert sum(u.level_m3 for u in by_band[0]) == pytest.approx(1800 * 0.01)


def test_two_surveys_add_their_random_errors_in_squares():
    upper = surveyed_surface(points_on(lambda x, y: -1.0 + 0 * x, scattered(500, 2)), WHERE)
    lower = surveyed_surface(points_on(bowl, scattered(3000)), WHERE)
    both = (void_table(upper, LEVELS), void_table(lower, LEVELS))
    total, _ = uncertainties(lower, upper, both, Accuracy(), estimate_interpolation=False)
    squares = (random_u_m3(upper, 0.01) ** 2).sum() + (random_u_m3(lower, 0.01) ** 2).sum()
    assert total.random_m3 == pytest.approx(np.sqrt(squares))
    assert total.interpolation_m3 is None


def test_the_error_of_interpolation_is_of_the_size_that_halves_say():
    surface = surveyed_surface(points_on(bowl, scattered(1000)), box_region())
    earlier, later = tables(surface)
    changes = interpolation_changes_m3(surface, 0.0, LEVELS, bands_m3(earlier, later))
    said = np.mean([abs(c.sum()) for c in changes])
    error = abs(later.void_m3[0, -1] - BOWL_VOID_M3)
    assert error / 4 < said < error * 6


def test_the_same_points_give_the_same_uncertainty():
    surface = surveyed_surface(points_on(bowl, scattered(800)), WHERE)
    twice = [uncertainties(surface, 0.0, tables(surface), Accuracy())[0] for _ in range(2)]
    assert twice[0] == twice[1]


def test_where_half_is_too_few_nothing_is_claimed():
    places = np.array([[10, 10], [50, 10], [30, 50.0], [20, 30]])
    surface = surveyed_surface(points_on(bowl, places), box_region())
    total, _ = uncertainties(surface, 0.0, tables(surface), Accuracy())
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
