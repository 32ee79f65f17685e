"""Dug volume of each zone: by its last survey to that moment, and by the returns after it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from tracker.domain.levels import overdig_split, plan_area
from tracker.domain.site import Zone
from tracker.domain.surface.net import Net, ground_dug
from tracker.domain.surface.reduced import ReducedSurvey
from tracker.domain.surface.site_survey import dug_by_stage
from tracker.domain.surface.volumes import ABOVE, BELOW
from tracker.domain.survey_check import BELOW_FORMATION, returned_u_m3
from tracker.ledger.entries import DigReturn
from tracker.ledger.questions import general_levels, returns_below
from tracker.ledger.surveys import Taken, ground_before, taken_surveys
from tracker.ledger.totals import dug_amount
from tracker.statements.dug import DugSum, dug, dug_quantity, ended_after
from tracker.statements.frame import Frame
from tracker.statements.words import date_words

REPORTED, SURVEYED, FROM_VOLUME = "reported", "surveyed", "from volume"


@dataclass(frozen=True, slots=True)
class ZoneDug:
    """What was dug of one zone [m³ bank]: net of overdig, with the survey it rests on, if any."""

    zone: str
    net_m3: float
    overdig_m3: float
    u_m3: float
    by_stage_m3: Mapping[int, float]
    by_metre_m3: Mapping[int, float]  # the whole metre at the bottom of each band
    unplaced_m3: float  # by returns that state no levels
    survey: Taken | None
    since_m3: float  # of `net_m3` and `overdig_m3`, what was returned after the survey
    level_m: float
    level_basis: str


def zones_dug(frame: Frame, taken: Sequence[Taken]) -> dict[str, ZoneDug]:
    """What was dug of every zone of the set-up."""
    base = _last_of_zones(frame, taken)
    groups: dict[str, list[str]] = defaultdict(list)
    for zone in frame.site.zones:
        survey = base.get(zone.zone)
        groups[survey.entry.entry_id if survey else ""].append(zone.zone)
    found: dict[str, ZoneDug] = {}
    for names in groups.values():
        survey = base.get(names[0])
        returned = _Returned.after(frame, survey)
        for name in names:
            zone = frame.site.zone(name)
            found[name] = (
                _by_returns(frame, zone, returned)
                if survey is None
                else _by_survey(frame, zone, survey, taken, returned)
            )
    return found


def _last_of_zones(frame: Frame, taken: Sequence[Taken]) -> dict[str, Taken]:
    """Zone -> the last survey of dug ground that covers it whole."""
    return {
        zone: survey
        for survey in taken
        if not survey.entry.original_ground
        for zone in survey.whole
    }


@dataclass(frozen=True, slots=True)
class _Returned:
    """What the returns say by (zone, stage, band), all of them or those after a survey."""

    sums: Mapping[tuple[str, int, str], DugSum]
    general_mm: Mapping[str, int]
    since: date
    also: tuple[DigReturn, ...]

    @classmethod
    def after(cls, frame: Frame, survey: Taken | None) -> _Returned:
        since = frame.site.first_date
        also: tuple[DigReturn, ...] = ()
        if survey is not None:
            entry = survey.entry
            since = entry.work_date + timedelta(days=1)
            also = tuple(ended_after(frame, entry.surveyed_at, entry.work_date))
        general = general_levels(frame.ledger, frame.as_of, frame.known_at, since)
        for one in also:
            if one.to_level_mm is not None:
                general[one.zone] = min(general.get(one.zone, one.to_level_mm), one.to_level_mm)
        sums = dug(frame, ("zone", "stage", "detail"), since=since, also=also)
        return cls(sums, general, since, also)

    def of_zone(self, zone: str) -> DugSum:
        total = DugSum()
        for (name, _, _), part in self.sums.items():
            if name == zone:
                total.include(part)
        return total

    def unplaced_m3(self, zone: str) -> float:
        return sum(
            p.bank_m3 for (name, _, band), p in self.sums.items() if name == zone and not band
        )

    def of_stages(self, zone: str) -> dict[int, float]:
        found: dict[int, float] = defaultdict(float)
        for (name, stage, _), part in self.sums.items():
            if name == zone:
                found[stage] += part.bank_m3
        return found

    def of_metres(self, zone: str) -> dict[int, float]:
        found: dict[int, float] = defaultdict(float)
        for (name, _, band), part in self.sums.items():
            if name == zone and band:
                found[int(band)] += part.bank_m3
        return found

    def overdig_m3(self, frame: Frame, zone: str) -> float:
        """Bank volume dug below formation, from the few returns that went there."""
        formation_m = frame.site.formation_level_m(zone)
        below = returns_below(
            frame.ledger, zone, round(formation_m * 1000), frame.as_of, frame.known_at
        )
        known = {entry.entry_id for entry in self.also}
        return sum(
            _overdig_of(frame, entry, formation_m)
            for entry in below
            if entry.work_date >= self.since or entry.entry_id in known
        )


def _overdig_of(frame: Frame, entry: DigReturn, formation_m: float) -> float:
    measure, amount = dug_amount(entry)
    if not measure or entry.from_level_mm is None or entry.to_level_mm is None:
        return 0.0
    site = frame.site_on(entry.work_date)
    quantity = dug_quantity(site, entry.stream, measure.split("_")[1], amount)
    levels_m = (entry.from_level_mm / 1000.0, entry.to_level_mm / 1000.0)
    return overdig_split(quantity.bank_m3, *levels_m, formation_m).overdig_m3


def _by_returns(frame: Frame, zone: Zone, returned: _Returned) -> ZoneDug:
    name = zone.zone
    total = returned.of_zone(name)
    overdig_m3 = returned.overdig_m3(frame, name)
    level_m, how = zone.ground_level_m - total.bank_m3 / plan_area(zone, zone.ground_level_m), ""
    if name in returned.general_mm:
        level_m, how = returned.general_mm[name] / 1000.0, REPORTED
    return ZoneDug(
        zone=name,
        net_m3=total.bank_m3 - overdig_m3,
        overdig_m3=overdig_m3,
        u_m3=total.u_bank_m3,
        by_stage_m3=returned.of_stages(name),
        by_metre_m3=returned.of_metres(name),
        unplaced_m3=returned.unplaced_m3(name),
        survey=None,
        since_m3=total.bank_m3,
        level_m=level_m,
        level_basis=how or FROM_VOLUME,
    )


def _by_survey(
    frame: Frame, zone: Zone, survey: Taken, taken: Sequence[Taken], returned: _Returned
) -> ZoneDug:
    name, entry = zone.zone, survey.entry
    ground = ground_before(frame.site, zone.excavation, taken, entry.surveyed_at)[name]
    stages = dug_by_stage(frame.site, name, ground, survey.reduced)
    whole, below = sum(stages.values(), Net()), stages[BELOW_FORMATION].net_m3
    later = returned.of_zone(name)
    overdig_m3 = returned.overdig_m3(frame, name)
    u_later_m3 = returned_u_m3(later.by_basis_m3, later.u_bank_m3)
    level_m, how = _mean_level(survey.reduced, name), SURVEYED
    if name in returned.general_mm:
        level_m, how = returned.general_mm[name] / 1000.0, REPORTED
    by_stage = {stage: net.net_m3 for stage, net in stages.items() if stage != BELOW_FORMATION}
    return ZoneDug(
        zone=name,
        net_m3=whole.net_m3 - below + later.bank_m3 - overdig_m3,
        overdig_m3=max(below, 0.0) + overdig_m3,
        u_m3=math.hypot(whole.uncertainty.combined_m3, u_later_m3),
        by_stage_m3=_sum_of(by_stage, returned.of_stages(name)),
        by_metre_m3=_sum_of(_by_metre(zone, ground, survey), returned.of_metres(name)),
        unplaced_m3=returned.unplaced_m3(name),
        survey=survey,
        since_m3=later.bank_m3,
        level_m=level_m,
        level_basis=how,
    )


def _mean_level(survey: ReducedSurvey, zone: str) -> float:
    table = survey.table.only([zone])
    return float(table.level_integral_m3[0] / table.area_m2[0])


def _by_metre(zone: Zone, ground: ReducedSurvey, survey: Taken) -> dict[int, float]:
    """Net volume by whole metre, named by its bottom; the outermost take all that lies beyond."""
    metres = [float(m) for m in survey.reduced.table.levels_m if m == round(m)]
    edges = [ABOVE, *reversed(metres[1:-1]), BELOW]
    nets = ground_dug(ground, survey.reduced, zone, edges)
    bottoms = reversed(metres[:-1])
    return {
        int(bottom): net.net_m3
        for bottom, net in zip(bottoms, nets, strict=True)
        if abs(net.net_m3) > 1e-6
    }


def _sum_of(one: Mapping[int, float], other: Mapping[int, float]) -> dict[int, float]:
    return {key: one.get(key, 0.0) + other.get(key, 0.0) for key in {*one, *other}}


def survey_lines(frame: Frame, zones: Mapping[str, ZoneDug]) -> list[str]:
    """What the dug volume of each excavation and its ± rest on, in sentences."""
    lines = []
    for excavation in frame.site.excavations:
        mine = [zones[z.zone] for z in frame.site.zones_of(excavation.excavation)]
        for entry_id in dict.fromkeys(z.survey.entry.entry_id for z in mine if z.survey):
            of_it = [z for z in mine if z.survey and z.survey.entry.entry_id == entry_id]
            lines.append(_survey_line(excavation.name, of_it))
    if any(zone.survey is None for zone in zones.values()):
        names = ", ".join(zone.zone for zone in zones.values() if zone.survey is None)
        lines.append(f"Zone {names}: by returns alone; the ± covers the conversion factors only.")
    if any(zone.survey is not None for zone in zones.values()):
        lines.append(
            "The ± of a surveyed zone covers the survey (points, level, wall line, interpolation)"
            " and the returns after it; zones add up in full."
        )
    return lines


def _survey_line(excavation: str, zones: Sequence[ZoneDug]) -> str:
    survey = zones[0].survey
    assert survey is not None, "grouped by survey"
    entry, between = survey.entry, survey.between
    since_m3 = sum(zone.since_m3 for zone in zones)
    near = (
        f" It was not reduced at {', '.join(f'{level:.3f}' for level in between[:3])} m, levels of"
        " a later set-up: volumes there are near; record its file anew to have them exactly."
        if between
        else ""
    )
    return (
        f"{excavation}, zone {', '.join(zone.zone for zone in zones)}: by survey {entry.survey} of"
        f" {date_words(entry.work_date)}, then {since_m3:,.0f} m³ by returns after it.{near}"
    )


def taken_to(frame: Frame) -> list[Taken]:
    """Surveyed surfaces that a statement may rest on, oldest first."""
    return taken_surveys(frame.ledger, frame.site, frame.as_of, frame.known_at)
