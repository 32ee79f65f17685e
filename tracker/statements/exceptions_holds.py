"""Open exceptions of holds and of formation: at most one line a zone and rule."""

from __future__ import annotations

from collections.abc import Iterator, Set
from datetime import date, datetime, timedelta

from tracker.domain import rules
from tracker.domain.calendar import local_time
from tracker.domain.levels import FORMATION, RELEASED, reaches
from tracker.domain.site import Stage
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
from tracker.statements.hold_points import (
    DugOut,
    HoldPoint,
    LateHold,
    hold_points,
    late_holds,
    name_of,
)
from tracker.statements.levels import Standing, standings
from tracker.statements.shapes import OpenException
from tracker.statements.words import date_words
from tracker.statements.zone_shifts import ZoneShift, dug_out, shifts_that_dug


def hold_exceptions(frame: Frame) -> Iterator[OpenException]:
    """Holds that run too long or were released early; formation open too long, or recorded late."""
    early = _perhaps_early(frame)
    out = _dug_out(frame, {(p.zone.zone, p.above.stage) for p in early if p.above})
    for point in early:
        if point.above and (point.zone.zone, point.above.stage) not in out:
            yield _early(point, point.above)
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


def _dug_out(frame: Frame, also: Set[tuple[str, int]] = frozenset()) -> DugOut:
    return dug_out(frame, shifts_that_dug(frame, _asked(frame) | also))


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


def _perhaps_early(frame: Frame) -> list[HoldPoint]:
    """Hold points released below a stage whose level no point has reached."""
    lowest_m = {s.zone.zone: _lowest_m(s) for s in standings(frame)}
    return [
        point
        for point in hold_points(frame, {})
        if point.above is not None
        and point.last is not None
        and point.last.status == RELEASED
        and not reaches(lowest_m[point.zone.zone], point.above.design_level_m)
    ]


def _lowest_m(standing: Standing) -> float | None:
    return None if standing.lowest is None else standing.lowest.level_mm / 1000.0


def _early(point: HoldPoint, above: Stage) -> OpenException:
    last = point.decisions[-1]
    cannot = f"its {above.support or 'support'} cannot be in"
    if point.hold == FORMATION:
        cannot = "formation cannot be accepted there"
    return OpenException(
        rule=rules.RELEASED_EARLY,
        about=last.entry_id,
        kind=last.KIND,
        work_date=last.work_date,
        zone=point.zone.zone,
        sentence=f"{name_of(point)}: released on {date_words(last.work_date)}, before the stage"
        f" above was dug out. Stage {above.stage} ends at {above.design_level_m:.3f} m, which is"
        f" not reached: {cannot}. Ask the temporary works coordinator; if zone or stage is wrong,"
        " amend or withdraw the entry.",
    )


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
