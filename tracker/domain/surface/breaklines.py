"""Breaklines: toes, crests and kerbs that carry their own levels into the triangulation."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from tracker.domain.surface.cleaning import RING_CLEARANCE_M
from tracker.domain.surface.region import Area, Floats, plan_points
from tracker.domain.surface.wall_line import CLOSEST_M, levels_along
from tracker.errors import InputError


def checked_breaklines(lines_m: Sequence[Floats], origin_m: tuple[float, float]) -> list[Floats]:
    """Breaklines about the origin. Raises InputError where two cross without a shared vertex."""
    kept = []
    for line in lines_m:
        placed = np.array(line, dtype=np.float64).reshape(-1, 3)
        if not np.all(np.isfinite(placed)):
            raise InputError("A breakline has a vertex that is no number: mend it in the drawing.")
        placed[:, :2] -= origin_m
        apart = np.r_[True, np.hypot(*np.diff(placed[:, :2], axis=0).T) > 1e-6]
        if apart.sum() > 1:
            kept.append(placed[apart])
    _check_crossings(kept, origin_m)
    return kept


def _check_crossings(lines_m: list[Floats], origin_m: tuple[float, float]) -> None:
    pieces = [np.stack([line[:-1], line[1:]], axis=1) for line in lines_m]
    if not pieces:
        return
    ends = np.concatenate(pieces)
    tree = shapely.STRtree(np.asarray(shapely.linestrings(ends[:, :, :2]), dtype=np.object_))
    left, right = tree.query(tree.geometries, predicate="intersects")
    for one, other in zip(left[left < right], right[left < right], strict=True):
        shared = shapely.intersection(tree.geometries[one], tree.geometries[other])
        corners = np.concatenate([ends[one], ends[other]])
        for xy in shapely.get_coordinates(shared)[:1]:
            near = np.hypot(*(corners[:, :2] - xy).T) <= 1e-3
            if near[:2].any() and near[2:].any():
                high = corners[near, 2]
                if np.ptp(high) <= 1e-3:
                    continue
            east, north = xy + np.array(origin_m)
            raise InputError(
                f"Two breaklines cross at E {east:.3f}, N {north:.3f} without a shared vertex of"
                " one level: give both a vertex there, or delete one.",
                field="breaklines",
            )


def lines_within(lines_m: Sequence[Floats], polygon: Area, spacing_m: float) -> list[Floats]:
    """The parts of breaklines inside a polygon or on its edge, with vertices at the spacing."""
    reach = polygon.buffer(RING_CLEARANCE_M)
    inside = []
    for line in lines_m:
        flat = shapely.LineString(line[:, :2])
        merged = shapely.line_merge(_cut(flat, polygon, reach))
        for part in shapely.get_parts(merged):
            if part.geom_type == "LineString" and part.length > 1e-6:
                fine = shapely.segmentize(part, max(spacing_m, CLOSEST_M))
                xy = shapely.get_coordinates(fine)
                inside.append(np.column_stack([xy, _levels(line, flat, xy)]))
    return inside


def _cut(flat: shapely.LineString, polygon: Area, reach: Area) -> Any:
    """Inside the polygon; but a line that runs along the ring is kept whole."""
    return flat if reach.covers(flat) else flat.intersection(polygon)


def _levels(line: Floats, flat: shapely.LineString, xy: Floats) -> Floats:
    """Levels along the line; the end of a closed one is not its beginning."""
    if flat.is_closed and len(xy) > 2:
        return np.concatenate([levels_along(line, xy[:-1]), line[-1:, 2]])
    return levels_along(line, xy)


def line_edges(
    lines_m: Sequence[Floats], ring_xy_m: Floats, polygon: Area, first_index: int
) -> tuple[Floats, NDArray[np.uint32]]:
    """Vertices of the breaklines that are not on the ring, and constraint edges between all.

    A vertex on the ring is the ring's own; a piece along the ring needs no edge.
    """
    if not lines_m:
        return np.empty((0, 3)), np.empty((0, 2), dtype=np.uint32)
    every = np.concatenate(lines_m)
    on_ring = shapely.distance(polygon.boundary, plan_points(every[:, :2])) <= RING_CLEARANCE_M
    inner = every[~on_ring]
    _, first, same = np.unique(
        np.round(inner[:, :2], 6), axis=0, return_index=True, return_inverse=True
    )
    index = np.empty(len(every), dtype=np.int64)
    index[~on_ring] = first_index + same.reshape(-1)
    if on_ring.any():
        ring_points = shapely.STRtree(plan_points(ring_xy_m))
        index[on_ring] = ring_points.nearest(plan_points(every[on_ring, :2]))
    starts = np.cumsum([0, *(len(line) for line in lines_m)])
    pairs = np.concatenate([np.arange(a, b - 1) for a, b in pairwise(starts)])
    middle = (every[pairs, :2] + every[pairs + 1, :2]) / 2.0
    inside = shapely.distance(polygon.boundary, plan_points(middle)) > RING_CLEARANCE_M
    edges = np.column_stack([index[pairs], index[pairs + 1]])[inside]
    edges = np.unique(np.sort(edges, axis=1), axis=0)
    edges = edges[edges[:, 0] != edges[:, 1]]
    return inner[first], edges.astype(np.uint32)
