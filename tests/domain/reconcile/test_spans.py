from dataclasses import replace

import numpy as np
import pytest

from tracker.domain.reconcile.spans import Quantity, covariance, spans
from tracker.domain.reconcile.stated import (
    AssumedGround,
    Bank,
    Carried,
    Loose,
    Mass,
    Season,
    Stated,
    SurveyedVoid,
)

CLAY = AssumedGround("clay", 2.0, 0.02, 0.02)
BELT = Carried("belt", weighed=Mass(500.0, 3.0, 4.0))


def survey(void_m3: float, after_m3: float | None = None) -> SurveyedVoid:
    after = None if after_m3 is None else Bank(after_m3, 5.0)
    return SurveyedVoid(Bank(void_m3, 12.0), 2000.0, 0.01, after)


def of(*stated: Stated, ground: AssumedGround = CLAY) -> list:
    return spans(Season([one.period for one in stated], [ground], stated), ground)


def test_weeks_without_a_survey_are_added_up_to_the_next_one():
    found = of(
        Stated("w1", "clay", carried=[BELT]),
        Stated("w2", "clay", survey(480.0, 20.0), carried=[BELT]),
        Stated("w3", "clay", survey(260.0), carried=[BELT]),
        Stated("w4", "clay", carried=[BELT]),
    )
    assert [one.period for one in found] == ["w2", "w3"]
    assert [one.bank_m3.value for one in found] == [500.0, 240.0]
    assert [one.mass_t.value for one in found] == [1000.0, 500.0]
    assert [one.belt_t.value for one in found] == [1000.0, 500.0]


def test_the_survey_between_two_spans_errs_in_both_with_opposite_signs():
    found = of(
        Stated("w1", "clay", survey(500.0, 20.0), carried=[BELT]),
        Stated("w2", "clay", survey(500.0), carried=[BELT]),
    )
    cov = covariance([one.bank_m3 for one in found])
    assert cov[0, 1] == pytest.approx(-(20.0**2) - 5.0**2)  # 2000 m² times 10 mm, and the cut-off
    assert cov[0, 0] == pytest.approx(12.0**2 + 2 * 20.0**2 + 5.0**2)


def test_ground_in_the_wrong_stream_comes_back_with_the_next_survey():
    surveys = [replace(survey(500.0), plan_area_m2=0.0, u_split_m3=u) for u in (30.0, 10.0)]
    found = of(*(Stated(f"w{k}", "clay", one, carried=[BELT]) for k, one in enumerate(surveys)))
    cov = covariance([one.bank_m3 for one in found])
    assert cov[0, 1] == pytest.approx(-(30.0**2))
    assert cov[1, 1] == pytest.approx(12.0**2 + 30.0**2 + 10.0**2)


def test_the_span_of_a_weigher_errs_in_all_alike():
    found = of(*(Stated(f"w{k}", "clay", survey(250.0), carried=[BELT]) for k in range(3)))
    cov = covariance([one.mass_t for one in found])
    assert cov[0, 2] == pytest.approx(4.0**2)
    assert cov[1, 1] == pytest.approx(3.0**2 + 4.0**2 + (0.02 * 250.0) ** 2)


def test_stock_adds_what_came_and_takes_what_was_there():
    ground = AssumedGround("clay", 2.0, 0.02, 0.02, opening_stock=Mass(100.0, 1.0))
    found = of(
        Stated("w1", "clay", survey(250.0), None, [BELT], None, Loose(130.0, 2.0)),
        Stated("w2", "clay", survey(250.0), None, [BELT], None, Mass(150.0, 1.0)),
        ground=ground,
    )
    heap_t = 130.0 * 2.0 / 1.3
    assert [one.mass_t.value for one in found] == pytest.approx([400 + heap_t, 650 - heap_t])


def test_what_is_missing_leaves_the_span_without_a_mass_not_with_a_smaller_one():
    no_weighing = Carried("lorries")
    tips = Carried("lorries", "farm", accepted=Mass(100.0, 1.0))
    found = of(
        Stated("w1", "clay", survey(250.0), None, [BELT, no_weighing]),
        Stated("w2", "clay", survey(250.0), None, [BELT, tips], Bank(10.0, 1.0)),
        Stated("w3", "clay", survey(250.0), Loose(325.0, 9.0), [BELT]),
    )
    assert found[0].mass_t is None
    assert found[1].mass_t.value == pytest.approx(500 + 100 + 20)
    assert [one.loose_m3 and one.loose_m3.value for one in found] == [None, None, 325.0]


def test_a_missing_count_of_a_heap_spoils_the_spans_on_both_sides():
    def week(k: int, count: Mass | None) -> Stated:
        return Stated(f"w{k}", "clay", survey(250.0), None, [BELT], None, count)

    some = Mass(50.0, 1.0)
    found = of(week(1, some), week(2, None), week(3, some), week(4, some))
    assert [one.mass_t is None for one in found] == [False, True, True, False]


def test_errors_of_one_name_add_up_before_they_are_squared():
    one = Quantity()
    one.add(Mass(10.0, 1.0, 2.0), "belt", 0)
    one.add(Mass(20.0, 1.0, 3.0), "belt", 1)
    assert one.value == 30.0
    assert covariance([one]) == pytest.approx(np.array([[1.0 + 1.0 + (2.0 + 3.0) ** 2]]))
