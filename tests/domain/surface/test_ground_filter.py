import numpy as np
import pytest

from tests.domain.surface.shapes import SIDE, box_region, points_on, scattered
from tracker.domain.surface.ground_filter import GroundFilter, off_ground
from tracker.domain.surface.surface import Cleaning, surveyed_surface
from tracker.domain.surface.void_table import void_table
from tracker.errors import InputError


def floor(x, y):
    return -8.0 - 0.1 * x + 0.0 * y


PLACES = scattered(60_000)
GROUND = points_on(floor, PLACES)


def with_plant():
    """The floor with an excavator of 8 by 3 m, three people, spikes and echoes from below."""
    points = GROUND.copy()
    chance = np.random.default_rng(5)
    x, y = PLACES.T
    machine = (np.abs(x - 20) < 4) & (np.abs(y - 30) < 1.5)
    people = np.any([np.hypot(x - a, y - b) < 0.3 for a, b in ((40, 10), (41, 12), (12, 50))], 0)
    points[machine | people, 2] += chance.uniform(0.6, 3.0, int((machine | people).sum()))
    spikes = chance.choice(len(points), 60, replace=False)
    points[spikes[:30], 2] += 5.0
    points[spikes[30:], 2] -= 4.0
    wrong = machine | people
    wrong[spikes] = True
    return points, wrong


def test_people_plant_and_spikes_are_found_and_ground_is_left():
    points, wrong = with_plant()
    above, below = off_ground(points, GroundFilter())
    found = above | below
    assert found[wrong].mean() > 0.97
    assert found[~wrong].mean() < 0.001
    assert 20 <= below.sum() <= 60


def test_a_bare_slope_loses_nothing_even_at_its_upper_edge():
    above, below = off_ground(GROUND, GroundFilter())
    assert not above.any()
    assert not below.any()


def test_the_volume_with_plant_comes_back_to_that_of_the_ground():
    points, _ = with_plant()
    where = box_region()
    truth_m3 = SIDE * SIDE * 11.0
    errors = []
    for asked in (None, GroundFilter()):
        surface = surveyed_surface(points, where, cleaning=Cleaning(ground_filter=asked))
        errors.append(abs(void_table(surface, [0.0]).void_m3[0, 0] - truth_m3))
    assert errors[0] > 20.0
    assert errors[1] < 0.05 * errors[0]


def test_what_is_rejected_is_counted_by_reason_and_kept_to_be_shown():
    points, _ = with_plant()
    surface = surveyed_surface(
        points, box_region(), cleaning=Cleaning(ground_filter=GroundFilter())
    )
    counted = surface.rejected["above_ground"] + surface.rejected["below_ground"]
    kept = [surface.left_out_m[reason] for reason in ("above_ground", "below_ground")]
    assert counted == sum(len(points) for points in kept) > 500
    assert kept[0][:, 2].mean() > kept[1][:, 2].mean()
    assert surface.points_used + sum(surface.rejected.values()) == surface.points_in


def test_without_being_asked_for_it_rejects_nothing():
    points, _ = with_plant()
    surface = surveyed_surface(points, box_region())
    assert surface.rejected["above_ground"] == surface.rejected["below_ground"] == 0


def test_points_spread_over_a_country_are_not_filtered():
    with pytest.raises(InputError, match="too wide to filter"):
        off_ground(np.array([[0, 0, 0], [1e6, 1e6, 0.0]]), GroundFilter())
