import numpy as np
import pytest
import shapely

from tests.domain.surface.shapes import bowl, points_on, scattered
from tracker.domain.surface.breaklines import checked_breaklines, line_edges, lines_within
from tracker.domain.surface.region import region
from tracker.domain.surface.surface import surveyed_surface
from tracker.errors import InputError

BOX = shapely.box(0, 0, 10, 10)


def test_breaklines_that_cross_are_refused_with_the_place():
    one = np.array([[530000, 180000, 1.0], [530010, 180010, 1.0]])
    other = np.array([[530000, 180010, 2.0], [530010, 180000, 2.0]])
    with pytest.raises(InputError, match=r"cross at E 530005\.000, N 180005\.000"):
        checked_breaklines([one, other], (530000.0, 180000.0))


def test_breaklines_that_meet_in_a_vertex_of_one_level_are_taken():
    one = np.array([[0, 0, 1.0], [5, 5, 1.5], [10, 10, 2.0]])
    other = np.array([[0, 10, 3.0], [5, 5, 1.5]])
    assert len(checked_breaklines([one, other], (0.0, 0.0))) == 2
    other[1, 2] = 1.9
    with pytest.raises(InputError, match="shared vertex of one level"):
        checked_breaklines([one, other], (0.0, 0.0))


def test_a_vertex_that_is_no_number_is_refused():
    with pytest.raises(InputError, match="no number"):
        checked_breaklines([np.array([[0, 0, 1.0], [1, np.nan, 1.0]])], (0.0, 0.0))


def test_a_line_across_the_wall_is_cut_there_and_keeps_its_levels():
    line = np.array([[-5, 5, 0.0], [15, 5, 20.0]])
    (part,) = lines_within([line], BOX, 2.5)
    assert part[:, 0].min() == pytest.approx(0.0)
    assert part[:, 0].max() == pytest.approx(10.0)
    assert part[:, 2] == pytest.approx(part[:, 0] + 5.0)
    assert np.diff(part[:, 0]).max() <= 2.5


def test_a_line_on_the_ring_asks_for_no_edge_of_its_own():
    ring = np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])
    crest = np.array([[0, 0, 1.0], [10, 0, 1.0]])
    own, edges = line_edges([crest], ring, BOX, 4)
    assert len(own) == len(edges) == 0


def test_a_closed_line_inside_keeps_its_ring_of_edges():
    toe = np.array([[3, 3, 0.0], [7, 3, 0.0], [7, 7, 0.0], [3, 7, 0.0], [3, 3, 0.0]])
    ring = np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])
    own, edges = line_edges([toe], ring, BOX, 4)
    assert len(own) == len(edges) == 4
    assert edges.min() == 4
    assert edges.max() == 7


@pytest.mark.parametrize("seed", range(60))
def test_any_line_across_walls_zones_and_holes_leaves_every_zone_full(seed):
    """A line that crosses itself is refused; any other is cut and joined without a gap."""
    chance = np.random.default_rng(seed)
    notch = 30 + chance.uniform(-5, 5)
    wall = [(0, 0), (60, 0), (60, 25), (notch, 25), (30, 60), (0, 60)]
    pile = [(10, 10), (12, 10), (12, 12), (10, 12)]
    where = region([wall, pile], {"W": shapely.box(-1, -1, chance.uniform(12, 28), 61)})
    corners = int(chance.integers(2, 6))
    line = np.column_stack([chance.uniform(-5, 65, (corners, 2)), chance.uniform(-9, -3, corners)])
    points = points_on(bowl, scattered(int(chance.integers(60, 600)), seed))
    try:
        surface = surveyed_surface(points, where, [line])
    except InputError as refusal:
        assert "cross at" in str(refusal)  # noqa: PT017 - both outcomes are right
        return
    assert np.bincount(surface.zone, surface.area_m2) == pytest.approx(where.zone_area_m2)
