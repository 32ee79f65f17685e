"""Surfaces that come as triangles: used as they are, cut only where a zone line crosses them."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from tracker.domain.surface.cleaning import clear_of_ring
from tracker.domain.surface.region import Area, Floats, Region
from tracker.domain.surface.surface import REASONS, Surface
from tracker.errors import InputError

OVERLAP = 1e-6  # share of the area that may be covered twice: rounding of the coordinates


def surface_of_faces(corners_m: Floats, faces: NDArray[np.int64], region: Region) -> Surface:
    """The surface of given triangles inside a region.

    `faces` are indices into `corners_m`, three a triangle. A triangle across a zone line is cut
    along it; its levels stay in its plane. What the triangles leave of the region stays uncovered.
    Raises InputError for triangles that overlap or lie outside.
    """
    if not np.all(np.isfinite(corners_m)):
        raise InputError("The surface has a corner that is no number: export it again.")
    if not len(faces) or faces.min() < 0 or faces.max() >= len(corners_m):
        raise InputError("The surface names corners that it does not have: export it again.")
    local = region.local(corners_m)
    outlines = np.asarray(shapely.polygons(local[faces][:, :, :2]), dtype=np.object_)
    real = shapely.area(outlines) > 1e-12
    faces, outlines = faces[real], outlines[real]
    cut_faces = [_within(local, faces, outlines, polygon) for polygon in region.polygons]
    xyz = np.concatenate([local, *(extra for _, extra in cut_faces)])
    triangles, zones, start = [], [], len(local)
    for zone, (kept, extra) in enumerate(cut_faces):
        added = np.arange(start, start + len(extra)).reshape(-1, 3)
        start += len(extra)
        triangles.append(np.concatenate([kept, added]))
        zones.append(np.full(len(kept) + len(added), zone, dtype=np.int16))
    inside = [clear_of_ring(local, polygon)[0] for polygon in region.polygons]
    used = sum(len(points) for points in inside)
    rejected = dict.fromkeys(REASONS, 0)
    rejected["outside"] = len(local) - used
    surface = Surface(
        region=region,
        xyz_m=xyz,
        triangles=np.concatenate(triangles).astype(np.int32),
        zone=np.concatenate(zones),
        measured=np.ones(len(xyz), dtype=bool),
        spacing_m=float(np.sqrt(region.area_m2 / max(used, 1))),
        points_in=len(local),
        points_used=used,
        rejected=rejected,
        points_m=np.concatenate(inside),
        point_zone=np.repeat(
            np.arange(len(inside), dtype=np.int16), [len(points) for points in inside]
        ),
    )
    _check_cover(surface)
    return surface


def _within(
    local: Floats, faces: NDArray[np.int64], outlines: NDArray[np.object_], polygon: Area
) -> tuple[NDArray[np.int64], Floats]:
    """Faces inside the polygon, and the corners of the pieces of those across its edge."""
    shapely.prepare(polygon)
    whole = shapely.covers(polygon, outlines)
    across = np.flatnonzero(~whole & shapely.intersects(polygon, outlines))
    pieces = []
    for index in across:
        flat = shapely.intersection(outlines[index], polygon)
        for part in shapely.get_parts(shapely.constrained_delaunay_triangles(flat)):
            xy = shapely.get_coordinates(part)[:3]
            pieces.append(np.column_stack([xy, _plane_levels(local[faces[index]], xy)]))
    extra = np.concatenate(pieces) if pieces else np.empty((0, 3))
    return faces[whole], extra


def _plane_levels(corners: Floats, xy: Floats) -> Floats:
    """Levels of places in the plane of three corners."""
    sides = corners[1:, :2] - corners[0, :2]
    share = np.linalg.solve(sides.T, (xy - corners[0, :2]).T)
    return np.asarray(corners[0, 2] + share.T @ (corners[1:, 2] - corners[0, 2]))


def _check_cover(surface: Surface) -> None:
    covered, whole = float(surface.area_m2.sum()), surface.region.area_m2
    if covered == 0.0:
        raise InputError(
            "The surface lies outside the outline: check the grid and the unit of both.",
            field="outline",
        )
    if covered > whole * (1.0 + OVERLAP):
        raise InputError(
            f"The triangles cover {covered:,.2f} m² of {whole:,.2f} m²: some lie over each other."
            " Export one surface, without walls and overhangs.",
            field="faces",
        )
