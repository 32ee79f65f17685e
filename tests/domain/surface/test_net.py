from datetime import date

import numpy as np
import pytest

from tracker.domain.site import Deduction, Zone
from tracker.domain.surface.net import ground_dug, net_dug
from tracker.domain.surface.reduced import level_ground, reduced_survey
from tracker.domain.surface.region import region
from tracker.domain.surface.surface import surveyed_surface
from tracker.domain.surface.volumes import ABOVE, BELOW
from tracker.errors import InputError

RING = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
WHERE = region([RING], {"A": [RING]})
LEVELS = [90.0, 96.0, 98.0, 99.0, 100.0]
GROUND = level_ground(WHERE, 100.0, LEVELS)
PLACES = np.array([(x, y) for x in np.arange(0.5, 10) for y in np.arange(0.5, 10)])


def dug_to(level_m):
    points = np.column_stack([PLACES, np.full(len(PLACES), level_m)])
    return reduced_survey(surveyed_surface(points, WHERE), LEVELS)


def zone(*deductions):
    return Zone("A", "box", "A", 100.0, RING, date(2026, 4, 1), deductions=deductions)


def whole(survey, of):
    return ground_dug(GROUND, survey, of, (ABOVE, BELOW))[0]


BASEMENT = Deduction(99.0, 98.0, 40.0, "old basement")


@pytest.mark.parametrize(
    ("level_m", "ground_m3"), [(99.0, 100.0), (98.5, 130.0), (98.0, 160.0), (96.0, 360.0)]
)
def test_what_was_no_ground_is_deducted_as_far_as_it_was_dug(level_m, ground_m3):
    assert whole(dug_to(level_m), zone(BASEMENT)).net_m3 == pytest.approx(ground_m3)


def test_a_stage_takes_its_own_share_of_a_deduction():
    long = Deduction(99.0, 96.0, 60.0, "pile")
    upper, lower = ground_dug(GROUND, dug_to(96.0), zone(long), (ABOVE, 98.0, 96.0))
    assert upper.net_m3 == pytest.approx(200.0 - 20.0)
    assert lower.net_m3 == pytest.approx(200.0 - 40.0)


def test_a_deduction_changes_the_volume_and_not_its_uncertainty():
    gross = net_dug(GROUND, dug_to(96.0), "A")
    assert whole(dug_to(96.0), zone(BASEMENT)).uncertainty == gross.uncertainty
    assert gross.net_m3 == pytest.approx(400.0)


def test_the_upper_level_lies_above_the_lower():
    with pytest.raises(InputError, match="must lie above"):
        net_dug(GROUND, dug_to(96.0), "A", 96.0, 98.0)


def test_another_level_is_refused_with_those_there_are():
    with pytest.raises(InputError, match="not reduced at 97"):
        net_dug(GROUND, dug_to(96.0), "A", 98.0, 97.0)
