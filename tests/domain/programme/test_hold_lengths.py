"""How long holds take: by a stated spread, by the record, and once they run already."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from tests.domain.programme.seasons import STARTS
from tests.domain.programme.steady import steady, to_dig
from tracker.domain.programme.hold_lengths import hold_basis, hold_days, is_overdue
from tracker.domain.programme.shapes import HoldSpread, HoldTaken
from tracker.errors import InputError

USUAL = HoldSpread()
RECORDED = tuple(HoldTaken("A", 2, 10.0, days) for days in (9.0, 10.0, 11.0, 14.0, 16.0, 12.0))


def drawn(stage, walks=20_000, **what):
    programme = steady(stage, **{"hold_spread": USUAL, **what})
    return hold_days(programme, walks, np.random.default_rng(1))[0]


def hold(days=10.0, passed=None):
    since = None if passed is None else STARTS - timedelta(days=passed)
    return to_dig(stage=2, hold=days, released=False, since=since)


def test_without_a_record_lengths_are_triangular():
    days = drawn(hold())
    assert days.min() >= 9.0
    assert days.max() <= 15.0
    assert np.mean(days) == pytest.approx(10.0 * (0.9 + 1.0 + 1.5) / 3.0, rel=0.01)
    # P(ratio <= mode) = (mode - low) / (high - low)
    assert np.mean(days <= 10.0) == pytest.approx(0.1 / 0.6, abs=0.01)


@pytest.mark.parametrize("passed", [9.5, 12.0])
def test_a_hold_that_runs_is_longer_than_what_has_passed_of_it(passed):
    days = drawn(hold(passed=passed))
    assert days.min() >= passed
    whole = drawn(hold())
    longer = whole[whole > passed]
    assert np.mean(days) == pytest.approx(np.mean(longer), rel=0.01)
    assert np.quantile(days, 0.8) == pytest.approx(np.quantile(longer, 0.8), rel=0.01)


def test_five_recorded_holds_replace_the_usual_spread():
    days = drawn(hold(20.0), holds=RECORDED)
    assert np.mean(days) == pytest.approx(20.0 * 1.2, rel=0.02)
    assert drawn(hold(20.0), holds=RECORDED[:4]).max() <= 30.0
    assert drawn(hold(20.0), holds=RECORDED).max() > 30.0
    assert hold_basis(steady(hold(), holds=RECORDED)) == "6 recorded holds, actual over planned"
    assert "common practice, no source): 4 holds are recorded, 5 are needed" in hold_basis(
        steady(hold(), holds=RECORDED[:4])
    )


def test_a_record_is_as_uncertain_as_it_is_short():
    many = RECORDED * 6
    short, long = (np.std(drawn(hold(), holds=holds)) for holds in (RECORDED, many))
    observed = np.std([h.actual_days for h in many])
    assert long == pytest.approx(observed, rel=0.12)
    assert short > 1.1 * observed


def test_the_holds_of_one_walk_come_from_one_record():
    """A walk whose record ran late is late at every hold."""
    programme = steady(hold(), to_dig("B", 2, hold=10.0, released=False), holds=RECORDED)
    a, b = hold_days(programme, 20_000, np.random.default_rng(1))
    # The mean of a record of n has 1/n of its variance, and both holds share it; smoothing adds
    # (0.9 / n^0.2)² * n / (n - 1) to the whole.
    n = len(RECORDED)
    whole = 1.0 + (0.9 / n**0.2) ** 2 * n / (n - 1)
    assert np.corrcoef(a, b)[0, 1] == pytest.approx(1.0 / n / whole, abs=0.02)


def test_recorded_lengths_of_a_hold_that_runs_are_longer_than_what_has_passed():
    assert drawn(hold(passed=13.0), holds=RECORDED).min() >= 13.0


def test_a_hold_longer_than_all_that_is_known_is_overdue_and_ends_now():
    late = hold(passed=17.0)
    assert drawn(late) == pytest.approx(17.0)
    assert is_overdue(steady(late, hold_spread=USUAL), late)
    assert is_overdue(steady(late, holds=RECORDED), late)
    on_time = hold(passed=12.0)
    assert not is_overdue(steady(on_time, hold_spread=USUAL), on_time)
    assert not is_overdue(steady(hold(), hold_spread=USUAL), hold())


def test_a_spread_out_of_order_is_refused():
    with pytest.raises(InputError, match=r"1\.5, 1, 0\.9"):
        HoldSpread(1.5, 1.0, 0.9)
