"""Freezing the plan of the set-up."""

from __future__ import annotations

from datetime import date

import pytest

from tests.recording.conftest import NOW
from tracker.errors import DuplicateEntry, InputError
from tracker.recording.plan import freeze_plan

DAY = date(2026, 3, 20)


def frozen(book, plan="programme 1", on=DAY, reference="letter 4"):
    return freeze_plan(book, plan, on=on, reference=reference, by="planner", now=NOW)


def test_every_stage_of_the_set_up_is_frozen_with_its_volume(book):
    assert frozen(book).stages == 4
    rows = book.current("planned_stages")
    assert [(r.zone, r.stage, r.design_l) for r in rows] == [
        ("A", 1, 400_000), ("A", 2, 400_000), ("B", 1, 400_000), ("B", 2, 400_000)
    ]  # fmt: skip
    assert {(r.plan, r.frozen_on, r.reference) for r in rows} == {("programme 1", DAY, "letter 4")}


def test_a_plan_that_is_frozen_stays_as_it_is(book):
    frozen(book)
    with pytest.raises(DuplicateEntry, match="Give the new one another name"):
        frozen(book, plan=" programme 1 ", reference="letter 9")
    assert len(book.current("planned_stages")) == 4
    assert frozen(book, plan="programme 2").stages == 4


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
