"""A programme says at once what is wrong with it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.domain.programme.steady import STEADY, steady, to_dig
from tracker.domain.programme.shapes import HoldTaken
from tracker.errors import InputError, NotEnoughData


def test_without_shifts_or_ground_ahead_there_is_nothing_to_forecast():
    with pytest.raises(NotEnoughData, match="No shift lies ahead"):
        steady(to_dig(), days=0)
    with pytest.raises(NotEnoughData, match="No ground is left"):
        steady()


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ({"stages": (to_dig(m3=0.0),)}, "remaining_m3 of zone A stage 1 is 0 m³"),
        ({"stages": (to_dig(hold=-1.0),)}, "hold_days_planned of zone A stage 1 is -1 days"),
        ({"shifts": (replace(STEADY[0], bank_m3=-5.0),)}, "bank_m3 of zone A on 2026-02-28 is -5"),
        ({"holds": (HoldTaken("A", 2, 0.0, 5.0),)}, "planned_days of the hold above zone A"),
        ({"zones_at_once": 0}, "zones_at_once is 0 zones"),
        ({"block_shifts": 0}, "block_shifts is 0 shifts"),
    ],
)
def test_impossible_numbers_are_named_with_their_place(what, said):
    with pytest.raises(InputError, match=said):
        steady(to_dig()).changed(**what)


def test_shifts_ahead_are_in_order_and_end_after_they_start():
    programme = steady(to_dig())
    with pytest.raises(InputError, match="in the order in which they start"):
        programme.changed(slots=programme.slots[::-1])
    backwards = replace(programme.slots[0], ends=programme.slots[0].starts)
    with pytest.raises(InputError, match="The shift of 2026-03-02 runs from"):
        programme.changed(slots=(backwards,))


def test_a_capacity_is_not_negative():
    with pytest.raises(InputError, match="belt on 2026-03-02 is -1 m³"):
        steady(to_dig(), most_m3={"belt": -1.0})


def test_a_limit_of_a_zone_is_not_negative():
    with pytest.raises(InputError, match="hoist of zone A on 2026-03-02 is -1 m³"):
        steady(to_dig(), own_m3=lambda day: {"A": {"hoist": -1.0}})
