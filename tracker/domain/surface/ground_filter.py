"""People, plant and stray echoes taken out of a scan: only when asked for, and never in silence.

Made for bare dug ground. It can eat berms, ramps and heaps narrower than the window: look at the
rejected points on a plan before the volume is used.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from tracker.domain.surface.region import Floats
from tracker.errors import InputError


@dataclass(frozen=True, slots=True)
class GroundFilter:
    """How the base is made and how far off it ground may be [m] (common practice, no source)."""

    cell_m: float = 0.5
    percentile: float = 20.0
    widest_plant_m: float = 9.0
    off_base_m: float = 0.25


LARGEST_GRID = 40_000_000  # cells


def off_ground(points_m: Floats, settings: GroundFilter) -> tuple[NDArray[np.bool_], ...]:
    """Which points lie too far above the base of the ground, and which too far below it.

    The base is a low percentile of each cell, filled from the nearest cell, smoothed by a 5 x 5
    median and opened by a window wider than the largest plant. On a slope a point may differ from
    its cell by as much more as the base falls within one cell.
    """
    cell = settings.cell_m
    corner = points_m[:, :2].min(axis=0)
    at = (points_m[:, :2] - corner) / cell
    size = at.max(axis=0).astype(np.int64) + 1
    if int(size[0]) * int(size[1]) > LARGEST_GRID:
        raise InputError(
            f"The points spread over {size[0] * cell:,.0f} by {size[1] * cell:,.0f} m, too wide to"
            " filter: cut them to the site first."
        )
    base = _base(points_m[:, 2], at.astype(np.int64), size, settings)
    place = (at - 0.5).T
    here = ndimage.map_coordinates(base, place, order=1, mode="nearest")
    fall = np.hypot(*np.gradient(np.pad(base, 1, mode="edge")))[1:-1, 1:-1]
    allowed = settings.off_base_m + ndimage.map_coordinates(fall, place, order=1, mode="nearest")
    height = points_m[:, 2] - here
    return height > allowed, height < -allowed


def _base(
    level_m: Floats, cell: NDArray[np.int64], size: NDArray[np.int64], settings: GroundFilter
) -> Floats:
    flat = cell[:, 0] * size[1] + cell[:, 1]
    order = np.lexsort((level_m, flat))
    keys = flat[order]
    starts = np.flatnonzero(np.r_[True, keys[1:] != keys[:-1]])
    counts = np.diff(np.r_[starts, len(keys)])
    rank = starts + ((counts - 1) * settings.percentile / 100.0).astype(np.int64)
    base = np.full(int(size[0] * size[1]), np.nan)
    base[keys[starts]] = level_m[order[rank]]
    grid = base.reshape(int(size[0]), int(size[1]))
    nearest = ndimage.distance_transform_edt(
        np.isnan(grid), return_distances=False, return_indices=True
    )
    smooth = ndimage.median_filter(grid[tuple(nearest)], size=5, mode="nearest")
    window = 2 * int(settings.widest_plant_m / settings.cell_m / 2) + 3
    # slopes go on beyond the edge, or the opening would cut their upper ends off
    wide = np.pad(smooth, window, mode="reflect", reflect_type="odd")
    opened = ndimage.grey_opening(wide, size=(window, window), mode="nearest")
    return np.asarray(opened[window:-window, window:-window])
