"""Open exceptions of holds and of formation: at most one line a zone and rule."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from tracker.domain import rules
from tracker.domain.calendar import local_time
from tracker.domain.levels import FORMATION
from tracker.statements.capacity_shapes import FormationTimer
from tracker.statements.formation import (
    Formation,
    Part,
    formation_sentence,
    formation_steps,
    formation_timer,
    formations,
    late_record_sentence,
)
from tracker.statements.frame import Frame
from tracker.statements.hold_points import DugOut, LateHold, hold_points, late_holds, name_of
from tracker.statements.shapes import OpenException
from tracker.statements.words import date_words
from tracker.statements.zone_shifts import ZoneShift, dug_out, shifts_that_dug


def hold_exceptions(frame: Frame) -> Iterator[OpenException]:
    """Holds a day or more longer than planned; formation open too long, or recorded too late."""
    out = _dug_out(frame)
    for late in late_holds(list(hold_points(frame, out)), frame.moment):
        yield _late(frame, late)
    for found in formations(frame, out, formation_steps(frame)):
        if found.over and found.open_since is not None:
            yield _exposed(frame, found, found.open_since)
        elif found.level is not None and found.late_record is not None:
            yield _recorded_late(frame, found, found.level, found.late_record)


def running_timers(frame: Frame) -> tuple[FormationTimer, ...]:
    """Formation that lies open, from half of its limit on."""
    found = formations(frame, _dug_out(frame), formation_steps(frame))
    return tuple(formation_timer(frame, one) for one in found if one.half_gone)


def _dug_out(frame: Frame) -> DugOut:
    return dug_out(frame, shifts_that_dug(frame, _asked(frame)))


def _asked(frame: Frame) -> set[tuple[str, int]]:
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
        limited = zone.exposure_limit_h is not None
        if point.hold == FORMATION and place and limited and (place[0], str(place[1])) in decided:
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


def _recorded_late(frame: Frame, found: Formation, level: ZoneShift, late: Part) -> OpenException:
    passed = level.starts + timedelta(hours=found.zone.exposure_limit_h or 0.0)
    return OpenException(
        rule=rules.FORMATION_LATE,
        about=late.entry_id,
        kind=late.kind,
        work_date=_local_day(frame, passed),
        zone=found.zone.zone,
        sentence=late_record_sentence(frame, found, level, late),
    )


def _local_day(frame: Frame, moment: datetime) -> date:
    return local_time(moment, frame.site.time_zone).date()
