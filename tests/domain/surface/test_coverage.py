import numpy as np
import pytest

from tests.domain.surface.shapes import bowl, box_region, points_on, scattered
from tracker.domain.surface.coverage import Coverage, Gates, coverage, gate_findings
from tracker.domain.surface.surface import surveyed_surface


def covered(places):
    return coverage(surveyed_surface(points_on(bowl, places), box_region()))


def test_a_dense_scan_is_covered():
    found = covered(scattered(20_000))
    assert found.covered_percent == pytest.approx(100.0)
    assert found.long_edge_percent == 0.0
    assert 0 < found.wall_extrapolated_percent < 5
    assert found.points_per_m2 == pytest.approx(20_000 / 3600)


def test_a_shadow_shows_as_long_triangles_and_as_the_largest_gap():
    places = scattered(20_000)
    lit = np.hypot(*(places - 30).T) > 8
    found = covered(places[lit])
    share = 100 * np.pi * 8**2 / 3600
    assert found.long_edge_percent == pytest.approx(share, abs=1.0)
    assert found.covered_percent == pytest.approx(100 - found.long_edge_percent)
    assert found.largest_gap_m > 7


def test_points_far_from_the_wall_show_as_extrapolated():
    assert covered(scattered(20_000, clear_m=5.0)).wall_extrapolated_percent > 25


GOOD = Coverage(3600.0, 100.0, 2.0, 0.0, 1.0, 5.0)


def test_a_good_survey_passes_every_gate():
    assert gate_findings(GOOD, 0.02, 0.5) == []
    assert gate_findings(GOOD, None, None) == []


@pytest.mark.parametrize(
    ("given", "what", "severity"),
    [
        ((Coverage(3600, 97, 2, 0, 1, 5), 0.0, 0.1), "covered", "amber"),
        ((Coverage(3600, 80, 2, 0, 1, 5), 0.0, 0.1), "covered", "red"),
        ((Coverage(3600, 100, 12, 0, 1, 5), 0.0, 0.1), "wall", "amber"),
        ((Coverage(3600, 100, 2, 15, 1, 5), 0.0, 0.1), "long sides", "red"),
        ((GOOD, -1.4, 0.1), "second method", "amber"),
        ((GOOD, 4.0, 0.1), "second method", "red"),
        ((GOOD, 0.0, 5.0), "uncertainty", "amber"),
    ],
)
def test_each_gate_marks_what_does_not_pass(given, what, severity):
    (finding,) = gate_findings(*given)
    assert (finding.what, finding.severity) == (what, severity)


def test_gates_are_settings():
    strict = Gates(wall_amber_percent=1.0)
    assert [f.what for f in gate_findings(GOOD, 0.0, 0.1, strict)] == ["wall"]
