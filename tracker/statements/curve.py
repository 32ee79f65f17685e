"""Planned and dug bank volume by day: flat where the plan holds for supports."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from itertools import accumulate

from tracker.domain.calendar import days, shifts_on
from tracker.domain.levels import stage_volume
from tracker.statements.dug import dug
from tracker.statements.frame import Frame
from tracker.statements.shapes import CurvePoint


def curve(frame: Frame) -> tuple[CurvePoint, ...]:
    """Cumulative planned and dug bank volume of each excavation by day [m³].

    The plan digs each stage evenly over the working days between its planned dates, so that days
    without shifts and the holds between stages are flat steps.
    """
    zone_of = {z.zone: z.excavation for z in frame.site.zones}
    dug_on: dict[tuple[str, date], float] = defaultdict(float)
    for (zone, day), total in dug(frame, ("zone", "day")).items():
        if zone in zone_of:  # a zone of an earlier set-up belongs to no excavation of this one
            dug_on[zone_of[zone], day] += total.bank_m3
    points = []
    for excavation in frame.site.excavations:
        planned_on = _planned(frame, excavation.excavation)
        mine = [day for name, day in dug_on if name == excavation.excavation]
        if not planned_on and not mine:
            continue
        first, last = min([*planned_on, *mine]), max([*planned_on, *mine, frame.as_of])
        span = list(days(first, last))
        planned = accumulate(planned_on.get(day, 0.0) for day in span)
        done = accumulate(dug_on.get((excavation.excavation, day), 0.0) for day in span)
        points += [
            CurvePoint(excavation.excavation, day, p, d if day <= frame.as_of else None)
            for day, p, d in zip(span, planned, done, strict=True)
        ]
    return tuple(points)


def _planned(frame: Frame, excavation: str) -> dict[date, float]:
    """Day -> bank volume that the plan digs on it [m³]."""
    planned: dict[date, float] = defaultdict(float)
    for zone in frame.site.zones_of(excavation):
        stages = frame.site.stages_of(zone.zone)
        for stage in stages:
            whole = list(days(stage.planned_start, stage.planned_finish))
            worked = [day for day in whole if shifts_on(frame.site, day)] or whole
            share = stage_volume(zone, stages, stage.stage) / len(worked)
            for day in worked:
                planned[day] += share
    return planned
