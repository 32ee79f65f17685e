import numpy as np
import pytest

from tests.statements.paper import FIRST
from tracker.domain.site_tables import site_from_tables
from tracker.domain.surface.dig_region import excavation_region, reduction_levels
from tracker.errors import UnknownName


def site(**changed):
    found, problems = site_from_tables(FIRST | changed)
    assert found is not None, problems
    return found


def test_the_region_of_an_excavation_is_its_zones_side_by_side():
    where = excavation_region(site(), "BOX")
    assert where.zones == ("A", "B")
    assert where.zone_area_m2 == pytest.approx([100.0, 100.0])
    assert where.area_m2 == pytest.approx(200.0)
    # round the whole box, not along the line between its zones
    assert where.wall_length_m == pytest.approx([30.0, 30.0], abs=0.02)


def test_zones_that_do_not_touch_are_one_excavation_all_the_same():
    apart = [dict(row) for row in FIRST["zones"]]
    apart[1]["outline"] = "12 0; 22 0; 22 10; 12 10"
    where = excavation_region(site(zones=apart), "BOX")
    assert where.area_m2 == pytest.approx(200.0)
    assert where.wall_length_m == pytest.approx([40.0, 40.0])


def test_another_name_is_refused_with_the_known_ones():
    with pytest.raises(UnknownName, match="BOX"):
        excavation_region(site(), "BIX")


def test_a_survey_is_reduced_at_every_metre_ground_and_design_level():
    levels = reduction_levels(site(), "BOX")
    assert {104.0, 100.0, 96.0} <= set(levels)
    assert levels[0] == 93.0
    assert levels[-1] == 106.0
    assert (np.diff(levels) > 0).all()


def test_odd_levels_of_the_set_up_are_among_them_to_the_millimetre():
    stages = [dict(row) for row in FIRST["stages"]]
    stages[1]["design_level_m"] = "96.455"
    deductions = [
        {"zone": "A", "upper_level_m": "103.25", "lower_level_m": "101.5", "volume_m3": "20",
         "what": "old basement"}
    ]  # fmt: skip
    levels = reduction_levels(site(stages=stages, deductions=deductions), "BOX")
    assert {96.455, 103.25, 101.5} <= set(levels)
