"""Standard uncertainty of a surveyed volume, part by part (jcgm100, equation 10, equation 13).

Random errors of single points nearly vanish in a sum over thousands. What remains is what all of
them share: the level of the survey and the place of the wall line. Quoting sigma / sqrt(n) alone
misleads.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tracker.domain.surface.region import Floats
from tracker.domain.surface.surface import Surface, joined_surface
from tracker.domain.surface.void_table import VoidTable, void_table
from tracker.errors import NotEnoughData

HALVES = 3
_SEED = 20261125  # any number: the same file gives the same figures


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Standard uncertainties of what was measured [m] (common practice, no source).

    `datum_u_m` is that of the level of the later survey against the earlier one or against the flat
    level; `wall_u_m` that of the place of the wall line.
    """

    level_sigma_m: float = 0.01
    datum_u_m: float = 0.01
    wall_u_m: float = 0.01


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """Standard uncertainty by part [m³]; `interpolation_m3` is None where it is not known."""

    random_m3: float
    level_m3: float
    edge_m3: float
    interpolation_m3: float | None

    @property
    def combined_m3(self) -> float:
        """Root of the sum of squares [m³]."""
        return math.hypot(self.random_m3, self.level_m3, self.edge_m3, self.interpolation_m3 or 0.0)

    @property
    def expanded_m3(self) -> float:
        """Twice the combined standard uncertainty: about 95 % coverage [m³]."""
        return 2.0 * self.combined_m3


def random_u_m3(surface: Surface, level_sigma_m: float) -> Floats:
    """Share of independent errors of single points, by zone [m³].

    u = sigma * sqrt(sum of w²), w = a third of the area of the triangles at a vertex: exact for
    triangles. A ring vertex hands its w on to the points that its level was taken from.
    """
    count = len(surface.xyz_m)
    area = surface.area_m2 / 3.0
    weight = np.zeros(count)
    zone = np.zeros(count, dtype=np.int64)
    for corner in surface.triangles.T:
        weight += np.bincount(corner, area, count)
        zone[corner] = surface.zone
    if len(surface.derived):
        passed_on = surface.weights * weight[surface.derived][:, None]
        weight[surface.derived] = 0.0
        np.add.at(weight, surface.sources.ravel(), passed_on.ravel())
    squares = np.bincount(zone, weight**2, len(surface.region.zones))
    return level_sigma_m * np.sqrt(squares)


def half_tables(surface: Surface, levels_m: Iterable[float]) -> list[VoidTable]:
    """Tables of the surfaces through random halves of the points.

    The error of interpolation falls as 1/n, so that half the points err twice as much: what a half
    gives, minus what all give, estimates the error of all. Empty where half is too few for a
    surface, and for a surface that came as triangles.
    """
    chance = np.random.default_rng(_SEED)
    levels = list(levels_m)
    try:
        return [void_table(half_of(surface, chance), levels) for _ in range(HALVES)]
    except NotEnoughData:
        return []


def half_of(surface: Surface, chance: np.random.Generator) -> Surface:
    """A surface through a random half of the points and all breaklines.

    Raises NotEnoughData for a surface that came as triangles.
    """
    if not len(surface.free):
        raise NotEnoughData("A surface that came as triangles has no half.")
    kept = surface.free & (chance.random(len(surface.free)) < 0.5)
    zones = range(len(surface.region.zones))
    by_zone = [surface.points_m[kept & (surface.point_zone == zone)] for zone in zones]
    return joined_surface(by_zone, surface.region, surface.lines_m)
