import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain.surface.cleaning import cell_medians, clear_of_ring, collinear, inside_share

BOX = shapely.box(0, 0, 10, 10)


def test_points_measured_twice_become_their_median():
    points = np.array([[1, 1, 5.0], [2, 2, 7.0], [1, 1, 5.4], [1, 1, 9.0]])
    single, spread = cell_medians(points, 0.001)
    assert sorted(single[:, 2]) == [5.4, 7.0]
    assert sorted(spread) == [0.0, 4.0]


def test_an_even_count_gives_the_mean_of_the_middle_two():
    points = np.array([[1, 1, 5.0], [1, 1, 6.0]])
    single, _ = cell_medians(points, 0.001)
    assert single.tolist() == [[1, 1, 5.5]]


@given(st.lists(st.tuples(st.integers(0, 3000), st.integers(0, 3000)), min_size=1, max_size=60))
def test_no_point_is_lost_and_none_is_made(places):
    points = np.array([(x / 1000, y / 1000, 0.0) for x, y in places])
    single, _ = cell_medians(points, 0.001)
    assert {tuple(p) for p in np.round(single[:, :2] * 1000).astype(int)} == set(places)
    assert len(single) == len(set(places))


def test_thinning_a_slope_neither_raises_nor_lowers_it():
    places = np.random.default_rng(3).uniform(0, 20, (40_000, 2))
    slope = np.column_stack([places, places[:, 0]])
    thin, _ = cell_medians(slope, 0.25)
    assert len(thin) < 7000
    assert np.abs(thin[:, 2] - thin[:, 0]).max() < 1e-12


def test_points_at_the_wall_are_told_from_points_outside():
    points = np.array([[5, 5, 0], [0.01, 5, 0], [9.99, 9.99, 0], [11, 5, 0], [0.03, 0.03, 0.0]])
    clear, strip = clear_of_ring(points, BOX)
    assert clear[:, 0].tolist() == [5, 0.03]
    assert strip[:, 0].tolist() == [0.01, 9.99]


def test_the_share_inside_is_counted_and_nothing_of_nothing_is_nothing():
    points = np.array([[5, 5, 0], [50, 5, 0.0]])
    assert inside_share(points, BOX) == 0.5
    assert inside_share(np.empty((0, 3)), BOX) == 0.0


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.2])
def test_points_on_one_line_are_known_whichever_way_it_runs(turn):
    along = np.linspace(0, 30, 40)
    line = np.column_stack([along * np.cos(turn), along * np.sin(turn), along])
    assert collinear(line)
    line[7, :2] += (-np.sin(turn), np.cos(turn))
    assert not collinear(line)
