"""What the records imply of density, bulking and payload, beside what the set-up assumes.

The implied value is the slope of a line through the origin, with errors in both variables
(`line.py`): mass over bank volume, counted loose volume over bank volume, mass over loads. It is a
proposal with its interval and the number of periods behind it. A person adopts it, or nobody does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import norm, t

from tracker.domain.reconcile.least_squares import Floats
from tracker.domain.reconcile.line import Line, fitted_line
from tracker.domain.reconcile.spans import Quantity, covariance, spans
from tracker.domain.reconcile.stated import AssumedGround, Mass, Season
from tracker.errors import NotEnoughData, UnknownName

FEWEST_PERIODS = 5  # common practice, no source
COVERAGE = 0.95
UNLIKELY = 0.05
Pair = tuple[str, Quantity, Quantity]  # the period, and both variables


@dataclass(frozen=True, slots=True)
class Point:
    """One period of a calibration: both variables, with standard uncertainties."""

    period: str
    x: float
    u_x: float
    y: float
    u_y: float


@dataclass(frozen=True, slots=True)
class Implied:
    """An implied value with its standard uncertainty and 95 % interval, beside the assumed one.

    `scatter` is that of the points over what their uncertainties lead one to expect; where chance
    seldom gives as much, the interval is widened by it. `left_out` periods lacked a figure.
    `agrees`: the difference is within 95 % of what both uncertainties allow.
    """

    quantity: str
    stream: str
    unit: str
    value: float
    u_value: float
    low: float
    high: float
    periods: int
    left_out: int
    scatter: float
    assumed: float
    u_assumed: float
    agrees: bool
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class PeriodLoads:
    """How many loads of a period were weighed, and their mass."""

    period: str
    loads: int
    weighed: Mass


def implied_density(season: Season, stream: str) -> Implied:
    """Bank density of a stream from weighings over surveys [t/m³].

    Mass is what left by belt and lorry, was re-used and was added to stock from survey to survey.
    Raises NotEnoughData for fewer than five spans with every figure, UnknownName for the stream.
    """
    ground = _ground(season, stream)
    every = spans(season, ground)
    known = [(one.period, one.bank_m3, one.mass_t) for one in every if one.mass_t is not None]
    _check_enough(len(known), len(every), "a survey, all weighings and the stock")
    assumed = (ground.bank_density_t_per_m3, ground.u_shared_t_per_m3)
    return _implied(("bank density", stream, "t/m³"), known, len(every), assumed)


def implied_bulking(season: Season, stream: str) -> Implied:
    """Loose over bank of a stream from counted returns over surveys [-].

    Raises NotEnoughData for fewer than five spans with every figure, UnknownName for the stream.
    """
    ground = _ground(season, stream)
    every = spans(season, ground)
    known = [(one.period, one.bank_m3, one.loose_m3) for one in every if one.loose_m3 is not None]
    _check_enough(len(known), len(every), "a survey and returns in loose m³")
    assumed = (ground.loose_per_bank, ground.u_shared_loose_per_bank)
    return _implied(("bulking", stream, "loose/bank"), known, len(every), assumed)


def implied_payload(
    periods: Sequence[PeriodLoads], spread_t: float, assumed_t: float, u_assumed_t: float
) -> Implied:
    """Mean payload from weighed loads [t]; `spread_t` is the standard deviation of single loads.

    Raises NotEnoughData for fewer than five periods with loads.
    """
    known = [one for one in periods if one.loads > 0]
    _check_enough(len(known), len(periods), "weighed loads")
    pairs: list[Pair] = []
    for place, one in enumerate(known):
        loads, mass = Quantity(float(one.loads)), Quantity()
        mass.add(one.weighed, "weighbridge", place)
        mass.err(("loads", place), spread_t * one.loads**0.5)
        pairs.append((one.period, loads, mass))
    names = ("mean payload", "", "t")
    return _implied(names, pairs, len(periods), (assumed_t, u_assumed_t))


def _ground(season: Season, stream: str) -> AssumedGround:
    for ground in season.grounds:
        if ground.stream == stream:
            return ground
    raise UnknownName("stream", stream, [ground.stream for ground in season.grounds])


def _check_enough(known: int, every: int, what: str) -> None:
    if known < FEWEST_PERIODS:
        raise NotEnoughData(
            f"Only {known} of {every} periods between surveys have {what}; at least"
            f" {FEWEST_PERIODS} are needed. Complete the records or wait for more periods."
        )


def _implied(
    names: tuple[str, str, str],
    pairs: Sequence[Pair],
    every: int,
    assumed: tuple[float, float],
) -> Implied:
    x, y = [one for _, one, _ in pairs], [one for _, _, one in pairs]
    cov_x, cov_y = covariance(x), covariance(y)
    line = fitted_line(_values(x), _values(y), cov_x, cov_y, through_origin=True)
    u, half = _interval(line)
    quantity, stream, unit = names
    u_x, u_y = np.sqrt(cov_x.diagonal()), np.sqrt(cov_y.diagonal())
    apart = abs(line.slope - assumed[0])
    return Implied(
        quantity=quantity,
        stream=stream,
        unit=unit,
        value=line.slope,
        u_value=u,
        low=line.slope - half,
        high=line.slope + half,
        periods=len(pairs),
        left_out=every - len(pairs),
        scatter=line.scatter,
        assumed=assumed[0],
        u_assumed=assumed[1],
        agrees=apart <= float(norm.isf((1.0 - COVERAGE) / 2.0)) * float(np.hypot(u, assumed[1])),
        points=tuple(
            Point(period, one.value, float(u_x[k]), other.value, float(u_y[k]))
            for k, (period, one, other) in enumerate(pairs)
        ),
    )


def _values(quantities: Sequence[Quantity]) -> Floats:
    return np.array([quantity.value for quantity in quantities])


def _interval(line: Line) -> tuple[float, float]:
    """Standard uncertainty and half the interval, widened where the points scatter too much."""
    beyond = (1.0 - COVERAGE) / 2.0
    if line.probability >= UNLIKELY:
        return line.u_slope, line.u_slope * float(norm.isf(beyond))
    u = line.u_slope * line.scatter
    return u, u * float(t.isf(beyond, line.degrees))
