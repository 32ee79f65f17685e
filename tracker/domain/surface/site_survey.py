"""A kept survey against the set-up of its site: zones that it covers, ground dug by stage."""

from __future__ import annotations

from tracker.domain.site import Site
from tracker.domain.surface.dig_region import excavation_region, reduction_levels
from tracker.domain.surface.net import Net, ground_dug
from tracker.domain.surface.reduced import ReducedSurvey, level_ground
from tracker.domain.surface.void_table import FULL_COVER
from tracker.domain.surface.volumes import ABOVE, BELOW
from tracker.domain.survey_check import BELOW_FORMATION


def flat_ground(site: Site, excavation: str) -> ReducedSurvey:
    """The ground of the set-up, each zone at its level: dug from it, unless it was surveyed."""
    levels = {zone.zone: zone.ground_level_m for zone in site.zones_of(excavation)}
    where = excavation_region(site, excavation)
    return level_ground(where, levels, reduction_levels(site, excavation))


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


def stage_bands(site: Site, zone: str) -> tuple[tuple[int, float, float], ...]:
    """(stage, from level, to level) from the top down [m]; then what lies below formation.

    The first stage takes all ground above its design level, whatever the ground level.
    """
    stages = site.stages_of(zone)
    tops = [ABOVE, *(stage.design_level_m for stage in stages)]
    numbers = [*(stage.stage for stage in stages), BELOW_FORMATION]
    bottoms = [*(stage.design_level_m for stage in stages), BELOW]
    return tuple(zip(numbers, tops, bottoms, strict=True))


def dug_by_stage(
    site: Site, zone: str, before: ReducedSurvey, after: ReducedSurvey
) -> dict[int, Net]:
    """Net bank volume dug in each stage of a zone, and below its formation [m³].

    Raises InputError for unlike zones, or levels at which a survey was not reduced.
    """
    described = site.zone(zone)
    return {
        stage: ground_dug(before, after, described, upper, lower)
        for stage, upper, lower in stage_bands(site, zone)
    }
