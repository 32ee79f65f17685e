"""On invented seasons whose end is known, dates hold as often as they say; and where they do not.

Each of 500 seasons is forecast once, from a day between the 20th and the 60th. Dates are whole
days: a stage that ends within the day of its P80 has held it, so that dates hold a little more
often than their chance. The share of walks at the true end has no such rounding once it is drawn
evenly within the day; it should lie between 10 and 90 per cent in 80 per cent of the seasons.

The method was chosen on other seasons (seeds 5000 to 5399, five kinds of truth) and then looked at
once on 600 more (20000 to 20599): formation 80 %, single stages 78 %; P80 84 and 81 %.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from functools import cache

import numpy as np

from tests.domain.programme.seasons import Season, Truth
from tracker.domain.programme.backtest import programme_at
from tracker.domain.programme.forecast import Reached, forecast

SEASONS, WALKS = 500, 200


def forecasts(
    truth: Truth, seasons: int = SEASONS, **what
) -> Iterator[tuple[Reached, int, Season]]:
    """Formation and every stage ahead, with the slot in which it was truly reached."""
    for seed in range(seasons):
        season = Season(seed, truth)
        known = programme_at(season.record(), season.programme(**what), 20 + 10 * (seed % 5))
        answer = forecast(known, walks=WALKS, seed=seed)
        finished = season.happened.finished_slot
        yield answer.formation, max(finished.values()), season
        for reached in answer.stages:
            yield reached, finished[reached.zone, reached.stage], season


@cache
def places(truth: Truth, seasons: int = SEASONS) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of each forecast: whether it is of formation, where the true end lies, whether P80 held."""
    chance, rows = np.random.default_rng(0), []
    for reached, slot, season in forecasts(truth, seasons):
        day = season.slots[slot].work_date
        before, after = reached.chance_by(day - timedelta(days=1)), reached.chance_by(day)
        place = before + (after - before) * chance.random()
        rows.append((reached.stage is None, place, reached.p80 is not None and day <= reached.p80))
    formation, place, held = map(np.array, zip(*rows, strict=True))
    return formation, place, held


def inside(place: np.ndarray) -> float:
    return float(((place > 0.1) & (place <= 0.9)).mean())


def test_the_range_of_four_chances_in_five_holds_four_formations_and_four_stages_in_five():
    formation, place, _ = places(Truth())
    assert 0.75 <= inside(place[formation]) <= 0.85
    assert 0.75 <= inside(place[~formation]) <= 0.85


def test_ends_come_by_the_p80_in_four_seasons_of_five():
    formation, place, held = places(Truth())
    for group in (formation, ~formation):
        assert 0.75 <= (place[group] <= 0.8).mean() <= 0.85
        assert 0.77 <= held[group].mean() <= 0.90


def test_half_of_the_ends_come_by_the_p50():
    formation, place, _ = places(Truth())
    assert 0.44 <= (place[formation] <= 0.5).mean() <= 0.58


def test_neither_end_of_the_range_is_too_far_in():
    _, place, _ = places(Truth())
    assert 0.07 <= (place <= 0.1).mean() <= 0.14
    assert 0.07 <= (place > 0.9).mean() <= 0.14


def test_the_range_holds_where_shifts_are_independent():
    _, place, _ = places(Truth(lasting=0.0, common=0.0), 100)
    assert 0.75 <= inside(place) <= 0.85


def test_dates_do_not_hold_where_deeper_stages_are_slower_than_any_on_record():
    """No record says so: the borrowed rate that a forecast names is the warning."""
    formation, _, held = places(Truth(stage_ratio=(1.0, 0.9, 0.8)), 60)
    assert held[formation].mean() < 0.6


def test_dates_do_not_hold_where_holds_take_longer_than_the_usual_spread_before_five_are_known():
    formation, _, held = places(Truth(hold_spread=(1.0, 1.3, 2.2)), 60)
    assert held[formation].mean() < 0.77
