"""What the gate statement says in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tracker.domain.gate import CapStanding, Forecast, GateHour
from tracker.domain.site import BOTH_WAYS, MovementCap
from tracker.statements.caps import PassedCap, cap_words
from tracker.statements.words import date_words


def headline(
    day: date,
    standings: Sequence[CapStanding],
    hours: Sequence[GateHour],
    window: str,
    loads_left: int | None,
) -> str:
    """The day at the gate in one breath, for whoever opens it at six in the morning."""
    of_day = [s for s in standings if s.cap.per == "day"]
    above = [s for s in of_day if s.used > s.cap.movements]
    is_open = any(h.open_left_min for h in hours)
    if above:
        other = sum(h.other(above[0].cap.direction) for h in hours)
        said = PassedCap(above[0].cap, day, None, above[0].used, other).sentence
        return f"{said} Stop lorries and ask the site manager." if is_open else said
    parts = [_opening(hours, window)]
    if of_day:
        parts.append(standing_sentence(of_day[0], is_open))
    else:
        parts.append(f"{sum(h.used() for h in hours)} movements; no cap a day is set up.")
    if loads_left is not None and is_open:
        parts.append(f"Room for {_loads(loads_left)} of spoil.")
    return " ".join(filter(None, parts))


def _opening(hours: Sequence[GateHour], window: str) -> str:
    if not any(h.open_gone_min or h.open_left_min for h in hours):
        return "The gate is shut on this day."
    if not any(h.open_left_min for h in hours):
        return "The gate is closed for the day."
    if not any(h.open_gone_min for h in hours):
        return f"Gate {window}."
    return ""


def standing_sentence(standing: CapStanding, is_open: bool) -> str:
    """What is used, booked and left under a cap; whether the gate still opens on this day."""
    cap, hour, idle = standing.cap, "", ""
    if standing.hour is not None:
        hour = f"{_hour(standing.hour)}: "
    elif cap.per == "hour":
        idle = f" (no hour used{' yet' if is_open else ''})"
    way = "" if cap.direction == BOTH_WAYS else f" {cap.direction}"
    booked = f", {standing.awaited} more booked" if standing.awaited else ""
    left = (
        f"{standing.left} {'left' if is_open else 'not used'}"
        if standing.left >= 0
        else f"{-standing.left} more than {cap_words(cap)}"
    )
    return f"{hour}{standing.used} of {cap.movements} movements{way} used{idle}{booked}, {left}."


def forecast_sentence(cap: MovementCap, forecast: Forecast | None) -> str:
    """What the day, or its fullest hour, comes to at the rate of today; empty if unknown."""
    if forecast is None:
        return ""
    span = f"about {forecast.movements:.0f} ({forecast.low:.0f} to {forecast.high:.0f})"
    what = "the day" if forecast.hour is None else _hour(forecast.hour)
    if forecast.passes_in_hour is not None:
        end = f"it passes {cap_words(cap)} in the hour from {forecast.passes_in_hour:02d}:00"
    elif forecast.movements > cap.movements:
        end = f"beyond {cap_words(cap)}"
    elif forecast.high > cap.movements:
        end = f"it may pass {cap_words(cap)}"
    else:
        end = f"within {cap_words(cap)}"
    way = "" if cap.direction == BOTH_WAYS else f" {cap.direction}"
    return f"At the rate of today {what} comes to {span} movements{way}: {end}."


def no_forecast(caps: Sequence[MovementCap], hours: Sequence[GateHour]) -> str:
    """Why there is no forecast."""
    if not caps:
        return "No cap on movements is set up, so nothing is forecast."
    if not any(h.open_left_min for h in hours):
        return "The gate opens no more on this day."
    if any(h.open_gone_min for h in hours):
        return "No forecast yet: the gate was open for less than an hour today."
    return "No forecast yet: the gate has not opened."


def booking_warnings(
    caps: Sequence[MovementCap], hours: Sequence[GateHour], window: str
) -> tuple[str, ...]:
    """What of the bookings cannot be: gate shut, too many for an hour or for the day."""
    found = []
    shut = [h for h in hours if h.awaited() and not (h.open_gone_min or h.open_left_min)]
    if shut:
        found.append(
            f"Movements are booked from {_list(shut)}, while the gate is shut ({window}): move"
            " them, or ask for a permission."
        )
    for cap in caps:
        way = cap.direction
        if cap.per == "hour":
            full = [h for h in hours if h.awaited(way) and _sure(h, way) > cap.movements]
            if full:
                found.append(
                    f"Booked beyond {cap_words(cap)} from {_list(full)}: spread them, or ask for"
                    " a permission."
                )
            continue
        above = sum(_sure(h, way) for h in hours) - cap.movements
        if above > 0 and any(h.awaited(way) for h in hours):
            found.append(
                f"With what is booked the day comes to {above} more than {cap_words(cap)}: move"
                " traffic to another day, or ask for a permission."
            )
    return tuple(found)


def day_ahead(
    day: date, booked: int, purposes: str, loads_left: int | None, usual: int | None
) -> str:
    """A day to come: what is booked and how many loads of spoil it leaves."""
    said = f"{date_words(day)}: {booked} movements booked ({purposes})."
    if loads_left is None or usual is None:
        return f"{said} No cap is set up."
    return f"{said} Room for {_loads(loads_left)} of spoil instead of {usual}."


def permission_sentences(references: Sequence[str]) -> list[str]:
    """By whose leave the caps and windows of a day differ from the usual ones, if they do."""
    return [f"By permission: {'; '.join(references)}."] if references else []


def purposes(booked: Sequence[tuple[str, int]]) -> str:
    """Purposes with their movements.

    >>> purposes([("concrete", 40), ("steel", 6), ("concrete", 8)])
    'concrete 48, steel 6'
    """
    by_purpose: dict[str, int] = {}
    for purpose, movements in booked:
        by_purpose[purpose] = by_purpose.get(purpose, 0) + movements
    return ", ".join(f"{purpose} {n}" for purpose, n in by_purpose.items())


def _sure(hour: GateHour, direction: str) -> int:
    return hour.used(direction) + hour.awaited(direction)


def _list(hours: Sequence[GateHour]) -> str:
    return ", ".join(f"{h.hour:02d}:00" for h in hours)


def _hour(hour: int) -> str:
    return f"{hour:02d}:00 to {hour:02d}:59"


def _loads(count: int) -> str:
    return "1 load" if count == 1 else f"{count} loads"
