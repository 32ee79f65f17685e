"""Net bank volume between two kept surveys, with an uncertainty whose parts add up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from tracker.domain.levels import plan_area
from tracker.domain.site import Zone
from tracker.domain.surface.reduced import ReducedSurvey
from tracker.domain.surface.region import Floats
from tracker.domain.surface.uncertainty import HALVES, Uncertainty
from tracker.domain.surface.volumes import ABOVE, BELOW, check_alike
from tracker.errors import InputError


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


def nets_dug(
    before: ReducedSurvey, after: ReducedSurvey, zone: str, edges_m: Sequence[float]
) -> list[Net]:
    """Net bank volume dug in a zone between levels that follow each other downwards.

    net = N(upper) - N(lower);  N(L) = void of the later survey below L - that of the earlier one
    level: plan area of the later survey in the band times the uncertainty of its level against the
    earlier one or against level ground
    edge: wall length times dug height in the band times the uncertainty of the wall line
    random: by the share of the zone's area that lies in the band, an approximation

    The first edge may be ABOVE, the last BELOW. Raises InputError for unlike zones, or for a level
    at which a survey was not reduced.
    """
    one, other = _Row.of(before, zone), _Row.of(after, zone)
    check_alike(before.table.only([zone]), after.table.only([zone]))
    net = -np.diff(other.void(edges_m) - one.void(edges_m))
    early_m2, late_m2 = (np.maximum(-np.diff(row.area(edges_m)), 0.0) for row in (one, other))
    random = np.hypot(one.random_m3 * early_m2, other.random_m3 * late_m2) / other.area_m2
    level = late_m2 * after.accuracy.datum_u_m
    edge = np.abs(net) * other.wall_m * after.accuracy.wall_u_m / other.area_m2
    halves: list[tuple[float, ...] | None] = [None] * len(net)
    if len(after.half_void_m3):
        changes = other.halves(edges_m)
        if len(before.half_void_m3):
            changes = changes - one.halves(edges_m)
        halves = [tuple(change) for change in (-np.diff(changes, axis=1)).T.tolist()]
    parts = zip(net.tolist(), random.tolist(), level.tolist(), edge.tolist(), halves, strict=True)
    return [Net(*part) for part in parts]


def net_dug(
    before: ReducedSurvey,
    after: ReducedSurvey,
    zone: str,
    upper_m: float = ABOVE,
    lower_m: float = BELOW,
) -> Net:
    """Net bank volume dug in a zone between two levels, as `nets_dug` has it."""
    if upper_m <= lower_m:
        raise InputError(f"The upper level {upper_m:g} m must lie above the lower {lower_m:g} m.")
    return nets_dug(before, after, zone, (upper_m, lower_m))[0]


def ground_dug(
    before: ReducedSurvey, after: ReducedSurvey, zone: Zone, edges_m: Sequence[float]
) -> list[Net]:
    """Net bank volume dug in a zone by band, less what in it was no ground.

    A deduction of the set-up (an old basement, a pile) counts by the share of its own band that was
    dug. Raises as `nets_dug` does.
    """
    nets = nets_dug(before, after, zone.zone, edges_m)
    if not zone.deductions:
        return nets
    return [
        replace(net, net_m3=net.net_m3 - _deducted_m3(before, after, zone, upper, lower))
        for net, (upper, lower) in zip(nets, pairwise(edges_m), strict=True)
    ]


def _deducted_m3(
    before: ReducedSurvey, after: ReducedSurvey, zone: Zone, upper_m: float, lower_m: float
) -> float:
    deducted_m3 = 0.0
    for part in zone.deductions:
        top, bottom = min(upper_m, part.upper_level_m), max(lower_m, part.lower_level_m)
        height_m = part.upper_level_m - part.lower_level_m
        if top > bottom and height_m > 0.0:
            dug_m3 = net_dug(before, after, zone.zone, top, bottom).net_m3
            area_m2 = plan_area(zone, (part.upper_level_m + part.lower_level_m) / 2.0)
            deducted_m3 += part.volume_m3 * max(dug_m3, 0.0) / (area_m2 * height_m)
    return deducted_m3


@dataclass(frozen=True, eq=False)
class _Row:
    """One zone of a kept survey: what lies below any of its levels."""

    survey: ReducedSurvey
    at: int

    @classmethod
    def of(cls, survey: ReducedSurvey, zone: str) -> _Row:
        return cls(survey, survey.table.zone_index(zone))

    @property
    def area_m2(self) -> float:
        return max(float(self.survey.table.area_m2[self.at]), 1e-12)

    @property
    def random_m3(self) -> float:
        return float(self.survey.random_u_m3[self.at])

    @property
    def wall_m(self) -> float:
        return float(self.survey.wall_length_m[self.at])

    def void(self, edges_m: Sequence[float]) -> Floats:
        """Void below each edge; of ABOVE, minus the integral of the level: it cancels out."""
        table = self.survey.table
        return self._below(table.void_m3[self.at], -table.level_integral_m3[self.at], edges_m)

    def area(self, edges_m: Sequence[float]) -> Floats:
        """Plan area below each edge [m²]."""
        table = self.survey.table
        return self._below(table.area_below_m2[self.at], table.area_m2[self.at], edges_m)

    def halves(self, edges_m: Sequence[float]) -> Floats:
        """What each half changes in the void below each edge."""
        void, integral = self.survey.half_void_m3, self.survey.half_integral_m3
        rows = zip(void[:, self.at], -integral[:, self.at], strict=True)
        return np.array([self._below(row, whole, edges_m) for row, whole in rows])

    def _below(self, row: Floats, whole: float, edges_m: Sequence[float]) -> Floats:
        index = self.survey.table.level_index
        return np.array(
            [
                whole if edge == ABOVE else 0.0 if edge == BELOW else row[index(edge)]
                for edge in edges_m
            ]
        )
