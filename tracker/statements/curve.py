"""Planned and dug bank volume by day: flat where the plan holds for supports."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from itertools import accumulate

from tracker.domain.calendar import days
from tracker.domain.surface.net import Net
from tracker.domain.surface.site_survey import dug_by_stage
from tracker.ledger.surveys import Taken, ground_before
from tracker.statements.dug import DugSum, dug, dug_of, ended_after
from tracker.statements.frame import Frame
from tracker.statements.plans import Plan
from tracker.statements.shapes import CurvePoint


def curve(frame: Frame, taken: Sequence[Taken], plan: Plan) -> tuple[CurvePoint, ...]:
    """Cumulative planned and dug bank volume of each excavation by day [m³].

    The plan digs each stage evenly over the working days between its dates, so that days
    without shifts and the holds between stages are flat steps. On the day of a survey what was dug
    steps to what it found, zone by zone.
    """
    zone_of = {z.zone: z.excavation for z in frame.site.zones}
    by_day: dict[str, dict[date, float]] = defaultdict(lambda: defaultdict(float))
    for (zone, day), total in dug(frame, ("zone", "day")).items():
        if zone in zone_of:  # a zone of an earlier set-up belongs to no excavation of this one
            by_day[zone][day] += total.bank_m3
    marks = _corrected(frame, taken, by_day)
    dug_on: dict[tuple[str, date], float] = defaultdict(float)
    for zone, days_of in by_day.items():
        for day, bank_m3 in days_of.items():
            dug_on[zone_of[zone], day] += bank_m3
    points = []
    for excavation in frame.site.excavations:
        planned_on = plan.daily_m3(excavation.excavation)
        mine = [day for name, day in dug_on if name == excavation.excavation]
        if not planned_on and not mine:
            continue
        first, last = min([*planned_on, *mine]), max([*planned_on, *mine, frame.as_of])
        span = list(days(first, last))
        planned = accumulate(planned_on.get(day, 0.0) for day in span)
        done = accumulate(dug_on.get((excavation.excavation, day), 0.0) for day in span)
        points += [
            CurvePoint(
                excavation.excavation,
                day,
                p,
                d if day <= frame.as_of else None,
                *marks.get((excavation.excavation, day), ("", None)),
            )
            for day, p, d in zip(span, planned, done, strict=True)
        ]
    return tuple(points)


def _corrected(
    frame: Frame, taken: Sequence[Taken], by_day: dict[str, dict[date, float]]
) -> dict[tuple[str, date], tuple[str, float]]:
    """Let each zone step to its surveys; gives (excavation, day) -> survey and its uncertainty."""
    marks: dict[tuple[str, date], tuple[str, float]] = {}
    stepped: dict[str, float] = defaultdict(float)
    for survey in taken:
        entry = survey.entry
        if entry.original_ground:
            continue
        day, total = entry.work_date, Net()
        ground = ground_before(frame.site, entry.excavation, taken, entry.surveyed_at)
        unseen = dug_of(frame, ("zone",), ended_after(frame, entry.surveyed_at, day))
        for zone in survey.whole:
            found = sum(
                dug_by_stage(frame.site, zone, ground[zone], survey.reduced).values(), Net()
            )
            total += found
            returned = sum(m3 for on, m3 in by_day[zone].items() if on <= day) - stepped[zone]
            returned -= unseen.get((zone,), DugSum()).bank_m3
            by_day[zone][day] += found.net_m3 - returned - stepped[zone]
            stepped[zone] = found.net_m3 - returned
        marks[entry.excavation, day] = (entry.survey, total.uncertainty.combined_m3)
    return marks
