import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain import solids as s
from tracker.errors import InputError

lengths = st.floats(0.5, 200.0)
slopes = st.floats(0.0, 3.0)


@given(lengths, lengths, st.floats(0.5, 30.0), slopes)
def test_the_sloped_pit_equals_simpson_over_its_own_areas(length, width, depth, slope):
    areas = [
        (length + 2 * slope * depth * k) * (width + 2 * slope * depth * k) for k in (0.0, 0.5, 1.0)
    ]
    exact = s.sloped_pit_volume(length, width, depth, slope).volume_m3
    assert s.prismoidal_volume(areas, depth / 2).volume_m3 == pytest.approx(exact)


@given(st.floats(1.0, 100.0), st.floats(1.0, 50.0), slopes)
def test_a_square_pit_is_a_frustum(side, depth, slope):
    top = side + 2 * slope * depth
    frustum = depth / 3 * (side**2 + top**2 + side * top)
    assert s.sloped_pit_volume(side, side, depth, slope).volume_m3 == pytest.approx(frustum)


@given(st.lists(st.floats(0.0, 500.0), min_size=3, max_size=3), st.floats(0.5, 50.0))
def test_simpson_is_exact_for_areas_that_change_as_a_cubic(coefficients, spacing):
    a, b, c = coefficients

    def area(x):
        return a + b * x + c * x**3

    def integral(x):
        return a * x + b * x**2 / 2 + c * x**4 / 4

    areas = [area(i * spacing) for i in range(5)]
    volume = s.prismoidal_volume(areas, spacing).volume_m3
    assert volume == pytest.approx(integral(4 * spacing), rel=1e-9, abs=1e-9)


@given(st.floats(1.0, 500.0), st.integers(2, 9), st.floats(0.5, 50.0))
def test_equal_areas_give_a_prism_by_every_rule(area, count, spacing):
    prism = pytest.approx(area * spacing * (count - 1))
    areas = [area] * count
    stations = [i * spacing for i in range(count)]
    assert s.end_area_volume(areas, spacing).volume_m3 == prism
    assert s.contour_volume(areas, spacing).volume_m3 == prism
    assert s.run_volume(stations, areas).volume_m3 == prism
    if count > 2:
        assert s.prismoidal_volume(areas, spacing).volume_m3 == prism


def test_an_even_count_finishes_by_end_area_and_says_so():
    solid = s.prismoidal_volume([10.0, 20.0, 40.0, 60.0], 3.0)
    assert solid.volume_m3 == pytest.approx(10 + 80 + 40 + 3 * 50)
    assert "even count" in solid.method


def test_contours_say_which_rule_gave_the_volume():
    assert s.contour_volume([1, 2, 3], 1.0).method == "prismoidal"
    assert s.contour_volume([1, 2], 1.0).method == "end area"
    assert s.contour_volume([1, 2, 3, 4], 1.0).method == "end area"


@pytest.mark.parametrize(
    "volume",
    [
        lambda: s.end_area_volume([5.0], 1.0),
        lambda: s.prismoidal_volume([5.0, 6.0], 1.0),
        lambda: s.end_area_volume([5.0, -1.0], 1.0),
        lambda: s.end_area_volume([5.0, math.nan], 1.0),
        lambda: s.end_area_volume([5.0, 6.0], 0.0),
        lambda: s.run_volume([0.0, 10.0], [1.0, 2.0, 3.0]),
        lambda: s.run_volume([0.0, 10.0, 10.0], [1.0, 2.0, 3.0]),
        lambda: s.grid_volume([[1.0, 2.0]], 1.0, 1.0),
        lambda: s.grid_volume([[1.0, 2.0], [1.0]], 1.0, 1.0),
        lambda: s.grid_volume([[1.0, 2.0], [1.0, -0.1]], 1.0, 1.0),
        lambda: s.sloped_pit_volume(10.0, 10.0, 0.0, 1.0),
        lambda: s.cone(10.0),
        lambda: s.cone(10.0, 2.0, 30.0),
        lambda: s.cone(diameter_m=-10.0, height_m=1.0),
        lambda: s.cone(diameter_m=10.0, repose_deg=0.0),
        lambda: s.cone(diameter_m=10.0, repose_deg=90.0),
        lambda: s.cone_of_volume(0.0, 30.0),
        lambda: s.windrow(5.0, width_m=8.0, height_m=2.0),
        lambda: s.windrow(math.nan, width_m=8.0, height_m=2.0),
    ],
)
def test_impossible_solids_are_refused_with_a_sentence(volume):
    with pytest.raises(InputError, match=r"\.$"):
        volume()


@given(
    st.lists(st.lists(st.floats(0.0, 20.0), min_size=4, max_size=4), min_size=2, max_size=5),
    lengths,
    lengths,
)
def test_the_grid_weights_corners_once_edges_twice_and_inner_points_four_times(rows, x, y):
    last_row, last = len(rows) - 1, len(rows[0]) - 1
    weighted = sum(
        depth * (1 if i in (0, last_row) else 2) * (1 if j in (0, last) else 2)
        for i, row in enumerate(rows)
        for j, depth in enumerate(row)
    )
    assert s.grid_volume(rows, x, y).volume_m3 == pytest.approx(x * y * weighted / 4)


@given(st.floats(0.5, 100.0), st.floats(5.0, 60.0))
def test_any_two_sizes_of_a_cone_give_the_third(diameter, repose):
    heap = s.cone(diameter_m=diameter, repose_deg=repose)
    by_sizes = s.cone(diameter_m=diameter, height_m=heap.height_m)
    by_height = s.cone(height_m=heap.height_m, repose_deg=repose)
    by_volume = s.cone_of_volume(heap.volume_m3, repose)
    assert by_sizes.repose_deg == pytest.approx(repose)
    assert by_height.width_m == pytest.approx(diameter)
    assert by_volume.width_m == pytest.approx(diameter)
    assert by_volume.height_m == pytest.approx(heap.height_m)


@given(st.floats(0.5, 30.0), st.floats(0.2, 10.0), st.floats(0.0, 100.0))
def test_a_windrow_is_a_cone_pulled_apart(width, height, stretch):
    heap = s.windrow(width + stretch, width_m=width, height_m=height)
    ends = s.cone(width, height).volume_m3
    assert heap.volume_m3 == pytest.approx(ends + width * height / 2 * stretch)


@given(st.floats(0.0, 9.0), st.floats(0.0, 40.0), st.floats(0.0, 9.0), st.floats(0.0, 40.0))
def test_the_prismoidal_correction_turns_end_area_into_simpson_for_three_level_sections(
    first_height, first_width, last_height, last_width
):
    def area(height, width):
        return height * width / 2

    middle = area((first_height + last_height) / 2, (first_width + last_width) / 2)
    ends = [area(first_height, first_width), area(last_height, last_width)]
    simpson = s.prismoidal_volume([ends[0], middle, ends[1]], 10.0).volume_m3
    correction = s.prismoidal_correction_m3(
        first_height, first_width, last_height, last_width, 20.0
    )
    end_area = s.end_area_volume(ends, 20.0).volume_m3
    assert end_area - correction == pytest.approx(simpson, abs=1e-9)
