"""Standard uncertainty of a surveyed volume, part by part (jcgm100, equation 10, equation 13).

Random errors of single points nearly vanish in a sum over thousands. What remains is what all of
them share: the level of the survey and the place of the wall line. Quoting sigma / sqrt(n) alone
misleads.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tracker.domain.surface.region import Floats
from tracker.domain.surface.surface import Surface, joined_surface
from tracker.domain.surface.void_table import VoidTable, flat_void_table, void_table
from tracker.domain.surface.volumes import bands_m3, between_levels
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


def interpolation_changes_m3(
    after: Surface, before: Surface | float, levels_m: Sequence[float], whole_m3: Floats
) -> list[Floats]:
    """What a random half of the points would give by zone and band, minus what all give [m³].

    The error of interpolation falls as 1/n, so that half the points err twice as much: the
    difference estimates the error of all. Empty where half is too few for a surface.
    """
    chance = np.random.default_rng(_SEED)
    found = []
    for _ in range(HALVES):
        try:
            later = void_table(half_of(after, chance), levels_m)
            earlier = (
                void_table(half_of(before, chance), levels_m)
                if isinstance(before, Surface)
                else flat_void_table(after.region, before, levels_m)
            )
        except NotEnoughData:
            return []
        found.append(bands_m3(earlier, later) - whole_m3)
    return found


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


def uncertainties(
    after: Surface,
    before: Surface | float,
    tables: tuple[VoidTable, VoidTable],
    accuracy: Accuracy,
    estimate_interpolation: bool = True,
) -> tuple[Uncertainty, list[list[Uncertainty]]]:
    """Uncertainty of the net volume, and of every zone and band as `bands_m3` has them.

    level: plan area of the later surface (in the band) times the uncertainty of its level
    edge: wall length times dug height (in the band) times the uncertainty of the wall line
    random, in a band: by the share of the zone's area that lies in it, an approximation
    """
    net = bands_m3(*tables)
    zone_m2 = np.maximum(tables[1].area_m2, 1e-12)
    in_band = [  # rounding may leave a little less than nothing
        np.maximum(between_levels(t.area_below_m2, t.area_m2), 0.0) for t in tables
    ]
    random = [
        random_u_m3(survey, accuracy.level_sigma_m)
        if isinstance(survey, Surface)
        else np.zeros(len(zone_m2))
        for survey in (before, after)
    ]
    shares = [m2 / zone_m2[:, None] for m2 in in_band]
    random_band = np.sqrt(random[0][:, None] ** 2 * shares[0] + random[1][:, None] ** 2 * shares[1])
    edge_of_zone = after.region.wall_length_m * accuracy.wall_u_m / zone_m2
    changes = (
        interpolation_changes_m3(after, before, list(tables[1].levels_m), net)
        if estimate_interpolation
        else []
    )
    total = Uncertainty(
        random_m3=float(np.sqrt(sum((u**2).sum() for u in random))),
        level_m3=float(zone_m2.sum()) * accuracy.datum_u_m,
        edge_m3=float(np.abs(net.sum(axis=1)) @ edge_of_zone),
        interpolation_m3=float(np.mean([abs(c.sum()) for c in changes])) if changes else None,
    )
    parts = (random_band, in_band[1] * accuracy.datum_u_m, np.abs(net) * edge_of_zone[:, None])
    return total, _by_band(parts, np.mean(np.abs(changes), axis=0) if changes else None)


def _by_band(
    parts: tuple[Floats, Floats, Floats], interpolation: Floats | None
) -> list[list[Uncertainty]]:
    zones, bands = parts[0].shape
    return [
        [
            Uncertainty(
                random_m3=float(parts[0][row, k]),
                level_m3=float(parts[1][row, k]),
                edge_m3=float(parts[2][row, k]),
                interpolation_m3=None if interpolation is None else float(interpolation[row, k]),
            )
            for k in range(bands)
        ]
        for row in range(zones)
    ]
