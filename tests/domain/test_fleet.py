import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain.fleet import (
    LorryClass,
    balanced_fleets,
    finite_queue,
    fleet_output,
    match_factor,
    mixed_match_factor,
)
from tracker.domain.haulage import haul_cycle
from tracker.errors import InputError, OutOfRange

COUNTS = st.integers(1, 60)
RATES = st.floats(0.01, 100.0)
FLEETS = given(COUNTS, RATES, RATES, st.integers(1, 8))


@FLEETS
def test_the_probabilities_sum_to_one(lorries, arrivals_per_h, services_per_h, loaders):
    queue = finite_queue(lorries, arrivals_per_h, services_per_h, loaders)
    assert len(queue.probabilities) == lorries + 1
    assert min(queue.probabilities) >= 0.0
    assert math.fsum(queue.probabilities) == pytest.approx(1.0, abs=1e-12)


@FLEETS
def test_no_more_goes_out_than_loaders_lorries_or_timetable_give(
    lorries, arrivals_per_h, services_per_h, loaders
):
    queue = finite_queue(lorries, arrivals_per_h, services_per_h, loaders)
    cycle_h = 1.0 / arrivals_per_h + 1.0 / services_per_h
    bounds = (loaders * services_per_h, lorries * arrivals_per_h, lorries / cycle_h)
    assert 0.0 < queue.output_per_h <= min(bounds) * (1.0 + 1e-9)


@FLEETS
def test_the_round_of_a_lorry_is_away_waiting_and_loading(
    lorries, arrivals_per_h, services_per_h, loaders
):
    queue = finite_queue(lorries, arrivals_per_h, services_per_h, loaders)
    round_h = 1.0 / arrivals_per_h + queue.wait_h + 1.0 / services_per_h
    assert queue.output_per_h == pytest.approx(lorries / round_h, rel=1e-9)
    assert queue.time_in_system_h == pytest.approx(queue.wait_h + 1.0 / services_per_h, rel=1e-9)


@given(st.integers(2, 60), RATES, RATES, st.integers(1, 8))
def test_an_arriving_lorry_meets_what_the_others_make_without_it(
    lorries, arrivals_per_h, services_per_h, loaders
):
    queue = finite_queue(lorries, arrivals_per_h, services_per_h, loaders)
    others = finite_queue(lorries - 1, arrivals_per_h, services_per_h, loaders)
    assert queue.p_arrival_waits == pytest.approx(others.p_wait, rel=1e-9, abs=1e-12)


@given(RATES, RATES, st.integers(1, 8))
def test_a_single_lorry_never_waits(arrivals_per_h, services_per_h, loaders):
    queue = finite_queue(1, arrivals_per_h, services_per_h, loaders)
    assert (queue.queue_length, queue.wait_h, queue.p_arrival_waits) == (0.0, 0.0, 0.0)
    share_loading = arrivals_per_h / (arrivals_per_h + services_per_h)
    assert queue.in_system == pytest.approx(share_loading)


@given(st.integers(1, 8), RATES, RATES, st.integers(0, 4))
def test_with_a_loader_for_each_lorry_each_is_by_itself(
    lorries, arrivals_per_h, services_per_h, spare
):
    queue = finite_queue(lorries, arrivals_per_h, services_per_h, lorries + spare)
    share = arrivals_per_h / (arrivals_per_h + services_per_h)
    binomial = [
        math.comb(lorries, n) * share**n * (1.0 - share) ** (lorries - n)
        for n in range(lorries + 1)
    ]
    assert queue.probabilities == pytest.approx(binomial, abs=1e-12)
    assert queue.queue_length == 0.0


def test_two_loaders_balance_the_flows_in_and_out_of_every_state():
    """The rates between the states as a matrix, solved for what does not change."""
    lorries, arriving, loading, loaders = 7, 1.3, 4.0, 2
    rates = np.zeros((lorries + 1, lorries + 1))
    for n in range(lorries):
        rates[n, n + 1] = (lorries - n) * arriving
        rates[n + 1, n] = min(n + 1, loaders) * loading
    rates -= np.diag(rates.sum(axis=1))
    system = np.vstack([rates.T, np.ones(lorries + 1)])
    steady = np.linalg.lstsq(system, np.append(np.zeros(lorries + 1), 1.0), rcond=None)[0]
    queue = finite_queue(lorries, arriving, loading, loaders)
    assert queue.probabilities == pytest.approx(steady, abs=1e-12)
    assert queue.p_wait == pytest.approx(steady[2:].sum())
    assert queue.p_idle == pytest.approx(steady[0])


def test_a_fleet_of_ten_thousand_keeps_its_loaders_busy_and_one_more_is_refused():
    queue = finite_queue(10_000, 1.0, 8.0, 3)
    assert queue.output_per_h == pytest.approx(24.0)
    with pytest.raises(OutOfRange, match="between 1 and 10000"):
        finite_queue(10_001, 1.0, 8.0, 3)


def test_the_match_is_one_in_balance_and_halves_with_a_second_loader():
    assert match_factor(4, 0.125, 0.5) == 1.0
    assert match_factor(4, 0.125, 0.5, loaders=2) == 0.5


def test_lorries_of_one_kind_in_two_classes_match_as_one_class():
    mixed = mixed_match_factor([LorryClass(3, 0.6, (0.1, 0.1)), LorryClass(2, 0.6, (0.1, 0.1))])
    assert mixed == pytest.approx(match_factor(5, 0.1, 0.6, loaders=2))


def test_a_mixed_fleet_matches_as_the_minutes_of_loading_it_brings_in_an_hour():
    """In an hour 4 / 0.5 = 8 short rounds and 2 / 0.8 = 2.5 long ones come: 0.8 + 0.4 = 1.2 h."""
    fleet = [LorryClass(4, 0.5, (0.1,)), LorryClass(2, 0.8, (0.16,))]
    assert mixed_match_factor(fleet) == pytest.approx(1.2)


def test_loaders_of_two_speeds_add_what_each_loads_in_an_hour():
    """A loader of 6 minutes and one of 12 load 10 + 5 lorries an hour; 6 lorries bring 12."""
    assert mixed_match_factor([LorryClass(6, 0.5, (0.1, 0.2))]) == pytest.approx(12 / 15)


def test_bunching_takes_most_near_balance_and_nothing_from_a_single_lorry():
    losses = [fleet_output(n, 0.1, 0.5).bunching_loss for n in (1, 3, 5, 7, 30)]
    assert losses[0] == pytest.approx(0.0, abs=1e-12)
    assert max(losses) == losses[2]
    assert losses[-1] == pytest.approx(0.0, abs=1e-6)


def test_the_balance_is_looked_at_from_both_sides():
    few, many = balanced_fleets(haul_cycle(12.0, 95.0, 7.0, 30.0, 40.0, 3.0))
    assert (few.lorries, many.lorries) == (4, 5)
    assert few.match_factor < 1.0 < many.match_factor
    assert few.timetable_per_h < many.timetable_per_h == pytest.approx(95.0 / 12.0)
    assert few.output_per_h < many.output_per_h < many.timetable_per_h


def test_a_balance_that_is_whole_is_one_fleet():
    (only,) = balanced_fleets(haul_cycle(10.0, 100.0, 3.0, 30.0, 30.0, 0.0))
    assert only.lorries == 3
    assert only.match_factor == pytest.approx(1.0)


def test_two_loaders_balance_twice_the_lorries_before_rounding():
    fleets = balanced_fleets(haul_cycle(12.0, 95.0, 7.0, 30.0, 40.0, 3.0), loaders=2)
    assert [fleet.lorries for fleet in fleets] == [9, 10]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: finite_queue(0, 1.0, 8.0), "lorries is 0"),
        (lambda: finite_queue(2.5, 1.0, 8.0), "lorries is 2.5; give a whole number"),
        (lambda: finite_queue(math.nan, 1.0, 8.0), "lorries is nan"),
        (lambda: finite_queue(4, 0.0, 8.0), "arrivals_per_h is 0"),
        (lambda: finite_queue(4, 1.0, math.inf), "services_per_h is inf"),
        (lambda: finite_queue(4, 1.0, 8.0, 0), "loaders is 0"),
        (lambda: match_factor(4, 0.5, 0.4), "The cycle holds the loading"),
        (lambda: fleet_output(4, 0.5, 0.5), "cycle_h less load_h is 0 h"),
        (lambda: mixed_match_factor([]), "Give one kind of lorry"),
        (
            lambda: mixed_match_factor([LorryClass(1, 1.0, (0.1,)), LorryClass(1, 1.0, ())]),
            "one loading time for each loader",
        ),
    ],
)
def test_what_cannot_be_a_fleet_is_refused_with_what_to_write(call, words):
    with pytest.raises(InputError, match=words):
        call()
