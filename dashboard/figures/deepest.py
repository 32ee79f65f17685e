"""The deepest surveyed point of a zone, where it lies, and what is permitted there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tracker.statements.survey_shapes import SurveyedZone


@dataclass(frozen=True, slots=True)
class DeepestPoint:
    """Places in the site grid, levels above the site datum [m]."""

    zone: str
    easting_m: float
    northing_m: float
    level_m: float
    permitted_level_m: float
    in_breach: bool


def deepest_points(zones: Iterable[SurveyedZone]) -> list[DeepestPoint]:
    """The deepest points of a survey statement; a zone where none was measured has none."""
    return [
        DeepestPoint(
            zone.zone,
            *zone.lowest_place_m,
            zone.lowest_level_m,
            zone.permitted_level_m,
            zone.in_breach,
        )
        for zone in zones
        if zone.lowest_level_m is not None and zone.lowest_place_m is not None
    ]
