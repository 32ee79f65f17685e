"""A kept survey against the set-up of its site: zones that it covers, ground dug by stage."""

from __future__ import annotations

from functools import lru_cache

from tracker.domain.site import Site, Zone
from tracker.domain.surface.dig_region import excavation_region, reduction_levels
from tracker.domain.surface.net import Net, ground_dug
from tracker.domain.surface.reduced import ReducedSurvey, level_ground
from tracker.domain.surface.region import Region
from tracker.domain.surface.void_table import FULL_COVER
from tracker.domain.surface.volumes import ABOVE, BELOW
from tracker.domain.survey_check import BELOW_FORMATION


def flat_ground(site: Site, excavation: str) -> ReducedSurvey:
    """The ground of the set-up, each zone at its level: dug from it, unless it was surveyed."""
    where = excavation_region(site, excavation)
    return _flat(where, site.zones_of(excavation), tuple(reduction_levels(site, excavation)))


@lru_cache(maxsize=32)
def _flat(where: Region, zones: tuple[Zone, ...], levels_m: tuple[float, ...]) -> ReducedSurvey:
    return level_ground(where, {zone.zone: zone.ground_level_m for zone in zones}, levels_m)


def whole_zones(site: Site, excavation: str, survey: ReducedSurvey) -> tuple[str, ...]:
    """The zones that a survey covers from edge to edge, as this set-up draws them."""
    where = excavation_region(site, excavation)
    drawn = dict(zip(where.zones, where.zone_keys, strict=True))
    table = survey.table
    return tuple(
        zone
        for zone, key, whole_m2, covered_m2 in zip(
            table.zones, table.zone_keys, table.zone_area_m2, table.area_m2, strict=True
        )
        if drawn.get(zone) == key and abs(covered_m2 - whole_m2) <= FULL_COVER * whole_m2
    )


def stage_edges(site: Site, zone: str) -> tuple[float, ...]:
    """The levels between the stages of a zone, from above all ground to below all digging [m].

    The first stage takes all ground above its design level, whatever the ground level; the last
    band lies below formation.
    """
    return (ABOVE, *(stage.design_level_m for stage in site.stages_of(zone)), BELOW)


def dug_by_stage(
    site: Site, zone: str, before: ReducedSurvey, after: ReducedSurvey
) -> dict[int, Net]:
    """Net bank volume dug in each stage of a zone, and BELOW_FORMATION [m³].

    Raises InputError for unlike zones, or levels at which a survey was not reduced.
    """
    numbers = [*(stage.stage for stage in site.stages_of(zone)), BELOW_FORMATION]
    nets = ground_dug(before, after, site.zone(zone), stage_edges(site, zone))
    return dict(zip(numbers, nets, strict=True))
