"""What governs every day of some weeks behind and ahead, and what the ways out can take."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from tracker.domain.calendar import days, shift_times, shifts_on
from tracker.domain.hours import hours, shift_hours, shift_spans
from tracker.domain.levels import CAUTION
from tracker.domain.programme import governing
from tracker.domain.programme.capacities import Capacities, Limit, least
from tracker.domain.programme.ways import Ways
from tracker.domain.site import Shift, Site, Stop
from tracker.errors import InputError
from tracker.ledger.questions import summed
from tracker.statements.capacity_shapes import CapacityStatement, GovernedDay, LimitLine
from tracker.statements.dug import dug
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.governed import (
    Past,
    closed_words,
    governed,
    past,
    shifts_begun,
    stopped,
    unfinished,
)
from tracker.statements.measured import measured_lines
from tracker.statements.recent import RECORD_DAYS, Recent, recent
from tracker.statements.ways import Left, ground_left, record_start, ways_for
from tracker.statements.words import date_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

AHEAD_DAYS = 28
LIMIT_CAUTION = (
    "A limit computed here permits nothing: movement caps, windows, permits, plates and what a"
    " receiver has agreed to govern."
)
_SHOWN = (
    governing.HOIST, governing.BELT, governing.LORRIES, governing.GATE, governing.RECEIVER,
)  # fmt: skip
_TABLES = ("belts", "hoists", "fleets", "receiving", "caps")

Day = tuple[date, list[GovernedDay], list[LimitLine]]


def capacity_statement(
    ledger: LedgerReads,
    as_of: date,
    *,
    since: date | None = None,
    until: date | None = None,
    known_at: datetime | None = None,
) -> CapacityStatement:
    """What governed each excavation on the days behind, and is expected to on those ahead.

    Four weeks behind and four ahead by default. Raises NotEnoughData if the ledger has no set-up,
    InputError for dates out of order.
    """
    first = since or as_of - timedelta(days=RECORD_DAYS - 1)
    last = until or as_of + timedelta(days=AHEAD_DAYS)
    if not first <= as_of <= last:
        raise InputError(f"{first} to {last} does not hold the as-of date {as_of}. Widen it.")
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        first = min(max(first, frame.site.first_date), as_of)
        record = recent(frame, first)
        late = record if first == record_start(frame) else recent(frame, record_start(frame))
        left = ground_left(frame)
        ways = ways_for(frame, left, late)
        behind = _behind(frame, first, record)
        begun = {day for day, _, _ in behind}
        ahead = [day for day in days(as_of, last) if day not in begun]
        made = [*behind, *_ahead(frame, ways, left, late, ahead)]
        lines = tuple(line for _, of_day, _ in made for line in of_day)
        return CapacityStatement(
            basis=basis(
                frame,
                first,
                quality=(*ways.sentences, *_quality(frame.site)),
                cautions=(LIMIT_CAUTION, CAUTION),
            ),
            since=first,
            until=last,
            headline=_headline(frame, lines, first, last),
            days=lines,
            limits=tuple(line for *_, of_day in made for line in of_day),
            measured=measured_lines(frame.site, record),
        )


# --- limits of a work date -----------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class _DateLimits:
    """The limits of a work date, those of its shifts added up.

    `least` is that of all ground, where every shift has one; `of_zones` is (hoist, zone) -> most.
    """

    hours: float  # of its shifts, less stops of the site
    lines: list[LimitLine]
    least: Limit | None
    of_zones: Mapping[str, Limit]


def _date_limits(capacities: Capacities, day: date, shifts: Sequence[Shift]) -> _DateLimits:
    by_shift = {shift.name: capacities.limits(day, shift) for shift in shifts}
    each = [least(limits) for limits in by_shift.values()]
    lowest = min((x for x in each if x), key=lambda limit: limit.bank_m3, default=None)
    if lowest is not None and None not in each:
        lowest = replace(lowest, bank_m3=sum(x.bank_m3 for x in each if x))
    else:
        lowest = None
    zones: dict[str, Limit] = {}
    groups: dict[tuple[str, str, tuple[str, ...]], dict[str, Limit]] = defaultdict(dict)
    for name, limits in by_shift.items():
        for limit in limits:
            if limit.name in _SHOWN:
                groups[limit.name, limit.about, limit.zones].setdefault(name, limit)
    for (_, _, of), parts in groups.items():
        if of and len(parts) == len(by_shift):
            most_m3 = sum(part.bank_m3 for part in parts.values())
            zones[of[0]] = replace(next(iter(parts.values())), bank_m3=most_m3)
    worked_h = sum(hours(shift_spans(capacities.site, day, shift)) for shift in shifts)
    lines = [_line(day, of_shift) for of_shift in groups.values()]
    return _DateLimits(worked_h, lines, lowest, zones)


def _line(day: date, parts: Mapping[str, Limit]) -> LimitLine:
    any_part = next(iter(parts.values()))
    by_how: dict[str, list[str]] = defaultdict(list)
    for name, part in parts.items():
        by_how[part.how].append(name)
    zones = f"Zone {' and '.join(any_part.zones)}: " if any_part.zones else ""
    return LimitLine(
        work_date=day,
        name=any_part.name,
        about=any_part.about,
        hours=sum(part.hours for part in parts.values()),
        bank_m3=sum(part.bank_m3 for part in parts.values()),
        how=zones + "; ".join(f"{' and '.join(names)}: {how}" for how, names in by_how.items()),
    )


# --- behind --------------------------------------------------------------------------------------
def _behind(frame: Frame, first: date, record: Recent) -> list[Day]:
    """What governed the shifts that are over, each day by the set-up then in force."""
    records = past(frame, first)
    ways = ways_for(frame, _dug_ground(frame, first), record)
    outages = _outages(frame, first)
    known: dict[int, Capacities] = {}
    rates = _rates(frame, record)
    found = []
    for day in days(first, frame.as_of):
        site = frame.site_on(day)
        if id(site) not in known:
            known[id(site)] = Capacities(replace(site, stops=(*site.stops, *outages)), ways)
        shifts = shifts_begun(records, site, day)
        if day == frame.as_of and not shifts and shifts_on(site, day):
            continue  # nothing of it is over: it is ahead
        limits = _date_limits(known[id(site)], day, shifts)
        of = (
            _governed_day(records, site, e.excavation, day, shifts, limits, rates)
            for e in site.excavations
        )
        found.append((day, [line for line in of if line is not None], limits.lines))
    return found


def _governed_day(
    records: Past,
    site: Site,
    excavation: str,
    day: date,
    shifts: Sequence[Shift],
    limits: _DateLimits,
    rates: Mapping[str, float],
) -> GovernedDay | None:
    """What governed an excavation on a date; None if it had no ground to dig then."""
    zones = [zone for zone in site.zones_of(excavation) if zone.opens <= day]
    dug_m3 = records.of_day(day, zones)
    if not zones or (not unfinished(records, zones, day) and not dug_m3):
        return None
    most = [*([limits.least] if limits.least else []), *limits.of_zones.values()]
    cause, words, sentence = governed(records, excavation, day, shifts, most)
    worked_h = limits.hours
    return GovernedDay(
        excavation=excavation,
        work_date=day,
        expected=False,
        hours=worked_h,
        dug_bank_m3=dug_m3,
        dig_bank_m3=worked_h * rates.get(excavation, 0.0),
        governs=cause,
        words=words,
        least_bank_m3=_least_m3(limits, [zone.zone for zone in zones]),
        sentence=sentence,
    )


def _dug_ground(frame: Frame, first: date) -> Left:
    """Zone -> stream -> what was dug of it in the period [m³ bank]."""
    found: dict[str, dict[str, float]] = defaultdict(dict)
    for (zone, stream), of in dug(frame, ("zone", "stream"), since=first).items():
        if of.bank_m3 > 0.0 and any(s.stream == stream for s in frame.site.streams):
            found[zone][stream] = of.bank_m3
    return found


def _outages(frame: Frame, first: date) -> tuple[Stop, ...]:
    """Days on which a belt carried nothing while lorries took its streams, as stops of the belt."""
    asked: dict[str, Any] = {"since": first, "until": frame.as_of, "known_at": frame.known_at}
    carried = summed(frame.ledger, ("belt_kg",), ("day", "stream", "detail"), **asked)
    lorries = summed(frame.ledger, ("loads",), ("day", "stream"), **asked)
    streams: dict[str, set[str]] = defaultdict(set)
    ran = set()
    for _, day, stream, belt in carried:
        streams[belt].add(stream)
        ran.add((belt, day))
    return tuple(
        _outage(frame.site_on(day), belt, day)
        for belt, of in sorted(streams.items())
        for day in sorted({day for _, day, stream in lorries if stream in of})
        if (belt, day) not in ran and shifts_on(frame.site_on(day), day)
    )


def _outage(site: Site, belt: str, day: date) -> Stop:
    """A belt stopped from the first shift of a work date to the end of its last one."""
    shifts = [(*shift_times(s, day, site.time_zone), s) for s in shifts_on(site, day)]
    starts = min(shifts, key=lambda shift: shift[0])[2].starts
    ends = max(shifts, key=lambda shift: shift[1])[2].ends
    passes = any(s.ends <= s.starts for *_, s in shifts)
    until = min(ends, starts) if passes else ends
    why = "carried nothing, by its readings"
    return Stop("belt", belt, day, day, why, starts=starts, ends=until)


def _rates(frame: Frame, record: Recent) -> dict[str, float]:
    """Excavation -> what it gave in an hour of the shifts in which it was dug [m³ bank/h]."""
    found = {}
    for excavation in frame.site.excavations:
        zones = frame.site.zones_of(excavation.excavation)
        rate = record.worked.rate(zone.zone for zone in zones)
        if rate is not None:
            found[excavation.excavation] = rate
    return found


def _least_m3(limits: _DateLimits, zones: Sequence[str]) -> float | None:
    """The least limit that holds for an excavation, its zones' own ones added up."""
    found = [limits.least.bank_m3] if limits.least else []
    if zones and all(zone in limits.of_zones for zone in zones):
        found.append(sum(limits.of_zones[zone].bank_m3 for zone in zones))
    return min(found, default=None)


# --- ahead ---------------------------------------------------------------------------------------
def _ahead(
    frame: Frame, ways: Ways, left: Left, record: Recent, days_ahead: Sequence[date]
) -> list[Day]:
    """What is expected to govern the days ahead, by the calendar and the limits alone."""
    site, capacities = frame.site, Capacities(frame.site, ways)
    rates, found = _rates(frame, record), []
    zones = {e.excavation: [z.zone for z in site.zones_of(e.excavation) if z.zone in left]
             for e in site.excavations}  # fmt: skip
    for day in days_ahead:
        shifts = shifts_on(site, day)
        limits = _date_limits(capacities, day, shifts)
        worked_h = limits.hours
        dig_m3 = {name: worked_h * rates.get(name, 0.0) for name, of in zones.items() if of}
        lines = []
        for name, most_m3 in dig_m3.items():
            cause, sentence = _closed(site, day, shifts, zones[name], worked_h) or _least_of(
                limits, zones[name], most_m3, sum(dig_m3.values()), worked_h
            )
            lines.append(
                GovernedDay(
                    name,
                    day,
                    True,
                    worked_h,
                    None,
                    most_m3,
                    cause,
                    governing.WORDS[cause],
                    _least_m3(limits, zones[name]),
                    sentence,
                )
            )
        found.append((day, lines, limits.lines))
    return found


def _closed(
    site: Site, day: date, shifts: Sequence[Shift], zones: Sequence[str], worked_h: float
) -> tuple[str, str] | None:
    """Why nobody is expected to dig on a date, if nobody is."""
    if not shifts:
        return governing.CALENDAR, closed_words(site, day)
    if not worked_h:
        cause, _, sentence = stopped(site, day, "the site")
        return cause, sentence
    if any(shift_hours(site, day, s, "zone", zone) for s in shifts for zone in zones):
        return None
    cause, _, sentence = stopped(site, day, f"zone {' and '.join(zones)}")
    return cause, sentence


def _least_of(
    limits: _DateLimits, zones: Sequence[str], dig_m3: float, all_dig_m3: float, worked_h: float
) -> tuple[str, str]:
    """The least of the recent rate of digging and the limits, as a word and a sentence."""
    said = f"{dig_m3:,.0f} m³ in {worked_h:.1f} h by the recent rate"
    hoisted = [limits.of_zones[zone] for zone in zones if zone in limits.of_zones]
    lifted_m3 = sum(limit.bank_m3 for limit in hoisted)
    if len(hoisted) == len(zones) and lifted_m3 < dig_m3:
        return governing.HOIST, f"{said}; {hoisted[0].about} lifts {lifted_m3:,.0f} m³."
    lowest = limits.least
    if lowest is None:
        return governing.DIG, f"{said}; nothing set up limits all zones together."
    what = governing.WORDS[lowest.name] + (f" ({lowest.about})" if lowest.about else "")
    name = lowest.name if lowest.bank_m3 < all_dig_m3 else governing.DIG
    return name, (
        f"{said}, all zones {all_dig_m3:,.0f} m³; the least limit is {lowest.bank_m3:,.0f} m³:"
        f" {what}."
    )


# --- words ---------------------------------------------------------------------------------------
def _headline(frame: Frame, lines: Sequence[GovernedDay], first: date, last: date) -> str:
    """How many working days each thing governed, and is expected to."""
    behind = _counted(frame, [line for line in lines if not line.expected])
    ahead = _counted(frame, [line for line in lines if line.expected])
    return (
        f"Since {date_words(first)}, {behind or 'no working day is on record'}."
        f" To {date_words(last)}, by calendar and limits alone, {ahead or 'no day is ahead'}."
    )


def _counted(frame: Frame, lines: Sequence[GovernedDay]) -> str:
    parts = []
    for excavation in frame.site.excavations:
        own = [x for x in lines if x.excavation == excavation.excavation]
        worked = Counter(x.words for x in own if x.governs != governing.CALENDAR)
        if worked:
            each = ", ".join(f"{words} {count}" for words, count in worked.most_common())
            parts.append(f"of {sum(worked.values())} working days of {excavation.name}: {each}")
    return "; ".join(parts)


def _quality(site: Site) -> list[str]:
    """What is not set up and so sets no limit."""
    missing = [f"{table}.csv" for table in _TABLES if not getattr(site, table)]
    if not missing:
        return []
    return [f"Not set up, so no limit comes from it: {', '.join(missing)}."]
