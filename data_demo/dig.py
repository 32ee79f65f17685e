"""The true digging: which shift dug which slice of which stage, before anybody reports it."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from data_demo.season import (
    BELT_START,
    CATCH_UP_NIGHTS,
    OVERDIGS,
    STAGES_DUG,
    Shift,
    StageDug,
    season_shifts,
)
from data_demo.site_tables import GROUND_LEVEL_M, bands, design_stages, plan_area

# Ground as it truly is in the invented site: a little off the set-up's factors, within their range.
TRUE_DENSITY_T_PER_M3 = {"made_ground": 1.80, "gravel": 1.92, "stiff_clay": 2.01}
TRUE_LOOSE_PER_BANK = {"made_ground": 1.27, "gravel": 1.13, "stiff_clay": 1.29}
NIL_CHANCE = 0.07
THINNEST_SLICE_M = 0.08


@dataclass(frozen=True, slots=True)
class Slice:
    """Ground of one stream that one shift dug from one zone; `lowest_m` is the zone's."""

    shift: Shift
    zone: str
    stage: int
    stream: str
    from_m: float
    to_m: float
    lowest_m: float

    @property
    def bank_m3(self) -> float:
        """True bank volume: plan area times thickness [m3]."""
        return plan_area(self.zone) * (self.from_m - self.to_m)

    @property
    def mass_t(self) -> float:
        """True moist mass [t]."""
        return self.bank_m3 * TRUE_DENSITY_T_PER_M3[self.stream]


def stage_shifts(dug: StageDug) -> list[Shift]:
    """Every shift between the first and the last one that dug a stage; weekends only catch-up."""
    last = Shift(dug.ends, "day" if dug.ends_by_day else "night")
    return [
        s
        for s in season_shifts()
        if dug.starts <= s.work_date
        and s <= last
        and (s.name != "weekend" or s.work_date in CATCH_UP_NIGHTS)
    ]


def _effort(rng: Random, shift: Shift) -> float:
    effort = rng.uniform(0.8, 1.25)
    if shift.name == "weekend":
        return effort * 0.6
    if shift.name == "night":
        return effort * (0.85 if shift.work_date >= BELT_START else 0.45)
    return effort


def _floor_levels(rng: Random, shifts: list[Shift], top_m: float, bottom_m: float) -> list[float]:
    efforts = [_effort(rng, s) for s in shifts]
    done, total, levels = 0.0, sum(efforts), []
    for effort in efforts:
        done += effort
        levels.append(round(top_m - (top_m - bottom_m) * done / total, 2))
    return levels


def _snapped(level_m: float, edges: list[float]) -> float:
    """A level, moved onto a band's edge where only a skim would lie between them."""
    return next((e for e in edges if abs(level_m - e) < THINNEST_SLICE_M), level_m)


def _cut(zone: str, from_m: float, to_m: float) -> list[tuple[float, float, str]]:
    return [
        (min(from_m, upper), max(to_m, lower), stream)
        for upper, lower, stream in bands(zone)
        if min(from_m, upper) > max(to_m, lower)
    ]


def dig_stage(rng: Random, dug: StageDug, top_m: float) -> list[Slice]:
    """The slices of one stage from the level at which it began, in the order dug."""
    shifts = [s for s in stage_shifts(dug)[:-1] if rng.random() > NIL_CHANCE]
    shifts.append(stage_shifts(dug)[-1])
    permitted_m = design_stages(dug.zone)[dug.stage - 1][0]
    edges = [lower for _, lower, _ in bands(dug.zone)[:-1]]
    slices: list[Slice] = []
    from_m, lowest_m = top_m, top_m
    levels = _floor_levels(rng, shifts, top_m, dug.level_m)
    for shift, level_m in zip(shifts, levels, strict=True):
        to_m = _snapped(level_m, edges)
        if to_m >= from_m:
            continue
        lowest_m = max(permitted_m, min(lowest_m, round(to_m - rng.uniform(0.05, 0.4), 2)))
        if shift == shifts[-1]:
            lowest_m = OVERDIGS.get((dug.zone, dug.stage), lowest_m)
        slices += [
            Slice(shift, dug.zone, dug.stage, stream, upper, lower, lowest_m)
            for upper, lower, stream in _cut(dug.zone, from_m, to_m)
        ]
        from_m = to_m
    return slices


def dug_ground(rng: Random) -> list[Slice]:
    """Every slice of the season, zone by zone from the top down."""
    slices: list[Slice] = []
    for dug in STAGES_DUG:
        top_m = (
            GROUND_LEVEL_M[dug.zone]
            if dug.stage == 1
            else design_stages(dug.zone)[dug.stage - 2][0]
        )
        slices += dig_stage(rng, dug, top_m)
    return slices
