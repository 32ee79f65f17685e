from dataclasses import replace

import pytest

from tests.domain.reconcile.seasons import AREA_M2, Drawn, Fault
from tracker.domain.reconcile.adjusted import Reconciliation, reconciliation
from tracker.domain.reconcile.stated import AssumedGround, Bank, Carried, Mass, Season, Stated
from tracker.domain.reconcile.stated import SurveyedVoid as Survey
from tracker.domain.reconcile.suspects import Pattern, Suspect, not_told_from
from tracker.errors import InputError


def of(found: Reconciliation, source: str) -> Suspect:
    return next(one for one in found.ranking if one.source == source)


def weeks(
    belt_t: list[float], returns_m3: float | None = None, accepted: Mass | None = None
) -> Season:
    """1000 m³ a week by survey at 2 t/m³, and the belt as given."""
    names = [f"w{k}" for k in range(len(belt_t))]
    returns = None if returns_m3 is None else Bank(returns_m3, 20.0)
    void = Survey(Bank(1000.0, 5.0))
    stated = [
        Stated(name, "clay", void, returns, (Carried("belt", "", Mass(t, 10.0), accepted),))
        for name, t in zip(names, belt_t, strict=True)
    ]
    return Season(names, [AssumedGround("clay", 2.0, 0.01, 0.01)], stated)


# --- one statement -------------------------------------------------------------------------------
def test_a_slip_in_one_weighing_is_named_with_the_week_and_what_it_should_be():
    belt_t = [2000.0] * 8
    belt_t[3] = 2600.0
    found = reconciliation(weeks(belt_t, 1000.0, Mass(2000.0, 10.0)))
    suspect = found.suspect
    assert suspect is not None
    assert (suspect.source, suspect.pattern, suspect.period) == ("belt", Pattern.ONE, "w3")
    assert (suspect.stated, suspect.unit, suspect.error_unit) == (2600.0, "t", "t")
    assert suspect.left_out == pytest.approx(2000.0, abs=3 * suspect.u_left_out)
    assert suspect.error == pytest.approx(600.0, abs=3 * suspect.u_error)
    assert found.probability < 1e-6


def test_what_a_statement_would_be_if_left_out_is_what_the_season_without_it_says():
    belt_t = [2000.0, 2010.0, 2150.0, 1985.0, 2005.0, 2000.0]
    season = weeks(belt_t, 1004.0, Mass(2003.0, 10.0))
    suspect = reconciliation(season).suspect
    assert suspect is not None
    assert (suspect.source, suspect.period) == ("belt", "w2")
    without = [
        replace(one, carried=(Carried("belt", "", None, Mass(2003.0, 10.0)),))
        if one.period == "w2"
        else one
        for one in season.stated
    ]
    (other,) = [
        one for one in reconciliation(replace(season, stated=without)).periods if one.period == "w2"
    ]
    assert suspect.left_out == pytest.approx(other.mass_t, rel=1e-3)
    assert suspect.u_left_out == pytest.approx(other.u_mass_t, rel=0.03)
    assert suspect.u_error**2 == pytest.approx(suspect.u_left_out**2 + 10.0**2)


def test_the_standardised_residual_of_a_lone_check_is_the_difference_over_its_uncertainty():
    found = reconciliation(
        Season(
            ["w1"],
            [AssumedGround("clay", 2.0, 0.02, 0.0)],
            [
                Stated(
                    "w1",
                    "clay",
                    Survey(Bank(1000.0, 20.0)),
                    carried=(Carried("belt", "", Mass(2030.0, 20.0)),),
                )
            ],
        )
    )
    by_hand = 30.0 / (40.0**2 + 20.0**2 + 20.0**2) ** 0.5
    assert found.chi_square == pytest.approx(by_hand**2, rel=0.02)
    signs = {one.source: one.standardised / by_hand for one in found.statements}
    expected = {"survey": -1.0, "belt": 1.0, "density of clay": -1.0}
    assert signs == pytest.approx(expected, rel=0.02)


def test_three_statements_of_one_sum_are_not_told_apart():
    season = weeks([2300.0], None)
    found = reconciliation(season)
    assert found.suspect is not None
    assert {found.suspect.source, *found.not_told_from} == {"survey", "belt", "density of clay"}


def test_a_second_witness_tells_them_apart():
    found = reconciliation(weeks([2300.0], 1150.0))
    assert found.suspect is not None
    assert found.suspect.source == "survey"
    assert "belt" not in found.not_told_from


def test_a_correction_of_less_than_nothing_is_named_like_any_other():
    week = Stated(
        "w1",
        "clay",
        Survey(Bank(-10.0, 1.0)),
        Bank(-10.0, 1.0),
        (Carried("belt", "", Mass(-40.0, 1.0, 0.1)),),
    )
    suspect = reconciliation(
        Season(["w1"], [AssumedGround("clay", 2.0, 0.02, 0.02)], [week])
    ).suspect
    assert suspect is not None
    assert suspect.source == "belt"
    assert suspect.left_out == pytest.approx(-20.0, abs=3 * suspect.u_left_out)


def slipped(times: float) -> tuple[Season, float]:
    """A season in which one weighing by belt is so many times too large, and what it should be."""
    season = Drawn(17, periods=12).season
    fifth = season.stated[4]
    belt, lorries = fifth.carried
    wrong = Mass(times * belt.weighed.mass_t, *belt.weighed.parts[1:])
    stated = list(season.stated)
    stated[4] = replace(fifth, carried=(replace(belt, weighed=wrong), lorries))
    return replace(season, stated=stated), belt.weighed.mass_t


@pytest.mark.parametrize("times", [0.5, 2.0, 3.0])
def test_a_figure_that_is_a_multiple_of_the_right_one_is_named_with_its_week(times):
    season, right_t = slipped(times)
    suspect = reconciliation(season).suspect
    assert suspect is not None
    assert (suspect.source, suspect.pattern, suspect.period) == ("belt", Pattern.ONE, "week 5")
    assert suspect.left_out == pytest.approx(right_t, rel=0.05)


def test_a_figure_a_thousand_times_too_large_is_refused_with_its_week():
    season, _ = slipped(1000.0)
    with pytest.raises(InputError, match=r"Look first at belt for clay in week 5 \(3,447,003 t\)"):
        reconciliation(season)


# --- a whole source ------------------------------------------------------------------------------
def test_a_wrong_density_is_named_with_the_right_one():
    found = reconciliation(Drawn(11, fault=Fault(density_ratio=0.06)).season)
    suspect = found.suspect
    assert suspect is not None
    assert (suspect.source, suspect.pattern) == ("density of clay", Pattern.THROUGHOUT)
    assert suspect.error == pytest.approx(0.06, abs=3 * suspect.u_error)
    assert suspect.stated == pytest.approx(2.0)  # a mean, not a sum, of densities
    assert suspect.left_out == pytest.approx(2.0 / 1.06, abs=3 * suspect.u_left_out + 0.01)
    assert suspect.times_stated == pytest.approx(suspect.error / 0.008, rel=0.05)
    assert suspect.chance < 0.01


def test_a_survey_that_would_have_to_be_wrong_by_many_times_what_it_states_comes_after():
    found = reconciliation(Drawn(11, fault=Fault(density_ratio=0.06)).season)
    survey = of(found, "survey")
    assert survey.rank < of(found, "density of clay").rank - 6.0
    assert survey.times_stated > 20.0
    assert "survey" in found.not_told_from  # the records alone do not decide


def test_the_start_of_a_drift_is_found_within_weeks():
    season = Drawn(12, periods=52, fault=Fault(belt_ratio=0.03, belt_from=30)).season
    suspect = reconciliation(season).suspect
    assert suspect is not None
    assert (suspect.source, suspect.pattern) == ("belt", Pattern.FROM)
    assert 27 <= int(suspect.period.split()[1]) <= 35
    assert suspect.error == pytest.approx(0.03, abs=3 * suspect.u_error)


def test_a_source_without_a_shared_uncertainty_is_never_suspected_of_a_common_error():
    found = reconciliation(weeks([2100.0] * 8, 1000.0))
    assert of(found, "belt").pattern is Pattern.ONE
    assert of(found, "density of clay").pattern is not Pattern.ONE


# --- surveys -------------------------------------------------------------------------------------
def test_a_survey_that_stands_too_low_is_told_from_a_datum_that_stays():
    once = reconciliation(Drawn(13, fault=Fault(level_m=0.06, level_at=12)).season).suspect
    stays = reconciliation(
        Drawn(13, fault=Fault(level_m=0.06, level_at=12, datum_stays=True)).season
    ).suspect
    assert once is not None
    assert stays is not None
    assert (once.source, once.pattern, once.period) == ("survey", Pattern.LEVEL, "week 13")
    assert (stays.source, stays.pattern, stays.period) == ("survey", Pattern.DATUM, "week 13")
    for suspect in (once, stays):
        assert suspect.error_unit == "m"
        assert suspect.error == pytest.approx(0.06, abs=3 * suspect.u_error)
        moved = suspect.stated - suspect.left_out
        assert moved == pytest.approx(suspect.error * AREA_M2)


# --- what could be detected ----------------------------------------------------------------------
def test_more_periods_detect_less_until_the_common_errors_of_the_others_set_the_limit():
    def smallest(periods: int, source: str) -> float:
        found = reconciliation(Drawn(14, periods=periods).season).detectable
        return next(one.smallest_ratio for one in found if one.source == source)

    short, long, longer = (smallest(n, "density of clay") for n in (6, 24, 96))
    assert short > long > longer
    assert longer > 4.0 * 0.008  # its own known uncertainty alone takes that


def test_without_receipts_the_weighers_are_checked_by_the_survey_alone():
    with_receipts = reconciliation(Drawn(15).season).detectable
    without = reconciliation(Drawn(15, receipts=False).season).detectable
    size = {one.source: one.smallest_ratio for one in with_receipts}
    alone = {one.source: one.smallest_ratio for one in without}
    assert alone["lorries"] > 1.3 * size["lorries"]
    assert "receipts farm" not in alone
    alike = {one.source: one.not_told_from for one in with_receipts}
    assert "receipts quarry" in alike["belt"]
    assert "survey" in alike["density of clay"]


def test_what_nothing_checks_has_no_smallest_error():
    week = Stated(
        "w1",
        "clay",
        Survey(Bank(1000.0, 10.0)),
        Bank(1010.0, 30.0, 20.0),
        (Carried("belt", "", Mass(2000.0, 10.0, 5.0)), Carried("lorries")),
    )
    found = reconciliation(Season(["w1"], [AssumedGround("clay", 2.0, 0.02, 0.02)], [week]))
    by_source = {one.source: one for one in found.detectable}
    assert by_source["belt"].smallest_ratio is None
    assert by_source["returns"].smallest_ratio is not None
    belt = [one.standardised for one in found.statements if one.source == "belt"]
    assert belt == [0.0]


def test_a_source_is_not_told_from_one_of_nearly_its_rank_or_nearly_its_test():
    ranking = reconciliation(Drawn(16).season).ranking
    first, near, alike, far = (
        replace(one, rank=rank, test=test)
        for one, rank, test in zip(
            ranking[:4], (20.0, 15.0, 9.0, 9.0), (5.0, 3.0, -4.5, 4.0), strict=True
        )
    )
    found = [first, near, alike, far]
    assert not_told_from(first, found) == (near.source, alike.source)
