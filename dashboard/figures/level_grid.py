"""A surveyed surface as a grid of levels for the screen, and the outlines of its zones."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from tracker.domain.surface.picture import Picture

STEPS_M = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
MOST_CELLS = 15_000
NOWHERE = -1
_ON_THE_EDGE = -1e-9

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LevelGrid:
    """Levels at the middles of square cells [m]; not a number, and zone NOWHERE, outside."""

    easting_m: Floats  # of the columns
    northing_m: Floats  # of the rows, southernmost first
    level_m: Floats  # [row, column]
    zone: NDArray[np.int64]  # [row, column], an index of the zones of the picture

    @property
    def range_m(self) -> tuple[float, float]:
        """The lowest and the highest level of the grid."""
        return float(np.nanmin(self.level_m)), float(np.nanmax(self.level_m))


@lru_cache(maxsize=16)
def level_grid(picture: Picture) -> LevelGrid:
    """The picture at the middles of cells as fine as MOST_CELLS allows, even inside triangles."""
    low, high = extent_m(picture)
    wide, deep = high - low
    fitting = (s for s in STEPS_M if (wide / s + 1) * (deep / s + 1) <= MOST_CELLS)
    step_m = next(fitting, STEPS_M[-1])
    columns, rows = (int(np.ceil(length / step_m)) for length in (wide, deep))
    middles = [low[axis] + (np.arange(n) + 0.5) * step_m for axis, n in ((0, columns), (1, rows))]
    triangle, column, row = _cells_near(picture, low, step_m, (columns, rows))
    level, inside = _levels_at(picture, triangle, middles[0][column], middles[1][row])
    levels = np.full((rows, columns), np.nan)
    zones = np.full((rows, columns), NOWHERE, dtype=np.int64)
    levels[row[inside], column[inside]] = level[inside]
    zones[row[inside], column[inside]] = picture.zone[triangle[inside]]
    return LevelGrid(*middles, levels, zones)


def extent_m(picture: Picture) -> tuple[Floats, Floats]:
    """The south-west and the north-east corner of the picture."""
    places = picture.xyz_m[:, :2]
    return places.min(axis=0), places.max(axis=0)


def _cells_near(
    picture: Picture, low: Floats, step_m: float, count: tuple[int, int]
) -> tuple[NDArray[np.int64], ...]:
    """(triangle, column, row) of every cell in the rectangle around each triangle."""
    places = (picture.xyz_m[picture.triangles, :2] - low) / step_m - 0.5
    most = np.array(count) - 1
    first = np.clip(np.ceil(places.min(axis=1)), 0, most).astype(np.int64)
    last = np.clip(np.floor(places.max(axis=1)), -1, most).astype(np.int64)
    size = np.maximum(last - first + 1, 0)
    cells = size[:, 0] * size[:, 1]
    triangle = np.repeat(np.arange(len(cells)), cells)
    within = np.arange(cells.sum()) - np.repeat(np.cumsum(cells) - cells, cells)
    column = first[triangle, 0] + within % size[triangle, 0]
    row = first[triangle, 1] + within // size[triangle, 0]
    return triangle, column, row


def _levels_at(
    picture: Picture, triangle: NDArray[np.int64], x: Floats, y: Floats
) -> tuple[Floats, NDArray[np.bool_]]:
    """The level of each triangle's plane at each place, and whether the place is inside it."""
    a, b, c = (picture.xyz_m[picture.triangles[triangle, corner]] for corner in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    upright = np.where(area == 0.0, np.nan, area)  # a triangle without area holds no place
    of_b = ((x - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (y - a[:, 1])) / upright
    of_c = ((b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (x - a[:, 0]) * (b[:, 1] - a[:, 1])) / upright
    of_a = 1.0 - of_b - of_c
    inside = (of_a >= _ON_THE_EDGE) & (of_b >= _ON_THE_EDGE) & (of_c >= _ON_THE_EDGE)
    return of_a * a[:, 2] + of_b * b[:, 2] + of_c * c[:, 2], inside


@lru_cache(maxsize=16)
def zone_edges(picture: Picture) -> tuple[NDArray[np.int64], ...]:
    """Of each zone the pairs of vertices on its outline: edges of only one of its triangles."""
    outlines = []
    for zone in range(len(picture.zones)):
        mine = picture.triangles[picture.zone == zone]
        edges = np.sort(np.concatenate([mine[:, [0, 1]], mine[:, [1, 2]], mine[:, [2, 0]]]), axis=1)
        once, times = np.unique(edges, axis=0, return_counts=True)
        outlines.append(once[times == 1])
    return tuple(outlines)
