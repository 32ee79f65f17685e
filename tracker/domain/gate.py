"""The gate on one day: movements used, booked and left under each cap, and how the day will end.

Everything counts by the local clock. The hour that the clock shows twice in autumn is one hour with
twice the time, so that its movements are held to one cap of an hour and the day adds up exactly;
the hour that the clock skips in spring has no time. To exceed a cap is to pass more than it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import sqrt

from tracker.domain.calendar import Window, day_bounds, local_time, open_minutes
from tracker.domain.site import BOTH_WAYS, MovementCap

KINDS_OF_PASS = ("spoil_in", "spoil_out", "other_in", "other_out")
OVER, RUNNING, AHEAD = "over", "running", "ahead"
RATE_AFTER_MIN = 60  # open minutes before a rate of today says anything: common practice, no source
MOVEMENTS_PER_LOAD = 2


@dataclass(frozen=True, slots=True)
class Booked:
    """Traffic announced for some hours of a local day, spread over them evenly."""

    from_hour: int
    to_hour: int  # exclusive, to 24
    movements_in: int
    movements_out: int


@dataclass(frozen=True, slots=True)
class GateHour:
    """One hour of the local clock: what passed, what is booked, how long the gate is open [min]."""

    hour: int
    stage: str  # over | running | ahead
    spoil_in: int = 0
    spoil_out: int = 0
    other_in: int = 0
    other_out: int = 0
    booked_in: int = 0
    booked_out: int = 0
    open_gone_min: int = 0
    open_left_min: int = 0

    def used(self, direction: str = BOTH_WAYS) -> int:
        """Movements that passed, spoil and all other traffic."""
        return self.spoil(direction) + self.other(direction)

    def spoil(self, direction: str = BOTH_WAYS) -> int:
        """Movements of lorries with spoil."""
        return _of(direction, self.spoil_in, self.spoil_out)

    def other(self, direction: str = BOTH_WAYS) -> int:
        """Movements of all other traffic."""
        return _of(direction, self.other_in, self.other_out)

    def booked(self, direction: str = BOTH_WAYS) -> int:
        """Movements booked for this hour, come or not."""
        return _of(direction, self.booked_in, self.booked_out)

    def awaited(self, direction: str = BOTH_WAYS) -> int:
        """Booked movements still to come.

        In the hour that is running, other traffic that passed in it counts as the booked one; what
        was booked for an hour that is over is not awaited any more.
        """
        if self.stage == OVER:
            return 0
        come = (self.other_in, self.other_out) if self.stage == RUNNING else (0, 0)
        return _of(direction, max(0, self.booked_in - come[0]), max(0, self.booked_out - come[1]))


@dataclass(frozen=True, slots=True)
class CapStanding:
    """What is used, booked and left under one cap; `hour` is the one that an hour's cap is about.

    That is the hour that is running, else the one with the least left; None while nothing passed
    and nothing is booked on the day.
    """

    cap: MovementCap
    hour: int | None
    used: int
    awaited: int

    @property
    def left(self) -> int:
        """Movements left once all that is booked has come; negative if that is too much."""
        return self.cap.movements - self.used - self.awaited


@dataclass(frozen=True, slots=True)
class Forecast:
    """Movements at the end of the day, or of the fullest hour still to come, with a range."""

    movements: float
    low: float
    high: float
    hour: int | None  # of an hour's cap: the fullest one
    passes_in_hour: int | None  # the first hour in which the cap would be passed, if it was not yet


def gate_hours(
    passed: Mapping[tuple[str, int], int],
    bookings: Sequence[Booked],
    windows: Sequence[Window],
    day: date,
    moment: datetime,
    zone: str,
) -> tuple[GateHour, ...]:
    """The 24 hours of the local clock on a day, as they stand at a moment.

    `passed` is (one of KINDS_OF_PASS, local hour) -> movements.
    """
    begins, ends = day_bounds(day, zone)
    now = min(max(moment.replace(second=0, microsecond=0), begins), ends)
    gone = open_minutes(windows, begins, now, zone)
    left = open_minutes(windows, now, ends, zone)
    booked_in, booked_out = booked_by_hour(bookings)
    running = local_time(now, zone).hour if begins < now < ends else 24 if now == ends else -1
    return tuple(
        GateHour(
            hour=hour,
            stage=RUNNING if hour == running else OVER if hour < running else AHEAD,
            booked_in=booked_in[hour],
            booked_out=booked_out[hour],
            open_gone_min=gone[hour],
            open_left_min=left[hour],
            **{kind: passed.get((kind, hour), 0) for kind in KINDS_OF_PASS},
        )
        for hour in range(24)
    )


def booked_by_hour(bookings: Sequence[Booked]) -> tuple[list[int], list[int]]:
    """Movements in and out that some bookings of a day bring in each hour of the local clock."""
    booked_in, booked_out = ([0] * 24, [0] * 24)
    for booking in bookings:
        _spread(booked_in, booking, booking.movements_in)
        _spread(booked_out, booking, booking.movements_out)
    return booked_in, booked_out


def cap_standing(cap: MovementCap, hours: Sequence[GateHour]) -> CapStanding:
    """What is used, booked and left under a cap of a day or of an hour."""
    if cap.per == "day":
        used = sum(h.used(cap.direction) for h in hours)
        return CapStanding(cap, None, used, sum(h.awaited(cap.direction) for h in hours))
    each = {
        h.hour: CapStanding(cap, h.hour, h.used(cap.direction), h.awaited(cap.direction))
        for h in hours
    }
    if not any(one.used or one.awaited for one in each.values()):
        return CapStanding(cap, None, 0, 0)
    running = next((h.hour for h in hours if h.stage == RUNNING), None)
    return min(each.values(), key=lambda one: one.left) if running is None else each[running]


def forecast(cap: MovementCap, hours: Sequence[GateHour]) -> Forecast | None:
    """Movements to expect under a cap if the day goes on as it went so far.

    movements = used + awaited + rate * open_left_min
    rate = (spoil + max(0, other - booked)) / open_gone_min, of the hours gone

    What is booked comes as booked; all that nobody booked, spoil above all, goes on at the rate of
    today. The range is 2 standard deviations of a count at random (Poisson) in the minutes left at
    a rate that was itself counted in the minutes gone:
    2 * sqrt(passes * rate * open_left_min * (1 + open_left_min / open_gone_min)), where `passes` is
    2 for both ways together, since each lorry passes twice. None before an open hour is gone, and
    when no open minute is left.

    Notes
    -----
    Lorries that come in convoys, or a rate that changes within the day, scatter more than this.
    """
    gone_min = sum(h.open_gone_min for h in hours)
    if gone_min < RATE_AFTER_MIN or not any(h.open_left_min for h in hours):
        return None
    per_min = _unbooked(cap.direction, hours) / gone_min
    if cap.per == "day":
        return _of_day(cap, hours, per_min, gone_min)
    coming = [h for h in hours if h.stage != OVER and (h.open_left_min or h.awaited(cap.direction))]
    each = {h.hour: _expected(cap.direction, [h], per_min, gone_min) for h in coming}
    fullest = max(each, key=lambda hour: each[hour][0])
    above = [hour for hour, (movements, _, _) in each.items() if movements > cap.movements]
    return Forecast(*each[fullest], fullest, min(above, default=None))


def _of_day(cap: MovementCap, hours: Sequence[GateHour], per_min: float, gone_min: int) -> Forecast:
    total: float = sum(h.used(cap.direction) for h in hours)
    passed, passes = total > cap.movements, None
    for hour in hours:
        total += hour.awaited(cap.direction) + per_min * hour.open_left_min
        if passes is None and not passed and total > cap.movements:
            passes = hour.hour
    return Forecast(*_expected(cap.direction, hours, per_min, gone_min), None, passes)


def _expected(
    direction: str, hours: Sequence[GateHour], per_min: float, gone_min: int
) -> tuple[float, float, float]:
    """Movements of some hours once they are over, with the low and the high end."""
    sure = sum(h.used(direction) + h.awaited(direction) for h in hours)
    left_min = sum(h.open_left_min for h in hours)
    further = per_min * left_min
    passes = 2 if direction == BOTH_WAYS else 1
    spread = 2.0 * sqrt(passes * further * (1.0 + left_min / gone_min))
    return sure + further, max(float(sure), sure + further - spread), sure + further + spread


def _unbooked(direction: str, hours: Sequence[GateHour]) -> int:
    """Movements so far that nobody had booked."""
    spoil = sum(h.spoil(direction) for h in hours)
    other = sum(h.other(direction) for h in hours)
    due = sum(h.booked(direction) - h.awaited(direction) for h in hours if h.stage != AHEAD)
    return spoil + max(0, other - due)


def loads_left(caps: Sequence[MovementCap], hours: Sequence[GateHour]) -> int | None:
    """Loads of spoil that every cap still leaves room for after what is booked; None if no caps.

    1 load = 2 movements. Under the cap of an hour, the room of each hour in which the gate opens.
    """
    if not caps:
        return None
    coming = [h for h in hours if h.open_left_min]
    if not coming:
        return 0
    room = []
    for cap in caps:
        way = cap.direction
        if cap.per == "day":
            left = cap.movements - sum(h.used(way) + h.awaited(way) for h in hours)
        else:
            left = sum(max(0, cap.movements - h.used(way) - h.awaited(way)) for h in coming)
        room.append(max(0, left) // (MOVEMENTS_PER_LOAD if way == BOTH_WAYS else 1))
    return min(room)


def _of(direction: str, ins: int, outs: int) -> int:
    return {"in": ins, "out": outs}.get(direction, ins + outs)


def _spread(by_hour: list[int], booking: Booked, movements: int) -> None:
    """Add the movements of a booking to its hours, whole ones that add up exactly."""
    hours = booking.to_hour - booking.from_hour
    for n in range(hours):
        share = movements * (n + 1) // hours - movements * n // hours
        by_hour[booking.from_hour + n] += share
