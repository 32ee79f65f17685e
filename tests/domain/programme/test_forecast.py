"""What a forecast says of dates, chances, releases and the rate needed."""

from __future__ import annotations

from datetime import date

import pytest

from tests.domain.programme.seasons import Season
from tests.domain.programme.steady import march, record, steady, to_dig
from tracker.domain.programme.forecast import CAUTION, Reached, forecast, rate_needed
from tracker.domain.programme.shapes import HoldSpread
from tracker.errors import InputError, NotEnoughData, OutOfRange

REACHED = Reached("A", 1, 10, ((march(2), 2), (march(4), 5), (march(7), 8)))


def test_a_date_is_the_first_by_which_so_many_walks_are_there():
    assert (REACHED.p20, REACHED.p50, REACHED.p80) == (march(2), march(4), march(7))
    assert REACHED.date_by(0.51) == march(7)
    assert REACHED.date_by(0.9) is None
    with pytest.raises(OutOfRange):
        REACHED.date_by(1.2)


def test_the_chance_of_a_target_counts_the_walks_that_are_there_by_its_end():
    days = (1, 2, 3, 4, 30)
    assert [REACHED.chance_by(march(day)) for day in days] == [0.0, 0.2, 0.2, 0.5, 0.8]


def test_formation_is_reached_when_the_last_zone_is():
    answer = forecast(steady(to_dig("A", m3=300.0), to_dig("B", m3=500.0)), walks=5)
    assert [(r.zone, r.p80) for r in answer.zones] == [("A", march(4)), ("B", march(6))]
    assert (answer.formation.zone, answer.formation.p80) == ("", march(6))
    assert answer.last_zone == {"A": 0.0, "B": 1.0}


def box_and_shaft(**what):
    shifts = record(*[100.0] * 6) + record(*[50.0] * 6, zone="S")
    stages = to_dig("A", m3=300.0), to_dig("S", m3=400.0), to_dig("B", m3=500.0)
    parts = {"A": "box", "B": "box", "S": "shaft"}
    return steady(*stages, shifts=shifts, parts=parts, **what)


def test_each_part_of_a_site_has_a_formation_of_its_own():
    answer = forecast(box_and_shaft(), walks=5)
    assert [(r.part, r.zone, r.p80) for r in answer.parts] == [
        ("box", "", march(6)), ("shaft", "", march(10)),
    ]  # fmt: skip
    assert (answer.formation.part, answer.formation.p80) == ("", march(10))
    assert {(r.zone, r.part) for r in (*answer.zones, *answer.stages)} == {
        ("A", "box"), ("B", "box"), ("S", "shaft"),
    }  # fmt: skip
    (whole,) = forecast(steady(to_dig()), walks=5).parts
    assert (whole.part, whole.p80) == ("", march(12))


def test_the_rate_needed_by_a_part_leaves_the_others_as_they_are():
    shaft = rate_needed(box_and_shaft(), march(5), part="shaft", walks=20)
    # 400 m³ in four shifts instead of eight; the box, needed by the same day, is not asked for.
    assert (shaft.part, shaft.ratio) == ("shaft", pytest.approx(2.0, rel=1e-3))
    assert shaft.bank_m3 == pytest.approx(100.0, rel=1e-3)
    # 480 m³ beside a shaft that gives 50: only while the shaft is not raised with the box does the
    # box get so much of the belt that it is done in four shifts.
    belt = box_and_shaft(most_m3={"belt": 150.0}).changed(
        stages=(to_dig("A", m3=480.0), to_dig("S", m3=1000.0))
    )
    assert rate_needed(belt, march(5), part="box", walks=20).ratio > 1.2
    with pytest.raises(InputError, match="No ground is left in 'pit': choose one of box, shaft"):
        rate_needed(belt, march(9), part="pit")


def test_every_hold_that_nobody_has_released_is_named_with_its_assumed_date():
    stages = (
        to_dig("A", m3=400.0),
        to_dig("A", 2, 100.0, 10.0, released=False),
        to_dig("A", 3, 100.0, 1.0, released=True),
        to_dig("B", 2, 100.0, 0.0, released=False),
    )
    a, b = forecast(steady(*stages), walks=5).releases
    # The hold ends on Sunday 15th: it must be in place for the shift of Monday 16th.
    assert (a.zone, a.stage, a.needed_for) == ("A", 2, (march(16),) * 3)
    assert str(a) == (
        "Zone A: the hold above stage 2 is assumed released for the shift of: 2026-03-16"
        " (P20 2026-03-16, P80 2026-03-16). Nobody has released it yet."
    )
    assert (b.zone, b.needed_for[0], b.overdue) == ("B", march(2), False)


def test_a_release_beyond_the_calendar_has_no_date():
    stages = to_dig(m3=400.0), to_dig(stage=2, m3=100.0, hold=90.0, released=False)
    (release,) = forecast(steady(*stages), walks=5).releases
    assert release.needed_for == (None, None, None)
    assert "later than the calendar goes" in str(release)


def test_the_same_seed_gives_the_same_forecast_and_more_scatter_a_wider_one():
    season = Season(3).programme()
    assert forecast(season, walks=200) == forecast(season, walks=200)
    assert forecast(season, walks=200) != forecast(season, walks=200, seed=2)
    steady_rate = record(*[100.0, 90.0, 110.0] * 4)
    uneven = record(*[20.0, 100.0, 180.0] * 4)
    spans = []
    for shifts in (steady_rate, uneven):
        formation = forecast(steady(to_dig(m3=2500.0), shifts=shifts), walks=2000).formation
        spans.append(formation.date_by(0.9) - formation.date_by(0.1))
    assert spans[0] < spans[1]


def test_the_answer_says_what_it_rests_on():
    answer = forecast(Season(3).programme(holds=()), walks=50)
    assert [(rate.group, rate.borrowed) for rate in answer.rates] == [("all", False)]
    assert "common practice, no source" in answer.holds
    assert (answer.block_shifts, answer.walks) == (5, 50)
    assert 0.0 < answer.likeness < 1.0
    assert "permits nothing" in CAUTION


def test_shares_of_what_governs_add_up_to_one():
    answer = forecast(Season(3).programme(), walks=100)
    for governing in (*answer.governs, *answer.governs_in_slot):
        assert sum(governing.shares.values()) == pytest.approx(1.0)


def test_the_rate_needed_is_that_of_the_work_left_over_the_shifts_there_are():
    # 1000 m³ by Saturday 7th: six shifts of 166.7 m³ instead of 100.
    needed = rate_needed(steady(to_dig(m3=1000.0)), march(7), walks=20)
    assert needed.ratio == pytest.approx(1000.0 / 600.0, rel=1e-3)
    assert needed.bank_m3 == pytest.approx(1000.0 / 6.0, rel=1e-3)
    later = rate_needed(steady(to_dig(m3=1000.0)), march(31), walks=20)
    assert later.ratio == pytest.approx(1000.0 / 2600.0, rel=1e-3)


def test_a_surer_chance_needs_a_higher_rate():
    season = Season(5).programme(hold_spread=HoldSpread(1.0, 1.0, 1.0), holds=())
    target = forecast(season, walks=500).formation.p50
    likely, sure = (rate_needed(season, target, chance=c, walks=500) for c in (0.5, 0.9))
    assert likely.ratio == pytest.approx(1.0, abs=0.03)
    assert sure.ratio > likely.ratio


def test_no_rate_makes_up_for_a_hold():
    stages = to_dig(m3=100.0), to_dig(stage=2, m3=100.0, hold=20.0, released=False)
    needed = rate_needed(steady(*stages), march(20), walks=20)
    assert (needed.ratio, needed.bank_m3) == (None, None)


def test_no_rate_makes_up_for_a_belt_that_carries_too_little():
    programme = steady(to_dig(m3=1000.0), most_m3={"belt": 100.0})
    assert rate_needed(programme, march(7), walks=20).ratio is None


def test_a_target_outside_the_calendar_is_refused():
    with pytest.raises(InputError, match="2026-02-01 lies outside the shifts ahead, 2026-03-02 to"):
        rate_needed(steady(to_dig()), date(2026, 2, 1))


def test_a_thin_record_gives_no_forecast_and_no_rate():
    thin = steady(to_dig(), shifts=record(100.0, 100.0))
    with pytest.raises(NotEnoughData):
        forecast(thin, walks=5)
    with pytest.raises(NotEnoughData):
        rate_needed(thin, march(7))
