"""Earned schedule: how much of the plan's time the ground dug so far is worth.

Volume over planned volume returns to 1 at the end, however late. Time does not: it is the working
day of the plan by which as much should have been dug. Overdig earns nothing, and no stage earns
more than its design volume.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import accumulate

from tracker.domain.programme.planned import PlannedCurve
from tracker.errors import InputError, NotEnoughData

_ROUNDING = 1e-9  # of the design volume: what sums of floats may be off by


@dataclass(frozen=True, slots=True)
class DugOn:
    """Net design volume dug on a day in a stage of a zone [bank m³], overdig left out."""

    zone: str
    stage: int
    day: date
    net_m3: float


@dataclass(frozen=True, slots=True)
class Earned:
    """Where a zone stands in the time of the plan [working days]; no zone: all of them.

    Counted from the first planned day of digging of the zone to `day`: the day asked for, or the
    one on which all of it was dug.
    """

    zone: str
    day: date
    earned_m3: float
    planned_m3: float
    design_m3: float
    earned_days: float
    actual_days: int

    @property
    def ahead_days(self) -> float:
        """Working days ahead of the plan, negative if behind: ES - AT."""
        return self.earned_days - self.actual_days

    @property
    def spi_t(self) -> float | None:
        """Schedule performance in time, ES / AT [-]; None before the plan starts."""
        return self.earned_days / self.actual_days if self.actual_days else None


def earned_schedule(
    curve: PlannedCurve, dug: Iterable[DugOn], as_of: date, working_days: Sequence[date]
) -> tuple[Earned, ...]:
    """All zones together, then zone by zone, at the end of a day.

    ES = C + (EV - PV[C]) / (PV[C+1] - PV[C]), C the working days whose planned volume has all been
    dug; SPI(t) = ES / AT; ahead = ES - AT (lipke_es, page 1).
    Where what was dug is exactly what the plan has during one of its holds, ES is the planned end
    of the digging before it, plus the working days since as much was really dug, at most those of
    the planned hold. Waiting as planned then changes nothing: a late end stays late, an early one
    early (the source would count the hold as earned on its first day). For all zones together the
    same, with the last day of digging of any of them.

    Raises InputError for a stage that is not in the plan, and where the plan digs on days that are
    not working days; NotEnoughData if these do not cover the plan and the time to `as_of`.
    """
    _check_calendar(curve, as_of, working_days)
    design = {(s.zone, s.stage): s.design_m3 for s in curve.stages}
    done: dict[tuple[str, int], dict[date, float]] = {key: defaultdict(float) for key in design}
    for row in dug:
        if (row.zone, row.stage) not in design:
            raise InputError(
                f"Zone {row.zone} has no stage {row.stage} in the plan. Add it to the plan, or"
                " correct the record.",
                field="stage",
            )
        if row.day <= as_of:
            done[row.zone, row.stage][row.day] += row.net_m3
    return tuple(
        _earned(curve, zone, design, done, as_of, working_days) for zone in (None, *curve.daily_m3)
    )


def _check_calendar(curve: PlannedCurve, as_of: date, working_days: Sequence[date]) -> None:
    first, last = curve.days[0], max(curve.days[-1], as_of)
    if not working_days or working_days[0] > first or working_days[-1] < last:
        raise NotEnoughData(
            f"The working days do not cover the plan, {first} to {last}. Extend the calendar."
        )
    off = {day for stage in curve.stages for day in stage.dig_days} - set(working_days)
    if off:
        raise InputError(
            f"The plan digs on {min(off)}, which is not a working day of this calendar. Use the"
            " calendar that the plan was made with."
        )


def _earned(
    curve: PlannedCurve,
    zone: str | None,
    design: dict[tuple[str, int], float],
    done: dict[tuple[str, int], dict[date, float]],
    as_of: date,
    working_days: Sequence[date],
) -> Earned:
    own = [key for key in design if zone in (None, key[0])]
    total_m3 = curve.design_m3(zone)
    worth_m3 = sum(_worth(key, design, done, as_of) for key in own)
    dug_on = _worth_since(own, design, done, worth_m3 - total_m3 * _ROUNDING)
    day = as_of
    if worth_m3 >= total_m3 * (1.0 - _ROUNDING) and dug_on is not None:
        day = dug_on  # the days after it do not count against the zone
    planned_on = dict(zip(curve.days, curve.on_days_m3(zone), strict=True))
    begins = min(s.starts for s in curve.stages if zone in (None, s.zone))
    time = [d for d in working_days if begins <= d <= curve.days[-1]]
    planned_m3 = [0.0, *accumulate(planned_on[d] for d in time)]
    passed = bisect_right(working_days, day)
    actual = max(passed - bisect_left(working_days, begins), 0)
    waited = passed - bisect_right(working_days, dug_on) if dug_on is not None else 0
    at = planned_m3[min(actual, len(planned_m3) - 1)]
    days = earned_days(planned_m3, worth_m3, waited)
    return Earned(zone or "", day, worth_m3, at, total_m3, days, actual)


def _worth_since(
    own: Sequence[tuple[str, int]],
    design: dict[tuple[str, int], float],
    done: dict[tuple[str, int], dict[date, float]],
    enough_m3: float,
) -> date | None:
    """The first day by which enough was dug: the last of digging it; None where nobody dug."""
    for day in sorted({d for key in own for d in done[key]}):
        if sum(_worth(key, design, done, day) for key in own) >= enough_m3:
            return day
    return None


def _worth(
    key: tuple[str, int],
    design: dict[tuple[str, int], float],
    done: dict[tuple[str, int], dict[date, float]],
    until: date,
) -> float:
    """What was dug of a stage by a day, at most its design volume [m³]."""
    dug_m3 = sum(m3 for day, m3 in done[key].items() if day <= until)
    return max(0.0, min(dug_m3, design[key]))


def earned_days(planned_m3: Sequence[float], worth_m3: float, waited_days: float = 0.0) -> float:
    """Earned schedule in periods of the plan (lipke_es, page 1).

    `planned_m3` is the cumulative plan at the end of each period, from 0 before the first. Where
    the plan is flat at just this volume, its first period that has it + `waited_days`, the periods
    since it was dug, at most to the end of the flat step.

    >>> earned_days([0.0, 100.0, 200.0, 300.0], 250.0)
    2.5
    >>> [earned_days([0.0, 100.0, 100.0, 100.0, 300.0], 100.0, waited) for waited in (0, 1, 5)]
    [1.0, 2.0, 3.0]
    """
    total_m3 = planned_m3[-1]
    slack = total_m3 * _ROUNDING
    at = bisect_left(planned_m3, min(worth_m3, total_m3) - slack)
    if planned_m3[at] > worth_m3 + slack:
        before = planned_m3[at - 1]
        return at - 1 + (worth_m3 - before) / (planned_m3[at] - before)
    if planned_m3[at] >= total_m3 - slack:
        return float(at)  # the plan is done: what comes after is no hold
    last = bisect_right(planned_m3, worth_m3 + slack) - 1
    return float(min(at + waited_days, last))
