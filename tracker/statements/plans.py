"""Plans: frozen and versioned, the set-up's dates where none is; each with its curve.

A frozen plan stays as it was: its volumes are frozen with it, and its working days are those of the
set-up in force on the day on which it was frozen. A working day is one with hours: closed days and
days on which stops leave the site no shift are none.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from tracker.domain.calendar import days, local_time
from tracker.domain.hours import has_hours
from tracker.domain.levels import stage_volume
from tracker.domain.programme.planned import PlannedCurve, StageDates, curve_of
from tracker.domain.site import Site
from tracker.statements.forecast_shapes import PlanPoint, PlanVersion
from tracker.statements.frame import Frame
from tracker.statements.words import date_words

SET_UP = "set-up"
_BEYOND = timedelta(days=60)  # more than any closure


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan with the curve of each excavation it has stages of.

    `finishes` is the last planned day of digging of each stage, `starts` the first.
    """

    plan: str
    frozen_on: date
    reference: str
    current: bool
    curves: Mapping[str, PlannedCurve]
    working_days: tuple[date, ...]
    missing: Mapping[str, str]  # excavation -> what it says nothing of, as a sentence
    recorded_on: date | None = None  # of its last stage, where more than a day from `frozen_on`

    @property
    def words(self) -> str:
        """The plan as a sentence names it."""
        if self.plan == SET_UP:
            return "the dates of the set-up"
        return f"{self.plan} of {date_words(self.frozen_on)}"

    def daily_m3(self, excavation: str) -> dict[date, float]:
        """Day -> volume that it digs on that day in an excavation [m³ bank]."""
        curve = self.curves.get(excavation)
        on_days = zip(curve.days, curve.on_days_m3(), strict=True) if curve else ()
        return {day: bank_m3 for day, bank_m3 in on_days if bank_m3 > 0.0}

    def stage(self, zone: str, stage: int) -> StageDates | None:
        """The dates of a stage; None where the plan says nothing of it."""
        for curve in self.curves.values():
            for dates in curve.stages:
                if (dates.zone, dates.stage) == (zone, stage):
                    return dates
        return None

    def finish(self, excavation: str, zone: str = "") -> date | None:
        """The last planned day of digging of a zone or, without one, of an excavation."""
        curve = self.curves.get(excavation)
        found = [s.finishes for s in curve.stages if zone in ("", s.zone)] if curve else []
        return max(found, default=None)


@dataclass(frozen=True, slots=True)
class _Row:
    """One stage of a plan, frozen or of the set-up."""

    zone: str
    stage: int
    starts: date
    finishes: date
    hold_days: int
    design_m3: float


def plans_of(frame: Frame) -> tuple[Plan, ...]:
    """The plans to the as-of date, the oldest first; the last one is current."""
    entries: dict[str, list[Any]] = defaultdict(list)
    found = frame.ledger.current("planned_stages", known_at=frame.known_at, until=frame.as_of)
    for entry in found:
        entries[entry.plan].append(entry)
    recorded_at = frame.ledger.recorded_at("planned_stages", known_at=frame.known_at)
    plans = []
    for plan, rows in entries.items():
        frozen_on = max(row.frozen_on for row in rows)
        reference = next((row.reference for row in rows if row.reference), "")
        site = frame.site_on(frozen_on)
        made = _plan(frame, plan, frozen_on, reference, _frozen(rows), site)
        last = max(recorded_at[row.entry_id] for row in rows)
        recorded_on = local_time(last, site.time_zone).date()
        if abs(recorded_on - frozen_on) > timedelta(days=1):
            made = replace(made, recorded_on=recorded_on)
        plans.append(made)
    plans.sort(key=lambda plan: plan.frozen_on)
    if not plans:
        plans = [_plan(frame, SET_UP, frame.since_date, "", _of_set_up(frame.site), frame.site)]
    return (*plans[:-1], replace(plans[-1], current=True))


def _frozen(entries: Sequence[Any]) -> list[_Row]:
    rows = [
        _Row(e.zone, e.stage, e.planned_start, e.planned_finish, e.hold_days, e.design_l / 1000.0)
        for e in entries
    ]
    return sorted(rows, key=lambda row: (row.zone, row.stage))


def _of_set_up(site: Site) -> list[_Row]:
    return [
        _Row(
            s.zone,
            s.stage,
            s.planned_start,
            s.planned_finish,
            s.hold_days,
            stage_volume(site.zone(s.zone), site.stages_of(s.zone), s.stage),
        )
        for s in site.stages
    ]


def _plan(
    frame: Frame, plan: str, frozen_on: date, reference: str, rows: Sequence[_Row], site: Site
) -> Plan:
    excavation_of = {z.zone: z.excavation for z in frame.site.zones}
    known = [row for row in rows if row.zone in excavation_of]
    by_excavation: dict[str, list[StageDates]] = defaultdict(list)
    for row in known:
        by_excavation[excavation_of[row.zone]].append(_dates(row, site))
    dug_on = {day for dated in by_excavation.values() for s in dated for day in s.dig_days}
    return Plan(
        plan,
        frozen_on,
        reference,
        False,
        {name: curve_of(dated) for name, dated in by_excavation.items()},
        _working_days(site, dug_on, frame.as_of),
        dict(_missing(frame, plan, known)),
    )


def _dates(row: _Row, site: Site) -> StageDates:
    """Dug evenly over the working days between its dates; over all of them where none works."""
    whole = tuple(days(row.starts, row.finishes)) or (row.starts,)
    worked = tuple(day for day in whole if has_hours(site, day)) or whole
    ends = worked[-1] + timedelta(days=row.hold_days)
    return StageDates(row.zone, row.stage, row.design_m3, worked, ends)


def _working_days(site: Site, dug_on: set[date], as_of: date) -> tuple[date, ...]:
    """From the first planned day of digging until after the last one and the as-of date."""
    if not dug_on:
        return ()
    span = days(min(dug_on), max(*dug_on, as_of) + _BEYOND)
    return tuple(day for day in span if day in dug_on or has_hours(site, day))


def _missing(frame: Frame, plan: str, rows: Iterable[_Row]) -> Iterator[tuple[str, str]]:
    stated = {(row.zone, row.stage) for row in rows}
    for excavation in frame.site.excavations:
        zones = {z.zone for z in frame.site.zones_of(excavation.excavation)}
        lacking = [
            f"{s.zone} stage {s.stage}"
            for s in frame.site.stages
            if s.zone in zones and (s.zone, s.stage) not in stated
        ]
        if lacking:
            yield excavation.excavation, f"{plan} says nothing of zone {', '.join(lacking)}."


def plan_versions(plans: Sequence[Plan]) -> Iterator[PlanVersion]:
    """Each plan of each excavation, as a statement shows it."""
    for plan in plans:
        for excavation, curve in plan.curves.items():
            yield PlanVersion(
                plan.plan,
                plan.frozen_on,
                plan.reference,
                plan.current,
                excavation,
                curve.days[0],
                curve.days[-1],
                plan.missing.get(excavation, ""),
                plan.recorded_on,
            )


def plan_points(plans: Sequence[Plan]) -> Iterator[PlanPoint]:
    """The planned curve of each plan and excavation, day by day."""
    for plan in plans:
        for excavation, curve in plan.curves.items():
            for day, bank_m3 in zip(curve.days, curve.cumulative_m3(), strict=True):
                yield PlanPoint(plan.plan, excavation, day, bank_m3)
