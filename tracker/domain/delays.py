"""Coded delays of a shift as ground not dug: minutes at the rate of the hours that were worked.

    lost_bank_m3 = minutes / 60 * rate_bank_m3_per_h
    rate_bank_m3_per_h = dug bank_m3 / worked hours of the shifts that dug
    worked hours = shift hours - coded hours

Idle time that nobody coded stays in the worked hours, so a rate is rather low than high, and so is
what a delay is said to have cost.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from tracker.errors import InputError

FEWEST_SHIFTS = 5  # that dug, before a rate stands for itself; common practice, no source
OF_STAGE, OF_ZONE, OF_ALL, NO_RATE = "zone and stage", "zone", "all zones", "none"


def coded_minutes(stated: Iterable[tuple[str, int]], shift_min: int) -> dict[str, int]:
    """Cause -> minutes that it took of one shift of one zone [min].

    Returns of the same shift and zone (two streams, two stages) repeat what held up the crew, so a
    cause counts once, as long as its longest statement. Together they are never more than the
    shift: beyond that, all are cut in proportion. Raises InputError for negative minutes.

    >>> coded_minutes([("rain", 60), ("rain", 90), ("plant", 30)], 720)
    {'rain': 90, 'plant': 30}
    >>> coded_minutes([("rain", 600), ("plant", 300)], 600)
    {'rain': 400, 'plant': 200}
    """
    found: dict[str, int] = {}
    for cause, minutes in stated:
        if minutes < 0:
            raise InputError(f"{minutes} min are lost to {cause}; minutes are 0 or more.")
        found[cause] = max(minutes, found.get(cause, 0))
    total_min = sum(found.values())
    if total_min <= shift_min:
        return found
    return {cause: minutes * shift_min // total_min for cause, minutes in found.items()}


@dataclass(frozen=True, slots=True)
class DugShift:
    """What one shift dug of one stage of a zone, and the hours that it worked there."""

    zone: str
    stage: int
    bank_m3: float
    worked_h: float


@dataclass(frozen=True, slots=True)
class DiggingRate:
    """A rate of digging [bank m³/h] with what it is the rate of, and the shifts behind it."""

    bank_m3_per_h: float
    basis: str  # OF_STAGE | OF_ZONE | OF_ALL | NO_RATE
    shifts: int


class DiggingRates:
    """Rates by zone and stage; of the zone, or of all, where too few shifts dug."""

    def __init__(self, shifts: Iterable[DugShift]) -> None:
        found: dict[tuple[str, int | None], _Sum] = defaultdict(_Sum)
        for shift in shifts:
            for place in ((shift.zone, shift.stage), (shift.zone, None), ("", None)):
                found[place].add(shift)
        self._sums = dict(found)

    def rate(self, zone: str, stage: int) -> DiggingRate:
        """The rate of a stage of a zone; 0 with basis NO_RATE where nothing was dug at all."""
        places = (((zone, stage), OF_STAGE), ((zone, None), OF_ZONE), (("", None), OF_ALL))
        for place, basis in places:
            summed = self._sums.get(place)
            fewest = 1 if basis == OF_ALL else FEWEST_SHIFTS
            if summed and summed.shifts >= fewest and summed.worked_h > 0.0:
                return DiggingRate(summed.bank_m3 / summed.worked_h, basis, summed.shifts)
        return DiggingRate(0.0, NO_RATE, 0)


@dataclass(slots=True)
class _Sum:
    bank_m3: float = 0.0
    worked_h: float = 0.0
    shifts: int = 0

    def add(self, shift: DugShift) -> None:
        self.bank_m3 += shift.bank_m3
        self.worked_h += shift.worked_h
        self.shifts += 1


def lost_volume(minutes: int, rate_bank_m3_per_h: float) -> float:
    """Ground not dug in some minutes [m³ bank]. Raises InputError for a negative value.

    >>> lost_volume(90, 20.0)
    30.0
    """
    if minutes < 0 or rate_bank_m3_per_h < 0.0:
        raise InputError(f"{minutes} min at {rate_bank_m3_per_h:g} m³/h: neither may be negative.")
    return minutes / 60.0 * rate_bank_m3_per_h
