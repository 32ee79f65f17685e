"""The forecast measured against a plain Python loop that gives the same dates and causes.

The loop walks fewer times, and its time is scaled to as many walks; it sums up nothing. The bound
in seconds is for a quiet machine with two cores; run this file alone.
"""

from __future__ import annotations

import random

import numpy as np
import pytest

from tests.bench.conftest import least_s
from tests.domain.programme.plain_walk import plain_walk
from tests.domain.programme.seasons import slots_of
from tracker.domain.programme.forecast import forecast
from tracker.domain.programme.output import luck, outputs
from tracker.domain.programme.shapes import Programme, StageToDig, WorkedShift

WALKS, FEW = 10_000, 40
FASTER_AT_LEAST = 50.0
AT_MOST_S = 1.0
DAYS = 300
ZONES = "ABCDEFGH"


def eight_zones() -> Programme:
    """Eight zones of four stages, four dug at a time, with a belt, over most of 300 days."""
    chance = np.random.default_rng(1)
    slots = slots_of(DAYS + 60, belt=760.0)
    shifts = tuple(
        WorkedShift(zone, 1, float(m3), n, slots[0].work_date)
        for zone in ZONES
        for n, m3 in enumerate(chance.gamma(9.0, 200.0 / 9.0, 30))
    )
    stages = tuple(
        StageToDig(zone, stage, 4800.0, 18.0, stage == 1)
        for zone in ZONES
        for stage in (1, 2, 3, 4)
    )
    return Programme(stages, slots, shifts, zones_at_once=4)


def plain_ends(programme: Programme) -> list[int]:
    """The same walk one at a time: blocks of the record, luck of the walk, triangular holds."""
    drawn_from, chance = outputs(programme), random.Random(1)
    lucks = luck(drawn_from, FEW, np.random.default_rng(1))[0]
    values, count = drawn_from.values_m3.tolist(), int(drawn_from.count[0])
    length, ends = programme.block_shifts, []
    for ratio in lucks.tolist():
        places: dict[str, tuple[int, int]] = {}

        def output(slot: int, stage: StageToDig, places=places, ratio=ratio) -> float:
            at, left = places.get(stage.zone, (0, 0))
            if not left:
                at, left = chance.randrange(count), length
            places[stage.zone] = at + 1, left - 1
            return values[at] * ratio

        walk = plain_walk(
            programme.stages,
            programme.slots,
            output,
            lambda stage: stage.hold_days_planned * chance.triangular(0.9, 1.5, 1.0),
            programme.zones_at_once,
        )
        ends.append(max(walk.finished_slot.values()))
    return ends


def test_ten_thousand_walks_of_300_days_with_eight_zones(say):
    programme = eight_zones()
    slow: list[list[int]] = []
    (ours_s,) = least_s(lambda: forecast(programme, walks=WALKS), repeats=5)
    (theirs_s,) = least_s(lambda: slow.append(plain_ends(programme)), repeats=2)
    formation = forecast(programme, walks=WALKS).formation
    days = (formation.p50 - programme.slots[0].work_date).days
    assert days == pytest.approx(np.median(slow[0]), abs=4)
    assert days > 0.8 * DAYS
    ratio = theirs_s * WALKS / FEW / ours_s
    say(f"{WALKS} walks, {days} days to formation (P50): {ours_s:.2f} s (at most {AT_MOST_S:g} s)")
    say(f"a plain loop would take {theirs_s * WALKS / FEW:.0f} s ({FEW} walks: {theirs_s:.2f} s)")
    say(f"{ratio:.0f} times faster (at least {FASTER_AT_LEAST:g})")
    assert ratio >= FASTER_AT_LEAST
    assert ours_s <= AT_MOST_S
