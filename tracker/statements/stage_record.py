"""Where every stage of every zone stands: what is left of it, when it was dug out, its hold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property

from tracker.domain.levels import RELEASED, SUSPENDED, overdig_split, reaches, stage_volume
from tracker.domain.site import Zone
from tracker.ledger.entries import DigReturn, HoldRelease
from tracker.ledger.questions import lowest_report
from tracker.ledger.totals import dug_amount
from tracker.statements.dug import dug_quantity
from tracker.statements.frame import Frame, ended_at
from tracker.statements.plans import plans_of
from tracker.statements.surveyed import ZoneDug, taken_to, zones_dug

LEFT_SHARE = 0.005  # of a stage: less than this is no ground to be dug; common practice, no source


@dataclass(frozen=True, slots=True)
class Returned:
    """A return with its bank volume above formation, and the end of its shift [UTC]."""

    entry: DigReturn
    net_m3: float
    ended_at: datetime


@dataclass(frozen=True, slots=True)
class StageRecord:
    """One stage: what is left to dig of it, when it was dug out, and the hold above it.

    A stage is dug out once the general level stands at its design level, once the stage below is
    being dug, or once its volume is dug. What its volume still lacks then is `trimming_m3`.
    """

    zone: str
    stage: int
    design_m3: float
    left_m3: float
    trimming_m3: float
    dug_out_at: datetime | None
    dug_out_on: date | None  # the work date
    above: str  # the support below the stage above, which this one waits for; empty for the first
    hold_days: int  # that it is planned to take
    status: str  # of its own hold: released | suspended | not released
    released: bool  # without a gap or a suspension from the top, and not early
    decisions: tuple[HoldRelease, ...]
    early: bool = False  # released although the stage above is not dug out

    @property
    def released_at(self) -> datetime | None:
        """When it was released first, if ever."""
        return next((d.decided_at for d in self.decisions if d.status == RELEASED), None)

    @property
    def suspended_at(self) -> datetime | None:
        """Since when it is suspended, if it is."""
        return self.decisions[-1].decided_at if self.status == SUSPENDED else None


@dataclass(frozen=True)
class SiteRecord:
    """All stages by zone, from the top down, with the returns and volumes behind them."""

    frame: Frame
    returns: tuple[Returned, ...]  # by the end of their shift
    volumes: Mapping[str, ZoneDug]
    stages: Mapping[str, tuple[StageRecord, ...]] = field(repr=False)

    @cached_property
    def _planned(self) -> dict[tuple[str, int], date]:
        plan = plans_of(self.frame)[-1]
        dated = {(s.zone, s.stage): plan.stage(s.zone, s.stage) for s in self.frame.site.stages}
        return {place: dates.starts for place, dates in dated.items() if dates is not None}

    def planned_start(self, zone: str, stage: int) -> date:
        """When the current plan has a stage begin; what it does not know comes last."""
        return self._planned.get((zone, stage), date.max)

    def ahead(self, zone: str) -> tuple[StageRecord, ...]:
        """The stages of a zone that are still to be dug."""
        return tuple(s for s in self.stages[zone] if s.dug_out_at is None)

    def digging_at(self, zone: str, moment: datetime) -> StageRecord | None:
        """The stage of a zone that could be dug at a moment: released, with ground left."""
        for stage in self.stages[zone]:
            then = [d.status for d in stage.decisions if d.decided_at <= moment]
            if not then or then[-1] != RELEASED:
                return None
            if stage.dug_out_at is None or stage.dug_out_at > moment:
                return stage
        return None


def site_record(frame: Frame) -> SiteRecord:
    """Where the stages of a site stand at the moment of a statement."""
    returns = _returned(frame)
    volumes = zones_dug(frame, taken_to(frame))
    of_zone: dict[str, list[Returned]] = defaultdict(list)
    for one in returns:
        of_zone[one.entry.zone].append(one)
    stages = {
        zone.zone: _stages(frame, zone, volumes[zone.zone], of_zone[zone.zone])
        for zone in frame.site.zones
    }
    return SiteRecord(frame, returns, volumes, stages)


def _returned(frame: Frame) -> tuple[Returned, ...]:
    """Returns to the as-of date. One unit of a stream and basis is converted once a set-up."""
    per_unit: dict[tuple[int, str, str], float] = {}
    formation_m = {z.zone: frame.site.formation_level_m(z.zone) for z in frame.site.zones}
    found = []
    entries = frame.ledger.current("dig_returns", known_at=frame.known_at, until=frame.as_of)
    for entry in entries:
        if entry.zone not in formation_m:
            continue
        net_m3 = 0.0
        measure, amount = dug_amount(entry)
        if measure:
            site = frame.site_on(entry.work_date)
            key = (id(site), entry.stream, entry.basis)
            if key not in per_unit:
                million = dug_quantity(site, entry.stream, measure.split("_")[1], 1_000_000)
                per_unit[key] = million.bank_m3 / 1e6
            net_m3 = _above_formation(entry, amount * per_unit[key], formation_m[entry.zone])
        found.append(Returned(entry, net_m3, ended_at(frame, entry.shift, entry.work_date)))
    return tuple(sorted(found, key=lambda one: one.ended_at))


def _above_formation(entry: DigReturn, bank_m3: float, formation_m: float) -> float:
    """What a return dug above formation [m³ bank]: overdig earns nothing."""
    top, bottom = entry.from_level_mm, entry.to_level_mm
    if top is None or bottom is None or bottom >= round(formation_m * 1000):
        return bank_m3
    return overdig_split(bank_m3, top / 1000.0, bottom / 1000.0, formation_m).net_m3


def _stages(
    frame: Frame, zone: Zone, volume: ZoneDug, returns: Sequence[Returned]
) -> tuple[StageRecord, ...]:
    stages = frame.site.stages_of(zone.zone)
    decided = [d for d in frame.decisions if d.zone == zone.zone]
    out = _dug_out(frame, zone, volume, returns)
    found: list[StageRecord] = []
    lowest_m = _lowest_m(frame, zone)
    chain, above, hold_days, above_out = True, "", 0, True
    for stage in stages:
        mine = tuple(d for d in decided if d.hold == str(stage.stage))
        status = mine[-1].status if mine else "not released"
        early = status == RELEASED and not above_out
        chain = chain and status == RELEASED and not early
        design_m3 = stage_volume(zone, stages, stage.stage)
        lacking_m3 = max(0.0, design_m3 - volume.by_stage_m3.get(stage.stage, 0.0))
        moment, day = out.get(stage.stage, (None, None))
        left_m3, trimming_m3 = (lacking_m3, 0.0) if moment is None else (0.0, lacking_m3)
        found.append(
            StageRecord(
                zone.zone,
                stage.stage,
                design_m3,
                left_m3,
                trimming_m3,
                moment,
                day,
                above,
                hold_days,
                status,
                chain,
                mine,
                early,
            )
        )
        above, hold_days = stage.support, stage.hold_days
        above_out = moment is not None or reaches(lowest_m, stage.design_level_m)
    return tuple(found)


def _lowest_m(frame: Frame, zone: Zone) -> float | None:
    lowest = lowest_report(frame.ledger, zone.zone, frame.as_of, frame.known_at)
    return None if lowest is None else lowest.level_mm / 1000.0


def _dug_out(
    frame: Frame, zone: Zone, volume: ZoneDug, returns: Sequence[Returned]
) -> dict[int, tuple[datetime, date]]:
    """Stage -> when it was dug out, and on which work date; those that are."""
    stages = frame.site.stages_of(zone.zone)
    found: dict[int, tuple[datetime, date]] = {}
    for one in returns:
        level_mm = one.entry.to_level_mm
        for stage in stages:
            reached = level_mm is not None and level_mm <= round(stage.design_level_m * 1000)
            deeper = one.net_m3 > 0.0 and one.entry.stage > stage.stage
            if stage.stage not in found and (reached or deeper):
                found[stage.stage] = (one.ended_at, one.entry.work_date)
    for stage in stages:
        design_m3 = stage_volume(zone, stages, stage.stage)
        dug_m3 = volume.by_stage_m3.get(stage.stage, 0.0)
        if stage.stage not in found and dug_m3 >= design_m3 * (1.0 - LEFT_SHARE):
            found[stage.stage] = _by_volume(stage.stage, volume, returns, frame)
    return found


def _by_volume(
    stage: int, volume: ZoneDug, returns: Sequence[Returned], frame: Frame
) -> tuple[datetime, date]:
    """When a stage was dug out that no level says so of: its last return, else the survey."""
    mine = [one for one in returns if one.entry.stage == stage and one.net_m3 > 0.0]
    if mine:
        return mine[-1].ended_at, mine[-1].entry.work_date
    if volume.survey is not None:
        return volume.survey.entry.surveyed_at, volume.survey.entry.work_date
    return frame.moment, frame.as_of
