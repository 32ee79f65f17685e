"""What a record says of the shifts ahead, and when it says too little."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from tests.domain.programme.steady import STEADY, record, steady, to_dig
from tracker.domain.programme.output import could_give, lasting, luck, outputs
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
    # 100 stands for the mean of 140 and 180; of 200 nothing free gave more.
    assert [shift.bank_m3 for shift in could_give(limited)] == [160.0, 60.0, 140.0, 180.0, 200.0]


def test_a_block_is_a_run_of_the_record_and_goes_round_its_end():
    drawn_from = outputs(steady(to_dig(), shifts=record(1, 2, 3, 4, 5, 6), block_shifts=3))
    blocks = [list(drawn_from.values_m3[6 + 2 + n : 6 + 2 + n + 3]) for n in range(6)]
    assert blocks == [[1, 2, 3], [2, 3, 4], [3, 4, 5], [4, 5, 6], [5, 6, 1], [6, 1, 2]]


def test_a_record_without_scatter_leaves_nothing_to_luck():
    assert (luck(outputs(steady(to_dig())), 50, np.random.default_rng(1)) == 1.0).all()


def test_the_mean_of_independent_shifts_is_as_uncertain_as_theory_has_it():
    chance = np.random.default_rng(2)
    shifts = record(*chance.normal(100.0, 20.0, 100))
    drawn_from = replace(outputs(steady(to_dig(), shifts=shifts)), lasting=0.0)
    spread = np.std(luck(drawn_from, 20_000, chance)[1])
    assert spread == pytest.approx(0.20 / np.sqrt(100), rel=0.15)


def test_shifts_that_resemble_their_neighbours_say_less():
    chance = np.random.default_rng(3)
    chain = [0.0]
    for step in chance.standard_normal(400):
        chain.append(0.6 * chain[-1] + 0.8 * step)
    sums, zones = 100.0 + 20.0 * np.array(chain), np.ones(401)
    assert lasting(sums, zones) == pytest.approx(0.6, abs=0.1)
    assert lasting(chance.permutation(sums), zones) == pytest.approx(0.0, abs=0.1)


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
