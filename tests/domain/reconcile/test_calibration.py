from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom

from tests.domain.reconcile.seasons import Drawn, Fault
from tracker.domain.reconcile.adjusted import reconciliation
from tracker.domain.reconcile.calibration import (
    PeriodLoads,
    implied_bulking,
    implied_density,
    implied_payload,
)
from tracker.domain.reconcile.stated import Loose, Mass, Season
from tracker.errors import NotEnoughData, UnknownName

SEASONS = 100


def counted(drawn: Drawn) -> Season:
    """The same season with returns counted in loose m³, 4 % each and 1 % for all."""
    loose = drawn.truth.bank_m3 * drawn.truth.loose_per_bank
    chance, n = np.random.default_rng(drawn.n), len(loose)
    stated_m3 = loose * (1.0 + 0.04 * chance.standard_normal(n) + 0.01 * chance.normal())
    stated = [
        replace(one, returns=Loose(value, 0.04 * true, 0.01 * true))
        for one, value, true in zip(drawn.season.stated, stated_m3, loose, strict=True)
    ]
    return replace(drawn.season, stated=stated)


def test_implied_density_is_unbiased_and_its_interval_covers_at_the_stated_rate():
    z, covered = [], 0
    for seed in range(SEASONS):
        drawn = Drawn(seed, periods=8)
        found = implied_density(drawn.season, "clay")
        z.append((found.value - drawn.mean_density) / found.u_value)
        covered += found.low <= drawn.mean_density <= found.high
    assert abs(np.mean(z)) < 3.3 / SEASONS**0.5
    assert binom.ppf(0.001, SEASONS, 0.95) <= covered <= binom.ppf(0.999, SEASONS, 0.95)


def test_implied_density_agrees_with_what_the_whole_season_says_of_the_assumed_one():
    """Two routes: a line through spans, and the adjustment with the assumption left out."""
    drawn = Drawn(21, fault=Fault(density_ratio=0.06))
    found = implied_density(drawn.season, "clay")
    suspect = next(
        one for one in reconciliation(drawn.season).ranking if one.source == "density of clay"
    )
    assert found.value == pytest.approx(suspect.left_out, abs=2 * found.u_value)
    assert found.u_value > suspect.u_left_out  # receipts and returns tell more than weighings
    assert not found.agrees
    assert found.assumed == 2.0
    assert found.low < drawn.mean_density < found.high


def test_an_assumption_that_is_right_is_said_to_agree():
    agreeing = sum(implied_density(Drawn(s, periods=8).season, "clay").agrees for s in range(60))
    assert agreeing >= binom.ppf(0.001, 60, 0.95)


def test_implied_bulking_comes_from_counted_returns():
    drawn = Drawn(22)
    found = implied_bulking(counted(drawn), "clay")
    assert (found.quantity, found.unit, found.periods) == ("bulking", "loose/bank", 26)
    assert found.value == pytest.approx(drawn.mean_bulking, abs=3 * found.u_value)
    assert found.u_value < 0.03


def test_points_are_those_of_the_chart():
    drawn = Drawn(23, periods=6)
    found = implied_density(drawn.season, "clay")
    assert [point.period for point in found.points] == [f"week {k}" for k in range(1, 7)]
    assert [point.x for point in found.points] == pytest.approx(drawn.truth.bank_m3, abs=200.0)
    assert all(point.u_x > 0.0 and point.u_y > 0.0 for point in found.points)


def test_scatter_beyond_the_stated_uncertainties_widens_the_interval_to_that_of_the_scatter():
    means = (19.0, 21.0, 19.5, 20.5, 20.0)
    weeks = [PeriodLoads(f"w{k}", 100, Mass(100 * t, 1.0)) for k, t in enumerate(means)]
    found = implied_payload(weeks, spread_t=0.1, assumed_t=20.0, u_assumed_t=0.1)
    u_by_hand = np.std(means, ddof=1) / 5**0.5
    assert found.value == pytest.approx(20.0)
    assert found.u_value == pytest.approx(u_by_hand)
    assert found.high - found.value == pytest.approx(2.776 * u_by_hand, rel=1e-3)  # t, 4 degrees
    assert found.scatter > 50.0


def test_scatter_as_stated_leaves_the_interval_as_it_is():
    found = implied_density(Drawn(23).season, "clay")
    assert found.scatter == pytest.approx(1.0, abs=0.35)
    assert found.high - found.low == pytest.approx(2 * 1.96 * found.u_value, rel=1e-4)


def test_four_spans_are_too_few_and_what_is_missing_is_said():
    with pytest.raises(NotEnoughData, match=r"Only 4 of 4 .* a survey, all weighings"):
        implied_density(Drawn(25, periods=4).season, "clay")
    with pytest.raises(NotEnoughData, match=r"Only 0 of 9 .* returns in loose m³"):
        implied_bulking(Drawn(25, periods=9).season, "clay")
    with pytest.raises(UnknownName, match="gravel"):
        implied_density(Drawn(25, periods=9).season, "gravel")


def test_mean_payload_is_tonnes_over_loads_with_the_spread_of_single_loads():
    weeks = [
        PeriodLoads("w1", 100, Mass(1940.0, 1.0)),
        PeriodLoads("w2", 80, Mass(1560.0, 1.0)),
        PeriodLoads("w3", 0, Mass(0.0, 1.0)),
        PeriodLoads("w4", 120, Mass(2352.0, 1.0)),
        PeriodLoads("w5", 90, Mass(1773.0, 1.0)),
        PeriodLoads("w6", 110, Mass(2134.0, 1.0)),
    ]
    found = implied_payload(weeks, spread_t=1.5, assumed_t=20.0, u_assumed_t=0.1)
    assert found.value == pytest.approx(9759.0 / 500, abs=1e-3)
    assert found.u_value == pytest.approx(1.5 / 500**0.5, rel=0.01)
    assert (found.periods, found.left_out, found.agrees) == (5, 1, False)
    with pytest.raises(NotEnoughData, match="weighed loads"):
        implied_payload(weeks[:4], 1.5, 20.0, 0.1)
