"""What governs every day of some weeks behind and ahead, and what the ways out can take."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from statistics import fmean
from typing import TYPE_CHECKING, Any

from tracker.domain.calendar import days, shift_times, shifts_on
from tracker.domain.hours import is_stopped, shift_hours
from tracker.domain.levels import CAUTION
from tracker.domain.programme import governing
from tracker.domain.programme.capacities import Capacities
from tracker.domain.programme.ways import Ways
from tracker.domain.site import Shift, Site, Stop
from tracker.errors import InputError
from tracker.ledger.questions import summed
from tracker.statements.capacity_shapes import CapacityStatement, GovernedDay, LimitLine
from tracker.statements.date_limits import DateLimits, date_limits
from tracker.statements.dug import dug
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.governed import (
    NOTHING_M3,
    Past,
    closed_words,
    governed,
    past,
    shifts_begun,
    stopped,
    unfinished,
    zone_words,
)
from tracker.statements.ground_ahead import GroundAhead, ground_ahead
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
_RELEASED_NOW = (
    "Days ahead count the ground that is released now, at the recent rate of its zones: when a hold"
    " is released is the forecast's matter."
)
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
                quality=(_RELEASED_NOW, *ways.sentences, *_quality(frame.site)),
                cautions=(LIMIT_CAUTION, CAUTION),
            ),
            since=first,
            until=last,
            headline=_headline(frame, lines, first, last),
            days=lines,
            limits=tuple(line for *_, of_day in made for line in of_day),
            measured=measured_lines(frame.site, record),
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
        limits = date_limits(known[id(site)], day, shifts)
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
    limits: DateLimits,
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
    least_m3, shared = limits.least_m3([zone.zone for zone in zones])
    return GovernedDay(
        excavation=excavation,
        work_date=day,
        expected=False,
        hours=worked_h,
        dug_bank_m3=dug_m3,
        dig_bank_m3=worked_h * rates.get(excavation, 0.0),
        governs=cause,
        words=words,
        least_bank_m3=least_m3,
        sentence=sentence,
        shared=shared and len(site.excavations) > 1,
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


# --- ahead ---------------------------------------------------------------------------------------
def _ahead(
    frame: Frame, ways: Ways, left: Left, record: Recent, days_ahead: Sequence[date]
) -> list[Day]:
    """What is expected to govern the days ahead, until the ground that is released now is dug.

    By the calendar, the limits and the recent rate: when a hold is released the forecast says.
    """
    site, capacities = frame.site, Capacities(frame.site, ways)
    ground, found = ground_ahead(frame, left), []
    rates = {
        name: _rate_without(record, of, [zone.zone for zone in site.zones_of(name)])
        for name, of in ground.items()
    }
    for day in days_ahead:
        shifts = shifts_on(site, day)
        limits = date_limits(capacities, day, shifts)
        working = {name: of for name, of in ground.items() if of.any_left}
        shut = {
            name: _closed(site, day, shifts, of.open_zones, limits.hours)
            for name, of in working.items()
        }
        dig_m3 = {
            name: 0.0 if shut[name] else of.dig(limits.hours * rates[name])
            for name, of in working.items()
        }
        lines = [
            _expected(site, day, name, of, limits, dig_m3, shut[name])
            for name, of in working.items()
        ]
        found.append((day, lines, limits.lines))
    return found


def _rate_without(record: Recent, ground: GroundAhead, zones: Sequence[str]) -> float:
    """What an excavation gives in an hour of a shift without its held zones [m³ bank/h].

    As many of the open zones as were dug at once, each at the mean of their own rates.
    """
    worked = record.worked
    usual = worked.rate(zones) or 0.0
    own = [rate for zone in ground.open_zones if (rate := worked.rate([zone]))]
    if not ground.held_zones or not own:
        return usual
    return fmean(own) * min(worked.at_once(zones), len(ground.open_zones))


def _expected(
    site: Site,
    day: date,
    name: str,
    ground: GroundAhead,
    limits: DateLimits,
    dig_m3: Mapping[str, float],
    shut: tuple[str, str] | None,
) -> GovernedDay:
    """What is expected to govern an excavation on a date, with what is particular about it."""
    zones = [*ground.open_zones, *ground.held_zones]
    notes = [] if shut else [*_possessions(site, day, zones), *_ends(ground, dig_m3[name])]
    if shut:
        cause, sentence = shut
    elif dig_m3[name] < NOTHING_M3 and not ground.any_released:
        cause, sentence = governing.HOLD, _waiting(ground)
    else:
        cause, sentence = _least_of(limits, ground, dig_m3[name], dig_m3)
    least_m3, shared = limits.least_m3(ground.open_zones)
    return GovernedDay(
        excavation=name,
        work_date=day,
        expected=True,
        hours=limits.hours,
        dug_bank_m3=None,
        dig_bank_m3=dig_m3[name],
        governs=cause,
        words=governing.WORDS[cause],
        least_bank_m3=least_m3,
        sentence=" ".join((sentence, *notes)),
        shared=shared and len(site.excavations) > 1,
        note=" ".join(notes),
    )


def _closed(
    site: Site, day: date, shifts: Sequence[Shift], zones: Sequence[str], worked_h: float
) -> tuple[str, str] | None:
    """Why nobody is expected to dig on a date, if nobody is."""
    if not shifts:
        return governing.CALENDAR, closed_words(site, day)
    if not worked_h:
        cause, _, sentence = stopped(site, day, "the site")
        return cause, sentence
    if not zones or any(shift_hours(site, day, s, "zone", z) for s in shifts for z in zones):
        return None
    cause, _, sentence = stopped(site, day, f"zone {' and '.join(zones)}")
    return cause, sentence


def _possessions(site: Site, day: date, zones: Sequence[str]) -> Iterator[str]:
    """The stops of some zones on a date, as sentences."""
    for stop in site.stops:
        if stop.kind == "zone" and stop.about in zones and is_stopped(stop, day):
            whole = stop.starts is None or stop.ends is None
            when = "" if whole else f" from {stop.starts:%H:%M} to {stop.ends:%H:%M}"
            yield f"Zone {stop.about} is stopped{when}: {stop.reason}."


def _ends(ground: GroundAhead, dug_m3: float) -> Iterator[str]:
    if dug_m3 and not ground.any_left:
        yield "Its ground ends on this day by that rate: nothing is left after it."
    elif dug_m3 and not ground.any_released:
        yield "The ground that is released now ends on this day by that rate."


def _waiting(ground: GroundAhead) -> str:
    """That no released ground is left."""
    held = f"; held already: {zone_words(ground.held_zones)}" if ground.held_zones else ""
    return (
        f"The ground that is released now is dug{held}. When a hold is released is the forecast's"
        " matter."
    )


def _least_of(
    limits: DateLimits, ground: GroundAhead, own_m3: float, dig_m3: Mapping[str, float]
) -> tuple[str, str]:
    """The least of the recent rate of digging and the limits, as a word and a sentence."""
    said = f"{own_m3:,.0f} m³ in {limits.hours:.1f} h by the recent rate"
    if ground.held_zones:
        said += f" without {zone_words(ground.held_zones)}, held"
    zones, all_m3 = ground.open_zones, sum(dig_m3.values())
    hoisted = [limits.of_zones[zone] for zone in zones if zone in limits.of_zones]
    lifted_m3 = sum(limit.bank_m3 for limit in hoisted)
    if len(hoisted) == len(zones) and lifted_m3 < own_m3:
        return governing.HOIST, f"{said}; {hoisted[0].about} lifts {lifted_m3:,.0f} m³."
    lowest = limits.least
    if lowest is None:
        return governing.DIG, f"{said}; nothing set up limits all zones together."
    what = governing.WORDS[lowest.name] + (f" ({lowest.about})" if lowest.about else "")
    name = lowest.name if lowest.bank_m3 < all_m3 else governing.DIG
    return name, (
        f"{said}, all zones {all_m3:,.0f} m³; the least limit, shared by all zones, is"
        f" {lowest.bank_m3:,.0f} m³: {what}."
    )


# --- words ---------------------------------------------------------------------------------------
def _headline(frame: Frame, lines: Sequence[GovernedDay], first: date, last: date) -> str:
    """How many working days each thing governed, and is expected to."""
    behind = _counted(frame, [line for line in lines if not line.expected])
    ahead = _counted(frame, [line for line in lines if line.expected])
    return (
        f"Since {date_words(first)}, {behind or 'no working day is on record'}."
        f" To {date_words(last)}, by calendar, limits and the ground released now,"
        f" {ahead or 'no day is ahead'}."
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
