"""The shifts ahead by the calendar of a site, closed ones included."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

from tracker.domain.calendar import days, shift_times, shifts_on
from tracker.domain.programme.shapes import ShiftSlot
from tracker.domain.site import Shift, Site
from tracker.errors import InputError

SlotLimits = tuple[Mapping[str, float], Mapping[str, Mapping[str, float]]]


def no_limit(work_date: date, shift: Shift) -> SlotLimits:
    """Limits of a shift that nothing limits but digging."""
    return {}, {}


def shift_slots(
    site: Site,
    since: date,
    until: date,
    limits: Callable[[date, Shift], SlotLimits] = no_limit,
) -> tuple[ShiftSlot, ...]:
    """Every shift of every day [UTC], closed where the calendar of the site expects none.

    `limits` gives the most bank volume of a shift on a date: name -> most of all zones together,
    and zone -> name -> most of that zone. A shift that the calendar has on other weekdays only is
    there too, closed: so that the calendar shows as what governs, and a shift added can be told
    from a shift there is. Raises InputError for dates out of order or a site without shifts.
    """
    if until < since:
        raise InputError(f"The calendar ends on {until}, before it begins on {since}. Swap them.")
    if not site.shifts:
        raise InputError("The site has no shifts. Enter them in the set-up.", field="shifts")
    slots = []
    for day in days(since, until):
        worked = shifts_on(site, day)
        for shift in site.shifts:
            starts, ends = shift_times(shift, day, site.time_zone)
            closed = shift not in worked
            all_zones, by_zone = no_limit(day, shift) if closed else limits(day, shift)
            slots.append(ShiftSlot(day, starts, ends, all_zones, closed, by_zone))
    return tuple(sorted(slots, key=lambda slot: slot.starts))
