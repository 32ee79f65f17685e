"""When a site works: shifts, closures and stops; and its gate: caps, windows, permissions.

Times of day are local; see `calendar` for what that means.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time

CAP_PERIODS = ("day", "hour")
BOTH_WAYS = "both"
CAP_DIRECTIONS = (BOTH_WAYS, "in", "out")
STOP_KINDS = ("site", "gate", "zone", "belt", "hoist", "destination")


@dataclass(frozen=True, slots=True)
class Shift:
    """A shift by its local times; one that ends at or before it starts runs past midnight."""

    shift: str
    name: str
    starts: time
    ends: time
    weekdays: tuple[int, ...]  # 0 = Monday
    since: date | None = None  # first work date; None: from the start


@dataclass(frozen=True, slots=True)
class Closure:
    """A day without shifts: a holiday or a shutdown."""

    day: date
    reason: str


@dataclass(frozen=True, slots=True)
class MovementCap:
    """The most lorry movements allowed in a local day or hour. Exceeded means more than."""

    per: str  # one of CAP_PERIODS
    movements: int
    reference: str
    direction: str = BOTH_WAYS  # one of CAP_DIRECTIONS


@dataclass(frozen=True, slots=True)
class GateWindow:
    """When lorries may pass the gate on a weekday (0 = Monday), local time."""

    weekday: int
    opens: time
    closes: time


@dataclass(frozen=True, slots=True)
class GatePermission:
    """Leave to depart from the usual windows and caps for some days, with its reference.

    Either lorries may also pass from `opens` to `closes`, or the cap `per` and `direction` is
    `movements` on these days, be it higher or lower than the usual one.
    """

    reference: str
    valid_from: date
    valid_to: date  # inclusive
    weekdays: tuple[int, ...] = ()  # 0 = Monday; empty: every day
    opens: time | None = None
    closes: time | None = None
    per: str = ""
    direction: str = BOTH_WAYS
    movements: int | None = None

    def holds_on(self, day: date) -> bool:
        """Whether it is valid on a local day."""
        within = self.valid_from <= day <= self.valid_to
        return within and (not self.weekdays or day.weekday() in self.weekdays)


@dataclass(frozen=True, slots=True)
class Stop:
    """Hours in which something does not work although the calendar has a shift.

    Belt maintenance, a possession, a receiver's shutdown. `about` names the zone, belt, hoist or
    destination; it is empty for the site and the gate. It holds on each local day from `first_day`
    to `last_day` that is one of `weekdays`, from `starts` to `ends`; the whole day where both are
    None, past midnight where it ends at or before it starts.
    """

    kind: str  # one of STOP_KINDS
    about: str
    first_day: date
    last_day: date  # inclusive
    reason: str
    weekdays: tuple[int, ...] = ()  # 0 = Monday; empty: every day
    starts: time | None = None
    ends: time | None = None
    reference: str = ""
