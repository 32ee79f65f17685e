"""Open exceptions of holds and of formation: at most one line a zone and rule."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta

from tracker.domain import rules
from tracker.domain.calendar import local_time
from tracker.domain.levels import FORMATION
from tracker.statements.formation import (
    REACHED,
    Formation,
    Part,
    formation_sentence,
    formation_steps,
    formations,
)
from tracker.statements.frame import Frame
from tracker.statements.hold_points import LateHold, hold_points, late_holds, name_of
from tracker.statements.shapes import OpenException
from tracker.statements.words import date_words
from tracker.statements.zone_shifts import dug_out, shifts_that_dug


def hold_exceptions(frame: Frame) -> Iterator[OpenException]:
    """Holds that run a day or more longer than planned, formation open longer than its limit."""
    steps = formation_steps(frame)
    out = dug_out(frame, shifts_that_dug(frame, _asked(frame, steps)))
    for late in late_holds(list(hold_points(frame, out)), frame.moment):
        yield _late(frame, late)
    for found in formations(frame, out, steps):
        if found.over and found.open_since is not None:
            yield _exposed(frame, found, found.open_since)


def _asked(frame: Frame, steps: Mapping[tuple[str, str], Sequence[Part]]) -> set[tuple[str, int]]:
    """(zone, stage) whose digging tells since when a hold runs, or formation lies open.

    Of each zone the stage above its first closed hold, and the last stage once it was decided on,
    so that a day reads what was dug of one or two stages. Ground that was dug without any decision
    is a breach, which comes first.
    """
    asked: dict[str, tuple[str, int] | None] = {}
    last: set[tuple[str, int]] = set()
    decided = {(d.zone, d.hold) for d in frame.decisions}
    for point in hold_points(frame, {}):
        zone = point.zone
        place = (zone.zone, point.above.stage) if point.above else None
        if not point.open:
            asked.setdefault(zone.zone, place)
        by_level = zone.exposure_limit_h is not None and (zone.zone, REACHED) not in steps
        if point.hold == FORMATION and place and by_level and (place[0], str(place[1])) in decided:
            last.add(place)
    return last.union(place for place in asked.values() if place)


def _late(frame: Frame, late: LateHold) -> OpenException:
    due = late.dug_out.ends + timedelta(days=late.above.hold_days)
    stops = "not all of it is accepted"
    if late.point.hold != FORMATION:
        stops = "nothing below it may be dug"
    return OpenException(
        rule=rules.HOLD_LATE,
        about=late.dug_out.returns[-1].entry_id,
        kind="dig_returns",
        work_date=_local_day(frame, due),
        zone=late.point.zone.zone,
        sentence=f"{name_of(late.point)}: held for {late.days:.0f} days since it was dug to on"
        f" {date_words(late.dug_out.work_date)}, {late.late_days:.0f} longer than planned for"
        f" {late.above.support}; {stops}. Ask the temporary works coordinator what it waits for,"
        " and until when.",
    )


def _exposed(frame: Frame, found: Formation, oldest: Part) -> OpenException:
    passed = oldest.at + timedelta(hours=found.zone.exposure_limit_h or 0.0)
    return OpenException(
        rule=rules.FORMATION_EXPOSED,
        about=oldest.entry_id,
        kind=oldest.kind,
        work_date=_local_day(frame, passed),
        zone=found.zone.zone,
        sentence=formation_sentence(frame, found),
    )


def _local_day(frame: Frame, moment: datetime) -> date:
    return local_time(moment, frame.site.time_zone).date()
