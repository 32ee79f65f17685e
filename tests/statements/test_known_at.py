"""What was said at a moment can be said again: as known at that moment, whatever came later."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from tests.statements import paper
from tests.statements.conftest import ASKED_AT, STATEMENTS, without_moment
from tracker.ledger.store import open_ledger
from tracker.statements import movements_statement, progress_statement
from tracker.statements.spoil_shapes import SpoilStatement


@pytest.mark.parametrize("place", range(len(ASKED_AT)), ids=[f"{m:%d %H:%M}" for m in ASKED_AT])
def test_every_statement_as_known_at_a_moment_equals_what_was_stated_then(told, place):
    book, said = told
    moment, statements = said[place]
    for name, state in STATEMENTS.items():
        again = state(book, moment.date(), known_at=moment)
        assert again.basis.known_at == moment
        assert without_moment(again) == without_moment(statements[name]), name


def test_what_came_later_does_make_a_difference(told):
    book, said = told
    changed = [
        name
        for moment, statements in said
        for name, state in STATEMENTS.items()
        if without_moment(state(book, moment.date())) != without_moment(statements[name])
    ]
    assert set(changed) == set(STATEMENTS)


def test_a_corrected_return_counts_as_it_was_known(book):
    def dug_m3(known_at: datetime) -> float:
        found = progress_statement(book, date(2026, 10, 22), known_at=known_at)
        return found.zones[0].dug_net_m3

    # 120 m3 until Friday 12:00, then 100 m3; with the night's 100 m3 of skips.
    assert dug_m3(datetime(2026, 10, 23, 11, 59, tzinfo=UTC)) == pytest.approx(220)
    assert dug_m3(datetime(2026, 10, 23, 12, 0, tzinfo=UTC)) == pytest.approx(200)


def test_a_ticket_found_late_restates_the_day_it_belongs_to(book):
    def loads(known_at: datetime) -> int:
        return movements_statement(book, date(2026, 10, 22), known_at=known_at).total.loads

    assert loads(datetime(2026, 10, 30, 11, tzinfo=UTC)) == 2
    assert loads(datetime(2026, 10, 30, 13, tzinfo=UTC)) == 3


def test_as_known_now_is_what_is_said_without_a_moment(book):
    for name, state in STATEMENTS.items():
        now = state(book, paper.LAST_DAY)
        assert without_moment(state(book, paper.LAST_DAY, known_at=paper.END)) == now, name


def test_the_basis_says_as_known_when(book):
    then = progress_statement(book, paper.LAST_DAY, known_at=paper.AMENDED_AT).basis
    assert then.lines[0] == ("Paper pit, as of Mon 2 Nov 2026, as known at 2026-10-23 12:00 UTC.")
    assert progress_statement(book, paper.LAST_DAY).basis.lines[0].endswith("as known now.")


def without_made_ids(statement):
    """A statement apart from the ids that the ledger made for the belt readings of the pit."""
    if not isinstance(statement, SpoilStatement):
        return statement
    readings = tuple(replace(line, entry_id="") for line in statement.readings)
    return replace(statement, readings=readings)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_order_in_which_things_are_entered_does_not_matter(book, tmp_path, clock, seed):
    # The set-ups and the correction keep their place, and belt readings, whose totaliser must rise.
    other = open_ledger(tmp_path / "b.sqlite", create=True, clock=clock)
    paper.adopt(other, paper.FIRST, "first")
    paper.adopt(other, paper.second_setup(), "second", paper.SECOND_FROM)
    lines = [
        (kind, {k: v for k, v in line.items() if k != "entered" and v})
        for kind in ("baseline", "holds", "returns", "surveys", "loads")
        for line in paper.KINDS[kind]
    ]
    random.Random(seed).shuffle(lines)
    for kind, fields in lines:
        given = fields | ({"bank_m3": "100"} if fields.get("entry_id") == "a22d" else {})
        paper.enter(other, kind, **given)
    for kind in ("belt", "closures"):
        for line in paper.KINDS[kind]:
            paper.enter(other, kind, **{k: v for k, v in line.items() if k != "entered" and v})
    for name, state in STATEMENTS.items():
        said = [without_made_ids(state(one, paper.LAST_DAY)) for one in (other, book)]
        assert said[0] == said[1], name
    other.close()
