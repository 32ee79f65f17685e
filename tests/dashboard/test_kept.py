"""Statements kept while nothing is written: made once, made anew after any write."""

from __future__ import annotations

import threading
import time

import pytest

from dashboard.desk import Desk
from dashboard.kept import MOST, Kept
from tests.ledger.samples import a_load
from tracker.errors import InputError
from tracker.ledger.store import open_ledger


def test_an_answer_is_made_once_also_for_those_who_ask_meanwhile():
    made, kept = [], Kept()

    def slow():
        made.append(1)
        time.sleep(0.05)
        return "answer"

    heard = []
    threads = [
        threading.Thread(target=lambda: heard.append(kept.answer("q", slow))) for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (made, heard) == ([1], ["answer"] * 4)


def test_an_error_is_raised_and_not_kept():
    kept, tries = Kept(), []

    def fails():
        tries.append(1)
        raise InputError("not yet")

    for _ in range(2):
        with pytest.raises(InputError, match="not yet"):
            kept.answer("q", fails)
    assert len(tries) == 2


def test_only_the_last_answers_are_kept():
    kept = Kept()
    for number in range(MOST + 1):
        kept.answer(number, lambda number=number: number)
    assert kept.answer(0, lambda: "made anew") == "made anew"
    assert kept.answer(MOST, lambda: "made anew") == MOST


def count_of(ledger, kind):
    """A statement in small: it sees what is recorded."""
    return len(ledger.current(kind))


def test_a_statement_is_made_anew_after_a_write_here_or_by_another_program(new_sqlite):
    place = new_sqlite()
    desk = Desk(open_ledger(place), lambda: None, "me")
    assert desk.stated(count_of, "lorry_loads") == 0
    desk.ledger.append([a_load()], by="gate")
    assert desk.stated(count_of, "lorry_loads") == 1
    other = open_ledger(place)
    other.append([a_load("T-2")], by="gate")
    assert desk.stated(count_of, "lorry_loads") == 2
    other.close()
    desk.ledger.close()
