"""The reconciliation measured against a general minimiser on full covariances, and in seconds.

Bounds in seconds are for a quiet machine with two cores; run this file alone.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench.conftest import least_s
from tests.domain.reconcile.dense import dense_adjusted
from tests.domain.reconcile.seasons import Drawn
from tracker.domain.reconcile.adjusted import reconciliation
from tracker.domain.reconcile.drift import belt_drift
from tracker.domain.reconcile.stated import Season

FASTER_AT_LEAST = 5.0  # with tests and suspects, which the minimiser does not give
SEASON_AT_MOST_S = 2.0
DRIFT_AT_MOST_S = 0.5
THREE_YEARS = 156


def two_streams(weeks: int) -> Season:
    """Two streams drawn apart: their surveys disagree, which costs more steps than usual."""
    one, other = (Drawn(1, weeks, stream="clay"), Drawn(2, weeks, stream="gravel", density=1.9))
    return Season(
        one.season.periods,
        [*one.season.grounds, *other.season.grounds],
        [*one.season.stated, *other.season.stated],
    )


def test_a_year_of_one_stream_against_a_general_minimiser(say):
    season = Drawn(1, 52).season
    dense: list[np.ndarray] = []
    (ours_s,) = least_s(lambda: reconciliation(season), repeats=5)
    (theirs_s,) = least_s(lambda: dense.append(dense_adjusted(season)), repeats=1)
    ours = [one.bank_m3 for one in reconciliation(season).periods]
    assert ours == pytest.approx(dense[0][0], rel=1e-6)
    ratio = theirs_s / ours_s
    say(f"52 weeks: {ours_s:.3f} s; scipy, dense {theirs_s:.2f} s; the same to 1e-6")
    say(f"{ratio:.0f} times faster (at least {FASTER_AT_LEAST:g})")
    assert ratio >= FASTER_AT_LEAST


def test_three_years_of_two_streams_by_week(say):
    season = two_streams(THREE_YEARS)
    (took_s,) = least_s(lambda: reconciliation(season), repeats=3)
    say(f"{THREE_YEARS} weeks x 2 streams: {took_s:.2f} s (at most {SEASON_AT_MOST_S:g} s)")
    assert took_s <= SEASON_AT_MOST_S


def test_the_drift_of_three_years(say):
    season = Drawn(1, THREE_YEARS).season
    (took_s,) = least_s(lambda: belt_drift(season, "clay"), repeats=3)
    say(f"drift over {THREE_YEARS} weeks: {took_s:.3f} s (at most {DRIFT_AT_MOST_S:g} s)")
    assert took_s <= DRIFT_AT_MOST_S
