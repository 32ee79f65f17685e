import numpy as np
import pytest
from scipy.stats import binom

from tests.domain.reconcile.seasons import Drawn, Errors, Fault
from tracker.domain.reconcile.drift import belt_drift
from tracker.errors import NotEnoughData

SEASONS = 40


def week(name: str | None) -> int:
    return int(name.split()[1]) if name else 0


@pytest.fixture(scope="module")
def sound():
    return [belt_drift(Drawn(seed, periods=40).season, "clay") for seed in range(SEASONS)]


def test_without_a_drift_the_steps_are_independent_standard_normal_numbers(sound):
    """Though the spans share surveys, heaps, the density and the span of the weighers."""
    steps = np.array([[point.step for point in drift.points] for drift in sound])
    count = steps.size
    assert abs(steps.mean()) < 3.3 / count**0.5
    assert (steps**2).mean() == pytest.approx(1.0, abs=3.3 * (2 / count) ** 0.5)
    neighbours = (steps[:, 1:] * steps[:, :-1]).mean()
    assert abs(neighbours) < 3.3 / count**0.5


def test_false_alarms_are_as_rare_as_stated(sound):
    stated = sound[0].false_alarm_periods
    assert stated == pytest.approx(465, abs=0.5)
    alarms = sum(drift.alarm is not None for drift in sound)
    rate = 1.0 - np.exp(-40.0 / stated)
    assert alarms <= binom.ppf(0.999, SEASONS, rate)


def test_a_drift_is_found_after_the_stated_delay_on_the_right_side():
    start, delays, stated = 26, [], []
    for seed in range(SEASONS):
        fault = Fault(belt_ratio=0.03, belt_from=start)
        drift = belt_drift(Drawn(3000 + seed, periods=60, fault=fault).season, "clay")
        delay = week(drift.alarm) - start
        if drift.alarm is None or delay > 0:  # else a false alarm before
            delays.append(delay if drift.alarm else 60 - start)
            assert drift.alarm is None or drift.reads == "high"
            stated.append(next(one.periods for one in drift.delays if one.ratio == 0.03))
    assert len(delays) > 0.8 * SEASONS
    chance = 3.3 * np.std(delays) / len(delays) ** 0.5
    assert np.mean(delays) == pytest.approx(np.mean(stated), abs=chance)
    assert chance < 0.3 * np.mean(stated)


def test_the_start_of_a_drift_is_where_its_sum_left_zero():
    fault = Fault(belt_ratio=-0.06, belt_from=30)
    found = [
        belt_drift(Drawn(seed, periods=45, fault=fault).season, "clay") for seed in range(100, 120)
    ]
    assert sum(drift.reads == "low" for drift in found) >= 18  # else a false alarm came first
    assert 29 <= np.median([week(drift.since) for drift in found]) <= 32
    assert 31 <= np.median([week(drift.alarm) for drift in found]) <= 36


def test_an_error_that_was_there_from_the_start_is_learnt_and_is_no_drift():
    fault = Fault(density_ratio=0.008)  # one standard uncertainty
    alarms = [
        belt_drift(Drawn(4000 + seed, periods=40, fault=fault).season, "clay").alarm
        for seed in range(20)
    ]
    assert sum(alarm is not None for alarm in alarms) <= 5


def test_a_larger_change_is_found_sooner_and_a_better_survey_finds_it_sooner():
    drift = belt_drift(Drawn(32, periods=40).season, "clay")
    delays = [one.periods for one in drift.delays]
    assert delays == sorted(delays, reverse=True)
    coarse = belt_drift(Drawn(32, periods=40, errors=Errors(survey_m3=80.0)).season, "clay")
    assert coarse.delays[-1].periods > 1.3 * drift.delays[-1].periods


def test_seven_spans_are_too_few():
    with pytest.raises(NotEnoughData, match="Only 7 periods of clay"):
        belt_drift(Drawn(33, periods=7).season, "clay")
    with pytest.raises(NotEnoughData, match="Only 0 periods of gravel"):
        belt_drift(Drawn(33, periods=20).season, "gravel")
    with pytest.raises(NotEnoughData, match="Only 0 periods"):
        belt_drift(Drawn(33, periods=20).season, "clay", belt="belt 2")
