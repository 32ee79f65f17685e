import numpy as np
import pytest

from tests.domain.surface.shapes import (
    BOWL_VOID_M3,
    BOX,
    SIDE,
    bowl,
    box_region,
    halves,
    moved,
    points_on,
    scattered,
)
from tracker.domain.surface.region import region
from tracker.domain.surface.surface import Cleaning, surveyed_surface
from tracker.domain.surface.void_table import void_table
from tracker.errors import InputError, NotEnoughData


def void_m3(surface, level_m=0.0):
    return void_table(surface, [level_m]).void_m3.sum()


def test_triangles_cover_each_zone_to_the_last_square_millimetre():
    where = box_region(halves())
    surface = surveyed_surface(points_on(bowl, scattered(3000)), where)
    by_zone = np.bincount(surface.zone, surface.area_m2)
    assert by_zone == pytest.approx(where.zone_area_m2, rel=1e-12)


def test_a_step_along_a_zone_line_stays_a_step():
    def stepped(x, y):
        return np.where(x < SIDE / 2, -4.0, -9.0) + 0.0 * y

    points = points_on(stepped, scattered(2000))
    parted = void_m3(surveyed_surface(points, box_region(halves())))
    assert parted == pytest.approx(SIDE**2 * 6.5, rel=1e-12)
    assert void_m3(surveyed_surface(points, box_region())) != pytest.approx(parted, rel=1e-5)


def test_national_coordinates_change_nothing():
    places = scattered(5000)
    points = points_on(bowl, places)
    near = void_m3(surveyed_surface(points, box_region(halves())))
    moved = points + np.array([530_000.0, 6_180_000.0, 0.0])
    at = (530_000.0, 6_180_000.0)
    far = void_m3(surveyed_surface(moved, box_region(halves(at), at)))
    assert far == pytest.approx(near, rel=1e-9)


def test_the_order_of_the_points_changes_nothing():
    points = points_on(bowl, scattered(4000))
    shuffled = np.random.default_rng(8).permutation(points)
    one = void_m3(surveyed_surface(points, box_region()))
    assert void_m3(surveyed_surface(shuffled, box_region())) == pytest.approx(one, rel=1e-12)


def test_points_outside_and_on_the_wall_do_not_pull_the_floor():
    inside = points_on(bowl, scattered(4000))
    chance = np.random.default_rng(4)
    around = chance.uniform(-10, 70, (2000, 2))
    around = around[np.abs(around - 30).max(axis=1) > 30]
    street = np.column_stack([around, np.zeros(len(around))])
    wall = np.column_stack(
        [chance.uniform(0, 60, 500), np.full(500, 0.01), chance.uniform(-10, 0, 500)]
    )
    surface = surveyed_surface(np.concatenate([inside, street, wall]), box_region())
    assert void_m3(surface) == pytest.approx(void_m3(surveyed_surface(inside, box_region())))
    assert surface.rejected["outside"] == len(street)
    assert surface.rejected["near_wall"] == 500
    assert surface.points_used == 4000


def test_every_point_is_used_or_counted_under_a_reason():
    points = points_on(bowl, scattered(3000))
    dirty = np.concatenate(
        [points, points[:50], moved(points[:5], up=np.nan), moved(points, east=100)]
    )
    surface = surveyed_surface(dirty, box_region(), cleaning=Cleaning(thin_m=1.0))
    assert surface.rejected["duplicate"] == 50
    assert surface.rejected["not_a_number"] == 5
    assert surface.rejected["thinned"] > 100
    assert surface.points_used + sum(surface.rejected.values()) == surface.points_in == len(dirty)


def test_places_measured_twice_with_unlike_levels_are_reported():
    points = points_on(bowl, scattered(500))
    again = moved(points[:7], up=0.5)
    surface = surveyed_surface(np.concatenate([points, again]), box_region())
    assert "7 places" in surface.warnings[0]
    assert "0.500 m" in surface.warnings[0]


def test_walls_three_tenths_from_the_nearest_point_cost_next_to_nothing():
    def floor(x, y):
        return -17.0 + 0.01 * x + 0.03 * np.sin(y / 3)

    axis = np.arange(0.3, 59.8, 1.0)
    places = np.array([(x, y) for x in axis for y in axis])
    surface = surveyed_surface(points_on(floor, places), box_region())
    waves = 0.03 * 3 * (1 - np.cos(SIDE / 3)) * SIDE
    truth = SIDE**2 * 17.0 - 0.01 * SIDE**3 / 2 - waves
    assert void_m3(surface) == pytest.approx(truth, rel=2e-5)


def test_columns_are_left_out_of_the_void():
    column = [(20, 20), (22, 20), (22, 22), (20, 22)]
    holed = region([BOX, column])
    places = scattered(4000)
    outside = ~((np.abs(places - 21) < 1).all(axis=1))
    surface = surveyed_surface(points_on(lambda x, y: -5.0 + 0.0 * x, places[outside]), holed)
    assert void_m3(surface) == pytest.approx((SIDE**2 - 4) * 5.0, rel=1e-12)


def test_extrapolated_wall_vertices_are_flagged_and_points_are_not():
    surface = surveyed_surface(points_on(bowl, scattered(2000)), box_region())
    on_wall = np.abs(surface.xyz_m[:, :2] - 30).max(axis=1) > 30 - 1e-6
    assert (~surface.measured == on_wall).all()


def test_thinning_keeps_the_volume():
    points = points_on(bowl, scattered(40_000))
    surface = surveyed_surface(points, box_region(), cleaning=Cleaning(thin_m=0.5))
    assert surface.points_used < 15_000
    assert void_m3(surface) == pytest.approx(BOWL_VOID_M3, rel=1e-4)


@pytest.mark.parametrize(
    ("points", "said"),
    [
        (np.empty((0, 3)), "no points"),
        (np.array([[500.0, 500, 1]]), "None of 1 points lies inside"),
        (np.array([[5.0, 5, 1]]), "Only 1 of 1 points"),
        (np.array([[5.0, 5, 1], [6, 6, 1]]), "Only 2 of 2"),
        (np.array([[k, k, 1.0] for k in range(1, 50)]), "lie on one line"),
        (np.full((5, 3), np.nan), "no points"),
    ],
)
def test_points_that_make_no_surface_are_refused_in_words(points, said):
    with pytest.raises((InputError, NotEnoughData), match=said):
        surveyed_surface(points, box_region())


def test_all_outside_says_where_both_are():
    points = moved(points_on(bowl, scattered(100)), 530_000, 180_000)
    with pytest.raises(InputError, match=r"E 530,0.*outline: E 0\.0 to 60\.0"):
        surveyed_surface(points, box_region())


def test_a_zone_without_points_is_named():
    places = scattered(500)
    with pytest.raises(NotEnoughData, match="zone E"):
        surveyed_surface(points_on(bowl, places[places[:, 0] < 29]), box_region(halves()))
