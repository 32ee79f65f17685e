import numpy as np
import pytest

from tests.statements.paper import FIRST
from tests.survey_points import floor_points
from tracker.domain.site_tables import site_from_tables
from tracker.domain.surface.dig_region import excavation_region, reduction_levels
from tracker.domain.surface.reduced import reduced_survey
from tracker.domain.surface.site_survey import (
    dug_by_stage,
    flat_ground,
    stage_edges,
    whole_zones,
)
from tracker.domain.surface.surface import surveyed_surface
from tracker.domain.surface.volumes import ABOVE, BELOW
from tracker.domain.survey_check import BELOW_FORMATION


def site():
    found, problems = site_from_tables(FIRST)
    assert found is not None, problems
    return found


def survey(levels_m, where=None):
    surface = surveyed_surface(floor_points(levels_m), where or excavation_region(site(), "BOX"))
    return reduced_survey(surface, reduction_levels(site(), "BOX"))


def test_the_ground_of_the_set_up_is_flat_at_each_zone_s_level():
    ground = flat_ground(site(), "BOX")
    assert ground.table.lowest_m == pytest.approx([104.0, 104.0])
    assert ground is flat_ground(site(), "BOX")  # made once: pages ask for it every time


def test_stages_run_from_above_all_ground_to_below_all_digging():
    assert stage_edges(site(), "A") == (ABOVE, 100.0, 96.0, BELOW)


def test_dug_ground_is_parted_by_stage_and_below_formation():
    stages = dug_by_stage(site(), "A", flat_ground(site(), "BOX"), survey((95.0, 104.0)))
    assert {stage: net.net_m3 for stage, net in stages.items()} == pytest.approx(
        {1: 400.0, 2: 400.0, BELOW_FORMATION: 100.0}
    )


def test_ground_above_its_level_counts_as_filled_in_the_first_stage():
    stages = dug_by_stage(site(), "B", flat_ground(site(), "BOX"), survey((104.0, 104.5)))
    assert stages[1].net_m3 == pytest.approx(-50.0)


def test_zones_are_covered_whole_or_not():
    ring = np.array([(0.0, 0.0), (15.0, 0.0), (15.0, 10.0), (0.0, 10.0)])
    part = excavation_region(site(), "BOX").cut_to(ring)
    assert whole_zones(site(), "BOX", survey((100.0, 100.0))) == ("A", "B")
    assert whole_zones(site(), "BOX", survey((100.0, 100.0), part)) == ("A",)
