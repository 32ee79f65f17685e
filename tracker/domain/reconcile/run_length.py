"""How long a cumulative sum runs before its alarm, by chance or after a shift.

One side of the sum, in standard deviations of a period: s = max(0, s + z - allowance), with an
alarm above `limit` (page_1954, page 100). The average run length from a sum of s solves

    run(s) = 1 + run(0) * P(z <= allowance - s) + integral over 0..limit of run(r) * p(r) dr

with p the density of z at r - s + allowance; the integral is a sum over Gauss-Legendre points. A
shift that is not the same in every period is followed step by step in the same way.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy.special import ndtr

from tracker.domain.limits import check_not_negative, check_positive
from tracker.domain.reconcile.least_squares import Floats
from tracker.errors import InputError

ALLOWANCE = 0.5
LIMIT = 5.0
_POINTS = 24
_AT, _SHARE = np.polynomial.legendre.leggauss(_POINTS)


def average_run_length(
    shift: float = 0.0,
    allowance: float = ALLOWANCE,
    limit: float = LIMIT,
    *,
    two_sided: bool = True,
) -> float:
    """Average number of periods to the alarm after a shift of the mean [periods].

    Shift, allowance and limit are in standard deviations; periods are independent. Of two sides,
    1/run = 1/run_up + 1/run_down. Raises InputError for a negative allowance or no limit.

    >>> round(average_run_length(1.0), 1)
    10.4
    """
    check_not_negative("allowance", allowance, "standard deviations")
    check_positive("limit", limit, "standard deviations")
    if two_sided:
        return 1.0 / sum(1.0 / _one_side(s, allowance, limit) for s in (shift, -shift))
    return _one_side(shift, allowance, limit)


def average_delay(
    shifts: Sequence[float], allowance: float = ALLOWANCE, limit: float = LIMIT
) -> float:
    """Average number of periods to the alarm where each period has its own shift [periods].

    The last shift lasts. One side only: the one to which the mean shifts. Raises InputError for no
    shift at all.
    """
    if not len(shifts):
        raise InputError("No shift was given: a delay is counted from one.")
    at: Floats = np.zeros(_POINTS + 1)
    at[0] = delay = 1.0  # the sum stands at nothing, and one period at least passes
    for shift in shifts[:-1]:
        at = at @ _transitions(shift, allowance, limit)
        delay += float(at.sum())
    last = _transitions(shifts[-1], allowance, limit)
    return delay - float(at.sum()) + float(at @ _runs(last))


def _one_side(shift: float, allowance: float, limit: float) -> float:
    return float(_runs(_transitions(shift, allowance, limit))[0])


def _runs(transitions: Floats) -> Floats:
    """Average run length from each sum."""
    count = len(transitions)
    return np.linalg.solve(np.eye(count) - transitions, np.ones(count)).astype(np.float64)


def _transitions(shift: float, allowance: float, limit: float) -> Floats:
    """How probably the sum goes from one point to another without an alarm; the first is 0."""
    sums = np.concatenate([[0.0], limit * (_AT + 1.0) / 2.0])
    below = ndtr(allowance - shift - sums)
    z = sums[None, 1:] - sums[:, None] + allowance - shift
    reach = np.exp(-0.5 * z**2) / math.sqrt(2.0 * math.pi) * (_SHARE * limit / 2.0)
    return np.column_stack([below, reach])
