from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from dashboard.figures.lettering import Box, free_place, spread, text_box, text_width, wrapped

PLACES = st.lists(st.floats(0, 400), min_size=1, max_size=8).map(sorted)


@given(PLACES)
def test_spread_places_keep_their_order_and_their_distance(wanted):
    places = spread(wanted, 20, 0, 400)
    assert all(b - a >= 20 - 1e-6 for a, b in pairwise(places))


@given(PLACES)
def test_spread_places_stay_between_the_ends_where_there_is_room(wanted):
    places = spread(wanted, 20, 0, 400)
    assert min(places) >= -1e-6
    assert max(places) <= 400 + 1e-6


def test_places_with_room_between_them_stay_where_they_are_wanted():
    assert spread([10, 100, 250], 20, 0, 400) == [10, 100, 250]


def test_wrapped_lines_hold_every_word_and_fit_the_width():
    lines = wrapped("then waler and middle props of the box", 12, 90)
    assert " ".join(lines) == "then waler and middle props of the box"
    assert all(text_width(line, 12) <= 90 for line in lines)


def test_a_label_takes_the_first_place_that_is_free():
    sheet = Box(0, 0, 100, 100)
    boxes = [text_box(["90.60"], 10, 50, y) for y in (50, 60, 80)]
    assert free_place(boxes, [Box(0, 40, 100, 67)], sheet) == boxes[2]


def test_a_label_is_pushed_back_into_the_sheet():
    placed = free_place([text_box(["90.60"], 10, 2, 50)], [], Box(0, 0, 100, 100))
    assert placed.left == 0


def test_a_label_without_room_is_not_placed():
    sheet = Box(0, 0, 100, 100)
    assert free_place([text_box(["90.60"], 10, 50, 50)], [sheet], sheet) is None
