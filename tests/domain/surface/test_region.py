import pytest
import shapely

from tests.domain.surface.shapes import BOX, SIDE, box_region, halves
from tracker.domain.surface.region import REST, WHOLE, region
from tracker.errors import InputError


def test_a_region_without_zones_is_one_zone():
    whole = box_region()
    assert whole.zones == (WHOLE,)
    assert whole.area_m2 == pytest.approx(SIDE**2)
    assert whole.wall_length_m == pytest.approx([4 * SIDE])


def test_zones_share_the_area_and_only_the_wall_counts_as_wall():
    parted = box_region(halves())
    assert parted.zone_area_m2.sum() == pytest.approx(SIDE**2)
    assert parted.wall_length_m == pytest.approx([2 * SIDE, 2 * SIDE], abs=0.05)


def test_what_zones_leave_is_a_zone_of_its_own_and_is_said():
    parted = box_region({"W": halves()["W"]})
    assert parted.zones == ("W", REST)
    assert parted.area_m2 == pytest.approx(SIDE**2)
    assert "1,800.00 m²" in parted.notes[0]


def test_a_zone_beyond_the_outline_is_cut_and_that_is_said():
    parted = box_region({"A": shapely.box(0, 0, 70, 60)})
    assert parted.zones == ("A",)
    assert "600.00 m² beyond" in parted.notes[0]


def test_holes_are_no_area_but_their_edge_is_wall():
    pile = [(10, 10), (12, 10), (12, 12), (10, 12)]
    holed = region([BOX, pile])
    assert holed.area_m2 == pytest.approx(SIDE**2 - 4)
    assert holed.wall_length_m == pytest.approx([4 * SIDE + 8])


@pytest.mark.parametrize(
    ("rings", "said"),
    [
        ([], "no points"),
        ([[(0, 0), (1, 1)]], "fewer than three"),
        ([[(0, 0), (10, 10), (10, 0), (0, 10)]], "no clean ring"),
        ([[(0, 0), (10, 10), (20, 20)]], "Outline|outline"),
        ([[(0, 0), (10, float("nan")), (20, 20)]], "no number"),
        ([[(0, 0), ("a", 10), (20, 20)]], "no pair of numbers"),
        ([[(0, 0), (90000, 0), (90000, 90000)]], "in metres"),
    ],
)
def test_rings_that_enclose_nothing_sensible_are_refused(rings, said):
    with pytest.raises(InputError, match=said):
        region(rings)


def test_zones_that_overlap_are_refused_with_the_area():
    with pytest.raises(InputError, match=r"overlap by 600\.00 m²"):
        box_region({"A": shapely.box(0, 0, 40, 60), "B": shapely.box(30, 0, 60, 60)})


def test_a_zone_elsewhere_is_refused():
    with pytest.raises(InputError, match="outside the outline"):
        box_region({"A": shapely.box(500, 500, 510, 510)})


def test_the_keys_tell_zones_apart_by_place_and_name():
    west, east = box_region(halves()).zone_keys
    keys = {west, east, *box_region().zone_keys, *box_region(at=(1, 0)).zone_keys}
    assert len(keys) == 4
    assert box_region(halves()).zone_keys == (west, east)


def test_a_zone_keeps_its_key_when_its_neighbour_is_cut():
    whole, part = (
        box_region(halves()),
        box_region(halves()).cut_to([(0, 0), (40, 0), (40, 60), (0, 60)]),
    )
    assert part.zone_keys[0] == whole.zone_keys[0]
    assert part.zone_keys[1] != whole.zone_keys[1]


def test_a_partial_survey_cuts_the_zones_to_its_own_boundary():
    part = box_region(halves()).cut_to([(20, 0), (40, 0), (40, 30), (20, 30)])
    assert part.zone_area_m2 == pytest.approx([300, 300])
    with pytest.raises(InputError, match="outside the outline"):
        box_region().cut_to([(100, 100), (110, 100), (110, 110)])
