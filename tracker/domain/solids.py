"""Volumes of cuts, pits and heaps from areas, levels or slopes.

All lengths in metres, areas in square metres, volumes in cubic metres, as solids: bank if the solid
is ground in place, loose if it is a heap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tracker.domain.limits import check_between, check_not_negative, check_positive
from tracker.errors import InputError


@dataclass(frozen=True, slots=True)
class Solid:
    """A volume and the rule that gave it."""

    volume_m3: float
    method: str


@dataclass(frozen=True, slots=True)
class Heap:
    """A heap with a circular or a long triangular foot. `width_m` is the diameter of a cone."""

    width_m: float
    height_m: float
    repose_deg: float
    volume_m3: float


# --- sections ------------------------------------------------------------------------------------
def level_section_area_m2(width_m: float, side_slope: float, height_m: float) -> float:
    """Area of a cut with a level top and equal sides [m²] (basak, page 244).

    area = (width_m + side_slope * height_m) * height_m, side_slope being horizontal per vertical
    """
    width = check_not_negative("width_m", width_m, "m")
    slope = check_not_negative("side_slope", side_slope, "m/m")
    height = check_not_negative("height_m", height_m, "m")
    return (width + slope * height) * height


def end_area_volume(areas_m2: Sequence[float], spacing_m: float) -> Solid:
    """Volume from areas at equal spacing by the mean of each two neighbours (basak, page 245).

    volume = spacing_m * (A1 / 2 + A2 + ... + An / 2)

    Exact only where the area changes in a straight line; else mostly a little too much.
    Raises InputError for fewer than two areas.
    """
    areas = _checked_areas(areas_m2, 2, "Give two areas or more, in order.")
    spacing = check_positive("spacing_m", spacing_m, "m")
    return Solid(spacing * (sum(areas) - (areas[0] + areas[-1]) / 2.0), "end area")


def prismoidal_volume(areas_m2: Sequence[float], spacing_m: float) -> Solid:
    """Volume from areas at equal spacing by Simpson's rule (basak, pages 244 and 245).

    volume = spacing_m / 3 * (A1 + 4 A2 + 2 A3 + ... + 4 A(n-1) + An)   for an odd count

    With an even count the last interval is finished by the end-area rule (common practice, no
    source), and `method` says so. Raises InputError for fewer than three areas.
    """
    areas = _checked_areas(
        areas_m2, 3, "Give three areas or more; between two, measure one halfway."
    )
    spacing = check_positive("spacing_m", spacing_m, "m")
    odd = areas if len(areas) % 2 else areas[:-1]
    total = spacing / 3.0 * (odd[0] + 4.0 * sum(odd[1::2]) + 2.0 * sum(odd[2:-1:2]) + odd[-1])
    if odd is areas:
        return Solid(total, "prismoidal")
    last = spacing * (areas[-2] + areas[-1]) / 2.0
    return Solid(total + last, "prismoidal, last interval by end area (even count of areas)")


def contour_volume(areas_m2: Sequence[float], interval_m: float) -> Solid:
    """Volume between contours from the areas they enclose, one interval apart (basak, page 245).

    Prismoidal where the count of areas is odd, else end area; `method` says which. Nothing is added
    for the ground beyond the first and the last contour.
    """
    if len(areas_m2) >= 3 and len(areas_m2) % 2:
        return prismoidal_volume(areas_m2, interval_m)
    return end_area_volume(areas_m2, interval_m)


def prismoidal_correction_m3(
    first_height_m: float,
    first_width_m: float,
    last_height_m: float,
    last_width_m: float,
    length_m: float,
) -> float:
    """What to take off an end-area volume between two three-level sections [m³].

    correction = length / 12 * (first_height - last_height) * (first_width - last_width)

    Heights are centre heights, widths are top widths (basak, page 248). Negative: to be added.
    """
    length = check_positive("length_m", length_m, "m")
    heights_m = check_not_negative("first_height_m", first_height_m, "m")
    heights_m -= check_not_negative("last_height_m", last_height_m, "m")
    widths_m = check_not_negative("first_width_m", first_width_m, "m")
    widths_m -= check_not_negative("last_width_m", last_width_m, "m")
    return length / 12.0 * heights_m * widths_m


def run_volume(stations_m: Sequence[float], areas_m2: Sequence[float]) -> Solid:
    """Volume of cut, or of fill, along a line of unequally spaced stations.

    Between two areas the end-area rule; where one of them is zero the ground runs out to an edge
    and counts as a pyramid, length * area / 3 (wikibooks_earthwork). Cut and fill are two runs.

    Raises InputError for stations out of order or not as many as areas.
    """
    areas = _checked_areas(areas_m2, 2, "Give two areas or more, in order.")
    if len(stations_m) != len(areas):
        raise InputError(
            f"{len(stations_m)} stations for {len(areas)} areas: give one area for each station.",
            field="stations_m",
        )
    total = 0.0
    for index, (first, last) in enumerate(pairwise(areas)):
        length = stations_m[index + 1] - stations_m[index]
        if not (math.isfinite(length) and length > 0.0):
            raise InputError(
                f"Station {stations_m[index + 1]:g} m follows {stations_m[index]:g} m: put the"
                " stations in rising order.",
                field="stations_m",
            )
        share = 2.0 if first and last else 3.0
        total += length * (first + last) / share
    return Solid(total, "end area, pyramid where it runs out")


def _checked_areas(areas_m2: Sequence[float], least: int, hint: str) -> list[float]:
    if len(areas_m2) < least:
        raise InputError(f"{len(areas_m2)} areas are too few. {hint}", field="areas_m2")
    return [check_not_negative("areas_m2", area, "m²") for area in areas_m2]


# --- grid and pit --------------------------------------------------------------------------------
def grid_volume(
    depths_m: Sequence[Sequence[float]], spacing_x_m: float, spacing_y_m: float
) -> Solid:
    """Volume of a dig from its depths at the corners of equal rectangles (dagostino, example 9-5).

    volume = spacing_x_m * spacing_y_m * sum over the rectangles of the mean of its four depths

    Rows of `depths_m` are lines of the grid. A depth is never negative: a grid part cut, part fill
    must be split along its zero line first. Raises InputError.
    """
    rows = [[check_not_negative("depths_m", depth, "m") for depth in row] for row in depths_m]
    if len(rows) < 2 or len(rows[0]) < 2 or any(len(row) != len(rows[0]) for row in rows):
        counts = ", ".join(str(len(row)) for row in rows) or "none"
        raise InputError(
            f"The rows of the grid hold {counts} depths: give two rows or more of equally many"
            " depths, two or more in each.",
            field="depths_m",
        )
    cell_m2 = check_positive("spacing_x_m", spacing_x_m, "m") * check_positive(
        "spacing_y_m", spacing_y_m, "m"
    )
    sum_m = sum(
        near[i] + near[i + 1] + far[i] + far[i + 1]
        for near, far in pairwise(rows)
        for i in range(len(near) - 1)
    )
    return Solid(cell_m2 * sum_m / 4.0, "spot-level grid, mean of the four corners")


def sloped_pit_volume(
    bottom_length_m: float, bottom_width_m: float, depth_m: float, side_slope: float
) -> Solid:
    """Volume of a rectangular pit with four equal side slopes, exact.

    volume = l w h + s h² (l + w) + 4/3 s² h³, s being horizontal per vertical (basak, page 245)

    Not h/3 (A1 + A2 + sqrt(A1 A2)), which holds only where top and bottom are similar figures.
    Assumes a level top; says nothing about whether the slope stands.
    """
    length = check_positive("bottom_length_m", bottom_length_m, "m")
    width = check_positive("bottom_width_m", bottom_width_m, "m")
    depth = check_positive("depth_m", depth_m, "m")
    slope = check_not_negative("side_slope", side_slope, "m/m")
    volume = (
        length * width * depth
        + slope * depth**2 * (length + width)
        + 4.0 / 3.0 * slope**2 * depth**3
    )
    return Solid(volume, "exact prismoidal")


# --- heaps ---------------------------------------------------------------------------------------
def cone(
    diameter_m: float | None = None,
    height_m: float | None = None,
    repose_deg: float | None = None,
) -> Heap:
    """A conical heap from any two of diameter, height and angle of repose.

    tan(repose_deg) = 2 * height_m / diameter_m;  volume = π / 12 * diameter_m² * height_m

    Raises InputError unless exactly two are given.

    >>> round(cone(diameter_m=10.0, repose_deg=45.0).volume_m3, 1)
    130.9
    """
    width, height, repose = _triangle("diameter_m", diameter_m, height_m, repose_deg)
    return Heap(width, height, repose, math.pi / 12.0 * width**2 * height)


def cone_of_volume(volume_m3: float, repose_deg: float) -> Heap:
    """The conical heap that this loose volume makes at its angle of repose (nunnally_2_3).

    diameter_m = (24 * volume_m3 / (π * tan(repose_deg))) ** (1/3)
    """
    volume = check_positive("volume_m3", volume_m3, "m³")
    rise = _rise(repose_deg)
    diameter = math.cbrt(24.0 * volume / (math.pi * rise))
    return Heap(diameter, diameter * rise / 2.0, repose_deg, volume)


def windrow(
    length_m: float,
    width_m: float | None = None,
    height_m: float | None = None,
    repose_deg: float | None = None,
) -> Heap:
    """A long triangular heap whose two ends are half cones, from any two of width, height, repose.

    volume = width_m * height_m / 2 * (length_m - width_m) + π / 12 * width_m² * height_m

    `length_m` is from toe to toe. Raises InputError if it is less than the width.
    """
    width, height, repose = _triangle("width_m", width_m, height_m, repose_deg)
    if not (math.isfinite(length_m) and length_m >= width):
        raise InputError(
            f"The heap is {length_m:g} m long and {width:g} m wide: give the length from toe to"
            " toe, not less than the width.",
            field="length_m",
        )
    ends_m3 = math.pi / 12.0 * width**2 * height
    return Heap(width, height, repose, width * height / 2.0 * (length_m - width) + ends_m3)


def _triangle(
    width_name: str, width_m: float | None, height_m: float | None, repose_deg: float | None
) -> tuple[float, float, float]:
    """Width, height and repose from exactly two of them."""
    if width_m is not None and height_m is not None and repose_deg is None:
        width = check_positive(width_name, width_m, "m")
        height = check_positive("height_m", height_m, "m")
        return width, height, math.degrees(math.atan2(2.0 * height, width))
    if width_m is not None and repose_deg is not None and height_m is None:
        width = check_positive(width_name, width_m, "m")
        return width, width * _rise(repose_deg) / 2.0, repose_deg
    if height_m is not None and repose_deg is not None and width_m is None:
        height = check_positive("height_m", height_m, "m")
        return 2.0 * height / _rise(repose_deg), height, repose_deg
    given = {width_name: width_m, "height_m": height_m, "repose_deg": repose_deg}
    names = ", ".join(name for name, value in given.items() if value is not None)
    raise InputError(
        f"Give exactly two of {width_name}, height_m and repose_deg; given: {names or 'none'}."
    )


def _rise(repose_deg: float) -> float:
    return math.tan(math.radians(check_between("repose_deg", repose_deg, 1.0, 89.0, "degrees")))
