"""Levels: design volumes by band, hold points, permitted level, breach, overdig. A safety matter.

The permit on site and the temporary works coordinator govern; nothing here checks a wall, a prop,
heave or ground movement.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import pairwise

from tracker.domain.limits import check_positive
from tracker.domain.site import Stage, Zone
from tracker.errors import InputError

FORMATION = "formation"
RELEASED, SUSPENDED, NOT_RELEASED = "released", "suspended", "not released"
STATUSES = (RELEASED, SUSPENDED, NOT_RELEASED)

# How well a level of a shift is known: common practice, no source.
LEVEL_KNOWN_TO_M = 0.05

CAUTION = (
    "Levels are as reported or as surveyed on a date. The permit on site and the temporary works"
    " coordinator govern, not this tool: it checks no wall, prop, heave or ground movement."
    " Monitoring alarms override. Local codes and licensed practice govern."
)


def outline_area(outline: Sequence[tuple[float, float]]) -> float:
    """Plan area of a closed outline [m²], by the shoelace sum, either way round.

    >>> outline_area([(0, 0), (4, 0), (4, 3), (0, 3)])
    12.0
    """
    pairs = zip(outline, (*outline[1:], outline[0]), strict=True)
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2.0


@lru_cache(maxsize=256)
def _profile(zone: Zone) -> tuple[tuple[float, float], ...]:
    """(level, area) from the bottom up; one row where the area is the same at every level."""
    if not zone.areas:
        return ((zone.ground_level_m, outline_area(zone.outline)),)
    return tuple(sorted(zone.areas))


def plan_area(zone: Zone, level_m: float) -> float:
    """Plan area of a zone at a level [m²]: linear between stated levels, constant beyond them."""
    profile = _profile(zone)
    if level_m <= profile[0][0]:
        return profile[0][1]
    for (low, area_low), (high, area_high) in pairwise(profile):
        if level_m <= high:
            return area_low + (area_high - area_low) * (level_m - low) / (high - low)
    return profile[-1][1]


def design_volume(zone: Zone, upper_level_m: float, lower_level_m: float) -> float:
    """Bank volume of a zone between two levels [m³], net of what is no ground.

    V = sum over the breaks of (A_i + A_i+1) / 2 x (z_i - z_i+1) - deductions in the band;
    exact for areas that change linearly with depth. A deduction is spread evenly over its own band.
    Raises InputError if the levels are the wrong way round.
    """
    if upper_level_m < lower_level_m:
        raise InputError(
            f"The band runs from {upper_level_m:g} m down to {lower_level_m:g} m, which is up."
            " Put the upper level first."
        )
    inside = [z for z, _ in _profile(zone) if lower_level_m < z < upper_level_m]
    breaks = [lower_level_m, *inside, upper_level_m]
    gross = sum(
        (plan_area(zone, low) + plan_area(zone, high)) / 2.0 * (high - low)
        for low, high in pairwise(breaks)
    )
    return gross - sum(
        d.volume_m3 * _share(d.upper_level_m, d.lower_level_m, upper_level_m, lower_level_m)
        for d in zone.deductions
    )


def _share(upper: float, lower: float, band_upper: float, band_lower: float) -> float:
    """How much of [lower, upper] lies in the band, as a share."""
    if upper <= lower:
        return 0.0
    return max(0.0, min(upper, band_upper) - max(lower, band_lower)) / (upper - lower)


def stage_tops(zone: Zone, stages: Sequence[Stage]) -> tuple[tuple[Stage, float], ...]:
    """Each stage with the level it starts from: the ground, then the design level above."""
    tops = [zone.ground_level_m, *(s.design_level_m for s in stages)]
    return tuple(zip(stages, tops[: len(stages)], strict=True))


def stage_volume(zone: Zone, stages: Sequence[Stage], number: int) -> float:
    """Design bank volume of one stage of a zone [m³]. Raises InputError if there is none."""
    for stage, top in stage_tops(zone, stages):
        if stage.stage == number:
            return design_volume(zone, top, stage.design_level_m)
    raise InputError(f"Zone {zone.zone} has no stage {number}.", field="stage")


def permitted_level(zone: Zone, stages: Sequence[Stage], status: Mapping[str, str]) -> float:
    """The level that the released hold points permit in a zone [m above site datum].

    The design level of the deepest stage released without a gap from the top; the ground level if
    none is. A suspended stage stops the chain, so that a release below it does not count.
    `status` is hold -> latest status, as `latest_status` gives it.
    """
    level = zone.ground_level_m
    for stage in stages:
        if status.get(str(stage.stage)) != RELEASED:
            break
        level = stage.design_level_m
    return level


def latest_status(decisions: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Hold -> status from (hold, status) decisions in the order in which they were made."""
    return dict(decisions)


def held_days(
    since: datetime, decisions: Sequence[tuple[datetime, bool]], until: datetime
) -> float:
    """How long a hold has held from a moment to another, suspensions included [days].

    `decisions` are (moment, whether it opened the hold) in the order in which they were made; a
    hold without any holds. Moments are UTC, so that no change of the clocks counts.
    """
    before = [opened for at, opened in decisions if at <= since]
    states = [(since, bool(before) and before[-1]), *(d for d in decisions if d[0] > since)]
    ends = [*(at for at, _ in states[1:]), max(until, states[-1][0])]
    held = [end - at for (at, opened), end in zip(states, ends, strict=True) if not opened]
    return sum(held, timedelta()) / timedelta(days=1)


def reaches(lowest_level_m: float | None, design_level_m: float) -> bool:
    """Whether a deepest point stands at a design level, within what a level is known to.

    False where no level is known. That one point is there does not say that the whole stage is.

    >>> reaches(90.65, 90.6), reaches(92.009, 90.6), reaches(None, 90.6)
    (True, False, False)
    """
    if lowest_level_m is None:
        return False
    return round((lowest_level_m - design_level_m - LEVEL_KNOWN_TO_M) * 1000) <= 0


@dataclass(frozen=True, slots=True)
class Breach:
    """A lowest level below the permitted one. Never "within tolerance"."""

    zone: str
    lowest_level_m: float
    permitted_level_m: float

    @property
    def depth_m(self) -> float:
        """How far below [m]."""
        return self.permitted_level_m - self.lowest_level_m

    def __str__(self) -> str:
        return (
            f"Zone {self.zone}: lowest level {self.lowest_level_m:.3f} m is {self.depth_m:.3f} m"
            f" below the permitted {self.permitted_level_m:.3f} m. Stop and ask the temporary works"
            " coordinator: this consumes the designer's reserve."
        )


def breach(zone: str, lowest_level_m: float, permitted_level_m: float) -> Breach | None:
    """The breach of a zone, if its lowest level is below the permitted level by a millimetre."""
    if round((permitted_level_m - lowest_level_m) * 1000) <= 0:
        return None
    return Breach(zone, lowest_level_m, permitted_level_m)


def designers_reserve(height_m: float) -> float:
    """Unplanned over-excavation a designer assumes at ultimate limit state [m].

    a = min(0.1 x height, 0.5), height below the lowest support (ec7, 9.3.2.2). A reserve of the
    design, never room to dig: show it only to say how much of it a breach consumes.
    Raises InputError for a height that is not positive.

    >>> designers_reserve(5.0), designers_reserve(24.0)
    (0.5, 0.5)
    """
    return min(0.1 * check_positive("height_m", height_m, "m"), 0.5)


@dataclass(frozen=True, slots=True)
class Dug:
    """A dug volume split at the formation level [m³]: net design ground, and overdig below it."""

    net_m3: float
    overdig_m3: float


def overdig_split(
    bank_m3: float, from_level_m: float | None, to_level_m: float | None, formation_m: float
) -> Dug:
    """Split a dug volume at formation in proportion to depth; all net where levels are unknown."""
    if from_level_m is None or to_level_m is None or to_level_m >= formation_m:
        return Dug(bank_m3, 0.0)
    if from_level_m <= formation_m:
        return Dug(0.0, bank_m3)
    over = bank_m3 * _share(from_level_m, to_level_m, formation_m, to_level_m)
    return Dug(bank_m3 - over, over)
