"""The forecast of a pit that gives the same in every shift, worked out by hand; and of the demo."""

from __future__ import annotations

from datetime import date

import pytest

from tests.statements import paper
from tests.statements.steady_pit import (
    FRIDAY,
    begun,
    dig,
    first_week,
    nil,
    november,
    october,
    release,
    set_up,
)
from tracker.errors import OutOfRange, UnknownName
from tracker.statements import forecast_statement
from tracker.statements.forecast_shapes import ForecastStatement


def dates(statement):
    return {(line.zone, line.stage): (line.p20, line.p50, line.p80) for line in statement.dates}


def said(book, on=FRIDAY, **options) -> ForecastStatement:
    return forecast_statement(book, on, walks=100, **options)


# 250 of 400 m3 by Friday: 150 m3 are three shifts, Monday 26 to Wednesday 28 October.
# The hold of two days, times 0.9 to 1.5, ends between Friday noon and Saturday: stage 2 is dug from
# Monday 2 November in eight shifts, to Wednesday 11 November.
def test_a_constant_rate_and_a_hold_give_one_date(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    statement = said(empty)
    assert dates(statement) == {
        ("", None): (november(11),) * 3,
        ("A", None): (november(11),) * 3,
        ("A", 1): (october(28),) * 3,
        ("A", 2): (november(11),) * 3,
    }
    (assumed,) = statement.releases
    assert (assumed.zone, assumed.stage, assumed.support) == ("A", 2, "upper props")
    assert (assumed.needed_p20, assumed.needed_p80) == (november(2), november(2))
    assert assumed.sentence == (
        "Zone A stage 2: the hold for upper props is assumed released for the shift of"
        " Mon 2 Nov 2026 (P20 Mon 2 Nov 2026, P80 Mon 2 Nov 2026). Nobody has released it."
    )
    assert statement.headline == (
        "Formation of The box by Wed 11 Nov 2026 at four chances in five; what governs is the rate"
        " of digging (85 % of its shifts), then the hold for upper props (15 %). Chance: below 1 %"
        " by the plan, Tue 10 Nov 2026; above 99 % by the target, Tue 1 Dec 2026. 1 hold point is"
        " assumed released on the way. The record is short: 5 worked shifts of a zone."
    )
    assert any("permits nothing" in caution for caution in statement.basis.cautions)


def test_a_released_hold_takes_no_time(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    release(empty, "A", "2", "2026-10-22 12:00")
    # 150 m3 to Wednesday 28, then eight shifts from Thursday 29 October: to Monday 9 November.
    statement = said(empty)
    assert dates(statement)["A", 2] == (november(9),) * 3
    assert statement.releases == ()
    assert "assumed" not in statement.headline


def test_a_holiday_takes_a_day_and_is_named_as_what_governs(empty):
    tables = set_up("A")
    tables["closures"] = paper.rows("day|reason", "2026-11-04|invented holiday")
    begun(empty, tables)
    first_week(empty)
    statement = said(empty)
    assert dates(statement)["A", 2] == (november(12),) * 3
    # Of 14 shifts to formation 3 and 8 dig, two wait, one is closed:
    # 26 27 28 October, 29 30, then 2 3 (4) 5 6 9 10 11 12 November.
    shares = {g.cause: round(g.share * 14) for g in statement.governs if g.zone == "A"}
    assert shares == {"dig": 11, "hold": 2, "calendar": 1}


def test_a_suspended_stage_is_a_hold_that_runs_since_then(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    release(empty, "A", "1", "2026-10-23 18:00", status="suspended")
    # It has no hold above, so that the first of the zone, two days, is taken: from Friday 18:00
    # to Sunday or Monday; of the latter, 26 October, the shift of Tuesday is the first.
    statement = said(empty)
    (first, second) = statement.releases
    assert (first.stage, first.support) == (1, "")
    assert first.sentence.startswith("Zone A stage 1: the permit to dig is assumed released")
    assert "It is suspended." in first.sentence
    assert october(26) <= first.needed_p20 <= first.needed_p80 <= october(27)
    assert second.stage == 2
    assert any("Zone A stage 1 is suspended" in line for line in statement.basis.quality)


def test_too_few_shifts_are_refused_and_the_plan_stands(empty):
    begun(empty, set_up("A"))
    for n, day in enumerate((19, 20, 21, 22)):
        dig(empty, october(day), 50, 103.5 - 0.5 * n)
    statement = said(empty)
    assert statement.refused == (
        "The record has 4 worked shifts; a forecast needs at least 5. Enter the missing returns."
    )
    assert statement.headline == f"No forecast: {statement.refused}"
    assert (statement.dates, statement.releases, statement.fan, statement.governs) == ((),) * 4
    assert [line.zone for line in statement.earned] == ["", "A"]
    assert statement.plans[0].plan == "set-up"


def test_a_record_that_ends_long_ago_is_refused(empty, clock):
    begun(empty, set_up("A"))
    first_week(empty)
    clock.moment = clock.moment.replace(month=12)
    assert "days before the first shift ahead" in said(empty, on=date(2026, 12, 1)).refused


def test_a_pit_that_is_dug_out_has_nothing_to_forecast(empty):
    tables = set_up("A")
    tables["stages"] = [row | {"design_level_m": "101.5"} for row in tables["stages"][:1]]
    begun(empty, tables)
    first_week(empty)
    statement = said(empty)
    assert statement.headline.startswith("Every stage of every zone is dug out")
    assert statement.refused == "No ground is left to dig: there is nothing to forecast."


def test_one_offs_are_left_out_by_choice_only(empty):
    tables = set_up("A")
    tables["causes"] += paper.rows("cause|name|owner", "fire|Fire|nobody")
    begun(empty, tables)
    first_week(empty)
    nil(empty, october(26), "fire in the cabin", delays="fire:600")
    kept, left_out = said(empty, on=october(26)), said(empty, on=october(26), leave_out=["fire"])
    (rate,), (cleared, *_) = kept.rates[:1], left_out.rates
    assert (rate.shifts, rate.bank_m3_per_shift) == (6, pytest.approx(250 / 6))
    assert (cleared.shifts, cleared.bank_m3_per_shift) == (5, 50)
    assert left_out.left_out == ("fire",)
    assert "Left out by choice: 1 shift lost by half or more to fire." in left_out.basis.quality
    assert dates(left_out)["A", 1] == (october(29),) * 3  # three shifts from Tuesday 27 October
    with pytest.raises(UnknownName, match="nonsense"):
        said(empty, leave_out=["nonsense"])


def test_a_missing_return_is_a_doubt_and_no_refusal(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    statement = said(empty, on=october(26))
    assert statement.refused == ""
    doubt = "Missing of the last 7 days: 1 return; what was dug in them counts as still to be dug."
    assert doubt in statement.basis.quality


def test_the_fan_begins_with_what_is_dug_and_ends_with_all_of_it(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    fan = {p.day: (p.low_bank_m3, p.middle_bank_m3, p.high_bank_m3) for p in said(empty).fan}
    assert fan[FRIDAY] == (250, 250, 250)
    assert fan[october(26)] == (300, 300, 300)
    assert fan[october(29)] == fan[october(30)] == (400, 400, 400)  # a flat step: the hold
    assert fan[november(11)] == (800, 800, 800)


def test_the_rate_that_a_target_needs_is_a_multiple_of_the_recent_one(empty):
    tables = set_up("A")
    tables["excavations"][0]["target_formation"] = "2026-11-06"
    begun(empty, tables)
    first_week(empty)
    release(empty, "A", "2", "2026-10-22 12:00")
    # 550 m3 in the ten shifts to Friday 6 November, but stage 1 takes whole shifts: at 57.2 m3 it
    # is dug in three, and 400 m3 in seven, 57.14 m3 each.
    (needed,) = said(empty).needed
    assert needed.bank_m3_per_shift == pytest.approx(400 / 7, rel=0.002)
    assert needed.ratio == pytest.approx(8 / 7, rel=0.002)
    assert "1.14 times the recent rate" in needed.sentence


def test_an_excavation_is_as_late_as_its_last_zone(empty):
    begun(empty, set_up("A", "B"), "A", "B")
    first_week(empty)
    first_week(empty, "B", 40.0)
    statement = said(empty)
    found = dates(statement)
    assert all(found["", None] >= found[zone, None] for zone in "AB")
    assert found["", None][1] == november(13)
    # B: 200 of 400 m3 at 40 m3, five shifts.
    (b,) = [line for line in statement.dates if (line.zone, line.stage) == ("B", 1)]
    assert b.remaining_bank_m3 == pytest.approx(200)
    assert "zone B is last, and" in statement.headline


def test_the_same_seed_says_the_same_and_walks_are_bounded(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    nil(empty, october(26), "rain", delays="rain:600")
    assert said(empty, on=october(26), seed=3) == said(empty, on=october(26), seed=3)
    with pytest.raises(OutOfRange, match="walks is 99"):
        forecast_statement(empty, FRIDAY, walks=99)


def test_what_was_not_yet_known_is_not_in_it(empty, clock):
    begun(empty, set_up("A"))
    first_week(empty)
    known = clock.moment
    clock.moment = known.replace(hour=known.hour + 1)
    dig(empty, october(26), 50, 101)
    assert dates(said(empty, on=october(26)))["A", 1][2] == october(28)
    assert dates(said(empty, on=october(26), known_at=known))["A", 1][2] == october(29)


def test_the_demonstration_says_when_and_why(demo):
    statement = forecast_statement(demo, date(2026, 10, 27), walks=500)
    assert statement.refused == ""
    assert statement.headline.startswith("Formation of Walled box in five zones by ")
    assert {line.excavation for line in statement.fan} == {"box", "shaft"}
    assert "hold for lower props" in statement.headline
    lines = [line for line in statement.dates if line.stage is not None]
    assert all(line.p20 <= line.p50 <= line.p80 for line in lines)
    for excavation in ("box", "shaft"):
        for zone in {g.zone for g in statement.governs if g.excavation == excavation}:
            mine = [
                g.share for g in statement.governs if (g.excavation, g.zone) == (excavation, zone)
            ]
            assert sum(mine) == pytest.approx(1.0)


def test_a_survey_that_is_too_old_is_refused(demo):
    refused = forecast_statement(demo, date(2026, 12, 15), walks=100).refused
    assert refused.startswith("Zone B was surveyed last on Sat 17 Oct 2026 (SV4), 59 days ago")
    assert refused.endswith("survey the zone.")
