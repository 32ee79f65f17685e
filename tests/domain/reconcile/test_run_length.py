import numpy as np
import pytest

from tracker.domain.reconcile.drift import cumulative_sums
from tracker.domain.reconcile.run_length import average_delay, average_run_length
from tracker.errors import InputError


def test_a_shift_that_never_changes_has_the_run_length_of_one_side():
    one_side = average_run_length(1.2, two_sided=False)
    assert average_delay([1.2]) == pytest.approx(one_side)
    assert average_delay([1.2] * 9) == pytest.approx(one_side)


def test_a_shift_without_doubt_is_found_in_the_first_period():
    assert average_run_length(30.0) == pytest.approx(1.0, abs=1e-9)
    assert average_delay([30.0, 0.0]) == pytest.approx(1.0, abs=1e-9)


def test_a_shift_that_fades_takes_longer_than_one_that_lasts():
    assert average_delay([1.5] * 3 + [0.5]) > average_delay([1.5] * 6 + [0.5])
    assert average_delay([1.5] * 6 + [0.5]) > average_delay([1.5])


def test_both_sides_alarm_falsely_twice_as_often_as_one():
    both = average_run_length(0.0)
    assert both == pytest.approx(average_run_length(0.0, two_sided=False) / 2)
    assert average_run_length(0.7) == pytest.approx(average_run_length(-0.7))


def test_drawn_runs_are_as_long_as_computed():
    chance, shifts = np.random.default_rng(3), [0.4, 0.8, 1.6, 1.0]
    lengths = []
    for _ in range(800):
        lasting = np.concatenate([shifts, np.full(96, shifts[-1])])
        upper, _ = cumulative_sums(chance.standard_normal(100) + lasting, 0.0, 0.5)
        lengths.append(int(np.argmax(upper > 5.0)) + 1)
    expected = average_delay(shifts)
    assert np.mean(lengths) == pytest.approx(expected, abs=3.3 * np.std(lengths) / 800**0.5)


def test_what_makes_no_chart_is_refused():
    with pytest.raises(InputError, match="limit"):
        average_run_length(0.0, 0.5, 0.0)
    with pytest.raises(InputError, match="allowance"):
        average_run_length(0.0, -0.5, 5.0)
    with pytest.raises(InputError, match="No shift"):
        average_delay([])
