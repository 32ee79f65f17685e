"""The region and the levels at which a survey of an excavation is reduced, from its set-up."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import shapely

from tracker.domain.site import Site, Zone
from tracker.domain.surface.region import GRID_M, Floats, Region, region

ABOVE_GROUND_M, BELOW_FORMATION_M = 2.0, 3.0  # as far as bands are wanted


def excavation_region(site: Site, excavation: str) -> Region:
    """The zones of an excavation as the set-up draws them [m, site grid].

    Raises InputError for zones that overlap or cross themselves, UnknownName for the excavation.
    """
    site.excavation(excavation)
    return _region_of(site.zones_of(excavation))


@lru_cache(maxsize=32)
def _region_of(zones: tuple[Zone, ...]) -> Region:
    whole: Any = shapely.union_all(
        [shapely.Polygon(zone.outline) for zone in zones], grid_size=GRID_M
    )
    return region(whole, {zone.zone: [zone.outline] for zone in zones})


def reduction_levels(site: Site, excavation: str) -> Floats:
    """Every level that a volume may be asked between: whole metres, grounds, stages, deductions.

    From above the ground to below formation [m above site datum].
    """
    zones = site.zones_of(excavation)
    stated = [zone.ground_level_m for zone in zones]
    for zone in zones:
        stated += [stage.design_level_m for stage in site.stages_of(zone.zone)]
        stated += [level for d in zone.deductions for level in (d.upper_level_m, d.lower_level_m)]
    low, high = min(stated) - BELOW_FORMATION_M, max(stated) + ABOVE_GROUND_M
    metres = np.arange(np.floor(low), np.ceil(high) + 1.0)
    return np.unique(np.round([*metres, *stated], 3))
