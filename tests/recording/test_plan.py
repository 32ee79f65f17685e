"""Freezing the plan of the set-up."""

from __future__ import annotations

import copy
from datetime import date

import pytest

from tests.recording.conftest import NOW, SMALL
from tracker.errors import DuplicateEntry, InputError
from tracker.recording.plan import freeze_plan
from tracker.recording.setup import adopt_setup

DAY = date(2026, 3, 20)


def frozen(book, plan="programme 1", on=DAY, reference="letter 4", again=False):
    return freeze_plan(book, plan, on=on, reference=reference, by="planner", again=again, now=NOW)


def plan_anew(book, finish):
    """Adopt a set-up with another finish of the last stage, which is 20 April 2026 in the first."""
    tables = copy.deepcopy(SMALL)
    tables["stages"][-1]["planned_finish"] = finish
    adopted = adopt_setup(book, tables, title="later", by="planner", effective_date=DAY, now=NOW)
    assert adopted.revision


def test_every_stage_of_the_set_up_is_frozen_with_its_volume(book):
    assert frozen(book).stages == 4
    rows = sorted(book.current("planned_stages"), key=lambda row: (row.zone, row.stage))
    assert [(r.zone, r.stage, r.design_l) for r in rows] == [
        ("A", 1, 400_000), ("A", 2, 400_000), ("B", 1, 400_000), ("B", 2, 400_000)
    ]  # fmt: skip
    assert {(r.plan, r.frozen_on, r.reference) for r in rows} == {("programme 1", DAY, "letter 4")}


def test_a_plan_that_is_frozen_stays_as_it_is(book):
    frozen(book)
    with pytest.raises(DuplicateEntry, match="Give the new one another name"):
        frozen(book, plan=" programme 1 ", reference="letter 9")
    assert len(book.current("planned_stages")) == 4
    assert frozen(book, plan="programme 2", again=True).stages == 4


def test_a_plan_just_like_an_earlier_one_is_frozen_only_where_that_is_meant(book):
    frozen(book)
    plan_anew(book, "2026-05-01")
    frozen(book, plan="programme 2", on=date(2026, 3, 30))
    plan_anew(book, "2026-04-20")
    with pytest.raises(InputError, match="those of programme 1 back under another name"):
        frozen(book, plan="programme 3", on=date(2026, 4, 1))
    assert {row.plan for row in book.current("planned_stages")} == {"programme 1", "programme 2"}
    (box,) = frozen(book, plan="programme 3", on=date(2026, 4, 1), again=True).finishes
    assert (box.finish, box.before, box.later_days) == (date(2026, 4, 20), date(2026, 5, 1), -11)


def test_freezing_says_how_the_finish_moves_against_the_plan_that_was_current(book):
    first = frozen(book)
    assert (first.was_current, first.becomes_current) == ("", True)
    assert [(x.name, x.finish, x.later_days) for x in first.finishes] == [
        ("The box", date(2026, 4, 20), None)
    ]
    plan_anew(book, "2026-05-01")
    second = frozen(book, plan="programme 2")
    assert (second.was_current, second.becomes_current) == ("programme 1", True)
    assert [(x.before, x.later_days) for x in second.finishes] == [(date(2026, 4, 20), 11)]


def test_a_plan_frozen_on_an_earlier_date_does_not_become_current(book):
    frozen(book)
    plan_anew(book, "2026-05-01")
    frozen(book, plan="programme 2", on=date(2026, 3, 30))
    third = frozen(book, plan="programme 3", on=date(2026, 3, 10), again=True)
    assert (third.was_current, third.becomes_current) == ("programme 2", False)


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"plan": " "}, "needs a name"),
        ({"reference": ""}, "must be filled"),
        ({"on": date(2027, 1, 1)}, "in the future"),
    ],
)
def test_a_plan_that_cannot_be_frozen_leaves_nothing_behind(book, given, sentence):
    with pytest.raises(InputError, match=sentence):
        frozen(book, **given)
    assert book.current("planned_stages") == []
