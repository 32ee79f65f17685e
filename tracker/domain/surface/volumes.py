"""Volumes between two surveys, from level ground and to formation: subtractions of void tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from tracker.domain.surface.region import Floats
from tracker.domain.surface.void_table import FULL_COVER, VoidTable
from tracker.errors import InputError


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
    if before.region_key != after.region_key or before.zones != after.zones:
        raise InputError(
            "The two surveys are not reduced over the same zones: cut both to one boundary, then"
            " subtract. Outside it the earlier surface stands.",
            field="outline",
        )
    for which, table in (("earlier", before), ("later", after)):
        covered_m2 = float(table.area_m2.sum())
        if abs(covered_m2 - table.region_area_m2) > FULL_COVER * table.region_area_m2:
            raise InputError(
                f"The {which} surface covers {covered_m2:,.1f} of {table.region_area_m2:,.1f} m²:"
                " volumes of unlike coverage cannot be subtracted. Cut both to the boundary of the"
                " smaller survey.",
                field="outline",
            )


def net_by_zone_m3(before: VoidTable, after: VoidTable) -> Floats:
    """Net bank volume dug in each zone over all levels [m³]; negative where filled."""
    check_alike(before, after)
    return before.level_integral_m3 - after.level_integral_m3


def volume_between_m3(
    before: VoidTable, after: VoidTable, zone: str, upper_m: float, lower_m: float
) -> float:
    """Net bank volume dug in a zone between two levels, such as those of a dig stage [m³].

    net = (after(upper) - after(lower)) - (before(upper) - before(lower))

    Raises InputError for a level at which a table was not reduced.
    """
    check_alike(before, after)
    if upper_m <= lower_m:
        raise InputError(f"The upper level {upper_m:g} m must lie above the lower {lower_m:g} m.")
    row = after.zone_index(zone)

    def held(table: VoidTable) -> float:
        upper, lower = table.level_index(upper_m), table.level_index(lower_m)
        return float(table.void_m3[row, upper] - table.void_m3[row, lower])

    return held(after) - held(before)


def between_levels(values: Floats, total: Floats) -> Floats:
    """Shares of each zone's total in the bands between levels, from what lies below each level.

    Columns rise: below the lowest level, between each two, above the highest.
    """
    return np.diff(np.column_stack([np.zeros(len(total)), values, total]), axis=1)


def bands_m3(before: VoidTable, after: VoidTable) -> Floats:
    """Net bank volume dug by zone and band [m³], as `between_levels` has them."""
    check_alike(before, after)
    if not np.array_equal(before.levels_m, after.levels_m):
        raise InputError("The two surveys are reduced at unlike levels: reduce both at the same.")
    return between_levels(after.void_m3 - before.void_m3, net_by_zone_m3(before, after))


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


def patched(whole: VoidTable, before: VoidTable, after: VoidTable) -> VoidTable:
    """The whole table with the change of a partial survey inside its own boundary.

    `before` and `after` are cut to that boundary; outside it the earlier surface stands. Zones that
    the boundary does not touch stay as they are. Raises InputError for unlike levels or coverage.
    """
    check_alike(before, after)
    same_levels = np.array_equal(whole.levels_m, before.levels_m)
    if not same_levels or not np.array_equal(before.levels_m, after.levels_m):
        raise InputError("The surveys are reduced at unlike levels: reduce all at the same.")
    void, below = whole.void_m3.copy(), whole.area_below_m2.copy()
    integral, lowest = whole.level_integral_m3.copy(), whole.lowest_m.copy()
    highest = whole.highest_m.copy()
    for row, zone in enumerate(after.zones):
        at = whole.zone_index(zone)
        void[at] += after.void_m3[row] - before.void_m3[row]
        below[at] += after.area_below_m2[row] - before.area_below_m2[row]
        integral[at] += after.level_integral_m3[row] - before.level_integral_m3[row]
        # bounds: what was lowest may have been filled, yet is not forgotten
        lowest[at] = min(lowest[at], after.lowest_m[row])
        highest[at] = max(highest[at], after.highest_m[row])
    return replace(
        whole,
        void_m3=void,
        area_below_m2=below,
        level_integral_m3=integral,
        lowest_m=lowest,
        highest_m=highest,
    )
