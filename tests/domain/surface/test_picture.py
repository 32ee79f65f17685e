import numpy as np
import pytest

from tests.domain.surface.shapes import bowl, box_region, halves, moved, points_on, scattered
from tracker.domain.surface.faces import surface_of_faces
from tracker.domain.surface.ground_filter import GroundFilter
from tracker.domain.surface.picture import picture_from_text, picture_of, picture_text
from tracker.domain.surface.surface import Cleaning, surveyed_surface

AT = (530_000.0, 180_000.0)
POINTS = moved(points_on(bowl, scattered(20_000)), *AT)


def plan_area(picture, zone):
    a, b, c = (picture.xyz_m[picture.triangles[picture.zone == zone, k], :2] for k in range(3))
    return abs(np.cross(b - a, c - a)).sum() / 2 if len(a) else 0.0


def surface(**cleaning):
    return surveyed_surface(POINTS, box_region(halves(AT), AT), cleaning=Cleaning(**cleaning))


@pytest.mark.filterwarnings("ignore:Arrays of 2-dimensional vectors")
def test_a_picture_is_light_and_still_covers_every_zone_in_its_place():
    picture = picture_of(surface(), most_points=2_000)
    assert len(picture.xyz_m) < 3_000
    assert [plan_area(picture, zone) for zone in (0, 1)] == pytest.approx([1800.0, 1800.0])
    assert picture.xyz_m.min(axis=0) == pytest.approx([*AT, -13.4], abs=0.5)


def test_few_points_are_drawn_as_they_are():
    whole = surface()
    picture = picture_of(whole, most_points=10**6)
    assert len(picture.triangles) == len(whole.triangles)


def test_a_surface_of_triangles_is_drawn_as_it_is():
    given = surface()
    faces = surface_of_faces(
        moved(given.xyz_m, *AT), given.triangles.astype(np.int64), given.region
    )
    assert len(picture_of(faces, most_points=10).triangles) == len(given.triangles)


def test_what_was_left_out_is_kept_by_reason():
    spiked = surface(ground_filter=GroundFilter())
    assert set(picture_of(spiked).left_out_m) <= {"near_wall", "above_ground", "below_ground"}
    high = moved(POINTS[:50], up=4.0)
    region = box_region(halves(AT), AT)
    found = surveyed_surface(
        np.concatenate([POINTS, high]), region, cleaning=Cleaning(ground_filter=GroundFilter())
    )
    drawn = picture_of(found).left_out_m["above_ground"]
    assert len(drawn) >= 50
    assert drawn[:, 0].min() > AT[0]


def test_a_picture_comes_back_from_its_text_to_the_millimetre():
    picture = picture_of(surface())
    text = picture_text(picture)
    again = picture_from_text(text)
    assert np.abs(again.xyz_m - picture.xyz_m).max() <= 0.0005 + 1e-9
    assert (again.triangles == picture.triangles).all()
    assert (again.zone == picture.zone).all()
    assert again.zones == ("W", "E")
    assert len(text) < 150_000


def test_the_same_surface_gives_the_same_picture():
    assert picture_text(picture_of(surface())) == picture_text(picture_of(surface()))
