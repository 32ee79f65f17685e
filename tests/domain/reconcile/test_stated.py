from functools import partial

import pytest

from tracker.domain.reconcile.stated import (
    AssumedGround,
    Bank,
    Loose,
    Mass,
    Season,
    Stated,
    SurveyedVoid,
)
from tracker.errors import InputError, OutOfRange, UnknownName

CLAY = AssumedGround("clay", 2.0, 0.02, 0.02)


@pytest.mark.parametrize("kind", [Bank, Loose, Mass])
def test_an_amount_needs_an_uncertainty_of_its_own(kind):
    with pytest.raises(InputError, match="independent uncertainty"):
        kind(100.0, 0.0)
    with pytest.raises(InputError, match="shared uncertainty"):
        kind(100.0, 1.0, -1.0)
    with pytest.raises(InputError, match="finite"):
        kind(float("nan"), 1.0)
    assert kind(-100.0, 1.0, 2.0).parts == (-100.0, 1.0, 2.0)  # a correction may be negative


def test_factors_in_another_unit_are_refused():
    with pytest.raises(OutOfRange, match="kN/m³"):
        AssumedGround("clay", 19.6, 0.02, 0.02)
    with pytest.raises(OutOfRange, match="loose"):
        AssumedGround("clay", 2.0, 0.02, 0.02, loose_per_bank=30.0)


def test_a_survey_has_a_level_error_only_with_both_area_and_uncertainty():
    survey = partial(SurveyedVoid, Bank(100.0, 1.0))
    assert survey(2400.0, 0.01).has_level
    assert not survey(2400.0).has_level
    assert not survey(0.0, 0.01).has_level
    with pytest.raises(InputError, match="plan_area_m2"):
        survey(-1.0)


def test_what_is_named_twice_or_not_listed_is_refused():
    with pytest.raises(InputError, match="period w1 is given more than once"):
        Season(["w1", "w1"], [CLAY], [])
    with pytest.raises(InputError, match="clay in w1 is given more than once"):
        Season(["w1"], [CLAY], [Stated("w1", "clay"), Stated("w1", "clay")])
    with pytest.raises(UnknownName, match="period “w9”"):
        Season(["w1"], [CLAY], [Stated("w9", "clay")])
    with pytest.raises(UnknownName, match="stream “sand”"):
        Season(["w1"], [CLAY], [Stated("w1", "sand")])


def test_statements_are_taken_in_the_order_of_the_periods():
    late, early = Stated("w2", "clay"), Stated("w1", "clay")
    season = Season(["w1", "w2"], [CLAY], [late, early])
    assert list(season.of_stream("clay")) == [(0, early), (1, late)]
