"""What is said where little or nothing is recorded: a sentence, never a traceback."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from tests.statements import paper
from tests.statements.conftest import STATEMENTS
from tracker.cli.lines import statement_lines
from tracker.errors import EntryNotFound, NotEnoughData
from tracker.statements import history_statement, records_statement, site_in_force
from tracker.statements.export import to_csv, to_json, to_xlsx

DAYS = (date(2026, 1, 1), date(2026, 10, 19), date(2026, 10, 22), paper.LAST_DAY)
NEEDS_BASELINE = [n for n in STATEMENTS if n.startswith("movements") or n == "carbon"]


@pytest.mark.parametrize("name", list(STATEMENTS))
def test_without_a_set_up_a_sentence_says_what_to_do(empty, name):
    with pytest.raises(NotEnoughData, match="adopt one with `spoil init --setup FOLDER`"):
        STATEMENTS[name](empty, paper.LAST_DAY)


@pytest.mark.parametrize("name", list(STATEMENTS))
def test_as_known_before_the_set_up_there_was_none(book, name):
    before = datetime(2026, 10, 1, tzinfo=UTC)
    with pytest.raises(NotEnoughData, match="No set-up"):
        STATEMENTS[name](book, paper.LAST_DAY, known_at=before)


@pytest.mark.parametrize("name", NEEDS_BASELINE)
def test_without_a_baseline_a_sentence_says_what_to_do(empty, name):
    paper.adopt(empty, paper.FIRST, "first")
    with pytest.raises(NotEnoughData, match="spoil import baseline"):
        STATEMENTS[name](empty, paper.LAST_DAY)


@pytest.mark.parametrize("day", DAYS, ids=str)
@pytest.mark.parametrize("name", list(STATEMENTS))
def test_with_a_set_up_and_no_records_every_statement_can_be_read_and_exported(own, name, day):
    if name in NEEDS_BASELINE and day < date(2026, 10, 19):
        with pytest.raises(NotEnoughData, match="baseline"):
            STATEMENTS[name](own, day)
        return
    statement = STATEMENTS[name](own, day)
    assert "Paper pit" in "\n".join(statement_lines(statement))
    assert statement.basis.site in to_csv(statement)
    assert statement.basis.site in to_json(statement)
    assert to_xlsx(statement).startswith(b"PK")


def test_before_anything_is_expected_completeness_is_not_a_number(own):
    basis = STATEMENTS["progress"](own, date(2026, 10, 21)).basis
    assert basis.completeness_percent is None
    assert basis.lines[2] == "No returns are expected yet."


def test_records_of_an_empty_ledger_are_none(empty):
    assert records_statement(empty).found == 0
    with pytest.raises(NotEnoughData):
        site_in_force(empty)


def test_an_id_that_is_none_is_refused_with_a_sentence(empty):
    with pytest.raises(EntryNotFound, match="No entry has the id “nothing”"):
        history_statement(empty, "nothing")
