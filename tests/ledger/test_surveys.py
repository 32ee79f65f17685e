"""Surveyed surfaces in the ledger: to a date, as known then, and what was recorded with them."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.ledger.samples import DAY, a_check, a_surface, at
from tracker.errors import EntryNotFound
from tracker.ledger.surveys import picture_of_survey, surfaces_to, survey_checks

NEXT = DAY + timedelta(days=1)


def test_surfaces_come_oldest_first_to_a_date_and_without_their_pictures(ledger):
    later = a_surface(survey="S-2", surveyed_at=at(30), work_date=NEXT, picture="drawn")
    ledger.append([later, a_surface(picture="drawn too")], by="surveyor")
    assert [s.survey for s in surfaces_to(ledger, NEXT)] == ["S-1", "S-2"]
    assert [s.survey for s in surfaces_to(ledger, DAY)] == ["S-1"]
    assert {s.picture for s in surfaces_to(ledger, NEXT)} == {""}
    assert picture_of_survey(ledger, later.entry_id) == "drawn"


def test_a_surface_without_a_picture_or_no_surface_at_all_is_told(ledger):
    check = a_check()
    ledger.append([check], by="surveyor")
    for entry_id in (check.entry_id, "none"):
        with pytest.raises(EntryNotFound, match="no surveyed surface"):
            picture_of_survey(ledger, entry_id)


def test_a_withdrawn_surface_is_still_known_as_of_before(ledger, clock):
    entry = a_surface()
    ledger.append([entry], by="surveyor")
    before = clock.moment
    clock.forward(5)
    ledger.withdraw(entry.entry_id, reason="wrong benchmark", by="surveyor")
    assert surfaces_to(ledger, NEXT) == []
    assert [s.survey for s in surfaces_to(ledger, NEXT, before)] == ["S-1"]


def test_the_check_that_stands_is_the_last_one_stated(ledger):
    first = a_check()
    ledger.append([first], by="surveyor")
    ledger.supersede(first.entry_id, a_check(red_permille=90), reason="agreed", by="manager")
    assert survey_checks(ledger, DAY)["box", "S-1"].red_permille == 90
    assert survey_checks(ledger, DAY - timedelta(days=1)) == {}


def test_the_same_survey_of_two_excavations_is_two_facts(ledger):
    ledger.append([a_surface(), a_surface(excavation="shaft")], by="surveyor")
    assert len(surfaces_to(ledger, DAY)) == 2


def test_large_columns_are_not_searched(ledger):
    from tracker.ledger.questions import search

    ledger.append([a_surface(void_table='{"needle": 1}', note="haystack")], by="surveyor")
    assert search(ledger, ["survey_surfaces"], text="needle")[0] == 0
    assert search(ledger, ["survey_surfaces"], text="haystack")[0] == 1
