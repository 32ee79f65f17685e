"""Programmes without any chance in them: a steady record, holds that take what was planned."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from tests.domain.programme.seasons import slots_of
from tracker.domain.programme.shapes import HoldSpread, Programme, StageToDig, WorkedShift

AS_PLANNED = HoldSpread(1.0, 1.0, 1.0)


def march(day: int) -> date:
    return date(2026, 3, day)


def record(*outputs_m3: float, zone: str = "A", stage: int = 1) -> tuple[WorkedShift, ...]:
    """Shifts one after the other, the last on Saturday 28 February 2026."""
    return tuple(
        WorkedShift(zone, stage, m3, n, date(2026, 2, 28)) for n, m3 in enumerate(outputs_m3)
    )


STEADY = record(*[100.0] * 6)


def steady(
    *stages: StageToDig, days: int = 60, off=(), most_m3=None, own_m3=None, **what
) -> Programme:
    """Each zone gives 100 m³ a shift, from Monday 2 March 2026, Sundays closed.

    `own_m3` gives the limits of the zones by the number of the day.
    """
    own_m3 = own_m3 or (lambda day: {})
    slots = tuple(
        replace(slot, zone_limits=own_m3(n))
        for n, slot in enumerate(slots_of(days, frozenset(off), **(most_m3 or {})))
    )
    given = {"shifts": STEADY, "hold_spread": AS_PLANNED, **what}
    return Programme(stages, slots, **given)


def to_dig(zone="A", stage=1, m3=1000.0, hold=0.0, released=True, since=None) -> StageToDig:
    return StageToDig(zone, stage, m3, hold, released, since)
