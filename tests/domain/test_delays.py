"""Coded minutes as ground not dug: each cause once a shift, at the rate of the worked hours."""

from __future__ import annotations

import pytest

from tracker.domain.delays import DiggingRates, DugShift, coded_minutes, lost_volume
from tracker.errors import InputError


def dug(zone, stage, bank_m3, worked_h, times=1):
    return [DugShift(zone, stage, bank_m3, worked_h)] * times


def test_a_cause_counts_once_a_shift_as_long_as_its_longest_statement():
    stated = [("rain", 30), ("plant", 45), ("rain", 60), ("rain", 60)]
    assert coded_minutes(stated, 720) == {"rain": 60, "plant": 45}
    assert coded_minutes([], 720) == {}


@pytest.mark.parametrize("shift_min", [420, 480, 540])
def test_minutes_together_never_exceed_the_shift(shift_min):
    cut = coded_minutes([("rain", 700), ("plant", 300), ("permit", 7)], shift_min)
    assert shift_min - 3 <= sum(cut.values()) <= shift_min
    assert cut["rain"] > 2 * cut["plant"] > 0
    assert coded_minutes([("rain", shift_min)], shift_min) == {"rain": shift_min}


def test_minutes_below_nought_are_refused():
    with pytest.raises(InputError, match="-5 min are lost to rain"):
        coded_minutes([("rain", -5)], 720)
    with pytest.raises(InputError, match="neither may be negative"):
        lost_volume(-1, 10.0)


def test_a_rate_is_volume_over_worked_hours_not_a_mean_of_rates():
    rates = DiggingRates([*dug("A", 1, 100.0, 10.0, 4), *dug("A", 1, 100.0, 2.0)])
    found = rates.rate("A", 1)
    assert (found.bank_m3_per_h, found.basis, found.shifts) == (500 / 42, "zone and stage", 5)


def test_a_stage_with_few_shifts_takes_the_rate_of_its_zone_and_a_zone_that_of_all():
    rates = DiggingRates(
        [*dug("A", 1, 100.0, 10.0, 5), *dug("A", 2, 60.0, 10.0), *dug("B", 1, 400.0, 10.0)]
    )
    assert rates.rate("A", 1).bank_m3_per_h == pytest.approx(10.0)
    assert rates.rate("A", 2).bank_m3_per_h == pytest.approx(560 / 60)
    assert rates.rate("A", 2).basis == rates.rate("A", 9).basis == "zone"
    assert rates.rate("B", 1).bank_m3_per_h == pytest.approx(960 / 70)
    assert rates.rate("B", 1).basis == "all zones"


def test_without_digging_or_worked_hours_there_is_no_rate():
    for shifts in ([], dug("A", 1, 100.0, 0.0, 6)):
        assert DiggingRates(shifts).rate("A", 1).basis == "none"
        assert DiggingRates(shifts).rate("A", 1).bank_m3_per_h == 0.0
