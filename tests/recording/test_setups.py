"""The set-ups in force by date."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from tracker.errors import NotEnoughData
from tracker.ledger.store import open_ledger
from tracker.recording.entry import record
from tracker.recording.setup import adopt_setup
from tracker.recording.setups import Setup, Setups, setups_of


def test_the_set_up_in_force_is_the_last_that_began(site):
    later = Setups([(date(2026, 3, 1), site), (date(2026, 6, 1), site)])
    assert later.on(date(2026, 5, 31)) is not later.on(date(2026, 6, 1))
    assert later.on(date(2026, 6, 1)) is later.latest
    assert later.on(date(2020, 1, 1)) is later.on(date(2026, 3, 1))


def test_a_row_is_read_against_the_set_up_of_its_own_date(book, now, tables):
    tables["causes"].append({"cause": "strike", "name": "Strike", "owner": "nobody"})
    adopt_setup(book, tables, effective_date=date(2026, 6, 1), title="two", by="tests", now=now)
    nil = {"shift": "day", "zone": "A", "stage": "1", "nil_reason": "strike",
           "delays": "strike:720"}  # fmt: skip
    record(book, "returns", nil | {"work_date": "2026-06-01"}, by="tests", now=now)
    with pytest.raises(ValueError, match="delay cause “strike” is not known"):
        record(book, "returns", nil | {"work_date": "2026-05-29"}, by="tests", now=now)


def test_a_ledger_without_set_up_says_what_to_do(new_sqlite):
    ledger = open_ledger(new_sqlite())
    with pytest.raises(NotEnoughData, match="No set-up yet"):
        setups_of(ledger)
    ledger.close()


@pytest.mark.parametrize(
    ("utc", "work_date"),
    [
        (datetime(2026, 4, 7, 22, 30, tzinfo=UTC), date(2026, 4, 7)),  # night shift, 23:30 local
        (datetime(2026, 4, 8, 1, 0, tzinfo=UTC), date(2026, 4, 7)),  # still that night
        (datetime(2026, 4, 8, 5, 30, tzinfo=UTC), date(2026, 4, 8)),  # between shifts
        (datetime(2026, 4, 8, 9, 0, tzinfo=UTC), date(2026, 4, 8)),
    ],
)
def test_a_moment_in_the_night_belongs_to_the_date_on_which_its_shift_began(site, utc, work_date):
    assert Setup(site).work_date_of(utc) == work_date


def test_a_shift_has_its_real_length_when_the_clocks_change(site):
    setup = Setup(site)
    night = setup.shifts["night"]
    assert [setup.shift_minutes(night, d) for d in (date(2026, 3, 28), date(2026, 10, 24))] == [
        7 * 60,
        9 * 60,
    ]
