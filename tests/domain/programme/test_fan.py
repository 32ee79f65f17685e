"""How much is dug by each date: by hand where nothing is left to chance, and by counting walks."""

from __future__ import annotations

import numpy as np
import pytest

from tests.domain.programme.seasons import Season
from tests.domain.programme.steady import march, record, steady, to_dig
from tracker.domain.programme.fan import Fan
from tracker.domain.programme.forecast import forecast


def test_without_chance_the_fan_is_a_line_that_rests_on_sundays_and_ends_with_the_ground():
    fan = forecast(steady(to_dig("A", m3=300.0), to_dig("B", m3=750.0)), walks=5).fan
    assert [day.work_date for day in fan] == [march(n) for n in range(2, 11)]
    dug = [200.0, 400.0, 600.0, 700.0, 800.0, 900.0, 900.0, 1000.0, 1050.0]
    for n, day in enumerate(fan):
        assert (day.low_m3, day.middle_m3, day.high_m3) == pytest.approx((dug[n],) * 3)


def test_each_part_has_a_fan_of_its_own():
    programme = steady(to_dig("A", m3=300.0), to_dig("S", m3=150.0), parts={"S": "shaft"})
    fan = forecast(programme, walks=5).fan
    assert [(day.part, day.work_date.day, day.middle_m3) for day in fan] == [
        ("", 2, 100.0), ("", 3, 200.0), ("", 4, 300.0), ("shaft", 2, 100.0), ("shaft", 3, 150.0),
    ]  # fmt: skip


def test_low_is_dug_by_four_walks_in_five_and_high_by_one():
    fan = Fan(steady(to_dig("A")), 10)
    fan.add(np.arange(1.0, 11.0)[None, ::-1])
    fan.end_slot(0)
    assert list(fan.volumes_m3[0, 0]) == [3.0, 6.0, 9.0]


def test_two_shifts_of_a_work_date_count_at_its_end():
    programme = steady(to_dig("A", m3=250.0))
    slots = tuple(s for slot in programme.slots for s in (slot, slot))
    fan = forecast(programme.changed(slots=slots), walks=5).fan
    assert [(day.work_date.day, day.low_m3) for day in fan] == [(2, 200.0), (3, 250.0)]


def test_the_fan_meets_the_dates():
    """By the P50 date of formation half of the walks have dug everything, and not before."""
    programme = Season(3).programme()
    answer = forecast(programme, walks=1000)
    whole_m3 = sum(stage.remaining_m3 for stage in programme.stages)
    for chance, volume in ((0.2, "high_m3"), (0.5, "middle_m3"), (0.8, "low_m3")):
        day = answer.formation.date_by(chance)
        full = [d.work_date for d in answer.fan if getattr(d, volume) >= whole_m3 - 1e-3]
        assert full[0] == day
    for before, after in zip(answer.fan, answer.fan[1:], strict=False):
        assert before.low_m3 <= after.low_m3
        assert after.low_m3 <= after.middle_m3 <= after.high_m3


def test_a_calendar_that_ends_first_ends_the_fan():
    fan = forecast(steady(to_dig(m3=1000.0), days=3), walks=5).fan
    assert [day.middle_m3 for day in fan] == pytest.approx([100.0, 200.0, 300.0])


def test_walks_done_in_lots_give_nearly_the_fan_of_one_lot():
    shifts = record(*[20.0, 100.0, 180.0] * 4)
    programme = steady(to_dig(m3=1500.0), shifts=shifts)
    one = forecast(programme, walks=2000).fan
    lots = forecast(programme, walks=5000).fan
    for whole, mean in zip(one[:10], lots[:10], strict=True):
        assert mean.low_m3 == pytest.approx(whole.low_m3, rel=0.05, abs=10.0)
        assert mean.high_m3 == pytest.approx(whole.high_m3, rel=0.05, abs=10.0)
