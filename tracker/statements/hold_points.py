"""Every hold point of a zone: what must be in place, what was decided, how long it has held."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from tracker.domain.calendar import local_time
from tracker.domain.levels import (
    FORMATION,
    NOT_RELEASED,
    RELEASED,
    SUSPENDED,
    held_days,
    plan_area,
)
from tracker.domain.site import Stage, Zone
from tracker.ledger.entries import HoldRelease
from tracker.statements.capacity_shapes import HoldLine
from tracker.statements.frame import Frame
from tracker.statements.words import count_words, date_words, moment_words, span_words
from tracker.statements.zone_shifts import ZoneShift

DugOut = Mapping[tuple[str, int], ZoneShift]
PARTLY = "partly accepted"  # the status of formation of which a part was accepted
WHOLE = 0.99  # share of an area that counts as all of it; common practice, no source
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class HoldPoint:
    """A hold of a zone: the stage above it, its decisions, the shift from whose end on it runs."""

    zone: Zone
    hold: str
    above: Stage | None
    decisions: tuple[HoldRelease, ...]
    dug_out: ZoneShift | None
    whole_m2: float  # of formation; 0 for a stage

    @property
    def last(self) -> HoldRelease | None:
        """The latest decision."""
        return self.decisions[-1] if self.decisions else None

    @property
    def open(self) -> bool:
        """Whether all below it may be dug, or all of formation was accepted."""
        return self.last is not None and self.opens(self.last)

    def opens(self, decision: HoldRelease) -> bool:
        """Whether a decision releases all of it."""
        accepted_m2 = (decision.accepted_area_dm2 or 0) / 100.0
        return decision.status == RELEASED and accepted_m2 >= WHOLE * self.whole_m2

    @property
    def status(self) -> str:
        """Its latest status; `partly accepted` where not all of formation was accepted."""
        if self.last is None:
            return NOT_RELEASED
        return PARTLY if self.last.status == RELEASED and not self.open else self.last.status

    @property
    def standing(self) -> str:
        """Its status as people read it, with the areas where only a part was accepted."""
        if self.last is None or self.status != PARTLY:
            return self.status
        accepted_m2 = (self.last.accepted_area_dm2 or 0) / 100.0
        return f"{accepted_m2:,.0f} of {self.whole_m2:,.0f} m² accepted"

    def held_days(self, moment: datetime) -> float | None:
        """How long it has held since the stage above was dug out, suspensions included [days].

        None where nothing was dug out.
        """
        if self.dug_out is None:
            return None
        decided = [(d.decided_at, self.opens(d)) for d in self.decisions]
        return held_days(self.dug_out.ends, decided, moment)


def hold_points(frame: Frame, out: DugOut) -> Iterator[HoldPoint]:
    """The hold points of every zone in the order in which they come."""
    for zone in frame.site.zones:
        stages = frame.site.stages_of(zone.zone)
        formation_m2 = plan_area(zone, stages[-1].design_level_m)
        mine = [d for d in frame.decisions if d.zone == zone.zone]
        holds = [*(str(s.stage) for s in stages), FORMATION]
        for hold, above in zip(holds, (None, *stages), strict=True):
            yield HoldPoint(
                zone,
                hold,
                above,
                tuple(d for d in mine if d.hold == hold),
                out.get((zone.zone, above.stage)) if above else None,
                formation_m2 if hold == FORMATION else 0.0,
            )


def hold_line(frame: Frame, point: HoldPoint) -> HoldLine:
    """A hold point as the statement shows it."""
    last, above = point.last, point.above
    days = point.held_days(frame.moment)
    planned = above.hold_days if above else 0
    released = last is not None and last.status == RELEASED
    decided = local_time(last.decided_at, frame.site.time_zone) if last else None
    return HoldLine(
        excavation=point.zone.excavation,
        zone=point.zone.zone,
        hold=point.hold,
        above=above.support if above else "",
        condition=above.hold_condition if above else "",
        status=point.status,
        standing=point.standing,
        decided_on=decided.date() if decided else None,
        decided_at=f"{decided:%Y-%m-%d %H:%M}" if decided else "",
        permit=last.permit if last else "",
        given_condition=(last.condition or "") if last and released else "",
        decided_by=last.decided_by if last else "",
        dug_out_on=point.dug_out.work_date if point.dug_out else None,
        planned_days=planned,
        days=days,
        running=days is not None and not point.open,
        late_days=max(0.0, days - planned) if days is not None else 0.0,
        sentence=_sentence(frame, point, days, planned),
    )


def name_of(point: HoldPoint) -> str:
    """A hold point as people call it."""
    what = "formation" if point.hold == FORMATION else f"stage {point.hold}"
    return f"Zone {point.zone.zone}, hold before {what}"


def _sentence(frame: Frame, point: HoldPoint, days: float | None, planned: int) -> str:
    parts = [_state(frame, point, days, planned), *_suspended(frame, point)]
    if point.above and point.above.hold_condition and not point.open:
        parts.append(f"To be in place: {point.above.hold_condition}.")
    last = point.last
    if last and last.status == RELEASED and last.condition:
        parts.append(f"Released on condition: {last.condition}.")
    return f"{name_of(point)}: {' '.join(parts)}"


def _decided(frame: Frame, decision: HoldRelease) -> str:
    return moment_words(local_time(decision.decided_at, frame.site.time_zone))


def _state(frame: Frame, point: HoldPoint, days: float | None, planned: int) -> str:
    last = point.last
    if point.open and last is not None:
        done = "accepted" if point.hold == FORMATION else "released"
        took = (
            ""
            if days is None
            else f" after {span_words(days)}, {count_words(planned, 'day')} planned"
        )
        return f"{done} on {_decided(frame, last)}{took}."
    if last is not None and last.status == SUSPENDED:
        ran = ""
        if days is not None:
            ran = f" Held for {span_words(days)} in all, {count_words(planned, 'day')} planned."
        return f"suspended on {_decided(frame, last)}: no digging below it.{ran}"
    if point.above is None:
        return "waits for the permit to dig."
    if days is None or point.dug_out is None:
        then = f"then {count_words(planned, 'day')} planned"
        return f"stage {point.above.stage} is not dug out yet; {then}."
    part = f" {point.standing}." if point.status == PARTLY else ""
    late = f", {span_words(days - planned)} longer than planned" if days > planned else ""
    of = f"{planned}" if days >= 1.0 else count_words(planned, "day")
    return (
        f"runs since {date_words(point.dug_out.work_date)}, {span_words(days)} of {of} planned"
        f"{late}; {point.above.support}.{part}"
    )


def _suspended(frame: Frame, point: HoldPoint) -> Iterator[str]:
    """Suspensions that ended."""
    for before, after in pairwise(point.decisions):
        if before.status == SUSPENDED and after.status != SUSPENDED:
            days = (after.decided_at - before.decided_at) / _DAY
            yield f"It was suspended on {_decided(frame, before)} for {span_words(days)}."


@dataclass(frozen=True, slots=True)
class LateHold:
    """A hold that runs longer than planned."""

    point: HoldPoint
    above: Stage
    dug_out: ZoneShift
    days: float  # run so far

    @property
    def late_days(self) -> float:
        """How much longer than planned [days]."""
        return self.days - self.above.hold_days


def late_holds(points: Sequence[HoldPoint], moment: datetime) -> list[LateHold]:
    """The first hold of each zone that runs a whole day longer than planned."""
    found: dict[str, LateHold] = {}
    for point in points:
        days = point.held_days(moment)
        if point.above is None or point.dug_out is None or days is None or point.open:
            continue
        late = LateHold(point, point.above, point.dug_out, days)
        if late.late_days >= 1.0:
            found.setdefault(point.zone.zone, late)
    return list(found.values())
