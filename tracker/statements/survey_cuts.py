"""The moments at which what was dug is known: every zone surveyed, or not dug since it was.

A survey is a surveyed surface, or a volume to date that a surveyor typed in zone by zone; where
both speak of a zone on one day, the surface wins. Surveys of one day count as one, at its last
moment. A volume is laid out over the streams by the ground bands of the set-up: that of a surface
between the levels of the bands, that of a typed one from the top down, as if the floor were level.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import pairwise

import numpy as np

from tracker.domain.levels import design_volume, plan_area
from tracker.domain.reconcile.usual import (
    U_BAND_LEVEL_M,
    U_LEVEL_M,
    U_TYPED_LEVEL_M,
    u_of_level_floor_m3,
)
from tracker.domain.site import GroundBand, Site, Zone
from tracker.domain.surface.net import Net, ground_dug
from tracker.domain.surface.reduced import ReducedSurvey, at_levels
from tracker.domain.surface.volumes import ABOVE, BELOW
from tracker.ledger.entries import SurveyLevel
from tracker.ledger.surveys import Taken, ground_before
from tracker.statements.frame import Frame
from tracker.statements.surveyed import taken_to


@dataclass(frozen=True, slots=True)
class ZoneVolume:
    """Bank volume dug of a zone to a survey, by stream, and what it may be off by [m³].

    `u_own_m3` is that of this survey alone, apart from the level that it shares with other zones;
    `u_split_m3` what it may put into the wrong one of two streams, since the floor is not level;
    `floor` is the stream that lies open.
    """

    by_stream_m3: Mapping[str, float]
    area_m2: float
    floor: str
    u_own_m3: float
    u_level_m: float
    u_split_m3: Mapping[str, float]


@dataclass(slots=True)
class SurveyDay:
    """All that was surveyed on one day."""

    work_date: date
    at: datetime
    names: list[str] = field(default_factory=list)
    zones: dict[str, ZoneVolume] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Cut:
    """A moment at which the dug volume of the whole site is known, by stream [m³ bank].

    What may be in the wrong stream: `u_split_m3` at this survey and no longer at the next;
    `u_border_m3` for good, where the floor has passed the border between two of them.
    """

    work_date: date
    at: datetime
    names: tuple[str, ...]
    by_stream_m3: Mapping[str, float]
    floor_m2: Mapping[str, float]  # plan area surveyed on this day, by the stream that lies open
    u_split_m3: Mapping[str, float]
    u_border_m3: Mapping[str, float]
    u_level_m: float  # of the whole survey, with what each zone errs by itself


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A day on which something was surveyed, and the zones that had been dug and were not."""

    work_date: date
    names: tuple[str, ...]
    missing: tuple[str, ...]


def survey_days(frame: Frame) -> list[SurveyDay]:
    """What was surveyed, day by day."""
    days: dict[date, SurveyDay] = {}
    for entry in _typed(frame):
        day = _day(days, entry.work_date, entry.surveyed_at, entry.survey)
        zone = frame.site.zone(entry.zone)
        day.zones[entry.zone] = typed_volume(frame.site, zone, (entry.dug_bank_l or 0) / 1000.0)
    taken = taken_to(frame)
    for survey in taken:
        if survey.entry.original_ground or not survey.whole:
            continue
        day = _day(days, survey.entry.work_date, survey.entry.surveyed_at, survey.entry.survey)
        day.zones |= surface_volumes(frame.site, taken, survey)
    return sorted(days.values(), key=lambda day: day.at)


def _typed(frame: Frame) -> list[SurveyLevel]:
    found: list[SurveyLevel] = frame.ledger.current(
        "survey_levels", known_at=frame.known_at, until=frame.as_of
    )
    known = {zone.zone for zone in frame.site.zones}
    with_volume = [e for e in found if e.dug_bank_l is not None and e.zone in known]
    return sorted(with_volume, key=lambda entry: entry.surveyed_at)


def _day(days: dict[date, SurveyDay], on: date, at: datetime, name: str) -> SurveyDay:
    day = days.setdefault(on, SurveyDay(on, at))
    day.at = max(day.at, at)
    if name not in day.names:
        day.names.append(name)
    return day


# --- a volume over the streams -------------------------------------------------------------------
def typed_volume(site: Site, zone: Zone, dug_m3: float) -> ZoneVolume:
    """A typed volume laid over the ground bands from the top down; the last takes what is left."""
    bands = site.ground_of(zone.zone)
    by_stream: dict[str, float] = defaultdict(float)
    left_m3, floor, level_m = dug_m3, bands[0].stream, zone.ground_level_m
    for place, band in enumerate(bands):
        top_m = min(band.upper_level_m, zone.ground_level_m)
        last = place == len(bands) - 1
        holds_m3 = math.inf if last else design_volume(zone, top_m, band.lower_level_m)
        part_m3 = left_m3 if last else min(left_m3, holds_m3)
        by_stream[band.stream] += part_m3
        left_m3 -= part_m3
        floor = band.stream
        level_m = top_m - part_m3 / plan_area(zone, top_m)
        if left_m3 <= 0.0 and part_m3 < holds_m3:
            break
    area_m2 = plan_area(zone, level_m)
    split_m3 = _split(bands, area_m2, level_m)
    own_m3 = U_TYPED_LEVEL_M * area_m2
    return ZoneVolume(dict(by_stream), area_m2, floor, own_m3, U_LEVEL_M, split_m3)


def _split(bands: Sequence[GroundBand], area_m2: float, level_m: float) -> dict[str, float]:
    """What may be in the wrong one of the two streams at the border nearest to a level [m³].

    Tickets name the stream by the general level, also where the floor is not level.
    """
    borders = [
        (abs(level_m - upper.lower_level_m), upper.stream, lower.stream)
        for upper, lower in pairwise(bands)
        if upper.stream != lower.stream
    ]
    if not borders:
        return {}
    distance_m, *streams = min(borders)
    return dict.fromkeys(streams, u_of_level_floor_m3(area_m2, distance_m))


def surface_volumes(site: Site, taken: Sequence[Taken], survey: Taken) -> dict[str, ZoneVolume]:
    """What a surveyed surface says was dug since the ground before, zone by zone."""
    entry = survey.entry
    others = [other for other in taken if other is not survey]
    ground = ground_before(site, entry.excavation, others, entry.surveyed_at)
    return {
        zone: _surface_volume(site, site.zone(zone), ground[zone], survey.reduced)
        for zone in survey.whole
        if zone in ground
    }


def _surface_volume(
    site: Site, zone: Zone, before: ReducedSurvey, after: ReducedSurvey
) -> ZoneVolume:
    bands = site.ground_of(zone.zone)
    borders = [band.lower_level_m for band in bands[:-1]]
    # Between its own levels a reduced survey is near, not exact; the sum of the bands is exact.
    levels = np.union1d(after.table.levels_m, borders) if borders else after.table.levels_m
    one, other = (at_levels(s.only([zone.zone]), levels)[0] for s in (before, after))
    nets = ground_dug(one, other, zone, (ABOVE, *borders, BELOW))
    by_stream: dict[str, float] = defaultdict(float)
    for band, net in zip(bands, nets, strict=True):
        by_stream[band.stream] += net.net_m3
    area_m2 = float(other.table.area_m2[0])
    mean_m = float(other.table.level_integral_m3[0]) / area_m2
    deepest = next((b.stream for b in bands if mean_m >= b.lower_level_m), bands[-1].stream)
    u = sum(nets, Net()).uncertainty
    own_m3 = math.hypot(u.random_m3, u.interpolation_m3 or 0.0)
    split_m3 = _split(bands, area_m2, mean_m)
    u_level_m = after.accuracy.datum_u_m
    return ZoneVolume(dict(by_stream), area_m2, deepest, own_m3, u_level_m, split_m3)


# --- cuts ----------------------------------------------------------------------------------------
def survey_cuts(
    days: Iterable[SurveyDay], dug: Iterable[tuple[datetime, str]]
) -> tuple[list[Cut], list[PassedOver]]:
    """The cuts, and the days on which a zone that had been dug was not surveyed.

    `dug` has the moment at which a shift ended, and the zone that it dug.
    """
    shifts = sorted(dug)
    last_dug: dict[str, datetime] = {}
    seen: dict[str, tuple[datetime, ZoneVolume]] = {}
    cuts: list[Cut] = []
    passed: list[PassedOver] = []
    at = 0
    for day in days:
        while at < len(shifts) and shifts[at][0] <= day.at:
            last_dug[shifts[at][1]] = shifts[at][0]
            at += 1
        before = {zone: volume for zone, (_, volume) in seen.items()}
        seen |= {zone: (day.at, volume) for zone, volume in day.zones.items()}
        missing = [z for z, when in last_dug.items() if z not in seen or seen[z][0] < when]
        if missing:
            passed.append(PassedOver(day.work_date, tuple(day.names), tuple(sorted(missing))))
        else:
            cuts.append(_cut(day, before, {zone: volume for zone, (_, volume) in seen.items()}))
    return cuts, passed


def _cut(day: SurveyDay, before: Mapping[str, ZoneVolume], known: Mapping[str, ZoneVolume]) -> Cut:
    by_stream: dict[str, float] = defaultdict(float)
    for volume in known.values():
        for stream, bank_m3 in volume.by_stream_m3.items():
            by_stream[stream] += bank_m3
    floor: dict[str, float] = defaultdict(float)
    for volume in day.zones.values():
        floor[volume.floor] += volume.area_m2
    area_m2 = sum(floor.values())
    own_m3 = math.hypot(*(volume.u_own_m3 for volume in day.zones.values()))
    level_m = max(volume.u_level_m for volume in day.zones.values())
    split: dict[str, float] = defaultdict(float)
    for volume in known.values():
        for stream, u_m3 in volume.u_split_m3.items():
            split[stream] = math.hypot(split[stream], u_m3)
    return Cut(
        work_date=day.work_date,
        at=day.at,
        names=tuple(day.names),
        by_stream_m3=by_stream,
        floor_m2=floor,
        u_split_m3=split,
        u_border_m3=_borders_passed(day.zones, before),
        u_level_m=math.hypot(level_m, own_m3 / area_m2),
    )


def _borders_passed(
    zones: Mapping[str, ZoneVolume], before: Mapping[str, ZoneVolume]
) -> dict[str, float]:
    """What the level of a border puts into the wrong stream once the floor has passed it [m³]."""
    found: dict[str, float] = defaultdict(float)
    for zone, volume in zones.items():
        earlier = before.get(zone)
        above = earlier.floor if earlier else next(iter(volume.by_stream_m3))
        if above != volume.floor:
            for stream in (above, volume.floor):
                found[stream] = math.hypot(found[stream], U_BAND_LEVEL_M * volume.area_m2)
    return dict(found)
