"""Days and hours that passed more than a cap on movements: spoil and all other traffic together.

Each day is held to the caps in force on it, permissions included. On the night when the clocks go
back, the hour that comes twice counts as one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from tracker.domain.calendar import caps_on
from tracker.domain.rules import CAP_RULE
from tracker.domain.site import BOTH_WAYS, MovementCap, Site
from tracker.ledger.questions import exceeded, summed
from tracker.statements.frame import Frame, set_up_periods
from tracker.statements.shapes import OpenException
from tracker.statements.words import date_words

# What a cap counts, by the columns of the totals: spoil, then all other traffic.
_HOURLY = {
    BOTH_WAYS: ("moves_in", "moves_out", "other_in", "other_out"),
    "in": ("moves_in", "other_in"),
    "out": ("moves_out", "other_out"),
}
_DAILY = _HOURLY | {BOTH_WAYS: ("movements", "other_movements")}  # one row a day: much quicker
OTHER = ("other_in", "other_out", "other_movements")


@dataclass(frozen=True, slots=True)
class PassedCap:
    """A day, or an hour of one, that passed more movements than its cap."""

    cap: MovementCap
    day: date
    hour: int | None
    count: int
    other: int  # of the count, what carried no spoil

    @property
    def about(self) -> str:
        """The name by which the exception is known and closed."""
        way = "" if self.cap.direction == BOTH_WAYS else f" {self.cap.direction}"
        return f"{self.cap.per} {self.day}{'' if self.hour is None else f' {self.hour:02d}'}{way}"

    @property
    def sentence(self) -> str:
        """What happened, against which cap."""
        hour = "" if self.hour is None else f", {self.hour:02d}:00 to {self.hour:02d}:59"
        way = "" if self.cap.direction == BOTH_WAYS else f" {self.cap.direction}"
        other = f" ({self.other} of them other traffic)" if self.other else ""
        return (
            f"{self.count} movements{way} on {date_words(self.day)}{hour}{other},"
            f" {self.count - self.cap.movements} more than {cap_words(self.cap)}"
            f" ({self.cap.reference})."
        )


def cap_words(cap: MovementCap) -> str:
    """A cap as people say it.

    >>> cap_words(MovementCap("hour", 16, "condition", "in"))
    'the cap of 16 in an hour'
    """
    way = "" if cap.direction == BOTH_WAYS else f" {cap.direction}"
    return f"the cap of {cap.movements}{way} {'an hour' if cap.per == 'hour' else 'a day'}"


def open_caps(frame: Frame, since: date) -> list[OpenException]:
    """Days of the whole time above a cap of a day; hours since a date above that of an hour."""
    days = passed_caps(frame, frame.site.first_date, frame.as_of, ("day",))
    hours = passed_caps(frame, since, frame.as_of, ("hour",))
    return [
        OpenException(
            rule=CAP_RULE,
            about=passed.about,
            kind="",
            work_date=passed.day,
            zone="",
            sentence=passed.sentence,
        )
        for passed in (*days, *hours)
    ]


def passed_caps(
    frame: Frame, since: date, until: date, periods: Iterable[str] = ("day", "hour")
) -> list[PassedCap]:
    """Every cap that was passed between two dates, by day and hour."""
    found = []
    for site, start, end in set_up_periods(frame, since, until):
        for (per, direction), lowest in _lowest_limits(site).items():
            if per in periods:
                found += _passed(frame, site, (per, direction), lowest, (start, end))
    return sorted(found, key=lambda p: (p.day, p.hour is not None, p.hour or 0, p.cap.direction))


def _lowest_limits(site: Site) -> dict[tuple[str, str], int]:
    """(per, direction) -> the lowest cap, usual or permitted, that a set-up has."""
    usual = [(cap.per, cap.direction, cap.movements) for cap in site.caps]
    permitted = [
        (leave.per, leave.direction, leave.movements)
        for leave in site.gate_permissions
        if leave.movements is not None
    ]
    limits: dict[tuple[str, str], int] = {}
    for per, direction, movements in (*usual, *permitted):
        limits[per, direction] = min(movements, limits.get((per, direction), movements))
    return limits


def _passed(
    frame: Frame,
    site: Site,
    key: tuple[str, str],
    lowest: int,
    period: tuple[date, date],
) -> list[PassedCap]:
    per, direction = key
    measures, by = (_DAILY, ("day",)) if per == "day" else (_HOURLY, ("day", "detail"))
    asked: dict[str, Any] = {"since": period[0], "until": period[1], "known_at": frame.known_at}
    above = []
    for (day, *hour), count in exceeded(
        frame.ledger, measures[direction], by, lowest, **asked
    ).items():
        caps = {(cap.per, cap.direction): cap for cap in caps_on(site, day)}
        if key in caps and count > caps[key].movements:
            above.append((caps[key], day, int(hour[0]) if hour else None, count))
    if not above:
        return []
    others = tuple(name for name in measures[direction] if name in OTHER)
    days = [day for _, day, _, _ in above]
    sums = summed(
        frame.ledger, others, by, since=min(days), until=max(days), known_at=frame.known_at
    )
    return [PassedCap(*passed, _other(sums, *passed[1:3])) for passed in above]


def _other(sums: dict[tuple[Any, ...], int], day: date, hour: int | None) -> int:
    place = (day,) if hour is None else (day, f"{hour:02d}")
    return sum(amount for key, amount in sums.items() if key[1:] == place)
