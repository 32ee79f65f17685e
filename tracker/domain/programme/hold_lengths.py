"""How long holds take: as those of the record did against their plan, or by a stated spread.

With five recorded holds or more, each walk draws a record of holds as long as the one there is, and
each hold of the walk from that: a few holds that all ran late may have been bad luck. What is drawn
is spread by the width that a short record leaves open, 0.9 * s / n^0.2 with s their standard
deviation (the usual rule of thumb for smoothing; from memory, unconfirmed). With fewer, the
triangular spread of the programme is taken (common practice, no source).
"""

from __future__ import annotations

from datetime import datetime

import numpy as np

from tracker.domain.programme.output import Floats
from tracker.domain.programme.shapes import FEWEST_HOLDS, HoldSpread, Programme, StageToDig

_DAY_S = 86400.0


def hold_basis(programme: Programme) -> str:
    """What the lengths of holds rest on, as people read it."""
    count, spread = len(programme.holds), programme.hold_spread
    if count >= FEWEST_HOLDS:
        return f"{count} recorded holds, actual over planned"
    return (
        f"{spread.low:g} to {spread.high:g} times the plan, most likely {spread.mode:g}"
        f" (triangular; common practice, no source): {count} holds are recorded,"
        f" {FEWEST_HOLDS} are needed"
    )


def hold_days(programme: Programme, walks: int, chance: np.random.Generator) -> Floats:
    """Length of the hold above each stage by walk, from dug out to released [calendar days].

    Of a hold that runs already, the whole length, longer than what has passed of it: one that has
    outlasted everything known ends at the first shift ahead.
    """
    ratios = np.array([hold.actual_days / hold.planned_days for hold in programme.holds])
    recorded = len(ratios) >= FEWEST_HOLDS
    if recorded:
        records = chance.choice(ratios, (walks, len(ratios)))
        width = 0.9 * float(np.std(ratios, ddof=1)) / len(ratios) ** 0.2
    now, every = programme.slots[0].starts, np.arange(walks)
    days = np.empty((len(programme.stages), walks))
    for row, stage in zip(days, programme.stages, strict=True):
        passed = passed_ratio(stage, now)
        if recorded:
            row[:] = records[every, chance.integers(len(ratios), size=walks)]
            row += width * chance.standard_normal(walks)
            longer, short = row[row > passed], row <= passed
            row[short] = chance.choice(longer, short.sum()) if len(longer) else passed
        else:
            row[:] = _triangular(programme.hold_spread, passed, walks, chance)
        row *= stage.hold_days_planned
    return days


def passed_ratio(stage: StageToDig, now: datetime) -> float:
    """How much of the planned hold above a stage has passed [-]; 0 while it does not run."""
    if stage.hold_runs_since is None or stage.hold_days_planned <= 0.0:
        return 0.0
    passed_days = (now - stage.hold_runs_since).total_seconds() / _DAY_S
    return max(0.0, passed_days / stage.hold_days_planned)


def is_overdue(programme: Programme, stage: StageToDig) -> bool:
    """Whether a hold has already outlasted everything that its length is drawn from."""
    if len(programme.holds) >= FEWEST_HOLDS:
        longest = max(hold.actual_days / hold.planned_days for hold in programme.holds)
    else:
        longest = programme.hold_spread.high
    passed = passed_ratio(stage, programme.slots[0].starts)
    return not stage.released and passed > 0.0 and passed >= longest


def _triangular(
    spread: HoldSpread, passed: float, walks: int, chance: np.random.Generator
) -> Floats:
    """Ratios drawn by the inverse of the distribution above what has passed."""
    if passed >= spread.high or spread.low == spread.high:
        return np.full(walks, max(passed, spread.high))
    width, rise = spread.high - spread.low, spread.mode - spread.low
    fall = spread.high - spread.mode
    if passed <= spread.low:
        below = 0.0
    elif passed <= spread.mode:
        below = (passed - spread.low) ** 2 / (width * rise)
    else:
        below = 1.0 - (spread.high - passed) ** 2 / (width * fall)
    at = below + (1.0 - below) * chance.random(walks)
    low_side = spread.low + np.sqrt(at * width * rise)
    high_side = spread.high - np.sqrt((1.0 - at) * width * fall)
    return np.where(at * width <= rise, low_side, high_side)
