"""Options that several commands share: ledger, dates, moments, names."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from tests.cli.samples import RETURN
from tracker.cli.places import a_day, a_moment, a_work_date, named_by, opened
from tracker.errors import EntryNotFound, InputError, NotEnoughData


def test_a_date_left_out_is_none_and_a_wrong_one_names_its_option():
    assert a_day("--as-of", "") is None
    assert a_day("--as-of", "2026-10-27") == date(2026, 10, 27)
    with pytest.raises(InputError, match="--as-of is “27 October”"):
        a_day("--as-of", "27 October")


def test_a_moment_is_local_to_the_site_unless_it_has_an_offset(season):
    book = opened("site.sqlite")
    assert a_moment("--known-at", "", book) is None
    summer = a_moment("--known-at", "2026-07-01T12:00", book)
    assert summer == datetime(2026, 7, 1, 11, tzinfo=UTC)
    offset = a_moment("--known-at", "2026-07-01T12:00+00:00", book)
    assert offset == datetime(2026, 7, 1, 12, tzinfo=UTC)


def test_a_local_moment_needs_a_site(here):
    here.done("init")
    with pytest.raises(NotEnoughData, match="No set-up"):
        a_moment("--known-at", "2026-07-01T12:00", opened("site.sqlite"))


def test_the_work_date_left_out_is_the_last_with_anything_recorded(season):
    assert a_work_date("--as-of", "", opened("site.sqlite")) == date(2026, 11, 2)


def test_without_records_it_is_today(here):
    here.done("init", "--setup", "setup")
    today = datetime.now().astimezone().date()
    assert a_work_date("--as-of", "", opened("site.sqlite")) == today


def test_a_ledger_is_made_only_where_asked(here):
    with pytest.raises(EntryNotFound, match="Run `spoil init`"):
        opened("site.sqlite")
    opened("site.sqlite", create=True)
    opened("site.sqlite")


def test_the_ledger_may_come_from_the_environment(pit, monkeypatch):
    pit.done("init", "--setup", "setup", "--ledger", "other.sqlite")
    monkeypatch.setenv("SPOIL_LEDGER", "other.sqlite")
    pit.done("record", "returns", *RETURN.split())
    assert pit.json("export", "returns")["rows"] == 1
    assert pit.json("export", "returns", "--ledger", "site.sqlite")["rows"] == 0


def test_who_records_is_the_option_or_the_account(monkeypatch):
    monkeypatch.setenv("LOGNAME", "account")
    assert named_by(" engineer ") == "engineer"
    assert named_by(" ") == "account"
