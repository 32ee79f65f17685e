"""Drift of the belt weigher against survey, by a cumulative sum with a stated delay.

    ratio = (mass weighed on every way - bank volume surveyed * bank density) / mass by belt

The ratios share errors: the density, the span of the weighers, the survey between two spans. Each
is therefore compared with what the ones before it lead one to expect. That difference, over its
own standard deviation, is a standard normal number independent of all before, if nothing drifts; so
the run length is known. A common error that was there from the start is learnt and does not count:
only a change does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular

from tracker.domain.reconcile.least_squares import Floats
from tracker.domain.reconcile.run_length import (
    ALLOWANCE,
    LIMIT,
    average_delay,
    average_run_length,
)
from tracker.domain.reconcile.spans import Quantity, Span, covariance, spans
from tracker.domain.reconcile.stated import AssumedGround, Season
from tracker.errors import NotEnoughData

FEWEST_PERIODS = 8  # common practice, no source
RATIOS = (0.01, 0.015, 0.02, 0.03)


@dataclass(frozen=True, slots=True)
class DriftPoint:
    """One span: how much more the belt shows than the survey [-], and the sums after it."""

    period: str
    ratio: float
    u_ratio: float
    step: float
    upper: float
    lower: float


@dataclass(frozen=True, slots=True)
class Delay:
    """How many periods a lasting change by so much takes, on average, to raise the alarm.

    Counted for a change in the middle of the record.
    """

    ratio: float
    periods: float


@dataclass(frozen=True, slots=True)
class Drift:
    """The sums period by period, the first alarm if there is one, and what to expect of them.

    `reads` is `high` or `low`; `since` is the period in which the sum left zero for the last time,
    the likeliest start. `false_alarm_periods` is the average run without any drift.
    """

    points: tuple[DriftPoint, ...]
    alarm: str | None
    reads: str | None
    since: str | None
    allowance: float
    limit: float
    false_alarm_periods: float
    delays: tuple[Delay, ...]


def cumulative_sums(values: Floats, target: float, allowance: float) -> tuple[Floats, Floats]:
    """Upper and lower cumulative sum, in the unit of the values (nist_cusum, 6.3.2.3).

    upper = max(0, upper + value - target - allowance)
    lower = max(0, lower + target - allowance - value)
    """
    upper, lower = np.zeros(len(values)), np.zeros(len(values))
    up = down = 0.0
    for k, value in enumerate(values):
        up = max(0.0, up + float(value) - target - allowance)
        down = max(0.0, down + target - allowance - float(value))
        upper[k], lower[k] = up, down
    return upper, lower


def belt_drift(
    season: Season,
    stream: str,
    allowance: float = ALLOWANCE,
    limit: float = LIMIT,
    *,
    belt: str = "belt",
) -> Drift:
    """Whether the belt weigher has changed against survey since it began, and how soon one knows.

    Raises NotEnoughData for fewer than eight spans in which the belt ran and nothing is missing.
    """
    ground = next((one for one in season.grounds if one.stream == stream), None)
    known = [] if ground is None else _usable(spans(season, ground, belt))
    if ground is None or len(known) < FEWEST_PERIODS:
        raise NotEnoughData(
            f"Only {len(known)} periods of {stream} between surveys have the belt, all other"
            f" weighings and the stock; at least {FEWEST_PERIODS} are needed."
        )
    ratios = [_ratio(span, mass, ground) for span, mass in known]
    root: Floats = np.linalg.cholesky(covariance(ratios)).astype(np.float64)
    step = solve_triangular(root, np.array([one.value for one in ratios]), lower=True)
    upper, lower = cumulative_sums(step, 0.0, allowance)
    names = [span.period for span, _ in known]
    points = tuple(
        DriftPoint(
            names[k], one.value, float(root[k, k]), *(float(v[k]) for v in (step, upper, lower))
        )
        for k, one in enumerate(ratios)
    )
    alarm, reads, since = _first_alarm(names, upper, lower, limit)
    return Drift(
        points=points,
        alarm=alarm,
        reads=reads,
        since=since,
        allowance=allowance,
        limit=limit,
        false_alarm_periods=average_run_length(0.0, allowance, limit),
        delays=_delays(root, allowance, limit),
    )


def _delays(root: Floats, allowance: float, limit: float) -> tuple[Delay, ...]:
    """Delays for a change in the middle of the record, by the steps that it would cause."""
    count = len(root)
    changed = np.arange(count) >= count // 2
    steps = solve_triangular(root, changed.astype(np.float64), lower=True)[changed]
    lasting = [*steps, steps.mean()]
    return tuple(
        Delay(ratio, average_delay([ratio * step for step in lasting], allowance, limit))
        for ratio in RATIOS
    )


def _usable(every: Sequence[Span]) -> list[tuple[Span, Quantity]]:
    return [(one, one.mass_t) for one in every if one.mass_t is not None and one.belt_t.value > 0.0]


def _ratio(span: Span, mass: Quantity, ground: AssumedGround) -> Quantity:
    """(mass - bank volume * density) / belt, with its errors."""
    density, belt_t = ground.bank_density_t_per_m3, span.belt_t.value
    ratio = Quantity(float(mass.value - span.bank_m3.value * density) / belt_t)
    for name, u in mass.errors.items():
        ratio.err(name, u / belt_t)
    for name, u in span.bank_m3.errors.items():
        ratio.err(name, -u * density / belt_t)
    ratio.err(("assumed density",), -span.bank_m3.value * ground.u_shared_t_per_m3 / belt_t)
    return ratio


def _first_alarm(
    names: Sequence[str], upper: Floats, lower: Floats, limit: float
) -> tuple[str | None, str | None, str | None]:
    over = np.flatnonzero((upper > limit) | (lower > limit))
    if not len(over):
        return None, None, None
    first = int(over[0])
    side, reads = (upper, "high") if upper[first] > limit else (lower, "low")
    quiet = np.flatnonzero(side[:first] == 0.0)
    since = int(quiet[-1]) + 1 if len(quiet) else 0
    return names[first], reads, names[since]
