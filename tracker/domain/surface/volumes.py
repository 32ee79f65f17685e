"""Volumes between two surveys, from level ground and to formation: subtractions of void tables."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tracker.domain.surface.region import Floats
from tracker.domain.surface.void_table import FULL_COVER, VoidTable
from tracker.errors import InputError

ABOVE, BELOW = math.inf, -math.inf  # above all ground, below all digging


@dataclass(frozen=True, slots=True)
class Band:
    """Net bank volume dug in a zone between two levels, from the upper to the lower."""

    zone: str
    from_level_m: float
    to_level_m: float
    net_m3: float


@dataclass(frozen=True, slots=True)
class ToFormation:
    """What a surface leaves above formation, and what it has dug below it. Never one number."""

    zone: str
    formation_level_m: float
    above_m3: float  # still to dig
    below_m3: float  # overdig
    below_m2: float  # plan area of the overdig
    lowest_m: float


def check_alike(before: VoidTable, after: VoidTable) -> None:
    """Raises InputError unless both tables cover the same zones in the same place, fully."""
    if before.zone_keys != after.zone_keys:
        raise InputError(
            "The two surveys are not reduced over the same zones: cut both to one boundary, then"
            " subtract. Outside it the earlier surface stands.",
            field="outline",
        )
    for which, table in (("earlier", before), ("later", after)):
        covered_m2, whole_m2 = float(table.area_m2.sum()), float(table.zone_area_m2.sum())
        if abs(covered_m2 - whole_m2) > FULL_COVER * whole_m2:
            raise InputError(
                f"The {which} surface covers {covered_m2:,.1f} of {whole_m2:,.1f} m²:"
                " volumes of unlike coverage cannot be subtracted. Cut both to the boundary of the"
                " smaller survey.",
                field="outline",
            )


def net_by_zone_m3(before: VoidTable, after: VoidTable) -> Floats:
    """Net bank volume dug in each zone over all levels [m³]; negative where filled."""
    check_alike(before, after)
    return before.level_integral_m3 - after.level_integral_m3


def bands_m3(before: VoidTable, after: VoidTable) -> Floats:
    """Net bank volume dug by zone and band [m³].

    Columns rise: below the lowest level, between each two, above the highest.
    """
    check_alike(before, after)
    if not np.array_equal(before.levels_m, after.levels_m):
        raise InputError("The two surveys are reduced at unlike levels: reduce both at the same.")
    total = net_by_zone_m3(before, after)
    below = after.void_m3 - before.void_m3
    return np.diff(np.column_stack([np.zeros(len(total)), below, total]), axis=1)


def band_edges(before: VoidTable, after: VoidTable) -> Floats:
    """Levels between which the columns of `bands_m3` lie, rising, for each zone [m].

    The outermost two are how far the surfaces reach, or else the outermost level itself: then the
    band beyond it holds nothing.
    """
    levels = after.levels_m
    bottom = np.minimum(np.minimum(before.lowest_m, after.lowest_m), levels[0])
    top = np.maximum(np.maximum(before.highest_m, after.highest_m), levels[-1])
    inner = np.tile(levels, (len(after.zones), 1))
    return np.column_stack([bottom, inner, top])


def bands(before: VoidTable, after: VoidTable) -> list[Band]:
    """Net bank volume by zone and level band, from the top down; they sum to the net volume.

    Where a surface reaches above the highest or below the lowest level of the tables, a band as
    far as it reaches is added, so that nothing is left out.
    """
    net, edges = bands_m3(before, after), band_edges(before, after)
    return [
        Band(zone, float(edges[row, k + 1]), float(edges[row, k]), float(net[row, k]))
        for row, zone in enumerate(after.zones)
        for k in range(net.shape[1] - 1, -1, -1)
        if edges[row, k + 1] > edges[row, k]
    ]


def to_formation(table: VoidTable, formation_m: Mapping[str, float]) -> list[ToFormation]:
    """What is still to dig above formation and what is dug below it, for each zone given.

    above = integral - area * formation + void(formation);  below = void(formation)
    """
    found = []
    for zone, level in formation_m.items():
        row, at = table.zone_index(zone), table.level_index(level)
        below = float(table.void_m3[row, at])
        above = float(table.level_integral_m3[row] - table.area_m2[row] * level) + below
        area = float(table.area_below_m2[row, at])
        lowest = float(table.lowest_m[row])
        found.append(ToFormation(zone, level, max(above, 0.0), below, area, lowest))
    return found
