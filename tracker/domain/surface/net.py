"""Net bank volume between two kept surveys, with an uncertainty whose parts add up."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from tracker.domain.levels import plan_area
from tracker.domain.site import Zone
from tracker.domain.surface.reduced import ReducedSurvey
from tracker.domain.surface.region import Floats
from tracker.domain.surface.uncertainty import HALVES, Uncertainty
from tracker.domain.surface.volumes import ABOVE, BELOW, volume_between_m3


@dataclass(frozen=True, slots=True)
class Net:
    """Net bank volume dug [m³], with what its uncertainty is made of, so that parts add up.

    Errors of level and of the wall line are shared by all parts and add; those of single points are
    independent and add in squares; what halves of the points change adds half by half.
    """

    net_m3: float = 0.0
    random_m3: float = 0.0
    level_m3: float = 0.0
    edge_m3: float = 0.0
    half_m3: tuple[float, ...] | None = (0.0,) * HALVES  # None: not known

    @property
    def uncertainty(self) -> Uncertainty:
        """Standard uncertainty by part [m³]."""
        halves = self.half_m3
        interpolation = None if halves is None else float(np.mean(np.abs(halves)))
        return Uncertainty(self.random_m3, self.level_m3, self.edge_m3, interpolation)

    def __add__(self, other: Net) -> Net:
        halves = None
        if self.half_m3 is not None and other.half_m3 is not None:
            halves = tuple(a + b for a, b in zip(self.half_m3, other.half_m3, strict=True))
        return Net(
            self.net_m3 + other.net_m3,
            math.hypot(self.random_m3, other.random_m3),
            self.level_m3 + other.level_m3,
            self.edge_m3 + other.edge_m3,
            halves,
        )


def net_dug(
    before: ReducedSurvey,
    after: ReducedSurvey,
    zone: str,
    upper_m: float = ABOVE,
    lower_m: float = BELOW,
) -> Net:
    """Net bank volume dug in a zone between two levels, with its uncertainty.

    level: plan area of the later survey in the band times the uncertainty of its level against the
    earlier one or against level ground
    edge: wall length times dug height in the band times the uncertainty of the wall line
    random: by the share of the zone's area that lies in the band, an approximation

    Raises InputError for unlike zones, or for a level at which a survey was not reduced.
    """
    one, other = before.only([zone]), after.only([zone])
    net_m3 = volume_between_m3(one.table, other.table, zone, upper_m, lower_m)
    area_m2 = max(float(other.table.area_m2[0]), 1e-12)
    early_m2, late_m2 = (_area_m2(survey, upper_m, lower_m) for survey in (one, other))
    return Net(
        net_m3=net_m3,
        random_m3=math.hypot(
            float(one.random_u_m3[0]) * early_m2 / area_m2,
            float(other.random_u_m3[0]) * late_m2 / area_m2,
        ),
        level_m3=late_m2 * after.accuracy.datum_u_m,
        edge_m3=abs(net_m3) * float(other.wall_length_m[0]) * after.accuracy.wall_u_m / area_m2,
        half_m3=_half_changes(one, other, upper_m, lower_m),
    )


def ground_dug(
    before: ReducedSurvey,
    after: ReducedSurvey,
    zone: Zone,
    upper_m: float = ABOVE,
    lower_m: float = BELOW,
) -> Net:
    """Net bank volume dug in a zone between two levels, less what in it was no ground.

    A deduction of the set-up (an old basement, a pile) counts by the share of its own band that was
    dug. Raises as `net_dug` does.
    """
    net = net_dug(before, after, zone.zone, upper_m, lower_m)
    deducted_m3 = 0.0
    for part in zone.deductions:
        top, bottom = min(upper_m, part.upper_level_m), max(lower_m, part.lower_level_m)
        height_m = part.upper_level_m - part.lower_level_m
        if top > bottom and height_m > 0.0:
            dug = net_dug(before, after, zone.zone, top, bottom).net_m3
            area_m2 = plan_area(zone, (part.upper_level_m + part.lower_level_m) / 2.0)
            deducted_m3 += part.volume_m3 * max(dug, 0.0) / (area_m2 * height_m)
    return replace(net, net_m3=net.net_m3 - deducted_m3)


def _area_m2(survey: ReducedSurvey, upper_m: float, lower_m: float) -> float:
    """Plan area of the one zone whose ground lies between two levels."""

    def below(level_m: float) -> float:
        if level_m == BELOW:
            return 0.0
        if level_m == ABOVE:
            return float(survey.table.area_m2[0])
        return float(survey.table.area_below_m2[0, survey.table.level_index(level_m)])

    return max(below(upper_m) - below(lower_m), 0.0)  # rounding may leave a little less


def _half_changes(
    before: ReducedSurvey, after: ReducedSurvey, upper_m: float, lower_m: float
) -> tuple[float, ...] | None:
    if not len(after.half_void_m3):
        return None
    changes = _half_below(after, upper_m) - _half_below(after, lower_m)
    if len(before.half_void_m3):
        changes = changes - _half_below(before, upper_m) + _half_below(before, lower_m)
    return tuple(changes.tolist())


def _half_below(survey: ReducedSurvey, level_m: float) -> Floats:
    """What each half changes in the void below a level of the one zone."""
    if level_m == BELOW:
        return np.zeros(len(survey.half_void_m3))
    if level_m == ABOVE:
        return np.asarray(-survey.half_integral_m3[:, 0])
    return np.asarray(survey.half_void_m3[:, 0, survey.table.level_index(level_m)])
