"""Points made fit to triangulate: nothing changed in silence, everything left out is counted.

Points are arrays of easting, northing, level about a local origin [m].
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from tracker.domain.surface.region import Area, Floats

RING_CLEARANCE_M = 0.02  # nearer than this a point may lie on the wall, not on the ground
SAME_PLACE_M = 0.001
_BLOCK_BITS = 8  # a block is 256 by 256 cells


def cell_keys(points_m: Floats, cell_m: float) -> NDArray[np.int64]:
    """One whole number for each cell of a square grid, the same for points that share it.

    Numbers run through blocks of cells, so that points in their order are near each other: what is
    done with them later finds them in the cache.
    """
    low = points_m[:, :2].min(axis=0)
    east = np.floor((points_m[:, 0] - low[0]) / cell_m + 0.5).astype(np.int64)
    north = np.floor((points_m[:, 1] - low[1]) / cell_m + 0.5).astype(np.int64)
    mask = (1 << _BLOCK_BITS) - 1
    rows = int(north.max() >> _BLOCK_BITS) + 1
    block = (east >> _BLOCK_BITS) * rows + (north >> _BLOCK_BITS)
    within = ((east & mask) << _BLOCK_BITS) + (north & mask)
    return np.asarray((block << 2 * _BLOCK_BITS) + within)


def cell_medians(points_m: Floats, cell_m: float) -> tuple[Floats, Floats]:
    """The median point by level of every cell, and the range of levels in it [m].

    An odd count gives the middle point itself, an even one the mean of the middle two, so that a
    slope is not lowered.
    """
    keys = cell_keys(points_m, cell_m)
    order = np.argsort(keys)
    ordered = keys[order]
    first = np.r_[True, ordered[1:] != ordered[:-1]]
    starts = np.flatnonzero(first)
    if len(starts) == len(points_m):
        return points_m[order], np.zeros(len(points_m))
    shared = ~first
    shared[:-1] |= shared[1:]
    some = order[shared]
    order[shared] = some[np.lexsort((points_m[some, 2], keys[some]))]
    last = np.r_[starts[1:], len(points_m)] - 1
    several = np.flatnonzero(last > starts)
    first_of, last_of = starts[several], last[several]
    lower, upper = order[(first_of + last_of) // 2], order[(first_of + last_of + 1) // 2]
    middle, spread = points_m[order[starts]], np.zeros(len(starts))
    middle[several] = (points_m[lower] + points_m[upper]) / 2.0
    spread[several] = points_m[order[last_of], 2] - points_m[order[first_of], 2]
    return middle, spread


def inside_share(points_m: Floats, outline: Area) -> float:
    """Share of the points that lie inside the outline, 0 to 1."""
    if not len(points_m):
        return 0.0
    shapely.prepare(outline)
    return float(shapely.contains_xy(outline, points_m[:, 0], points_m[:, 1]).mean())


def clear_of_ring(points_m: Floats, polygon: Area) -> tuple[Floats, Floats]:
    """The points inside the polygon and away from its edge, and those in the strip along it."""
    west, south, east, north = polygon.bounds
    x, y = points_m[:, 0], points_m[:, 1]
    around = (x >= west) & (x <= east) & (y >= south) & (y <= north)
    near = points_m if around.all() else points_m[around]
    inset = polygon.buffer(-RING_CLEARANCE_M)
    shapely.prepare(inset)
    clear = shapely.contains_xy(inset, near[:, 0], near[:, 1])
    others = near[~clear]
    inside = near if clear.all() else near[clear]
    shapely.prepare(polygon)
    in_strip = shapely.contains_xy(polygon, others[:, 0], others[:, 1])
    return inside, others[in_strip]


def collinear(points_m: Floats) -> bool:
    """Whether the points (of very many a thousand) lie on one line in plan, to a millimetre."""
    if len(points_m) < 3:
        return True
    some = points_m[:: max(1, len(points_m) // 1000), :2]
    spread = some - some.mean(axis=0)
    return bool(np.linalg.eigvalsh(spread.T @ spread / len(spread))[0] < SAME_PLACE_M**2)
