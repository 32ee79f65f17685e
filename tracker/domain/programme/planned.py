"""The planned curve: what the plan digs day by day, and nothing while it holds.

Each stage is dug evenly over its working days. The stage below starts on the first working day
after the hold between them, which runs on through weekends and holidays.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate

from tracker.domain.limits import check_not_negative, check_positive
from tracker.errors import InputError, NotEnoughData


@dataclass(frozen=True, slots=True)
class PlannedStage:
    """A stage of the plan: its design volume, and how long digging and then the hold take.

    `dig_days` are working days, `hold_days` calendar days after the last of them. Digging starts on
    `not_before` at the earliest.
    """

    zone: str
    stage: int
    design_m3: float
    dig_days: int
    hold_days: int
    not_before: date


@dataclass(frozen=True, slots=True)
class StageDates:
    """First and last day of digging, and the day after which the stage below may be dug."""

    zone: str
    stage: int
    design_m3: float
    dig_days: tuple[date, ...]
    hold_ends: date

    @property
    def starts(self) -> date:
        """The first day of digging."""
        return self.dig_days[0]

    @property
    def finishes(self) -> date:
        """The last day of digging."""
        return self.dig_days[-1]


@dataclass(frozen=True, slots=True)
class PlannedCurve:
    """Design volume by day and zone [m³], on every day from the first to the last of digging."""

    stages: tuple[StageDates, ...]
    days: tuple[date, ...]
    daily_m3: dict[str, tuple[float, ...]]

    def cumulative_m3(self, zone: str | None = None) -> tuple[float, ...]:
        """Design volume dug by the end of each day in a zone, or in all of them [m³]."""
        return tuple(accumulate(self.on_days_m3(zone)))

    def on_days_m3(self, zone: str | None = None) -> tuple[float, ...]:
        """Design volume of each day in a zone, or in all of them [m³]."""
        if zone is not None:
            return self.daily_m3[zone]
        return tuple(map(sum, zip(*self.daily_m3.values(), strict=True)))

    def design_m3(self, zone: str | None = None) -> float:
        """Design volume of a zone, or of all of them [m³]."""
        return sum(s.design_m3 for s in self.stages if zone in (None, s.zone))


def planned_curve(plan: Sequence[PlannedStage], working_days: Sequence[date]) -> PlannedCurve:
    """The curve of a plan over a calendar.

    Stages are in sequence within each zone; zones are planned each by itself, so that a plan in
    which they wait for each other says so by `not_before`. Raises InputError for a duration that is
    impossible or working days out of order, NotEnoughData where the calendar ends too early.
    """
    if list(working_days) != sorted(set(working_days)):
        raise InputError("The working days are not in order, or one comes twice. Sort them.")
    dated: list[StageDates] = []
    free: dict[str, date] = {}
    for stage in plan:
        dates = _dates(stage, free.get(stage.zone, date.min), working_days)
        free[stage.zone] = dates.hold_ends + timedelta(days=1)
        dated.append(dates)
    return curve_of(dated)


def curve_of(dated: Sequence[StageDates]) -> PlannedCurve:
    """The curve of stages whose days of digging are settled, each dug evenly over its own.

    Raises NotEnoughData without a stage.
    """
    if not dated:
        raise NotEnoughData("The plan has no stages. Enter them in the set-up.")
    first, last = min(s.starts for s in dated), max(s.finishes for s in dated)
    days = tuple(first + timedelta(days=n) for n in range((last - first).days + 1))
    daily = {zone: _daily(zone, dated, days) for zone in dict.fromkeys(s.zone for s in dated)}
    return PlannedCurve(tuple(dated), days, daily)


def _dates(stage: PlannedStage, free: date, working_days: Sequence[date]) -> StageDates:
    named = f"of zone {stage.zone} stage {stage.stage}"
    check_positive(f"design_m3 {named}", stage.design_m3, "m³")
    check_positive(f"dig_days {named}", stage.dig_days, "days")
    check_not_negative(f"hold_days {named}", stage.hold_days, "days")
    at = bisect_left(working_days, max(stage.not_before, free))
    digs = tuple(working_days[at : at + stage.dig_days])
    if len(digs) < stage.dig_days:
        raise NotEnoughData(
            f"The calendar ends before zone {stage.zone} stage {stage.stage} is dug:"
            f" {stage.dig_days - len(digs)} working days are missing. Extend the calendar."
        )
    hold_ends = digs[-1] + timedelta(days=stage.hold_days)
    return StageDates(stage.zone, stage.stage, stage.design_m3, digs, hold_ends)


def _daily(zone: str, dated: Sequence[StageDates], days: Sequence[date]) -> tuple[float, ...]:
    dug = dict.fromkeys(days, 0.0)
    for stage in dated:
        for day in stage.dig_days if stage.zone == zone else ():
            dug[day] += stage.design_m3 / len(stage.dig_days)
    return tuple(dug.values())
