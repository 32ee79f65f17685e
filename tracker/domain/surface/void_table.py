"""A survey reduced to a table: the void below each level, zone by zone.

For a surface S over a zone P, void(L) is the integral over P of max(L - S, 0). Every later question
is a subtraction of two such tables; no two triangulations are ever overlaid.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.domain.surface.region import Floats, Region
from tracker.domain.surface.surface import Surface
from tracker.errors import InputError, UnknownName

_PAIRS_AT_ONCE = 2_000_000
FULL_COVER = 1e-6  # share of the region's area that a table may lack


@dataclass(frozen=True, eq=False)
class VoidTable:
    """Void below each level and plan area below it, for each zone.

    `level_integral_m3` is the integral of the surface's level over the zone, so that the volume
    down from any level above the surface is area * level - integral. `area_m2` is what the surface
    covers of `zone_area_m2`.
    """

    zones: tuple[str, ...]
    zone_keys: tuple[str, ...]  # as `Region` has them
    zone_area_m2: Floats  # [zone]
    levels_m: Floats  # rising
    void_m3: Floats  # [zone, level]
    area_below_m2: Floats  # [zone, level]
    area_m2: Floats  # [zone]
    level_integral_m3: Floats  # [zone]
    lowest_m: Floats  # [zone]
    highest_m: Floats  # [zone]

    def only(self, zones: Iterable[str]) -> VoidTable:
        """The rows of these zones. Raises UnknownName."""
        rows = [self.zone_index(zone) for zone in zones]
        return VoidTable(
            tuple(self.zones[row] for row in rows),
            tuple(self.zone_keys[row] for row in rows),
            self.zone_area_m2[rows],
            self.levels_m,
            self.void_m3[rows],
            self.area_below_m2[rows],
            self.area_m2[rows],
            self.level_integral_m3[rows],
            self.lowest_m[rows],
            self.highest_m[rows],
        )

    def zone_index(self, zone: str) -> int:
        """Row of a zone. Raises UnknownName."""
        if zone not in self.zones:
            raise UnknownName("zone", zone, self.zones)
        return self.zones.index(zone)

    def level_index(self, level_m: float) -> int:
        """Column of a level. Raises InputError if the table was not reduced at it."""
        at = int(np.searchsorted(self.levels_m, level_m - 5e-4))
        if at < len(self.levels_m) and abs(self.levels_m[at] - level_m) <= 5e-4:
            return at
        raise InputError(
            f"The survey was not reduced at {level_m:.3f} m. Its levels:"
            f" {', '.join(f'{level:g}' for level in self.levels_m)}. Reduce it again with that"
            " level.",
            field="level_m",
        )


def checked_levels(levels_m: Iterable[float]) -> Floats:
    """Levels in rising order, each once. Raises InputError for none, or for one that is none."""
    levels = np.unique(np.array(list(levels_m), dtype=np.float64))
    if not len(levels) or not np.all(np.isfinite(levels)):
        raise InputError("Give one level or more, in metres.", field="levels_m")
    return levels


def metre_levels(lowest_m: float, highest_m: float) -> Floats:
    """The whole metres from below the lowest level to above the highest [m]."""
    low, high = np.floor(lowest_m), np.ceil(highest_m)
    if high - low > 10_000:
        raise InputError(
            f"The levels run from {lowest_m:,.1f} to {highest_m:,.1f} m. Check the unit, the column"
            " order and the datum."
        )
    return np.arange(low, max(high, low + 1.0) + 1.0)


def void_table(surface: Surface, levels_m: Iterable[float]) -> VoidTable:
    """Reduce a surface to its table, all levels in one pass over the triangles.

    Above a triangle of plan area A with sorted corner levels z1 <= z2 <= z3 and their mean m, the
    void below level L is

        0                                                    for L <= z1
        A (L - z1)³ / (3 (z2 - z1) (z3 - z1))                for z1 < L <= z2
        A ((L - m) + (z3 - L)³ / (3 (z3 - z1) (z3 - z2)))    for z2 < L < z3
        A (L - m)                                            for L >= z3

    and the plan area below L is its derivative by L. Cost: triangles plus their crossings with
    levels. Own derivation, checked against two other programs.
    """
    levels = checked_levels(levels_m)
    region, count = surface.region, len(surface.region.zones)
    a, b, c = surface.corner_levels_m
    area, zone = surface.area_m2, surface.zone
    low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    area_mean = area * ((a + b + c) / 3.0)
    full = np.searchsorted(levels, high, side="left")  # first level not below the top corner
    row = zone.astype(np.int64) * (len(levels) + 1)
    cells = count * (len(levels) + 1)
    shape = (count, len(levels) + 1)
    whole = _sums(row + full, area, cells).reshape(shape)
    whole_mean = _sums(row + full, area_mean, cells).reshape(shape)
    below: Floats = np.cumsum(whole, axis=1, dtype=np.float64)[:, :-1]
    void = levels * below - np.cumsum(whole_mean, axis=1)[:, :-1]
    crossed = np.searchsorted(levels, low, side="right")  # first level above the bottom corner
    cut = np.flatnonzero(full > crossed)
    for some in _portions(cut, full[cut] - crossed[cut]):
        corners = np.sort(np.column_stack([a[some], b[some], c[some]]), axis=1)
        _add_crossings(
            void, below, levels, corners, area[some], zone[some], crossed[some], full[some]
        )
    return VoidTable(
        zones=region.zones,
        zone_keys=region.zone_keys,
        zone_area_m2=region.zone_area_m2,
        levels_m=levels,
        void_m3=void,
        area_below_m2=below,
        area_m2=whole.sum(axis=1),
        level_integral_m3=whole_mean.sum(axis=1),
        lowest_m=_extreme(np.minimum, low, zone, count, np.inf),
        highest_m=_extreme(np.maximum, high, zone, count, -np.inf),
    )


def _sums(index: NDArray[np.int64], values: Floats, count: int) -> Floats:
    """Sum of the values at each index, as floats even where there is none."""
    return np.asarray(np.bincount(index, values, count), dtype=np.float64)


def _portions(cut: NDArray[np.intp], crossings: NDArray[np.intp]) -> Iterator[NDArray[np.intp]]:
    """The triangles that levels cross, in portions whose crossings fit into memory."""
    at = np.cumsum(crossings) // _PAIRS_AT_ONCE
    for portion in range(int(at[-1]) + 1 if len(at) else 0):
        yield cut[at == portion]


def _add_crossings(
    void: Floats,
    below: Floats,
    levels: Floats,
    corners: Floats,
    area: Floats,
    zone: NDArray[np.int16],
    first: NDArray[np.intp],
    last: NDArray[np.intp],
) -> None:
    """Add the parts of triangles that lie below a level between their corners."""
    times = last - first
    pair = np.repeat(np.arange(len(times)), times)
    level_at = np.arange(len(pair)) - np.repeat(np.cumsum(times) - times, times) + first[pair]
    z1, z2, z3 = corners[pair].T
    level, plan = levels[level_at], area[pair]
    lower = level <= z2
    rise = np.where(lower, level - z1, z3 - level)
    side = np.where(lower, z2 - z1, z3 - z2)  # never nothing where it is used
    tip = plan * rise**2 / (side * (z3 - z1))
    part_void = np.where(
        lower, tip * rise / 3.0, plan * (level - (z1 + z2 + z3) / 3.0) + tip * rise / 3.0
    )
    part_area = np.where(lower, tip, plan - tip)
    index = zone[pair].astype(np.int64) * len(levels) + level_at
    void += _sums(index, part_void, void.size).reshape(void.shape)
    below += _sums(index, part_area, below.size).reshape(below.shape)


def _extreme(
    pick: np.ufunc, values: Floats, zone: NDArray[np.int16], count: int, start: float
) -> Floats:
    found = np.full(count, start)
    for index in range(count):  # zones are few, and stand in rows
        found[index] = pick.reduce(values[zone == index], initial=start)
    return found


def flat_void_table(
    region: Region, level_m: float | Mapping[str, float], levels_m: Iterable[float]
) -> VoidTable:
    """The table of level ground: void = area * max(L - level, 0), by zone if levels differ.

    Raises UnknownName for a zone without a level.
    """
    levels = checked_levels(levels_m)
    area = region.zone_area_m2
    if isinstance(level_m, Mapping):
        for zone in region.zones:
            if zone not in level_m:
                raise UnknownName("zone", zone, level_m)
        ground = np.array([float(level_m[zone]) for zone in region.zones])
    else:
        ground = np.full(len(area), float(level_m))
    if not np.all(np.isfinite(ground)):
        raise InputError("The level to start from is no number.", field="level_m")
    height = levels[None, :] - ground[:, None]
    return VoidTable(
        zones=region.zones,
        zone_keys=region.zone_keys,
        zone_area_m2=region.zone_area_m2,
        levels_m=levels,
        void_m3=area[:, None] * np.maximum(height, 0.0),
        area_below_m2=area[:, None] * (height >= 0.0),
        area_m2=area,
        level_integral_m3=area * ground,
        lowest_m=ground,
        highest_m=ground,
    )
