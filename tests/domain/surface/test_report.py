import pytest

from tests.domain.surface.shapes import (
    BOWL_VOID_M3,
    bowl,
    box_region,
    halves,
    points_on,
    scattered,
)
from tracker.domain.surface.coverage import Gates
from tracker.domain.surface.report import band_levels, measured_volume
from tracker.domain.surface.surface import surveyed_surface
from tracker.errors import InputError

WHERE = box_region(halves())
AFTER = surveyed_surface(points_on(bowl, scattered(6000)), WHERE)
BEFORE = surveyed_surface(points_on(lambda x, y: 1.5 + 0 * x, scattered(600, 2)), WHERE)


def test_a_volume_comes_with_everything_that_must_stand_beside_it():
    found = measured_volume(AFTER, 0.0)
    assert found.net_m3 == pytest.approx(BOWL_VOID_M3, rel=1e-4)
    assert sum(band.net_m3 for band, _ in found.bands) == pytest.approx(found.net_m3, rel=1e-12)
    assert abs(found.second_method_difference_percent) < 0.1
    assert found.uncertainty.combined_m3 > 30
    assert found.findings == ()
    assert all(u.combined_m3 >= 0 for _, u in found.bands)


def test_between_two_surveys_coverage_is_that_of_the_worse():
    found = measured_volume(AFTER, BEFORE)
    assert found.net_m3 == pytest.approx(BOWL_VOID_M3 + 3600 * 1.5, rel=1e-4)
    assert found.coverage.points_per_m2 == pytest.approx(BEFORE.points_used / 3600)


def test_gates_mark_a_volume_in_words():
    found = measured_volume(AFTER, 0.0, gates=Gates(wall_amber_percent=0.1, wall_red_percent=0.2))
    assert [f.severity for f in found.findings] == ["red"]
    assert "measure closer" in found.findings[0].message


def test_without_levels_bands_are_whole_metres():
    assert band_levels(AFTER, 0.5)[[0, -1]].tolist() == [-14.0, 1.0]
    assert band_levels(AFTER, BEFORE)[-1] == 2.0


def test_surfaces_of_unlike_regions_are_refused():
    other = surveyed_surface(points_on(bowl, scattered(600)), box_region())
    with pytest.raises(InputError, match="same zones"):
        measured_volume(AFTER, other)
