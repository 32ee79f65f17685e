from dataclasses import replace

import pytest

from tests.domain.reconcile.dense import dense_adjusted
from tests.domain.reconcile.seasons import Drawn
from tracker.domain.reconcile.adjusted import reconciliation
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
from tracker.errors import InputError, NotEnoughData

CLAY = AssumedGround("clay", 2.0, 0.02, 0.0)


def season(*stated: Stated, ground: AssumedGround = CLAY) -> Season:
    return Season([one.period for one in stated], [ground], stated)


def by_belt(mass_t: float, u_t: float, u_shared_t: float = 0.0) -> tuple[Carried, ...]:
    return (Carried("belt", weighed=Mass(mass_t, u_t, u_shared_t)),)


def survey(bank_m3: float, u_m3: float) -> SurveyedVoid:
    return SurveyedVoid(Bank(bank_m3, u_m3))


# --- what comes out ------------------------------------------------------------------------------
def test_a_small_difference_is_shared_out_by_the_squares_of_the_uncertainties():
    """1000 m³ at 2 t/m³ against 2002 t: to first order by hand, in t: u² 40², 20², 20²."""
    one = Stated("w1", "clay", survey(1000.0, 20.0), carried=by_belt(2002.0, 20.0))
    (found,) = reconciliation(season(one)).periods
    share = 2.0 / (40**2 + 20**2 + 20**2)
    assert found.bank_m3 == pytest.approx(1000 + share * 40**2 / 2.0, abs=1e-3)
    assert found.bank_density_t_per_m3 == pytest.approx(2.0 + share * 20**2 / 1000, abs=1e-6)
    assert found.mass_t == pytest.approx(2002 - share * 20**2, abs=1e-3)
    assert found.u_mass_t == pytest.approx((1 / (1 / 20**2 + 1 / (40**2 + 20**2))) ** 0.5, rel=1e-3)


def test_mass_is_exactly_volume_times_density_in_every_period():
    for one in reconciliation(Drawn(3).season).periods:
        assert one.mass_t == pytest.approx(one.bank_m3 * one.bank_density_t_per_m3, rel=1e-12)


def test_a_general_minimiser_on_other_equations_finds_the_same_volumes_and_densities():
    drawn = Drawn(4, periods=8)
    ours = reconciliation(drawn.season).periods
    bank_m3, density = dense_adjusted(drawn.season)
    assert [one.bank_m3 for one in ours] == pytest.approx(bank_m3, rel=1e-6)
    assert [one.bank_density_t_per_m3 for one in ours] == pytest.approx(density, rel=1e-6)


def test_what_a_survey_puts_into_another_stream_comes_back_with_the_next_one():
    season = Drawn(4, periods=8).season
    stated = [replace(one, survey=replace(one.survey, u_split_m3=40.0)) for one in season.stated]
    found = reconciliation(replace(season, stated=stated))
    bank_m3, _ = dense_adjusted(replace(season, stated=stated))
    assert [one.bank_m3 for one in found.periods] == pytest.approx(bank_m3, rel=1e-6)
    own = [
        replace(one, survey=replace(one.survey, void=replace(one.survey.void, u_independent_m3=55)))
        for one in season.stated
    ]
    alone = reconciliation(replace(season, stated=own))
    assert found.totals[0].u_bank_m3 < alone.totals[0].u_bank_m3  # the same errors, not returned


def test_the_totals_are_the_sums_of_the_periods_by_stream_and_over_all():
    found = reconciliation(Drawn(5).season)
    assert [(one.period, one.stream) for one in found.totals] == [("all", "clay"), ("all", "all")]
    for whole in found.totals:
        assert whole.bank_m3 == pytest.approx(sum(one.bank_m3 for one in found.periods))
        assert whole.mass_t == pytest.approx(sum(one.mass_t for one in found.periods))
        assert whole.bank_density_t_per_m3 == pytest.approx(whole.mass_t / whole.bank_m3)


def test_a_shared_error_does_not_shrink_with_more_periods():
    def u_of_total(periods: int, own_t: float, shared_t: float) -> float:
        weeks = [
            Stated(f"w{k}", "clay", survey(1000.0, 1e4), carried=by_belt(2000.0, own_t, shared_t))
            for k in range(periods)
        ]
        whole = reconciliation(season(*weeks)).totals[0]
        return whole.u_mass_t / whole.mass_t

    assert u_of_total(25, 20.0, 0.1) == pytest.approx(0.01 / 5.0, rel=0.02)
    assert u_of_total(25, 1.0, 20.0) == pytest.approx(0.01, rel=0.02)


def test_two_streams_over_one_belt_share_its_error():
    sand = replace(CLAY, stream="sand")
    stated = [
        Stated("w1", stream, survey(1000.0, 1e4), carried=by_belt(2000.0, 0.1, 20.0))
        for stream in ("clay", "sand")
    ]
    clay, _, both = reconciliation(Season(["w1"], [CLAY, sand], stated)).totals
    assert clay.u_mass_t == pytest.approx(20.0, rel=1e-3)
    assert both.u_mass_t == pytest.approx(40.0, rel=1e-3)


def test_a_survey_after_four_weeks_checks_the_four_weeks_together():
    weeks = [Stated(f"w{k}", "clay", carried=by_belt(500.0, 5.0)) for k in range(3)]
    last = Stated("w3", "clay", survey(960.0, 0.1), carried=by_belt(500.0, 5.0))
    found = reconciliation(season(*weeks, last))
    assert found.totals[0].bank_m3 == pytest.approx(960.0, abs=0.05)
    assert len({round(one.bank_m3, 6) for one in found.periods}) == 1
    assert found.degrees == 1


def test_the_level_error_of_a_survey_does_not_grow_over_a_season():
    def u_of_total(u_level_m: float, u_void_m3: float) -> float:
        weeks = [
            Stated(
                f"w{k}",
                "clay",
                SurveyedVoid(Bank(1000.0, u_void_m3), 4000.0, u_level_m),
                carried=by_belt(2000.0, 1e4),
            )
            for k in range(16)
        ]
        return reconciliation(season(*weeks)).totals[0].u_bank_m3

    assert u_of_total(0.01, 0.01) == pytest.approx(2**0.5 * 40.0, rel=0.01)  # first and last
    assert u_of_total(0.0, 40.0) == pytest.approx(4.0 * 40.0, rel=0.01)  # grows by the root


def test_ground_dug_after_the_survey_belongs_to_the_period_of_its_tickets():
    def period(name: str, void: float, mass: float, after: float | None = None) -> Stated:
        dug_after = None if after is None else Bank(after, 1.0)
        surveyed = SurveyedVoid(Bank(void, 1.0), dug_after=dug_after)
        return Stated(name, "clay", surveyed, carried=by_belt(mass, 2.0))

    allowed = reconciliation(season(period("w1", 900, 2000, 100), period("w2", 1100, 2000)))
    assert [one.bank_m3 for one in allowed.periods] == pytest.approx([1000.0, 1000.0], abs=0.01)
    assert allowed.probability > 0.99
    ignored = reconciliation(season(period("w1", 900, 2000), period("w2", 1100, 2000)))
    assert ignored.probability < 1e-3


def test_stock_is_carried_over_and_a_heap_is_weighed_by_density_and_bulking():
    ground = replace(CLAY, opening_stock=Mass(50.0, 0.1))
    one = Stated(
        "w1",
        "clay",
        survey(1000.0, 0.1),
        carried=(*by_belt(1400.0, 0.1), Carried("lorries", weighed=Mass(350.0, 0.1))),
        reused=Mass(100.0, 0.1),
        closing_stock=Loose(130.0, 0.1),
    )
    found = reconciliation(season(one, ground=ground))
    assert found.periods[0].mass_t == pytest.approx(2000.0, abs=1.0)  # 130 / 1.3 * 2 = 200 t
    assert found.chi_square < 0.1


def test_receipts_state_the_same_tonnes_as_the_weighings():
    way = Carried("belt", "quarry", Mass(2000.0, 10.0), Mass(2030.0, 20.0))
    one = Stated("w1", "clay", survey(1000.0, 1e4), carried=(way,))
    (found,) = reconciliation(season(one)).periods
    assert found.mass_t == pytest.approx((2000 / 10**2 + 2030 / 20**2) / (1 / 10**2 + 1 / 20**2))


def test_a_period_in_which_nothing_moved_is_nothing_and_keeps_its_density():
    nil = Stated("w1", "clay", survey(0.0, 1.0), Bank(0.0, 1.0), by_belt(0.0, 1.0))
    (found,) = reconciliation(season(nil)).periods
    assert (found.bank_m3, found.mass_t) == (0.0, 0.0)
    assert found.bank_density_t_per_m3 == 2.0
    assert found.u_bank_density_t_per_m3 == pytest.approx(0.02)


def test_ground_that_left_unweighed_is_estimated_from_the_survey():
    one = Stated("w1", "clay", survey(1000.0, 10.0), Bank(1010.0, 30.0), (Carried("lorries"),))
    found = reconciliation(season(one))
    assert found.periods[0].mass_t == pytest.approx(2.0 * (1000 * 9 + 1010) / 10, abs=0.01)


def test_returns_may_be_stated_as_bank_loose_or_mass():
    for returns in (Bank(1000.0, 1.0), Loose(1300.0, 1.0), Mass(2000.0, 1.0)):
        one = Stated("w1", "clay", returns=returns, carried=by_belt(2000.0, 1.0))
        found = reconciliation(season(one))
        assert found.chi_square == pytest.approx(0.0, abs=1e-9)
        assert found.statements[-1].unit == type(returns).UNIT


def test_every_statement_stands_beside_what_all_say_together():
    found = reconciliation(Drawn(6, periods=5).season)
    by_source = {(one.source, one.period): one for one in found.statements}
    survey_1 = by_source["survey", "week 1"]
    assert survey_1.stated != survey_1.adjusted
    belts = [by_source["belt", f"week {k}"] for k in range(1, 6)]
    tips = [by_source["receipts quarry", f"week {k}"] for k in range(1, 6)]
    assert all(0.98 < a.adjusted / b.adjusted < 1.02 for a, b in zip(belts, tips, strict=True))


# --- what cannot be answered ---------------------------------------------------------------------
def test_nothing_stated_is_not_enough():
    with pytest.raises(NotEnoughData, match="Nothing was stated"):
        reconciliation(Season(["w1"], [CLAY], []))


def test_one_source_checks_nothing():
    with pytest.raises(NotEnoughData, match="No statement checks another"):
        reconciliation(season(Stated("w1", "clay", carried=by_belt(2000.0, 10.0))))


def test_what_no_statement_determines_is_named():
    both = (Carried("belt", "quarry"), Carried("lorries", "farm"))
    one = Stated("w1", "clay", survey(1000.0, 10.0), Bank(990.0, 10.0), both)
    with pytest.raises(NotEnoughData, match=r"belt quarry in w1.*lorries farm in w1"):
        reconciliation(season(one))


def test_ground_that_went_nowhere_is_asked_for():
    with pytest.raises(NotEnoughData, match="where the clay of w1 went"):
        reconciliation(season(Stated("w1", "clay", survey(1000.0, 10.0), Bank(990.0, 10.0))))


def test_statements_that_cannot_be_brought_together_are_refused_in_words():
    one = Stated("w1", "clay", survey(1e9, 1e-3), carried=by_belt(-5.0, 1e-3))
    with pytest.raises(InputError, match="wrong unit"):
        reconciliation(season(one))
