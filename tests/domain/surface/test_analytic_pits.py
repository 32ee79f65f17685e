"""Pits whose volume is known on paper, and how the error falls with the number of points.

The volumes of cone, paraboloid, spherical cap and frustum are textbook formulae; no source needed.
"""

import math

import numpy as np
import pytest

from tests.domain.surface.shapes import box_region, cap, cone, disc, paraboloid, points_on
from tracker.domain.surface.region import region
from tracker.domain.surface.surface import surveyed_surface
from tracker.domain.surface.void_table import void_table

RADIUS, DEPTH, SPHERE = 20.0, 8.0, 40.0
GROUND = 24.0  # half the side of the square around the round pits


BELOW = -1.0  # void below the rim, whose kink errs the other way


def pit_error(pit, count, seeds=3):
    """Relative error of the void below a level, the mean over some random surveys."""
    level_of, exact_m3 = PITS[pit]
    where = region([[(-GROUND, -GROUND), (GROUND, -GROUND), (GROUND, GROUND), (-GROUND, GROUND)]])
    errors = []
    for seed in range(seeds):
        places = np.random.default_rng(seed).uniform(-GROUND + 0.05, GROUND - 0.05, (count, 2))
        surface = surveyed_surface(points_on(level_of, places), where)
        errors.append(void_table(surface, [BELOW]).void_m3[0, 0] / exact_m3 - 1.0)
    return float(np.mean(errors))


CAP_DEPTH = SPHERE - math.sqrt(SPHERE**2 - RADIUS**2)
CAP_LEFT = CAP_DEPTH + BELOW
LEFT = DEPTH + BELOW
PITS = {
    "cone": (cone(RADIUS, DEPTH), math.pi * (RADIUS * LEFT / DEPTH) ** 2 * LEFT / 3),
    "paraboloid": (paraboloid(RADIUS, DEPTH), math.pi * RADIUS**2 * LEFT / DEPTH * LEFT / 2),
    "cap": (cap(SPHERE, CAP_DEPTH), math.pi * CAP_LEFT**2 * (3 * SPHERE - CAP_LEFT) / 3),
}


@pytest.mark.parametrize("pit", PITS)
def test_ten_thousand_random_points_give_a_round_pit_to_a_thousandth(pit):
    assert -1e-3 < pit_error(pit, 10_000) < 0.0  # triangles lie above a hollow


@pytest.mark.parametrize("pit", PITS)
def test_the_error_of_a_round_pit_falls_as_one_over_the_count(pit):
    counts = [1_000, 4_000, 16_000]
    errors = [-pit_error(pit, count) for count in counts]
    order = np.polyfit(np.log(counts), np.log(errors), 1)[0]
    assert order == pytest.approx(-1.0, abs=0.15)


def test_a_cone_by_rings_of_points_matches_its_void_at_every_level():
    where = region([disc(RADIUS)])
    chance = np.random.default_rng(0)
    r, turn = RADIUS * np.sqrt(chance.uniform(0, 1, 40_000)), chance.uniform(0, 2 * np.pi, 40_000)
    places = np.column_stack([r * np.cos(turn), r * np.sin(turn)])
    surface = surveyed_surface(points_on(cone(RADIUS, DEPTH), places), where)
    levels = np.array([-6.0, -4.0, -2.0])
    radii = RADIUS * (levels + DEPTH) / DEPTH
    table = void_table(surface, levels)
    assert table.void_m3[0] == pytest.approx(np.pi * radii**2 * (levels + DEPTH) / 3, rel=2e-3)
    assert table.area_below_m2[0] == pytest.approx(np.pi * radii**2, rel=2e-3)


FOOT, TOP, DOWN = 30.0, 50.0, 7.5


def frustum(at=0.0):
    """Crest, toe and hips of a square pit with sloped sides, as breaklines, and its crest ring."""
    half, low = TOP / 2, FOOT / 2
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], dtype=float)
    crest = np.column_stack([corners * half + at, np.zeros(4)])
    toe = np.column_stack([corners * low + at, np.full(4, -DOWN)])
    lines = [np.vstack([ring, ring[:1]]) for ring in (crest, toe)]
    lines += [np.vstack([crest[k], toe[k]]) for k in range(4)]
    return crest, toe, lines


@pytest.mark.parametrize("at", [0.0, 530_000.0])
def test_a_frustum_by_its_eight_points_and_breaklines_is_exact(at):
    crest, toe, lines = frustum(at)
    where = region([crest[:, :2]])
    surface = surveyed_surface(np.concatenate([crest, toe]), where, lines)
    exact = DOWN / 3 * (TOP**2 + FOOT**2 + TOP * FOOT)
    table = void_table(surface, [-DOWN / 2, 0.0])
    assert table.void_m3[0, 1] == pytest.approx(exact, rel=1e-12 if not at else 1e-9)
    middle = (TOP + FOOT) / 2
    lower = DOWN / 6 * (middle**2 + FOOT**2 + middle * FOOT)
    assert table.void_m3[0, 0] == pytest.approx(lower, rel=1e-12 if not at else 1e-9)
    assert surface.measured.all()


def test_the_sloped_sides_of_a_frustum_by_points_alone_are_only_nearly_right():
    crest, toe, _ = frustum()
    where = region([crest[:, :2]])
    places = np.random.default_rng(0).uniform(-24.9, 24.9, (20_000, 2))
    out = np.maximum(np.abs(places).max(axis=1) - FOOT / 2, 0.0)
    level = -DOWN * (1 - out / (TOP / 2 - FOOT / 2))
    surface = surveyed_surface(np.column_stack([places, level]), where)
    exact = DOWN / 3 * (TOP**2 + FOOT**2 + TOP * FOOT)
    error = void_table(surface, [0.0]).void_m3[0, 0] / exact - 1
    assert 1e-9 < abs(error) < 1e-3
    assert len(toe) == 4


def test_a_level_box_is_exact_whatever_its_points():
    places = np.random.default_rng(0).uniform(1, 59, (37, 2))
    surface = surveyed_surface(np.column_stack([places, np.full(37, -6.5)]), box_region())
    assert void_table(surface, [1.0]).void_m3[0, 0] == pytest.approx(3600 * 7.5, rel=1e-13)
