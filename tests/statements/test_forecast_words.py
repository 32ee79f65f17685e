"""The sentences of a forecast where the hand-worked pit does not lead."""

from __future__ import annotations

from datetime import date

import pytest

from tracker.domain.programme.forecast import AssumedRelease, RateNeeded
from tracker.statements import forecast_words as words
from tracker.statements.stage_record import StageRecord

DAY = date(2026, 11, 2)


def stage(above: str = "upper props") -> StageRecord:
    return StageRecord("A", 2, 400.0, 400.0, 0.0, None, None, above, 14, "not released", False, ())


def test_a_date_beyond_the_calendar_is_said_to_be_later():
    said = words.formation_words("zone A", None, "the calendar governs")
    assert said == (
        "Formation of zone A later than the calendar goes at four chances in five; the calendar"
        " governs."
    )


def test_a_second_cause_is_named_only_where_it_counts():
    assert words.governs_words({"dig": 0.95, "hold": 0.05}, "props") == (
        "what governs is the rate of digging (95 % of its shifts)"
    )
    assert words.governs_words({"dig": 0.3, "hold": 0.7}, "props") == (
        "what governs is the hold for props (70 % of its shifts), then the rate of digging (30 %)"
    )
    assert (
        words.governs_words({"belt": 1.0}, "") == "what governs is the belt (100 % of its shifts)"
    )


@pytest.mark.parametrize(
    ("chance", "said"),
    [(0.004, "below 1 %"), (0.5, "50 %"), (0.994, "above 99 %"), (0.99, "99 %")],
)
def test_a_chance_is_never_none_and_never_certain(chance, said):
    assert words.chance_words(chance) == said


def test_plan_and_target_on_one_day_are_told_once():
    assert words.against_words(DAY, 0.4, DAY, 0.4) == (
        " Chance: 40 % by the plan and the target, Mon 2 Nov 2026."
    )
    assert words.against_words(None, None, None, None) == ""


def test_an_overdue_hold_and_its_condition_are_told():
    said = words.release_words(
        AssumedRelease("A", 2, (DAY, DAY, None), True), (DAY, DAY, None), stage(), "props preloaded"
    )
    assert said == (
        "Zone A stage 2: the hold for upper props is assumed released for the shift of"
        " Mon 2 Nov 2026 (P20 Mon 2 Nov 2026, P80 later than the calendar goes). Nobody has"
        " released it. It has outlasted all that its length is drawn from: taken as released at"
        " once. To be released: props preloaded."
    )


def test_a_rate_that_no_digging_reaches_is_told_as_such():
    said = words.needed_words("The box", RateNeeded(DAY, 0.8, None, None))
    assert said.startswith("The box: no rate of digging meets the target of Mon 2 Nov 2026")
    assert "75 % of the recent rate" in words.needed_words("Box", RateNeeded(DAY, 0.8, 0.75, 30.0))
