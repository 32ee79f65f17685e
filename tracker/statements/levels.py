"""Lowest against permitted level by zone, and breaches: shown before any percentage."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from tracker.domain.calendar import local_time
from tracker.domain.levels import (
    FORMATION,
    RELEASED,
    SUSPENDED,
    breach,
    latest_status,
    permitted_level,
    plan_area,
)
from tracker.domain.rules import BREACH_RULE
from tracker.domain.site import Zone
from tracker.ledger.entries import HoldRelease
from tracker.ledger.questions import (
    LevelReport,
    closed_exceptions,
    levels_below,
    lowest_report,
)
from tracker.ledger.recorded import first_report_at, releases_recorded, reported_before
from tracker.statements.frame import Frame, ended_at, midnight
from tracker.statements.shapes import OpenException, ZoneLevel
from tracker.statements.words import date_words

_TICK = timedelta(microseconds=1)  # in which the ledger counts moments


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a zone stands: its holds, its permitted level, its deepest report."""

    zone: Zone
    decisions: tuple[HoldRelease, ...]
    status: dict[str, str]
    permitted_level_m: float
    lowest: LevelReport | None

    @property
    def in_breach(self) -> bool:
        """Whether the lowest level is below the permitted level now."""
        return (
            self.lowest is not None
            and breach(self.zone.zone, self.lowest.level_mm / 1000.0, self.permitted_level_m)
            is not None
        )


def standings(frame: Frame) -> list[Standing]:
    """Where every zone stands on the as-of date."""
    found = []
    for zone in frame.site.zones:
        mine = tuple(d for d in frame.decisions if d.zone == zone.zone)
        status = latest_status((d.hold, d.status) for d in mine)
        found.append(
            Standing(
                zone,
                mine,
                status,
                permitted_level(zone, frame.site.stages_of(zone.zone), status),
                lowest_report(frame.ledger, zone.zone, frame.as_of, frame.known_at),
            )
        )
    return found


def waits_for(frame: Frame, standing: Standing) -> str:
    """The next hold point of a zone in a sentence; empty when nothing is left to release."""
    above = "the permit to dig"
    for stage in frame.site.stages_of(standing.zone.zone):
        status = standing.status.get(str(stage.stage))
        if status == SUSPENDED:
            return f"Stage {stage.stage} is suspended: no digging until it is released again."
        if status != RELEASED:
            return f"Stage {stage.stage} (to {stage.design_level_m:.3f} m) waits for {above}."
        above = stage.support
    return _waits_for_formation(frame, standing)


def _waits_for_formation(frame: Frame, standing: Standing) -> str:
    formation_m = frame.site.formation_level_m(standing.zone.zone)
    area_m2, accepted = plan_area(standing.zone, formation_m), accepted_m2(standing)
    if accepted >= area_m2:
        return ""
    if accepted:
        return f"{accepted:,.0f} of {area_m2:,.0f} m² of formation inspected and accepted."
    lowest_m = standing.zone.ground_level_m
    if standing.lowest is not None:
        lowest_m = standing.lowest.level_mm / 1000.0
    if lowest_m <= formation_m:
        return f"Lowest point at formation, {formation_m:.3f} m: to be inspected and accepted."
    return (
        f"Released down to formation at {formation_m:.3f} m, {lowest_m - formation_m:.2f} m below"
        " its lowest point."
    )


def accepted_m2(standing: Standing) -> float:
    """Area of formation accepted: the latest decision says how much in all [m²]."""
    last = [d for d in standing.decisions if d.hold == FORMATION]
    if not last or last[-1].status != RELEASED:
        return 0.0
    return (last[-1].accepted_area_dm2 or 0) / 100.0


def zone_levels(frame: Frame, found: list[Standing]) -> tuple[ZoneLevel, ...]:
    """The level of each zone, as the Day statement shows it."""
    lines = []
    for standing in found:
        zone, lowest = standing.zone, standing.lowest
        released = [
            s.stage
            for s in frame.site.stages_of(zone.zone)
            if s.design_level_m >= standing.permitted_level_m
        ]
        lines.append(
            ZoneLevel(
                excavation=zone.excavation,
                zone=zone.zone,
                name=zone.name,
                ground_level_m=zone.ground_level_m,
                lowest_level_m=None if lowest is None else lowest.level_mm / 1000.0,
                lowest_on=None if lowest is None else lowest.work_date,
                permitted_level_m=standing.permitted_level_m,
                formation_level_m=frame.site.formation_level_m(zone.zone),
                stage=released[-1] if released else None,
                in_breach=standing.in_breach,
                waits_for=waits_for(frame, standing),
            )
        )
    return tuple(lines)


def open_breaches(frame: Frame, found: list[Standing]) -> tuple[OpenException, ...]:
    """Every report below the level permitted at the end of its shift, or now, not yet closed.

    What was below when it was recorded stays open, whatever release is recorded after it.
    """
    closed = closed_exceptions(frame.ledger, frame.known_at)
    breaches: dict[str, OpenException] = {}
    first = first_report_at(frame.ledger)
    for standing in found:
        for report, permitted_m in _reports_below(frame, standing, closed):
            breaches[report.entry_id] = _as_exception(report, permitted_m)
        if standing.in_breach and standing.lowest is not None:
            lowest, permitted_m = standing.lowest, standing.permitted_level_m
            since = _since_words(frame, standing)
            breaches.setdefault(lowest.entry_id, _as_exception(lowest, permitted_m, since))
        for report, permitted_m, afterwards in _released_afterwards(frame, standing, first):
            one = _as_exception(report, permitted_m, afterwards=afterwards)
            breaches.setdefault(report.entry_id, one)
    still = (one for about, one in breaches.items() if (BREACH_RULE, about) not in closed)
    return tuple(sorted(still, key=lambda b: (b.work_date, b.zone), reverse=True))


def all_clear(found: list[Standing]) -> str:
    """What a headline says while no breach is open."""
    below = [standing.zone.zone for standing in found if standing.in_breach]
    if not below:
        return "No zone is below its permitted level."
    return (
        f"No breach is open. Still below the permitted level, and closed with a reason: zone"
        f" {', '.join(below)}."
    )


def _as_exception(
    report: LevelReport, permitted_m: float, since: str = "", afterwards: str = ""
) -> OpenException:
    found = breach(report.zone, report.level_mm / 1000.0, permitted_m)
    sentence = str(found)
    if since and found:
        sentence = (
            f"Zone {report.zone}: lowest level {found.lowest_level_m:.3f} m lies"
            f" {found.depth_m:.3f} m below the level now permitted, {permitted_m:.3f} m, {since}."
            " Stop and ask the temporary works coordinator."
        )
    return OpenException(
        rule=BREACH_RULE,
        about=report.entry_id,
        kind=report.kind,
        work_date=report.work_date,
        zone=report.zone,
        sentence=f"{sentence} {afterwards}".rstrip(),
    )


def _since_words(frame: Frame, standing: Standing) -> str:
    """Since when a zone that was dug as permitted may be dug less deep, if a decision says so."""
    for stage in frame.site.stages_of(standing.zone.zone):
        hold = str(stage.stage)
        if standing.status.get(hold) == RELEASED:
            continue
        mine = [d for d in standing.decisions if d.hold == hold]
        if not mine:
            return ""
        done = "suspension" if mine[-1].status == SUSPENDED else "withdrawal of the release"
        return f"since the {done} of stage {hold} on {date_words(mine[-1].work_date)}"
    return ""


def _released_afterwards(
    frame: Frame, standing: Standing, first: datetime | None
) -> Iterator[tuple[LevelReport, float, str]]:
    """Reports below what was permitted when they were recorded, and what was released since."""
    zone = standing.zone.zone
    recorded = releases_recorded(frame.ledger, standing.decisions)
    for release in (d for d in standing.decisions if d.status == RELEASED):
        released_at = recorded[release.entry_id]
        if first is None or released_at <= first:
            continue
        before = [d for d in standing.decisions if _known(d, recorded, released_at - _TICK)]
        decided_on = _local_day(frame, release.decided_at)
        permitted_m = _permitted_at(frame, before, zone, release.decided_at, decided_on)
        for report, reported_at in reported_before(
            frame.ledger,
            zone,
            round(permitted_m * 1000),
            since=decided_on - timedelta(days=1),
            until=min(_local_day(frame, released_at), frame.as_of),
            recorded_before=released_at,
            known_at=frame.known_at,
        ):
            ended = ended_at(frame, report.shift, report.work_date)
            known = [d for d in standing.decisions if _known(d, recorded, reported_at)]
            permitted_m = _permitted_at(frame, known, zone, ended, report.work_date)
            if ended >= release.decided_at and breach(zone, report.level_mm / 1000.0, permitted_m):
                at = local_time(released_at, frame.site.time_zone)
                said = local_time(release.decided_at, frame.site.time_zone)
                yield (
                    report,
                    permitted_m,
                    f"Stage {release.hold} was released afterwards: recorded"
                    f" {date_words(at.date())} {at:%H:%M}, decided"
                    f" {date_words(said.date())} {said:%H:%M}.",
                )


def _known(decision: HoldRelease, recorded: Mapping[str, datetime], moment: datetime) -> bool:
    """Whether a decision counts for what was recorded at a moment.

    One that stops digging always does; a release that was recorded later does not.
    """
    return decision.status != RELEASED or recorded[decision.entry_id] <= moment


def _reports_below(
    frame: Frame, standing: Standing, closed: set[tuple[str, str]]
) -> list[tuple[LevelReport, float]]:
    """Reports not closed that were below the permitted level of their own time, with that level."""
    zone = standing.zone.zone
    found: dict[str, tuple[LevelReport, float]] = {}
    for since, until, shallowest_m in _stretches(frame, standing):
        for report in levels_below(
            frame.ledger,
            zone,
            round(shallowest_m * 1000),
            since=since,
            until=min(until, frame.as_of),
            known_at=frame.known_at,
        ):
            if (BREACH_RULE, report.entry_id) in closed:
                continue
            moment = ended_at(frame, report.shift, report.work_date)
            permitted_m = _permitted_at(frame, standing.decisions, zone, moment, report.work_date)
            if breach(zone, report.level_mm / 1000.0, permitted_m):
                found[report.entry_id] = (report, permitted_m)
    return list(found.values())


def _stretches(frame: Frame, standing: Standing) -> list[tuple[date, date, float]]:
    """(from, to, shallowest permitted level) between changes, so that each asks for few reports.

    On the day of a change and the day before, whose night shift runs into it, either level may
    have held; between those days only one did.
    """
    level_m, day = standing.zone.ground_level_m, frame.site.first_date
    out = []
    for moment, on in _changes(frame, standing):
        changed_m = _permitted_at(frame, standing.decisions, standing.zone.zone, moment, on)
        if changed_m == level_m:
            continue
        out.append((day, on - timedelta(days=2), level_m))
        out.append((on - timedelta(days=1), on, max(level_m, changed_m)))
        level_m, day = changed_m, on + timedelta(days=1)
    out.append((day, frame.as_of, level_m))
    return _joined([stretch for stretch in out if stretch[0] <= stretch[1]])


def _joined(stretches: list[tuple[date, date, float]]) -> list[tuple[date, date, float]]:
    """Stretches that follow each other at one level as one."""
    joined = stretches[:1]
    for since, until, level_m in stretches[1:]:
        if level_m == joined[-1][2]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], until), level_m)
        else:
            joined.append((since, until, level_m))
    return joined


def _changes(frame: Frame, standing: Standing) -> list[tuple[datetime, date]]:
    """When the permitted level may have changed: a hold was decided, or a set-up took force."""
    decided = [(d.decided_at, _local_day(frame, d.decided_at)) for d in standing.decisions]
    return sorted([*decided, *((midnight(frame, day), day) for day, _ in frame.set_ups[1:])])


def _permitted_at(
    frame: Frame, decisions: Iterable[HoldRelease], name: str, moment: datetime, day: date
) -> float:
    """The level that decisions permit in a zone at a moment, by the set-up of its work date."""
    status = latest_status((d.hold, d.status) for d in decisions if d.decided_at <= moment)
    zones = {z.zone: (z, site) for site in (frame.site, frame.site_on(day)) for z in site.zones}
    zone, site = zones[name]
    return permitted_level(zone, site.stages_of(name), status)


def _local_day(frame: Frame, moment: datetime) -> date:
    return local_time(moment, frame.site.time_zone).date()
