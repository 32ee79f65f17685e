"""The most that each way out can take in a shift, as ground in place of all that is dug [bank m³].

Where a way takes a share of the tonnes, its limit on all ground is what it can take over that
share: the rest has to go by other ways at the same time. Heaps even out a work date: the gate's and
the receivers' day is shared over the shifts of the date by their hours, so that a night shift with
the gate shut may dig for the morning. A limit computed here permits nothing: caps, windows,
permits and plates govern.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from functools import cached_property

from tracker.domain.calendar import shifts_on, time_zone
from tracker.domain.hours import Spans, gate_spans, hours, is_stopped, shift_spans
from tracker.domain.programme import governing
from tracker.domain.programme.shapes import SlotLimits
from tracker.domain.programme.way_limits import Limit as Limit
from tracker.domain.programme.way_limits import (
    ShiftAhead,
    belt_limits,
    dig_limits,
    gate_limits,
    hoist_limits,
    lorry_limits,
    receiver_limits,
    shut_routes,
)
from tracker.domain.programme.ways import HEAP_SHARE, Share, Shut, Ways, carried
from tracker.domain.site import Shift, Site


def shift_limits(site: Site, ways: Ways, work_date: date, shift: Shift) -> tuple[Limit, ...]:
    """The limits of one shift; none where nothing is set up that limits it.

    For many shifts make one `Capacities` and ask that.
    """
    return Capacities(site, ways).limits(work_date, shift)


def slot_limits(limits: Iterable[Limit]) -> SlotLimits:
    """Name -> least of all ground, and zone -> name -> least of that zone, as `ShiftSlot` has."""
    of_all: dict[str, float] = {}
    of_zone: dict[str, dict[str, float]] = defaultdict(dict)
    for limit in limits:
        for place in [of_zone[zone] for zone in limit.zones] or [of_all]:
            place[limit.name] = min(limit.bank_m3, place.get(limit.name, limit.bank_m3))
    return of_all, dict(of_zone)


def least(limits: Iterable[Limit]) -> Limit | None:
    """The least limit of all ground; None where there is none."""
    return min((x for x in limits if not x.zones), key=lambda x: x.bank_m3, default=None)


@dataclass(frozen=True)
class _Reckoned:
    """The limits of a shift, and by which routes its tonnes go."""

    limits: tuple[Limit, ...]
    shares: tuple[Share, ...]

    @cached_property
    def slot(self) -> SlotLimits:
        return slot_limits(self.limits)


@dataclass(frozen=True, slots=True)
class _WorkDate:
    """When the shifts of a work date work, and when its gate is open."""

    shifts: Mapping[str, Spans]
    gate: Spans


class Capacities:
    """The limits of many shifts of a site: days that are alike are reckoned once."""

    def __init__(self, site: Site, ways: Ways) -> None:
        self.site, self.ways = site, ways.known_to(site)
        self._alike: dict[date, int] = {}
        self._sorts: dict[tuple[object, ...], int] = {}
        self._dates: dict[int, _WorkDate] = {}
        self._known: dict[tuple[int, str], _Reckoned] = {}

    def limits(self, work_date: date, shift: Shift) -> tuple[Limit, ...]:
        """The limits of a shift, the least of each kind not picked out."""
        return self._of(work_date, shift).limits

    def slot(self, work_date: date, shift: Shift) -> SlotLimits:
        """(capacities_m3, zone_limits) of a shift, as `ShiftSlot` has them."""
        return self._of(work_date, shift).slot

    def shares(self, work_date: date, shift: Shift) -> tuple[Share, ...]:
        """By which routes the tonnes of a shift go; not the usual ones while a belt is stopped."""
        return self._of(work_date, shift).shares

    def _of(self, work_date: date, shift: Shift) -> _Reckoned:
        alike = self._alike.get(work_date)
        if alike is None:
            alike = self._alike[work_date] = self._number(work_date)
        found = self._known.get((alike, shift.shift))
        if found is None:
            if alike not in self._dates:
                self._dates[alike] = _work_date(self.site, work_date)
            found = _reckoned(self.site, self.ways, work_date, shift, self._dates[alike])
            self._known[alike, shift.shift] = found
        return found

    def _number(self, day: date) -> int:
        """The same number for days that have the same limits."""
        site, tz = self.site, time_zone(self.site.time_zone)
        around = [day + timedelta(days=n) for n in (-1, 0, 1, 2)]
        ahead_of_utc = [datetime.combine(d, time(), tz).utcoffset() for d in around[1:]]
        sort = (
            day.weekday(),
            day in site.closed_days or day < site.first_date,
            ahead_of_utc[0] == ahead_of_utc[1] == ahead_of_utc[2] or day,  # the clock changes
            tuple(shift.since is None or shift.since <= day for shift in site.shifts),
            tuple(p.holds_on(day) for p in site.gate_permissions),
            tuple(self.ways.booked.get(day, {}).items()),
            tuple(
                (stop.kind, stop.about, stop.starts, stop.ends, d - day)
                for stop in site.stops
                if stop.first_day <= around[2] and stop.last_day >= around[0]
                for d in around[:3]
                if is_stopped(stop, d)
            ),
        )
        return self._sorts.setdefault(sort, len(self._sorts))


def _work_date(site: Site, day: date) -> _WorkDate:
    shifts = {shift.shift: shift_spans(site, day, shift) for shift in shifts_on(site, day)}
    return _WorkDate(shifts, gate_spans(site, day) if any(shifts.values()) else ())


def _reckoned(
    site: Site, ways: Ways, work_date: date, shift: Shift, of_date: _WorkDate
) -> _Reckoned:
    """The limits of a shift, not looked up."""
    spans = of_date.shifts.get(shift.shift, ())
    if not spans:
        works = shift.shift in of_date.shifts
        name = governing.STOP if works else governing.CALENDAR
        how = "the site is stopped all shift" if works else "no such shift by the calendar"
        return _Reckoned((Limit(name, "", (), 0.0, 0.0, how),), ())
    part = hours(spans) / sum(map(hours, of_date.shifts.values()))
    ahead = ShiftAhead(site, ways, work_date, shift, spans, of_date.gate, part)
    shut = [shut_routes(ahead, in_part=False), shut_routes(ahead, in_part=True)]
    plans = [_of_ways(ahead, routes) for routes in (shut if shut[0] != shut[1] else shut[:1])]
    best = max(plans, key=_least_m3)
    return replace(best, limits=(*dig_limits(ahead), *hoist_limits(ahead), *best.limits))


def _of_ways(ahead: ShiftAhead, shut: Mapping[str, Shut]) -> _Reckoned:
    """The limits of the ways out, with what cannot go its usual way on another one."""
    gone = carried(ahead.site, ahead.ways, shut)
    said, found = list(gone.instead), []
    for (name, about), share in gone.stuck.items():
        percent = f"{100.0 * share:.0f} % of the tonnes"
        if share > HEAP_SHARE:
            found.append(Limit(name, about, (), 0.0, 0.0, f"shut; {percent} have no other way"))
        else:
            said.append(f"{percent} wait in the heap while {about or name} is shut.")
    for limits in (belt_limits, lorry_limits, gate_limits, receiver_limits):
        found += limits(ahead, gone.shares)
    if said:
        found = [replace(limit, how=". ".join((limit.how, " ".join(said)))) for limit in found]
    return _Reckoned(tuple(found), gone.shares)


def _least_m3(of: _Reckoned) -> float:
    found = least(of.limits)
    return math.inf if found is None else found.bank_m3
