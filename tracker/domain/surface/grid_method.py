"""The independent second method: levels on a square grid, weighted by exact cell coverage.

It shares no triangle, no ring and no table with the first method; only the cleaned points.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from tracker.domain.surface.region import Area, Floats
from tracker.domain.surface.surface import Surface
from tracker.errors import NotEnoughData

POINTS_PER_CELL = 4.0
MOST_CELLS = 4_000_000


@dataclass(frozen=True, eq=False)
class GridSurface:
    """Cells with their level and the area of each that lies inside its zone."""

    level_m: Floats
    area_m2: Floats

    def level_integral_m3(self) -> float:
        """Integral of the level over the region [m³]."""
        return float(self.level_m @ self.area_m2)

    def void_m3(self, level_m: float) -> float:
        """Void below a level [m³]."""
        return float(np.maximum(level_m - self.level_m, 0.0) @ self.area_m2)


def grid_surface(surface: Surface, cell_m: float | None = None) -> GridSurface:
    """Mean level of the points of each cell, the nearest cell's where it has none.

    Each zone has its own grid and its own points. Surfaces that came as triangles count with their
    corners. Raises NotEnoughData for a zone without points.
    """
    cell = cell_m or float(np.sqrt(POINTS_PER_CELL)) * surface.spacing_m
    region = surface.region
    if region.area_m2 / cell**2 > MOST_CELLS:
        cell = float(np.sqrt(region.area_m2 / MOST_CELLS))
    levels, areas = [], []
    for zone, polygon in enumerate(region.polygons):
        points = surface.points_m[surface.point_zone == zone]
        if not len(points):
            raise NotEnoughData(f"Zone {region.zones[zone]} has no points for a grid.")
        level, area = _zone_grid(points, polygon, cell)
        levels.append(level)
        areas.append(area)
    return GridSurface(np.concatenate(levels), np.concatenate(areas))


def _zone_grid(points: Floats, polygon: Area, cell: float) -> tuple[Floats, Floats]:
    west, south, east, north = polygon.bounds
    across, along = int((east - west) / cell) + 1, int((north - south) / cell) + 1
    column = np.clip(((points[:, 0] - west) / cell).astype(np.int64), 0, across - 1)
    line = np.clip(((points[:, 1] - south) / cell).astype(np.int64), 0, along - 1)
    index = column * along + line
    number = np.bincount(index, minlength=across * along)
    mean = np.bincount(index, points[:, 2], across * along) / np.maximum(number, 1)
    x: Floats = west + cell * np.repeat(np.arange(float(across)), along)
    y: Floats = south + cell * np.tile(np.arange(float(along)), across)
    area = coverage_m2(x, y, cell, polygon)
    used = area > 0.0
    empty = used & (number == 0)
    if empty.any():
        full = np.flatnonzero(number)
        tree = cKDTree(np.column_stack([x[full], y[full]]))
        _, nearest = tree.query(np.column_stack([x[empty], y[empty]]))
        mean[empty] = mean[full[nearest]]
    return mean[used], area[used]


def coverage_m2(west_m: Floats, south_m: Floats, cell_m: float, polygon: Area) -> Floats:
    """Area of each cell inside the polygon, exactly [m²]."""
    boxes = shapely.box(west_m, south_m, west_m + cell_m, south_m + cell_m)
    shapely.prepare(polygon)
    area = np.zeros(len(boxes))
    area[shapely.contains_properly(polygon, boxes)] = cell_m**2
    edge = (area == 0.0) & shapely.intersects(polygon, boxes)
    area[edge] = shapely.area(shapely.intersection(boxes[edge], polygon))
    return area


def second_method_difference_percent(
    net_m3: float, after: Surface, before: Surface | float
) -> float | None:
    """How far the grid's net volume lies from the triangles', in percent of the latter.

    `before` is a surface or the level of flat ground. None where there is no volume to compare,
    or a zone without points.
    """
    try:
        later = grid_surface(after).level_integral_m3()
        if isinstance(before, Surface):
            earlier = grid_surface(before).level_integral_m3()
        else:
            earlier = after.region.area_m2 * before
    except NotEnoughData:
        return None
    return None if net_m3 == 0.0 else 100.0 * (earlier - later - net_m3) / abs(net_m3)
