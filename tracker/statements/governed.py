"""What governed an excavation on a work date of the past, from the records."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from tracker.domain.calendar import shift_minutes, shifts_on
from tracker.domain.hours import hours, shift_hours, shift_spans
from tracker.domain.levels import latest_status, permitted_level
from tracker.domain.programme import governing
from tracker.domain.programme.capacities import Limit
from tracker.domain.site import Shift, Site, Zone
from tracker.ledger.picked import picked
from tracker.ledger.questions import general_levels, summed
from tracker.statements.dug import dug
from tracker.statements.frame import Frame, is_over
from tracker.statements.governed_shifts import UNCODED, UNCODED_WORDS

DUG_OUT_M = 0.1  # what lies above a level that counts as dug: common practice, no source
LIMIT_REACHED = 0.95  # of the least limit; the same
MOST_OF_A_SHIFT = 0.5  # lost to delays, for their cause to govern; the same
NOTHING_M3 = 0.5

Cause = tuple[str, str, str]  # governs, in words, and the sentence


@dataclass(frozen=True, slots=True)
class Past:
    """What was returned, lost and decided, day by day."""

    frame: Frame
    dug_m3: Mapping[tuple[date, str], float]  # (work date, zone); zone "": all of them
    lost_min: Mapping[date, Mapping[tuple[str, str], int]]  # work date -> (zone, cause)
    reasons: Mapping[tuple[date, str], str]  # (work date, zone) -> why nothing was dug, as returned
    returned: Mapping[date, Mapping[tuple[str, str], bool]]  # -> (shift, zone) -> not nil
    levels: Mapping[str, Sequence[tuple[date, float]]]  # zone -> (work date, level at its end [m])

    def of_day(self, day: date, zones: Sequence[Zone]) -> float:
        """What some zones gave on a work date [m³ bank]."""
        return sum(self.dug_m3.get((day, zone.zone), 0.0) for zone in zones)

    def total(self, day: date) -> float:
        """What all zones gave on a work date [m³ bank]."""
        return self.dug_m3.get((day, ""), 0.0)

    def level_before(self, zone: Zone, day: date) -> float:
        """Where a zone stood when the work date began [m above site datum]."""
        lower = [level_m for on, level_m in self.levels.get(zone.zone, ()) if on < day]
        return min(lower, default=zone.ground_level_m)


def past(frame: Frame, since: date) -> Past:
    """The records from a date to the as-of date."""
    asked: dict[str, Any] = {"since": since, "until": frame.as_of, "known_at": frame.known_at}
    counted = summed(frame.ledger, ("returns", "returns_nil"), ("day", "detail", "zone"), **asked)
    lost = summed(frame.ledger, ("delay_min",), ("day", "zone", "detail"), **asked)
    dug_m3 = {key: of.bank_m3 for key, of in dug(frame, ("day", "zone"), since=since).items()}
    for (day, _), bank_m3 in list(dug_m3.items()):
        dug_m3[day, ""] = dug_m3.get((day, ""), 0.0) + bank_m3
    lost_min: dict[date, dict[tuple[str, str], int]] = defaultdict(dict)
    for (_, day, zone, cause), minutes in lost.items():
        lost_min[day][zone, cause] = minutes
    returned: dict[date, dict[tuple[str, str], bool]] = defaultdict(dict)
    for (measure, day, shift, zone), n in counted.items():
        if measure == "returns":
            nil = counted.get(("returns_nil", day, shift, zone), 0)
            returned[day][shift, zone] = n > nil
    levels, reasons = _levels_and_reasons(frame, since, asked)
    return Past(frame, dug_m3, lost_min, reasons, returned, levels)


def _levels_and_reasons(
    frame: Frame, since: date, asked: dict[str, Any]
) -> tuple[dict[str, list[tuple[date, float]]], dict[tuple[date, str], str]]:
    """Zone -> general levels from before the period on; work date, zone -> why nothing was dug."""
    before = since - timedelta(days=1)
    begin = general_levels(frame.ledger, before, frame.known_at)
    levels = defaultdict(list, {zone: [(before, mm / 1000.0)] for zone, mm in begin.items()})
    reasons: dict[tuple[date, str], str] = {}
    columns = ("work_date", "zone", "to_level_mm", "nil_reason")
    for day, zone, level_mm, reason in picked(frame.ledger, "dig_returns", columns, **asked):
        if reason:
            reasons[day, zone] = reason
        if level_mm is not None:
            levels[zone].append((day, level_mm / 1000.0))
    return levels, reasons


def shifts_begun(records: Past, site: Site, day: date) -> tuple[Shift, ...]:
    """The shifts of a date that are over, or of which a return has come already."""
    frame = records.frame
    named = {shift for shift, _ in records.returned.get(day, {})}
    return tuple(s for s in shifts_on(site, day) if s.shift in named or is_over(frame, s, day))


def unfinished(records: Past, zones: Sequence[Zone], day: date) -> list[Zone]:
    """The zones with ground left above formation when a work date began."""
    site = records.frame.site_on(day)
    return [
        zone
        for zone in zones
        if records.level_before(zone, day) - site.formation_level_m(zone.zone) > DUG_OUT_M
    ]


def governed(
    records: Past,
    excavation: str,
    day: date,
    shifts: Sequence[Shift],
    limits: Sequence[Limit],
) -> Cause:
    """What governed an excavation on a work date; `limits` are those of its shifts added up."""
    site = records.frame.site_on(day)
    zones = site.zones_of(excavation)
    dug_m3 = records.of_day(day, zones)
    if not shifts:
        extra = f" {dug_m3:,.0f} m³ were dug all the same." if dug_m3 >= NOTHING_M3 else ""
        words = governing.WORDS[governing.CALENDAR]
        return governing.CALENDAR, words, closed_words(site, day) + extra
    worked_h = sum(hours(shift_spans(site, day, shift)) for shift in shifts)
    if not worked_h and dug_m3 < NOTHING_M3:
        return stopped(site, day, "the site")
    left = unfinished(records, zones, day)
    if dug_m3 < NOTHING_M3 and left:
        shut = [
            zone
            for zone in left
            if not any(shift_hours(site, day, s, "zone", zone.zone) for s in shifts)
        ]
        if len(shut) == len(left):
            return stopped(site, day, " and ".join(zone.zone for zone in left))
        waiting = [zone for zone in left if _waits(records, zone, day)]
        if len(waiting) == len(left):
            return _held(records, waiting, day)
    return (
        _lost(records, site, zones, day)
        or _limited(records, zones, day, dug_m3, limits)
        or _digging(records, left, day, dug_m3)
    )


def closed_words(site: Site, day: date) -> str:
    """Why the calendar has no shift on a date, as a sentence."""
    reasons = [closure.reason for closure in site.closures if closure.day == day]
    return f"No shift by the calendar: {reasons[0]}." if reasons else "No shift by the calendar."


def stopped(site: Site, day: date, what: str) -> Cause:
    """That the site or all zones with ground left were stopped, with the reasons."""
    kinds = ("site",) if what == "the site" else ("zone", "site")
    reasons = dict.fromkeys(
        stop.reason
        for stop in site.stops
        if stop.kind in kinds and stop.first_day <= day <= stop.last_day
    )
    sentence = f"Stopped: {what} ({', '.join(reasons)})."
    return governing.STOP, governing.WORDS[governing.STOP], sentence


# --- holds ---------------------------------------------------------------------------------------
def _waits(records: Past, zone: Zone, day: date) -> bool:
    """Whether all ground released in a zone had been dug, or its stage was suspended."""
    return records.level_before(zone, day) - _permitted_m(records, zone, day) <= DUG_OUT_M


def _permitted_m(records: Past, zone: Zone, day: date) -> float:
    """The level permitted on a work date; what was released in its course counts."""
    made = [(d.hold, d.status) for d in records.frame.decisions
            if d.zone == zone.zone and d.work_date <= day]  # fmt: skip
    stages = records.frame.site_on(day).stages_of(zone.zone)
    return permitted_level(zone, stages, latest_status(made))


def _held(records: Past, zones: Sequence[Zone], day: date) -> Cause:
    parts = []
    for zone in zones:
        permitted_m = _permitted_m(records, zone, day)
        stages = records.frame.site_on(day).stages_of(zone.zone)
        waits = next((s for s in stages if s.design_level_m < permitted_m), None)
        if waits is not None:
            parts.append(f"zone {zone.zone} for stage {waits.stage}")
    sentence = f"No released ground was left: {', '.join(parts)} waited for release."
    return governing.HOLD, governing.WORDS[governing.HOLD], sentence


# --- delays, limits, digging ---------------------------------------------------------------------
def _lost(records: Past, site: Site, zones: Sequence[Zone], day: date) -> Cause | None:
    """The coded cause that took most minutes, where delays took half of the shifts or more.

    Where nothing was dug, any coded cause. The shifts are those that were dug, and those in which a
    zone lost minutes.
    """
    names = {zone.zone for zone in zones}
    by_cause: dict[str, int] = defaultdict(int)
    delayed = set()
    for (zone, cause), minutes in records.lost_min.get(day, {}).items():
        if zone in names:
            by_cause[cause] += minutes
            delayed.add(zone)
    known = {shift.shift: shift for shift in site.shifts}
    shift_min = sum(
        shift_minutes(known[name], day, site.time_zone)
        for (name, zone), worked in records.returned.get(day, {}).items()
        if zone in names and name in known and (worked or zone in delayed)
    )
    lost = sum(by_cause.values())
    enough = MOST_OF_A_SHIFT * shift_min if records.of_day(day, zones) >= NOTHING_M3 else 0.0
    if not lost or lost < enough:
        return None
    cause = max(by_cause, key=lambda name: by_cause[name])
    words = next((c.name for c in site.causes if c.cause == cause), cause)
    return cause, words, (
        f"{words} took {by_cause[cause]} min; delays took {lost} of {shift_min} min of the shifts"
        " of its zones."
    )  # fmt: skip


def _limited(
    records: Past, zones: Sequence[Zone], day: date, dug_m3: float, limits: Sequence[Limit]
) -> Cause | None:
    """The least limit, where what was dug came up to it."""
    names = {zone.zone for zone in zones}
    for limit in sorted(limits, key=lambda limit: limit.bank_m3):
        own = [records.dug_m3.get((day, zone), 0.0) for zone in limit.zones if zone in names]
        came_to = sum(own) if limit.zones else records.total(day)
        if limit.zones and not own:
            continue
        if dug_m3 >= NOTHING_M3 and came_to >= LIMIT_REACHED * limit.bank_m3:
            words = governing.WORDS[limit.name]
            about = f" ({limit.about})" if limit.about else ""
            where = f"zone {' and '.join(limit.zones)}" if limit.zones else "all zones"
            return limit.name, words, (
                f"{came_to:,.0f} m³ were dug in {where}; {words}{about} can take"
                f" {limit.bank_m3:,.0f} m³."
            )  # fmt: skip
    return None


def zone_words(zones: Sequence[str]) -> str:
    """Some zones by name.

    >>> zone_words(["B", "D", "E"]), zone_words(["C"])
    ('zones B, D and E', 'zone C')
    """
    if len(zones) == 1:
        return f"zone {zones[0]}"
    return f"zones {', '.join(zones[:-1])} and {zones[-1]}"


def _beside(records: Past, left: Sequence[Zone], day: date) -> str:
    """Which zones were held while others were dug."""
    dug = [z.zone for z in left if records.dug_m3.get((day, z.zone), 0.0) >= NOTHING_M3]
    held = [z.zone for z in left if z.zone not in dug and _waits(records, z, day)]
    if not held:
        return " and no hold was in the way."
    parts = [
        f"{zone_words(zones)} {'were' if len(zones) > 1 else 'was'} {done}"
        for zones, done in ((held, "held"), (dug, "dug"))
        if zones
    ]
    return f"; {'; '.join(parts)}."


def _digging(records: Past, left: Sequence[Zone], day: date, dug_m3: float) -> Cause:
    name = governing.DIG
    given = dict.fromkeys(records.reasons.get((day, zone.zone), "") for zone in left)
    reasons = "; ".join(reason for reason in given if reason)
    if dug_m3 >= NOTHING_M3:
        sentence = f"{dug_m3:,.0f} m³ were dug; no limit was reached" + _beside(records, left, day)
    elif records.total(day) >= NOTHING_M3:
        name = governing.TURN
        sentence = "Nothing was dug here although ground was released; other zones were dug."
    else:
        why = f"As returned: {reasons}." if reasons else "Ground was released."
        return UNCODED, UNCODED_WORDS, f"Nothing was dug in any zone, and no cause is coded. {why}"
    return name, governing.WORDS[name], sentence
