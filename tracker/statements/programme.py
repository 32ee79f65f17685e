"""From the ledger to the programme that a forecast walks: ground, shifts and holds ahead.

What is left is the design volume less what surveys and the returns after them say was dug.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise

from tracker.domain.levels import RELEASED, held_days
from tracker.domain.programme.capacities import Capacities
from tracker.domain.programme.governing import CALENDAR
from tracker.domain.programme.shapes import HoldTaken, Programme, ShiftSlot, SlotLimits, StageToDig
from tracker.domain.programme.ways import Ways
from tracker.errors import NotEnoughData
from tracker.statements.frame import Frame, expected_slots
from tracker.statements.shift_record import RECENT_WEEKS, ShiftRecord, shift_record
from tracker.statements.site_shifts import SiteShift, site_shifts
from tracker.statements.stage_record import SiteRecord, StageRecord, site_record
from tracker.statements.ways import ways_of
from tracker.statements.words import count_words, date_words

RECORD_WEEKS = 12  # of returns that the output rests on; common practice, no source
OLDEST_SURVEY_DAYS = 42  # the same
RECENT_DAYS = 7  # in which a missing return is spoken of
MANY_MISSING = 0.1  # of those due: beyond it the headline says so; common practice, no source
FEW_SHIFTS = 20  # of a zone: with fewer the headline says so; the same
NAMED_TRIMMING = 0.01  # of a stage: what is not dug of a stage that is, from which on it is named
_AHEAD_DAYS = 365  # beyond the plan, or beyond today if that is later


@dataclass(frozen=True, slots=True)
class Built:
    """A programme, with what it rests on in sentences."""

    programme: Programme
    basis: tuple[str, ...]
    record: SiteRecord
    shifts: ShiftRecord
    past: tuple[SiteShift, ...]  # of the record; `shift_index` is the place in it
    done: tuple[str, ...]  # zones with nothing left to dig
    not_before: Mapping[str, date]  # of zones that nobody has begun
    doubts: tuple[str, ...]  # what a date should not be said without


def programme_of(
    frame: Frame,
    *,
    leave_out: frozenset[str] = frozenset(),
    until: date | None = None,
    record: SiteRecord | None = None,
    ways: Ways | None = None,
) -> Built:
    """The programme at the moment of a statement.

    A frame with another `site` in it asks what would be if that held from tomorrow on. `leave_out`
    names coded causes whose shifts are left out of the record; `ways` stand in place of the ways
    out of the recent record. Raises NotEnoughData with the reason where nothing is left to dig or
    the records are too old, UnknownName for a cause.
    """
    for cause in sorted(leave_out):
        frame.site.cause(cause)
    record = record or site_record(frame)
    _refuse_old_survey(frame, record)
    past, ahead = _past_and_ahead(frame, record, until or horizon(frame))
    since = frame.as_of - timedelta(weeks=RECORD_WEEKS) + timedelta(days=1)
    ways = ways or ways_of(frame)
    limits = _limits(ways)
    worked = shift_record(record, past, since, frame.site.zones_at_once, limits)
    not_before = _not_before(frame, record)
    programme = Programme(
        stages=tuple(_stages_ahead(record)),
        slots=tuple(_slots(ahead, not_before, limits)),
        shifts=worked.shifts,
        holds=tuple(_holds_taken(record)),
        zones_at_once=frame.site.zones_at_once or worked.crews,
        excluded=leave_out,
        parts={z.zone: z.excavation for z in frame.site.zones},
    )
    return Built(
        programme,
        (*_basis(frame, record, worked, since, programme), *ways.sentences),
        record,
        worked,
        past,
        tuple(zone for zone in record.stages if not record.ahead(zone)),
        not_before,
        tuple(_first_doubts(frame, record, worked)),
    )


def horizon(frame: Frame) -> date:
    """The last day of the calendar that is walked: a year beyond plan and target, and today."""
    targets = [e.target_formation for e in frame.site.excavations if e.target_formation]
    planned = [s.planned_finish for s in frame.site.stages]
    return max(frame.as_of, *targets, *planned) + timedelta(days=_AHEAD_DAYS)


def _past_and_ahead(
    frame: Frame, record: SiteRecord, until: date
) -> tuple[tuple[SiteShift, ...], tuple[SiteShift, ...]]:
    """The shifts that are past and those ahead.

    A shift lies ahead until it is over or a return of it is recorded. One on a weekday that it does
    not work may have been worked; ahead it is not there.
    """
    begun = {(one.entry.work_date, one.entry.shift) for one in record.returns}
    past, ahead = [], []
    for shift in site_shifts(frame, frame.site.first_date, until):
        over = shift.ends <= frame.moment or shift.key in begun
        if over:
            past.append(shift)
        elif not shift.weekday_off:
            ahead.append(shift)
    return tuple(past), tuple(ahead)


def first_ahead(record: SiteRecord) -> date | None:
    """The work date of the first shift that lies ahead within a fortnight, worked or closed."""
    frame = record.frame
    _, ahead = _past_and_ahead(frame, record, frame.as_of + timedelta(days=14))
    return ahead[0].work_date if ahead else None


def _stages_ahead(record: SiteRecord) -> Iterator[StageToDig]:
    """Stages with ground left: zones whose stage is begun first, then by the plan's next start."""

    def turn(zone: str) -> tuple[bool, date]:
        stage = record.ahead(zone)[0]
        return stage.left_m3 >= stage.design_m3, record.planned_start(zone, stage.stage)

    for zone in sorted((z for z in record.stages if record.ahead(z)), key=turn):
        for stage in record.ahead(zone):
            days, since = hold_ahead(record.stages[zone], stage)
            yield StageToDig(zone, stage.stage, stage.left_m3, float(days), stage.released, since)


def hold_ahead(stages: Sequence[StageRecord], stage: StageRecord) -> tuple[int, datetime | None]:
    """Planned days of the hold above a stage, and since when it runs.

    From when the stage above was dug out; of a stage that is suspended, or lies below one that is,
    since the suspension. The first stage waits for none: suspended, it is given the first hold of
    its zone.
    """
    if stage.released:
        return stage.hold_days, None
    upper = [s for s in stages if s.stage <= stage.stage]
    suspended = [s.suspended_at for s in upper if s.suspended_at is not None]
    if suspended and (len(upper) == 1 or upper[-2].dug_out_at is not None):
        return stage.hold_days or _first_hold(stages), max(suspended)
    return stage.hold_days, upper[-2].dug_out_at if len(upper) > 1 else None


def _first_hold(stages: Sequence[StageRecord]) -> int:
    return next((s.hold_days for s in stages if s.hold_days), 0)


def _holds_taken(record: SiteRecord) -> Iterator[HoldTaken]:
    """Holds that were released after they began, with the suspensions that came after."""
    for stages in record.stages.values():
        for above, stage in pairwise(stages):
            began, ended = above.dug_out_at, stage.released_at
            known = began and ended and ended >= began and stage.hold_days > 0
            if began and known and stage.status == RELEASED:
                decided = [(d.decided_at, d.status == RELEASED) for d in stage.decisions]
                days = held_days(began, decided, decided[-1][0])
                yield HoldTaken(stage.zone, stage.stage, float(stage.hold_days), days)


def _not_before(frame: Frame, record: SiteRecord) -> dict[str, date]:
    """Zone -> the day before which nobody digs there, of zones that nobody has begun."""
    found = {}
    for zone in frame.site.zones:
        first = record.stages[zone.zone][0]
        begun = first.dug_out_at is not None or record.volumes[zone.zone].net_m3 > 0.0
        if begun:
            continue
        planned = record.planned_start(zone.zone, first.stage)
        day = zone.opens if first.released else max(zone.opens, planned)
        if day > frame.as_of:
            found[zone.zone] = day
    return found


def _slots(
    ahead: Sequence[SiteShift],
    not_before: Mapping[str, date],
    limits: Callable[[SiteShift], SlotLimits],
) -> Iterator[ShiftSlot]:
    for shift in ahead:
        if shift.closed:
            yield ShiftSlot(shift.work_date, shift.starts, shift.ends, closed=True)
            continue
        all_zones, by_zone = limits(shift)
        shut = {z: {CALENDAR: 0.0} for z, day in not_before.items() if shift.work_date < day}
        yield ShiftSlot(
            shift.work_date,
            shift.starts,
            shift.ends,
            all_zones,
            zone_limits={**by_zone, **shut} if shut else by_zone,
        )


def _limits(ways: Ways) -> Callable[[SiteShift], SlotLimits]:
    """The most that the ways out take in a shift, by the set-up of its date."""
    known: dict[int, Capacities] = {}

    def of(shift: SiteShift) -> SlotLimits:
        if id(shift.site) not in known:
            known[id(shift.site)] = Capacities(shift.site, ways)
        return known[id(shift.site)].slot(shift.work_date, shift.shift)

    return of


# --- what is refused, what is said ---------------------------------------------------------------
def _refuse_old_survey(frame: Frame, record: SiteRecord) -> None:
    """Raises NotEnoughData where ground is left and the survey under it is too old."""
    for zone, volume in record.volumes.items():
        if volume.survey is None or volume.since_m3 <= 0.0 or not record.ahead(zone):
            continue
        entry = volume.survey.entry
        age_days = (frame.as_of - entry.work_date).days
        if age_days > OLDEST_SURVEY_DAYS:
            raise NotEnoughData(
                f"Zone {zone} was surveyed last on {date_words(entry.work_date)} ({entry.survey}),"
                f" {age_days} days ago, and {volume.since_m3:,.0f} m³ were dug since by returns"
                f" alone. A forecast allows {OLDEST_SURVEY_DAYS} days: survey the zone."
            )


def _basis(
    frame: Frame, record: SiteRecord, worked: ShiftRecord, since: date, programme: Programme
) -> Iterator[str]:
    one_offs = {s.one_off for s in worked.shifts if s.one_off in programme.excluded}
    left_out = sum(s.one_off in programme.excluded for s in worked.shifts)
    yield (
        f"Output: {len(worked.shifts) - left_out} shifts of a zone that could be dug, from"
        f" {date_words(since)} on ({RECORD_WEEKS} weeks; common practice, no source);"
        f" {worked.standing} in which a zone waited for its hold or its turn are not among them."
    )
    if programme.excluded:
        yield (
            f"Left out by choice: {count_words(left_out, 'shift')} lost by half or more to"
            f" {', '.join(sorted(one_offs or programme.excluded))}."
        )
    shown = f"the last {RECENT_WEEKS} weeks show {worked.crews} where more could have been dug"
    how = f"by the set-up, while {shown}" if frame.site.zones_at_once else shown
    yield f"Zones dug at once: {programme.zones_at_once}; {how}."
    yield (
        f"The first shift ahead is that of {date_words(programme.slots[0].work_date)}: a shift"
        " lies ahead until it is over or a return of it is recorded."
    )
    yield from _doubts(frame, record)


def _doubts(frame: Frame, record: SiteRecord) -> Iterator[str]:
    missing, _ = _missing(frame, record)
    if missing:
        yield (
            f"Missing of the last {RECENT_DAYS} days: {count_words(missing, 'return')}; what was"
            " dug in them counts as still to be dug."
        )
    for zone, stages in record.stages.items():
        for stage in stages:
            if stage.trimming_m3 > NAMED_TRIMMING * stage.design_m3 and record.ahead(zone):
                yield (
                    f"Zone {zone} stage {stage.stage} counts as dug out by its level, though"
                    f" {stage.trimming_m3:,.0f} m³ of its design volume are not accounted for."
                )
            if stage.suspended_at is not None:
                days, _ = hold_ahead(stages, stage)
                yield (
                    f"Zone {zone} stage {stage.stage} is suspended: it is taken as a hold that runs"
                    f" since then and is planned to take {days} days."
                )


def _first_doubts(frame: Frame, record: SiteRecord, worked: ShiftRecord) -> Iterator[str]:
    """That many returns are missing, or that the record is short."""
    missing, due = _missing(frame, record)
    if missing > MANY_MISSING * due:
        yield (
            f"{missing} of {due} returns of the last {RECENT_DAYS} days are missing: enter them, or"
            " the dates are too late."
        )
    if len(worked.shifts) < FEW_SHIFTS:
        yield f"The record is short: {len(worked.shifts)} worked shifts of a zone."


def _missing(frame: Frame, record: SiteRecord) -> tuple[int, int]:
    """Returns of the last days that did not come, and those that were due."""
    since = frame.as_of - timedelta(days=RECENT_DAYS - 1)
    received = {(r.entry.work_date, r.entry.shift, r.entry.zone) for r in record.returns}
    due = set(expected_slots(frame, since, frame.as_of))
    return len(due - received), len(due)
