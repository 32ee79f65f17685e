"""Progress to formation: where each zone stands against its design dig levels."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from shapely.geometry import Polygon

from tracker.domain.calendar import local_time
from tracker.domain.levels import (
    FORMATION,
    RELEASED,
    design_volume,
    plan_area,
    stage_tops,
    stage_volume,
)
from tracker.domain.site import Stage, Zone
from tracker.ledger.questions import first_reached
from tracker.statements.curve import curve
from tracker.statements.dug import DugSum, basis_shares, dug
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.levels import (
    Standing,
    accepted_m2,
    all_clear,
    open_breaches,
    standings,
    waits_for,
)
from tracker.statements.plans import Plan, plans_of
from tracker.statements.shapes import (
    BandLine,
    ExcavationProgress,
    GroundLine,
    OpenException,
    ProfilePoint,
    ProgressStatement,
    StageProgress,
    ZoneProgress,
)
from tracker.statements.survey_picture import survey_picture, zone_profile
from tracker.statements.surveyed import (
    FROM_VOLUME,
    ZoneDug,
    survey_lines,
    taken_to,
    zones_dug,
)

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

_Point = tuple[float, float]


def progress_statement(
    ledger: LedgerReads, as_of: date, *, known_at: datetime | None = None
) -> ProgressStatement:
    """The three progress figures by excavation, and every zone and stage behind them.

    Raises NotEnoughData if the ledger has no set-up.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        found = standings(frame)
        taken = taken_to(frame)
        volumes = zones_dug(frame, taken)
        plan = plans_of(frame)[-1]
        zones = tuple(_zone(frame, s, volumes[s.zone.zone], plan) for s in found)
        quality = [*survey_lines(frame, volumes), *_quality(frame, volumes)]
        breaches = open_breaches(frame, found)
        excavations = tuple(
            _excavation(
                frame, e.excavation, zones, _first_line(frame, e.excavation, found, breaches)
            )
            for e in frame.site.excavations
        )
        return ProgressStatement(
            basis=basis(frame, frame.site.first_date, quality=quality),
            headline=breaches[0].sentence if breaches else _headline(all_clear(found), excavations),
            excavations=excavations,
            zones=zones,
            bands=_bands(frame, volumes),
            curve=curve(frame, taken, plan),
            stream_names=tuple((s.stream, s.name) for s in frame.site.streams),
        )


def _zone(frame: Frame, standing: Standing, volume: ZoneDug, plan: Plan) -> ZoneProgress:
    zone = standing.zone
    formation_m = frame.site.formation_level_m(zone.zone)
    axis = _Axis.of(frame, zone.excavation)
    along = axis.span_m(zone)
    lowest, survey = standing.lowest, volume.survey
    return ZoneProgress(
        excavation=zone.excavation,
        zone=zone.zone,
        name=zone.name,
        along_from_m=along[0],
        along_to_m=along[1],
        area_m2=plan_area(zone, formation_m),
        ground_level_m=zone.ground_level_m,
        formation_level_m=formation_m,
        permitted_level_m=standing.permitted_level_m,
        general_level_m=volume.level_m,
        general_basis=volume.level_basis,
        lowest_level_m=None if lowest is None else lowest.level_mm / 1000.0,
        lowest_on=None if lowest is None else lowest.work_date,
        in_breach=standing.in_breach,
        design_bank_m3=design_volume(zone, zone.ground_level_m, formation_m),
        dug_net_m3=volume.net_m3,
        u_dug_m3=volume.u_m3,
        overdig_m3=volume.overdig_m3,
        survey="" if survey is None else survey.entry.survey,
        surveyed_on=None if survey is None else survey.entry.work_date,
        since_survey_m3=None if survey is None else volume.since_m3,
        profile=axis.profile(frame, zone, volume),
        accepted_m2=accepted_m2(standing),
        ground=tuple(
            GroundLine(g.upper_level_m, g.lower_level_m, g.stream)
            for g in frame.site.ground_of(zone.zone)
        ),
        stages=_stages(frame, standing, volume, plan),
        waits_for=waits_for(frame, standing),
    )


@dataclass(frozen=True, slots=True)
class _Axis:
    """The long axis of an excavation, and where its distances count from [m]."""

    direction: _Point
    start_m: float

    @classmethod
    def of(cls, frame: Frame, excavation: str) -> _Axis:
        corners = [p for z in frame.site.zones_of(excavation) for p in z.outline]
        direction = _long_axis(corners)
        return cls(direction, min(_dot(p, direction) for p in corners))

    def span_m(self, zone: Zone) -> _Point:
        """Extent of a zone along the axis."""
        along = [_dot(p, self.direction) - self.start_m for p in zone.outline]
        return min(along), max(along)

    def profile(self, frame: Frame, zone: Zone, volume: ZoneDug) -> tuple[ProfilePoint, ...]:
        """Levels along a zone by the survey that its volume rests on."""
        if volume.survey is None:
            return ()
        picture = survey_picture(frame.ledger, volume.survey.entry.entry_id)
        return zone_profile(picture, zone.zone, self.direction, self.start_m, self.span_m(zone))


def _long_axis(corners: list[_Point]) -> _Point:
    """Unit vector along the longer side of the smallest rectangle around the corners."""
    ring = list(Polygon(corners).minimum_rotated_rectangle.boundary.coords)
    sides = [(ring[i + 1][0] - ring[i][0], ring[i + 1][1] - ring[i][1]) for i in (0, 1)]
    dx, dy = max(sides, key=lambda side: math.hypot(*side))
    length = math.hypot(dx, dy)
    axis = (dx / length, dy / length)
    return axis if axis > (0.0, 0.0) else (-axis[0], -axis[1])


def _dot(point: _Point, axis: _Point) -> float:
    return point[0] * axis[0] + point[1] * axis[1]


def _stages(
    frame: Frame, standing: Standing, volume: ZoneDug, plan: Plan
) -> tuple[StageProgress, ...]:
    zone = standing.zone
    stages = frame.site.stages_of(zone.zone)
    holds = [*(str(s.stage) for s in stages[1:]), FORMATION]
    zone_name = frame.site.time_zone
    decided = {d.hold: local_time(d.decided_at, zone_name).date() for d in standing.decisions}
    return tuple(
        _stage(frame, standing, stage, top, following, decided, volume, plan)
        for (stage, top), following in zip(stage_tops(zone, stages), holds, strict=True)
    )


def _stage(
    frame: Frame,
    standing: Standing,
    stage: Stage,
    top_m: float,
    following: str,
    decided: Mapping[str, date],
    volume: ZoneDug,
    plan: Plan,
) -> StageProgress:
    zone, hold = standing.zone, str(stage.stage)
    reached_on = first_reached(
        frame.ledger, zone.zone, round(stage.design_level_m * 1000), frame.as_of, frame.known_at
    )
    planned = plan.stage(zone.zone, stage.stage)
    return StageProgress(
        excavation=zone.excavation,
        zone=zone.zone,
        stage=stage.stage,
        top_level_m=top_m,
        design_level_m=stage.design_level_m,
        support=stage.support,
        hold_days=stage.hold_days,
        status=standing.status.get(hold, "not released"),
        decided_on=decided.get(hold),
        reached=reached_on is not None,
        reached_on=reached_on,
        support_released=standing.status.get(following) == RELEASED,
        planned_start=planned.starts if planned else stage.planned_start,
        planned_finish=planned.finishes if planned else stage.planned_finish,
        design_bank_m3=stage_volume(zone, frame.site.stages_of(zone.zone), stage.stage),
        dug_bank_m3=volume.by_stage_m3.get(stage.stage, 0.0),
    )


def _excavation(
    frame: Frame, excavation: str, zones: tuple[ZoneProgress, ...], headline: str
) -> ExcavationProgress:
    mine = [z for z in zones if z.excavation == excavation]
    stages = [s for z in mine for s in z.stages]
    described = frame.site.excavation(excavation)
    return ExcavationProgress(
        excavation=excavation,
        name=described.name,
        kind=described.kind,
        target_formation=described.target_formation,
        design_bank_m3=sum(z.design_bank_m3 for z in mine),
        dug_net_m3=sum(z.dug_net_m3 for z in mine),
        u_dug_m3=sum(z.u_dug_m3 for z in mine),  # one factor errs alike in every zone
        overdig_m3=sum(z.overdig_m3 for z in mine),
        stages_total=len(stages),
        stages_released=sum(s.status == RELEASED for s in stages),
        stages_reached=sum(s.reached for s in stages),
        formation_m2=sum(z.area_m2 for z in mine),
        accepted_m2=sum(z.accepted_m2 for z in mine),
        headline=headline,
    )


def _first_line(
    frame: Frame, excavation: str, found: list[Standing], breaches: tuple[OpenException, ...]
) -> str:
    """The most important sentence on one excavation: its own breach, or that there is none."""
    mine = [s for s in found if s.zone.excavation == excavation]
    names = {s.zone.zone for s in mine}
    own = [breach.sentence for breach in breaches if breach.zone in names]
    return own[0] if own else f"{frame.site.excavation(excavation).name}. {all_clear(mine)}"


def _bands(frame: Frame, volumes: Mapping[str, ZoneDug]) -> tuple[BandLine, ...]:
    """Whole-metre bands of each zone from the ground down, and what was dug below formation."""
    lines = []
    for zone in frame.site.zones:
        formation_m = frame.site.formation_level_m(zone.zone)
        dug_in = volumes[zone.zone].by_metre_m3
        metres = range(math.ceil(zone.ground_level_m) - 1, math.floor(formation_m) - 1, -1)
        for metre in sorted({*metres, *dug_in}, reverse=True):
            upper, lower = min(metre + 1.0, zone.ground_level_m), max(float(metre), formation_m)
            design_m3 = design_volume(zone, upper, lower) if upper > lower else 0.0
            lines.append(
                BandLine(
                    zone.excavation,
                    zone.zone,
                    metre + 1.0,
                    float(metre),
                    design_m3,
                    dug_in.get(metre, 0.0),
                )
            )
    return tuple(lines)


def _quality(frame: Frame, volumes: Mapping[str, ZoneDug]) -> list[str]:
    lines = [basis_shares(dug(frame).get((), DugSum()))]
    unplaced = sum(volume.unplaced_m3 for volume in volumes.values())
    if unplaced > 0.5:
        lines.append(f"{unplaced:,.0f} m³ was dug by returns without levels: in no level band.")
    stages = {(s.zone, s.stage) for s in frame.site.stages}
    gone = {
        place: total.bank_m3
        for place, total in dug(frame, ("zone", "stage")).items()
        if place not in stages
    }
    if gone:
        where = ", ".join(f"{zone} stage {stage}" for zone, stage in gone)
        lines.append(
            f"{sum(gone.values()):,.0f} m³ was dug where this set-up has no zone or stage: {where}."
        )
    by_volume = [v.zone for v in volumes.values() if v.level_basis == FROM_VOLUME and v.net_m3 > 0]
    if by_volume:
        lines.append(f"No level reported for zone {', '.join(by_volume)}: drawn from its volume.")
    return lines


def _headline(clear: str, excavations: tuple[ExcavationProgress, ...]) -> str:
    parts = [
        f"{e.name}: {100.0 * e.dug_net_m3 / e.design_bank_m3:.0f} % of the design volume dug,"
        f" {e.stages_reached} of {e.stages_total} stages reached"
        for e in excavations
    ]
    return f"{clear} {'; '.join(parts)}."
