import numpy as np
import pytest
import shapely

from tests.domain.surface.shapes import bowl, points_on, scattered
from tracker.domain.surface.control_patch import control_patch_check
from tracker.errors import NotEnoughData

PATCH = shapely.box(5, 5, 15, 15)


def survey(seed, shift_m=0.0):
    points = points_on(bowl, scattered(40_000, seed))
    points[:, 2] += shift_m + np.random.default_rng(seed).normal(0, 0.01, len(points))
    return points


@pytest.mark.parametrize(
    ("shift_m", "severity"), [(0.0, None), (0.03, "amber"), (-0.08, "red"), (100.0, "red")]
)
def test_a_shift_between_surveys_shows_on_ground_that_was_not_dug(shift_m, severity):
    found = control_patch_check(survey(1), survey(2, shift_m), PATCH)
    assert found.difference_m == pytest.approx(shift_m, abs=0.004)
    assert (found.finding and found.finding.severity) == severity
    assert found.cells > 300


def test_a_patch_that_one_survey_missed_gives_no_verdict():
    with pytest.raises(NotEnoughData, match="hold points of both"):
        control_patch_check(survey(1), np.empty((0, 3)), PATCH)
