"""The true ground of the invented box on a survey's day, before an instrument looks at it.

Each zone stands at the mean level that its true digging gives. Its floor rises gently above its
lowest point, and is cut or banked where the next zone stands at another level.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from random import Random

from data_demo.dig import Slice
from data_demo.season import STAGES_DUG, Shift, hold_decisions
from data_demo.site_tables import BOX_ZONES, GROUND_LEVEL_M, design_stages, outline, plan_area

BATTER_SLOPE = 1.0 / 0.6  # vertical per horizontal
RAMP_SLOPE, RAMP_WIDTH_M, RAMP_HEIGHT_M = 1.0 / 5.0, 5.0, 2.8
LEAST_STEP_M = 0.3  # between zones; a smaller one is only uneven ground
# A floor that may go no deeper is trimmed just above its design level, clear of noisy points.
TRIM_LOWEST_M, TRIM_MEAN_M = 0.030, 0.038
CELL_M = 0.25  # of the grid on which a zone's mean level is made true
HEAP_LOOSE_M3, HEAP_SLOPE = 25.0, 0.7
ROOT_WITHIN_M = 1e-8
UNTOUCHED_M = 5.5  # from the edges of a zone; batters and ramps stay within


@dataclass(frozen=True, slots=True)
class Standing:
    """How one zone stands: mean and lowest level of its floor, level it may be dug to [m]."""

    zone: str
    mean_m: float
    lowest_m: float
    permitted_m: float
    opened: bool
    finished: bool  # no stage is being dug


@dataclass(frozen=True, slots=True)
class Heap:
    """A cone of loose spoil on the floor; not dug ground, so no zone's mean allows for it."""

    east_m: float
    north_m: float

    def height_m(self, east_m: float, north_m: float) -> float:
        """Height of the heap above the floor at a place [m]."""
        radius_m = math.cbrt(3.0 * HEAP_LOOSE_M3 / (math.pi * HEAP_SLOPE))
        away_m = math.hypot(east_m - self.east_m, north_m - self.north_m)
        return max(0.0, (radius_m - away_m) * HEAP_SLOPE)


def standing(slices: list[Slice], zone: str, at: datetime) -> Standing:
    """How a zone stands at a moment, from the slices of the shifts that had ended."""
    dug = [s for s in slices if s.zone == zone and s.shift.ends_at <= at]
    levels = {n: level for n, (level, _, _) in enumerate(design_stages(zone), start=1)}
    released = [
        levels[d.stage]
        for d in hold_decisions()
        if d.zone == zone and d.decided_at <= at and d.status == "released"
    ]
    ground_m = GROUND_LEVEL_M[zone]
    permitted_m = min(released, default=ground_m)
    if not dug:
        return Standing(zone, ground_m, ground_m, permitted_m, opened=False, finished=True)
    mean_m = ground_m - sum(s.bank_m3 for s in dug) / plan_area(zone)
    stage = next(d for d in STAGES_DUG if (d.zone, d.stage) == (zone, dug[-1].stage))
    finished = Shift(stage.ends, "day" if stage.ends_by_day else "night").ends_at <= at
    # An over-dug strip was filled again, so that no survey finds it.
    lowest_m = max(dug[-1].lowest_m, levels[stage.stage])
    if mean_m < permitted_m + TRIM_MEAN_M:
        mean_m, lowest_m = permitted_m + TRIM_MEAN_M, permitted_m + TRIM_LOWEST_M
    return Standing(zone, mean_m, lowest_m, permitted_m, True, finished)


def may_be_cut(high: Standing, low: Standing) -> bool:
    """Whether the higher zone may be dug as low as its neighbour, and so hold the batter."""
    return high.opened and high.permitted_m < low.mean_m


def ramp_level(low: Standing, high: Standing, east_m: float, north_m: float) -> float:
    """Level of the ramp of ground left in a zone, down from the next zone in the east [m].

    It lies against the south wall, and its side is as steep as a batter.
    """
    if low.finished or high.mean_m - low.mean_m < LEAST_STEP_M:
        return -math.inf
    (_, south_m), (line_m, _) = outline(low.zone)[:2]
    top_m = min(high.mean_m, low.mean_m + RAMP_HEIGHT_M)
    beside_m = max(0.0, north_m - south_m - RAMP_WIDTH_M)
    return top_m - (line_m - east_m) * RAMP_SLOPE - beside_m * BATTER_SLOPE


@dataclass(frozen=True, slots=True)
class Waves:
    """Gentle unevenness: waves of chance length, direction and phase, 0 at the lowest floor."""

    waves: tuple[tuple[float, float, float], ...]
    low: float = 0.0
    range: float = 1.0

    def height(self, east_m: float, north_m: float) -> float:
        """Height as a share of the range over the middle of the zone; never below 0."""
        total = sum(math.sin(a * east_m + b * north_m + phase) for a, b, phase in self.waves)
        return max(0.0, (total - self.low) / self.range)


def _waves(rng: Random, middle: list[tuple[float, float]]) -> Waves:
    waves = []
    for _ in range(6):
        turn, length_m = rng.uniform(0.0, math.pi), rng.uniform(28.0, 60.0)
        a, b = math.cos(turn) * math.tau / length_m, math.sin(turn) * math.tau / length_m
        waves.append((a, b, rng.uniform(0.0, math.tau)))
    raw = Waves(tuple(waves), low=-len(waves))
    heights = [raw.height(*place) - len(waves) for place in middle]
    return Waves(raw.waves, min(heights), max(heights) - min(heights))


@dataclass(frozen=True, slots=True)
class ZoneFloor:
    """The floor of one zone between its neighbours to the west and to the east."""

    own: Standing
    west: Standing | None
    east: Standing | None
    waves: Waves
    range_m: float = 0.0

    def level_m(self, east_m: float, north_m: float) -> float:
        """Level of the floor at a place in the zone [m]."""
        height = self.waves.height(east_m, north_m)
        return self.shaped_m(self.own.lowest_m + self.range_m * height, east_m, north_m)

    def shaped_m(self, open_m: float, east_m: float, north_m: float) -> float:
        """Level of open floor as batters, banks and the ramp change it [m]."""
        bottom_m, top_m = self.limits_m(east_m, north_m)
        return max(bottom_m, min(top_m, open_m))

    def limits_m(self, east_m: float, north_m: float) -> tuple[float, float]:
        """Levels that the floor is not below, and not above, at a place [m]."""
        (left_m, _), (right_m, _) = outline(self.own.zone)[:2]
        bottom_m, top_m = -math.inf, math.inf
        for other, away_m in ((self.west, east_m - left_m), (self.east, right_m - east_m)):
            if other is None:
                continue
            if self.own.mean_m - other.mean_m > LEAST_STEP_M and may_be_cut(self.own, other):
                toe_m = other.mean_m
                if other is self.west:
                    toe_m = max(toe_m, ramp_level(other, self.own, left_m, north_m))
                top_m = min(top_m, toe_m + away_m * BATTER_SLOPE)
            elif (
                other.mean_m - self.own.mean_m > LEAST_STEP_M
                and not self.own.finished
                and not may_be_cut(other, self.own)
            ):
                bottom_m = max(bottom_m, other.mean_m - away_m * BATTER_SLOPE)
        if self.east is not None:
            bottom_m = max(bottom_m, ramp_level(self.own, self.east, east_m, north_m))
        return bottom_m, top_m


def cell_centres(zone: str, edge_m: float = 0.0) -> list[tuple[float, float]]:
    """Centres of the cells of a fine grid over a zone, without a strip along its edges [m]."""
    (left_m, low_m), _, (right_m, high_m), _ = outline(zone)
    columns, rows = round((right_m - left_m) / CELL_M), round((high_m - low_m) / CELL_M)
    skip = round(edge_m / CELL_M)
    return [
        (left_m + (i + 0.5) * CELL_M, low_m + (j + 0.5) * CELL_M)
        for i in range(skip, columns - skip)
        for j in range(skip, rows - skip)
    ]


def _range_that_keeps_mean(floor: ZoneFloor) -> float:
    """Range of the unevenness at which the mean level of the floor is the zone's [m]."""
    places = cell_centres(floor.own.zone)
    heights = [floor.waves.height(*place) for place in places]
    limits = [floor.limits_m(*place) for place in places]

    def mean_m(range_m: float) -> float:
        levels = (
            max(bottom, min(top, floor.own.lowest_m + range_m * height))
            for height, (bottom, top) in zip(heights, limits, strict=True)
        )
        return math.fsum(levels) / len(places)

    return _root(lambda range_m: mean_m(range_m) - floor.own.mean_m)


def _root(rising: Callable[[float], float]) -> float:
    """Where a rising function passes zero at or above zero, by chords. Raises ValueError."""
    before, at, was = 0.0, 1.0, rising(0.0)
    if was > 0.0:
        raise ValueError("no unevenness gives this zone's mean level: its ramp or bank is too big")
    for _ in range(40):
        error = rising(at)
        if abs(error) < ROOT_WITHIN_M:
            return at
        before, at, was = at, at - error * (at - before) / (error - was), error
    raise ValueError("no unevenness gives this zone's mean level: its batter takes too much")


def zone_floor(
    rng: Random, own: Standing, west: Standing | None, east: Standing | None
) -> ZoneFloor:
    """The floor of a zone; the ground of a zone not opened yet is flat."""
    waves = _waves(rng, cell_centres(own.zone, UNTOUCHED_M))
    floor = ZoneFloor(own, west, east, waves)
    if not own.opened:
        return floor
    return ZoneFloor(own, west, east, waves, _range_that_keeps_mean(floor))


@dataclass(frozen=True, slots=True)
class BoxGround:
    """The ground of the box: the floors of its zones from west to east, and a heap on one."""

    floors: tuple[ZoneFloor, ...]
    heap: Heap | None = None

    def level_m(self, east_m: float, north_m: float) -> float:
        """Level of the ground at a place in the box, the heap included [m]."""
        floor = next(f for f in self.floors if east_m <= outline(f.own.zone)[1][0])
        above_m = self.heap.height_m(east_m, north_m) if self.heap else 0.0
        return floor.level_m(east_m, north_m) + above_m


def box_ground(
    rng: Random, slices: list[Slice], at: datetime, heap: Heap | None = None
) -> BoxGround:
    """The true ground of the box at a moment."""
    stand = [standing(slices, zone, at) for zone in BOX_ZONES]
    beside = zip([None, *stand[:-1]], stand, [*stand[1:], None], strict=True)
    return BoxGround(tuple(zone_floor(rng, own, west, east) for west, own, east in beside), heap)
