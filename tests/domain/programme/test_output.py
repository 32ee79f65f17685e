"""What a record says of the shifts ahead, and when it says too little."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from scipy.stats import t as student

from tests.domain.programme.steady import STEADY, record, steady, to_dig
from tracker.domain.programme.output import COPIES, could_give, lasting, luck, outputs
from tracker.domain.programme.shapes import WorkedShift
from tracker.errors import NotEnoughData


def test_fewer_than_five_worked_shifts_are_refused_with_their_number():
    with pytest.raises(NotEnoughData, match=r"has 4 worked shifts; .* at least 5"):
        outputs(steady(to_dig(), shifts=STEADY[:4]))


def test_one_offs_are_left_out_by_choice_and_named_in_the_refusal():
    flooded = tuple(replace(shift, bank_m3=0.0, one_off="flood") for shift in STEADY[:3])
    shifts = flooded + STEADY[3:]
    assert outputs(steady(to_dig(), shifts=shifts)).mean_m3 == 50.0
    with pytest.raises(NotEnoughData, match="3 worked shifts \\(3 more are left out as one-offs"):
        outputs(steady(to_dig(), shifts=shifts, excluded=frozenset({"flood"})))
    more = shifts + record(100.0, 100.0, zone="B")
    chosen = steady(to_dig(), shifts=more, excluded=frozenset({"flood"}))
    assert outputs(chosen).mean_m3 == 100.0


def test_a_record_in_which_nothing_was_dug_has_no_rate():
    with pytest.raises(NotEnoughData, match="no rate"):
        outputs(steady(to_dig(), shifts=record(*[0.0] * 6)))


def test_a_record_that_is_too_old_is_refused_with_its_age():
    old = tuple(replace(shift, work_date=date(2026, 1, 31)) for shift in STEADY)
    with pytest.raises(NotEnoughData, match=r"2026-01-31, 30 days before .* at most 28 days"):
        outputs(steady(to_dig(), shifts=old))
    assert outputs(steady(to_dig(), shifts=old, oldest_record_days=30)).mean_m3 == 100.0


def test_a_group_with_too_few_shifts_of_its_own_borrows_those_of_all_and_says_so():
    shifts = record(*[100.0] * 6) + record(*[40.0] * 4, stage=2)
    stages = to_dig(), to_dig(stage=2), to_dig(stage=3)
    rates = outputs(steady(*stages, shifts=shifts)).rates
    assert [(r.group, r.shifts, r.bank_m3, r.borrowed) for r in rates] == [
        ("stage 1", 6, 100.0, False), ("stage 2", 10, 76.0, True), ("stage 3", 10, 76.0, True),
    ]  # fmt: skip


def test_the_parts_of_a_site_are_dug_at_rates_of_their_own():
    shifts = record(*[100.0] * 6) + record(*[40.0] * 6, zone="S") + record(30.0, zone="S", stage=2)
    stages = to_dig("A"), to_dig("A", 2), to_dig("S"), to_dig("S", 2)
    programme = steady(*stages, shifts=shifts, parts={"A": "box", "S": "shaft"})
    rates = outputs(programme).rates
    assert [(r.group, r.shifts, r.borrowed) for r in rates] == [
        ("box, stage 1", 6, False), ("box, stage 2", 6, True),
        ("shaft, stage 1", 6, False), ("shaft, stage 2", 7, True),
    ]  # fmt: skip
    assert [r.bank_m3 for r in rates] == pytest.approx([100.0, 100.0, 40.0, 270.0 / 7.0])
    (rate,) = outputs(steady(to_dig("C"), shifts=shifts, parts={"C": "pit"})).rates
    assert (rate.shifts, rate.borrowed) == (13, True)


def test_stages_that_are_dug_alike_share_their_shifts():
    shifts = record(*[100.0] * 6) + record(*[40.0] * 4, stage=2)
    programme = steady(to_dig(), to_dig(stage=2), shifts=shifts, stage_groups={1: "up", 2: "up"})
    (rate,) = outputs(programme).rates
    assert (rate.group, rate.bank_m3) == ("up", 76.0)


def test_a_shift_that_could_have_given_more_stands_for_those_that_did():
    shifts = record(100.0, 60.0, 140.0, 180.0, 200.0)
    limited = [replace(shifts[0], limited=True), *shifts[1:4], replace(shifts[4], limited=True)]
    copies = [could_give(limited, copy) for copy in range(COPIES)]
    # 100 stands for 140, 180 and 200 in turn; nothing gave more than 200.
    assert {copy[0] for copy in copies} == {140.0, 180.0, 200.0}
    assert {tuple(copy[1:]) for copy in copies} == {(60.0, 140.0, 180.0, 200.0)}
    assert outputs(steady(to_dig(), shifts=tuple(limited))).mean_m3 == pytest.approx(150.0, abs=6.0)


def test_limited_shifts_neither_lower_the_mean_nor_take_away_from_the_scatter():
    chance = np.random.default_rng(5)
    could, most = chance.gamma(9.0, 200.0 / 9.0, 2000), chance.gamma(20.0, 15.0, 2000)
    shifts = tuple(
        replace(shift, limited=bool(limit < m3))
        for shift, m3, limit in zip(record(*np.minimum(could, most)), could, most, strict=True)
    )
    assert 0.1 < np.mean([shift.limited for shift in shifts]) < 0.3
    (pool, *_) = outputs(steady(to_dig(), shifts=shifts)).pools
    assert pool.mean_m3 == pytest.approx(could.mean(), rel=0.02)
    assert pool.copies_m3.std() == pytest.approx(could.std(), rel=0.06)


def test_a_block_is_a_run_of_the_record_and_goes_round_its_end():
    drawn_from = outputs(steady(to_dig(), shifts=record(1, 2, 3, 4, 5, 6), block_shifts=3))
    laid = list(drawn_from.values_m3[6 + 2 :])
    assert laid[:6] == sorted(laid[:6])
    assert laid[6:] == laid[:2]


def test_outputs_are_spread_by_what_a_mean_taken_from_them_hides_and_none_is_below_nothing():
    given = [50.0, 150.0, 90.0, 110.0, 0.0, 200.0, 95.0, 105.0]
    drawn_from = outputs(steady(to_dig(), shifts=record(*given), block_shifts=1))
    assert drawn_from.lasting == 0.0
    values = drawn_from.values_m3[8:]
    assert values.mean() == pytest.approx(100.0)
    assert values.min() == 0.0
    # One in eight of the variance is hidden; what would be below nothing raises the mean a little.
    raised = 100.0 + np.sqrt(8 / 7) * (np.array(given) - 100.0)
    assert values == pytest.approx(np.maximum(raised, 0.0) * 100.0 / np.maximum(raised, 0.0).mean())


def test_a_record_without_scatter_leaves_nothing_to_luck():
    assert (luck(outputs(steady(to_dig())), 50, np.random.default_rng(1)) == 1.0).all()


def test_the_mean_of_many_independent_shifts_is_as_uncertain_as_theory_has_it():
    chance = np.random.default_rng(2)
    given = chance.normal(100.0, 20.0, 5000)
    drawn_from = replace(outputs(steady(to_dig(), shifts=record(*given))), lasting=0.0)
    low, high = np.quantile(np.log(luck(drawn_from, 50_000, chance)[1]), (0.1, 0.9))
    u = np.std(given, ddof=1) / np.sqrt(5000) / given.mean()
    assert (high - low) / 2.0 == pytest.approx(1.2816 * u, rel=0.03)


def test_the_mean_of_few_shifts_is_less_sure_than_theory_has_it_for_independent_ones():
    """For they may resemble their neighbours without showing it."""
    chance = np.random.default_rng(2)
    given = chance.normal(100.0, 20.0, 12)
    drawn_from = replace(outputs(steady(to_dig(), shifts=record(*given))), lasting=0.0)
    low, high = np.quantile(np.log(luck(drawn_from, 50_000, chance)[1]), (0.1, 0.9))
    by_theory = np.std(given, ddof=1) / np.sqrt(12) / given.mean() * student.ppf(0.9, 11)
    assert 1.05 * by_theory < (high - low) / 2.0 < 1.5 * by_theory


def chain_of(lasting_share: float, shifts: int, chance: np.random.Generator) -> list[float]:
    off = [0.0]
    for step in chance.standard_normal(shifts - 1):
        off.append(lasting_share * off[-1] + np.sqrt(1.0 - lasting_share**2) * step)
    return [100.0 + 20.0 * m3 for m3 in off]


def test_shifts_that_resemble_their_neighbours_say_less():
    chance = np.random.default_rng(3)
    given = chain_of(0.6, 400, chance)
    programme = steady(to_dig())
    assert lasting(programme, record(*given)) == pytest.approx(0.6, abs=0.1)
    assert lasting(programme, record(*chance.permutation(given))) == pytest.approx(0.0, abs=0.1)
    spans = []
    for share in (0.0, 0.6):
        drawn_from = replace(outputs(steady(to_dig(), shifts=record(*given))), lasting=share)
        spans.append(np.std(luck(drawn_from, 20_000, chance)[1]))
    assert spans[1] == pytest.approx(2.0 * spans[0], rel=0.1)  # sqrt(1.6 / 0.4)


def test_what_lasts_is_seen_zone_by_zone_though_zones_take_turns():
    chance = np.random.default_rng(6)
    zones = [record(*chain_of(0.6, 200, chance), zone=zone) for zone in "ABCD"]
    programme = steady(to_dig())
    turns = [s for n, zone in enumerate(zones) for s in zone if s.shift_index // 10 % 4 == n]
    assert lasting(programme, turns) == pytest.approx(0.6, abs=0.12)
    assert lasting(programme, turns[:5]) == 0.0  # four pairs are too few


def test_zones_that_have_their_good_days_together_are_drawn_together():
    chance = np.random.default_rng(4)
    common, own = chance.normal(0, 20, 200), chance.normal(0, 20, (3, 200))
    shifts = tuple(
        WorkedShift(zone, 1, 100.0 + common[n] + own[z][n], n, date(2026, 2, 28))
        for z, zone in enumerate("ABC")
        for n in range(200)
    )
    alike = outputs(steady(to_dig(), shifts=shifts)).together ** 2
    assert alike == pytest.approx(0.5, abs=0.12)
    alone = tuple(replace(s, shift_index=3 * s.shift_index + "ABC".index(s.zone)) for s in shifts)
    assert outputs(steady(to_dig(), shifts=alone)).together == 0.0


def test_a_stage_with_enough_shifts_of_its_own_is_drawn_from_them_alone():
    shifts = record(*[100.0, 80.0] * 10) + record(*[40.0, 60.0] * 8, zone="B")
    parts = {"A": "box", "B": "box", "C": "box"}
    programme = steady(to_dig("B"), to_dig("C"), shifts=shifts, parts=parts)
    rates = {r.group: (r.shifts, r.bank_m3, r.borrowed) for r in outputs(programme).rates}
    assert rates["zone B, stage 1"] == (16, 50.0, False)
    assert rates["box, stage 1"] == (36, pytest.approx(2600 / 36), False)
    alike = programme.changed(stage_groups={1: "alike"})
    assert [r.group for r in outputs(alike).rates] == ["box, alike"]
    few = programme.changed(shifts=shifts[:20] + shifts[20:34])
    assert [r.group for r in outputs(few).rates] == ["box, stage 1"]
