"""The ring that closes a surface at the wall: its vertices, and what level they take.

A survey stops short of the wall. To close the strip, each vertex of the ring takes its level from
the plane through its nearest points, held to a slope of 1:1 and to their range. Such a vertex is
an extrapolation and is flagged as one; a breakline on the ring is a measurement and wins.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree

from tracker.domain.surface.cleaning import RING_CLEARANCE_M
from tracker.domain.surface.region import Area, Floats, plan_points

NEAREST = 6
STEEPEST = 1.0  # vertical per horizontal
BEYOND_RANGE_M = 0.2
_MANY = 50_000  # points from which on a strip is worth while
CLOSEST_M = 0.05  # spacing of ring vertices is never finer


@dataclass(frozen=True, eq=False)
class Ring:
    """Vertices of all rings of a polygon, and the edges between them as pairs of indices.

    `sources` and `weights` say of each vertex how its level depends on the points it was taken
    from; a vertex on a breakline has weights of nothing.
    """

    xy_m: Floats
    edges: NDArray[np.uint32]
    level_m: Floats
    measured: NDArray[np.bool_]
    sources: NDArray[np.intp]
    weights: Floats


def ring_vertices(
    polygon: Area, spacing_m: float, also_at: Floats
) -> tuple[Floats, NDArray[np.uint32]]:
    """Vertices along every ring of the polygon, none further apart than the spacing.

    `also_at` are places near the ring that get a vertex of their own: the ends of breaklines.
    """
    step = max(spacing_m, CLOSEST_M)
    placed: list[Floats] = []
    edges: list[NDArray[np.uint32]] = []
    start = 0
    for part in shapely.get_parts(polygon):
        for line in (part.exterior, *part.interiors):
            corners = line.project(plan_points(shapely.get_coordinates(line)[:-1]))
            even = np.linspace(0.0, line.length, int(np.ceil(line.length / step)), endpoint=False)
            extra = also_at[shapely.distance(line, plan_points(also_at)) <= RING_CLEARANCE_M]
            wanted = np.r_[corners, line.project(plan_points(extra))] if len(extra) else corners
            gap = np.abs(even[:, None] - wanted[None, :]).min(axis=1) if len(even) else even
            along = np.unique(np.r_[wanted, even[gap > step / 4.0]])
            along = along[np.r_[True, np.diff(along) > 1e-6]]
            xy = shapely.get_coordinates(line.interpolate(along))
            index = np.arange(len(xy), dtype=np.uint32) + np.uint32(start)
            placed.append(xy)
            edges.append(np.column_stack([index, np.roll(index, -1)]))
            start += len(xy)
    return np.concatenate(placed), np.concatenate(edges)


def wall_planes(xy_m: Floats, points_m: Floats) -> tuple[Floats, NDArray[np.intp], Floats]:
    """Level of each place by the clamped plane through its nearest points, with its weights.

    level = mean + slope · (place - centroid), |slope| <= 1, within the points' range +- 0.2 m
    """
    count = min(NEAREST, len(points_m))
    nearest = _nearest(xy_m, points_m, count)
    around = points_m[nearest]
    centre = around.mean(axis=1)
    offset = around - centre[:, None, :]
    flat, rise = offset[:, :, :2], offset[:, :, 2]
    normal = np.einsum("nki,nkj->nij", flat, flat)
    solved = np.linalg.pinv(normal, rcond=1e-6, hermitian=True) @ flat.transpose(0, 2, 1)
    slope = np.einsum("nik,nk->ni", solved, rise)
    held = np.minimum(1.0, STEEPEST / np.maximum(np.hypot(slope[:, 0], slope[:, 1]), 1e-12))
    away = (xy_m - centre[:, :2]) * held[:, None]
    level = centre[:, 2] + np.einsum("ni,ni->n", away, slope)
    weights = 1.0 / count + np.einsum("ni,nik->nk", away, solved)
    low = around[:, :, 2].min(axis=1) - BEYOND_RANGE_M
    high = around[:, :, 2].max(axis=1) + BEYOND_RANGE_M
    return np.clip(level, low, high), nearest, weights


def _nearest(xy_m: Floats, points_m: Floats, count: int) -> NDArray[np.intp]:
    """Indices of the points nearest to each place; looked for in a strip first."""
    west, south = xy_m.min(axis=0)
    east, north = xy_m.max(axis=0)
    if len(points_m) > _MANY:
        reach = 20.0 * float(np.sqrt((east - west) * (north - south) / len(points_m)))
        cell = np.floor((xy_m - (west, south)) / reach).astype(np.int64)
        near = np.zeros(cell.max(axis=0) + 3, dtype=bool)
        near[cell[:, 0] + 1, cell[:, 1] + 1] = True
        near = ndimage.binary_dilation(near, np.ones((3, 3), dtype=bool))
        at = np.floor((points_m[:, :2] - (west, south)) / reach).astype(np.int64) + 1
        np.clip(at, 0, np.array(near.shape) - 1, out=at)
        strip = np.flatnonzero(near[at[:, 0], at[:, 1]])
        if len(strip) >= count:
            away, found = cKDTree(points_m[strip, :2]).query(xy_m, k=count)
            if np.max(away) <= reach:  # else one outside the strip may be nearer
                return np.asarray(strip[found].reshape(len(xy_m), count))
    _, found = cKDTree(points_m[:, :2]).query(xy_m, k=count)
    return np.asarray(found.reshape(len(xy_m), count))


def levels_along(line_m: Floats, xy_m: Floats) -> Floats:
    """Level on a line of easting, northing, level where each place projects onto it."""
    flat = shapely.LineString(line_m[:, :2])
    run = np.r_[0.0, np.cumsum(np.hypot(*np.diff(line_m[:, :2], axis=0).T))]
    return np.interp(flat.project(plan_points(xy_m)), run, line_m[:, 2])


def closed_ring(polygon: Area, spacing_m: float, points_m: Floats, lines_m: list[Floats]) -> Ring:
    """The ring of a polygon with a level at every vertex, by breaklines or else by planes."""
    also_at = np.concatenate([line[:, :2] for line in lines_m]) if lines_m else np.empty((0, 2))
    xy, edges = ring_vertices(polygon, spacing_m, also_at)
    level, sources, weights = wall_planes(xy, points_m)
    measured = np.zeros(len(xy), dtype=bool)
    for line in lines_m:
        on_line = (
            shapely.distance(shapely.LineString(line[:, :2]), plan_points(xy)) <= RING_CLEARANCE_M
        )
        level[on_line] = levels_along(line, xy[on_line])
        measured |= on_line
    weights[measured] = 0.0
    return Ring(xy, edges, level, measured, sources, weights)
