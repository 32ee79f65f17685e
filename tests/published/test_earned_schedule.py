"""Earned schedule: the definition of its author, and the examples of a glossary (both read).

The sketch of the first source has no amounts: those here are chosen to fit it. The examples of the
second give the earned and the actual weeks, so that they check ratio and difference only.

Source key: lipke_es, hksm_es.
"""

from datetime import date, timedelta

import pytest

from tracker.domain.programme.earned import DugOn, earned_days, earned_schedule
from tracker.domain.programme.planned import PlannedStage, planned_curve


def test_of_the_sketch_five_whole_months_are_earned_and_a_part_of_june():
    planned = [0.0, 10.0, 30.0, 60.0, 100.0, 150.0, 190.0, 230.0, 260.0, 280.0, 290.0, 295.0]
    assert earned_days(planned, 170.0) == pytest.approx(5 + (170 - 150) / (190 - 150))


@pytest.mark.parametrize(
    ("earned", "actual", "spi_t", "ahead"), [(18, 20, 0.90, -2), (21, 24, 0.875, -3)]
)
def test_earned_over_actual_weeks_and_their_difference(earned, actual, spi_t, ahead):
    first = date(2026, 3, 2)
    weeks = [first + timedelta(weeks=n) for n in range(30)]
    curve = planned_curve([PlannedStage("A", 1, 3000.0, 30, 0, first)], weeks)
    dug = [DugOn("A", 1, weeks[0], 100.0 * earned)]
    (whole, _) = earned_schedule(curve, dug, weeks[actual - 1], weeks)
    assert whole.spi_t == pytest.approx(spi_t)
    assert whole.ahead_days == pytest.approx(ahead)
