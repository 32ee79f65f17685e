"""Other programs: what an open connection to the same database may not do to the record."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing

import psycopg
import pytest

from tests.conftest import libpq_address, only_postgresql, only_sqlite
from tests.ledger.samples import a_load, a_reading, a_return, one_of_each
from tracker.errors import SchemaMismatch
from tracker.ledger.entries import KINDS
from tracker.ledger.questions import summed
from tracker.ledger.store import open_ledger, repair_ledger

REFUSALS = (sqlite3.IntegrityError, psycopg.errors.RaiseException)


class OtherProgram:
    """A bare connection that knows nothing of this package: autocommit, no pragma."""

    def __init__(self, place: str) -> None:
        self.is_sqlite = "://" not in place
        if self.is_sqlite:
            self._conn = sqlite3.connect(place, isolation_level=None)
        else:
            self._conn = psycopg.connect(libpq_address(place), autocommit=True)

    def run(self, sql: str) -> list[tuple]:
        cursor = self._conn.execute(sql)
        return cursor.fetchall() if cursor.description else []

    def insert(self, table: str, row: dict, *, how: str = "INSERT") -> None:
        mark = "?" if self.is_sqlite else "%s"
        self._conn.execute(
            f"{how} INTO {table} ({', '.join(row)}) VALUES ({', '.join([mark] * len(row))})",
            tuple(row.values()),
        )

    def row(self, table: str, entry_id: str) -> dict:
        """The row of an entry, to be altered and inserted again."""
        cursor = self._conn.execute(f"SELECT * FROM {table} WHERE entry_id = '{entry_id}'")
        return dict(zip([c[0] for c in cursor.description], cursor.fetchone(), strict=True))

    def close(self) -> None:
        self._conn.close()


@pytest.fixture
def other(place: str) -> Iterator[OtherProgram]:
    with closing(OtherProgram(place)) as program:
        yield program


def test_no_program_changes_or_removes_an_entry_of_any_kind(ledger, other):
    ledger.append(one_of_each(), by="engineer")
    for kind in KINDS:
        for sql in (
            f"UPDATE {kind} SET note = 'better'",
            f"UPDATE {kind} SET recorded_by = 'somebody else'",
            f"DELETE FROM {kind}",
        ):
            with pytest.raises(REFUSALS, match="append-only"):
                other.run(sql)
        assert len(ledger.current(kind)) == 1


@only_postgresql
def test_no_program_empties_a_table(ledger, other):
    ledger.append(one_of_each(), by="engineer")
    for kind in KINDS:
        with pytest.raises(REFUSALS, match="append-only"):
            other.run(f"TRUNCATE {kind} CASCADE")
        assert len(ledger.current(kind)) == 1


@only_sqlite
def test_no_program_replaces_an_entry(ledger, other):
    load = a_load(entry_id="a")
    ledger.append([load], by="gate")
    for how in ("INSERT OR REPLACE", "REPLACE"):
        with pytest.raises(REFUSALS, match="append-only"):
            other.insert("lorry_loads", other.row("lorry_loads", "a") | {"net_kg": 1}, how=how)
    assert ledger.current("lorry_loads") == [load]


@only_sqlite
def test_no_program_replaces_the_successor_of_an_entry(ledger, other):
    """It would remove the withdrawal without a trace: REPLACE fires no delete trigger."""
    ledger.append([a_load(entry_id="a")], by="gate")
    ledger.withdraw("a", reason="other site", by="gate", entry_id="gone")
    again = {"entry_id": "b", "action": "amended", "supersedes": "a", "change_reason": "mine"}
    with pytest.raises(REFUSALS, match="append-only"):
        other.insert("lorry_loads", other.row("lorry_loads", "a") | again, how="INSERT OR REPLACE")
    assert ledger.current("lorry_loads") == []
    assert ledger.stored("a").superseded_by == "gone"


def test_no_program_upserts_an_entry(ledger, other):
    load = a_load(entry_id="a")
    ledger.append([load], by="gate")
    row = other.row("lorry_loads", "a")
    with pytest.raises(REFUSALS):
        other.run(
            f"INSERT INTO lorry_loads ({', '.join(row)}) SELECT {', '.join(row)} FROM lorry_loads"
            " WHERE true ON CONFLICT (entry_id) DO UPDATE SET net_kg = 1"
        )
    assert ledger.current("lorry_loads") == [load]


def test_no_program_supersedes_an_entry_a_second_time(ledger, other):
    ledger.append([a_load(entry_id="a")], by="gate")
    ledger.withdraw("a", reason="other site", by="gate", entry_id="gone")
    again = {"entry_id": "b", "action": "amended", "supersedes": "a", "change_reason": "mine"}
    with pytest.raises((*REFUSALS, psycopg.errors.UniqueViolation)):
        other.insert("lorry_loads", other.row("lorry_loads", "a") | again)
    assert ledger.current("lorry_loads") == []


def test_no_program_states_a_current_fact_a_second_time(ledger, other):
    entries = (a_load(), a_return(), a_reading(0, 1_000))
    ledger.append(entries, by="gate")
    for entry in entries:
        second = other.row(entry.KIND, entry.entry_id) | {"entry_id": "b", "note": "mine"}
        with pytest.raises(REFUSALS, match="states this fact"):
            other.insert(entry.KIND, second)
        assert ledger.current(entry.KIND) == [entry]


def test_another_program_may_append_and_correct_as_the_ledger_would(ledger, other):
    ledger.append([a_load("T-1", entry_id="a", net_kg=100)], by="gate")
    row = other.row("lorry_loads", "a")
    other.insert("lorry_loads", row | {"entry_id": "b", "ticket_number": "T-2"})
    amended = {"entry_id": "c", "action": "amended", "supersedes": "a", "change_reason": "slip"}
    other.insert("lorry_loads", row | amended | {"net_kg": 300})
    assert {load.entry_id for load in ledger.current("lorry_loads")} == {"b", "c"}
    assert ledger.rebuild_totals()[1] > 0
    assert summed(ledger, ["load_kg"]) == {("load_kg",): 400}


def test_no_program_writes_what_cannot_be(ledger, other):
    ledger.append([a_load(entry_id="a")], by="gate")
    row = other.row("lorry_loads", "a") | {"entry_id": "b", "ticket_number": "T-2"}
    for wrong in (
        {"action": "deleted"},
        {"action": "amended"},  # in place of nothing
        {"supersedes": "a"},  # recorded, yet in place of something
        {"action": "amended", "supersedes": "a", "change_reason": ""},
        {"net_kg": -1},
        {"gross_kg": 1, "tare_kg": 2},
        {"outcome": "perhaps"},
        {"weight_basis": "guessed"},
        {"registration": None},
    ):
        with pytest.raises((*REFUSALS, psycopg.errors.CheckViolation)):
            other.insert("lorry_loads", row | wrong)
    other.insert("lorry_loads", row)  # so that it was the change that was refused
    assert len(ledger.current("lorry_loads")) == 2


# --- guards that are gone ------------------------------------------------------------------------
def _drop_one(other: OtherProgram) -> None:
    on = "" if other.is_sqlite else " ON lorry_loads"
    other.run(f"DROP TRIGGER lorry_loads_no_update{on}")


def test_a_ledger_that_has_lost_a_guard_is_not_opened(ledger, other, place):
    _drop_one(other)
    with pytest.raises(SchemaMismatch) as refusal:
        open_ledger(place)
    for part in ("lorry_loads_no_update", "spoil rebuild --guards", "lost 1 of its guards"):
        assert part in str(refusal.value)


@only_sqlite
def test_a_ledger_with_an_altered_guard_is_not_opened(ledger, other, place):
    _drop_one(other)
    other.run(
        "CREATE TRIGGER lorry_loads_no_update BEFORE UPDATE ON lorry_loads BEGIN SELECT 1; END"
    )
    with pytest.raises(SchemaMismatch, match="lorry_loads_no_update"):
        open_ledger(place)


@only_postgresql
def test_a_ledger_with_an_altered_guard_function_is_not_opened(ledger, other, place):
    other.run(
        "CREATE OR REPLACE FUNCTION spoil_lorry_loads_stated_once() RETURNS trigger"
        " LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'"
    )
    with pytest.raises(SchemaMismatch, match="lorry_loads_stated_once"):
        open_ledger(place)


@only_postgresql
def test_a_guard_that_is_switched_off_counts_as_lost(ledger, other, place):
    for state in ("DISABLE", "ENABLE REPLICA"):
        other.run(f"ALTER TABLE lorry_loads {state} TRIGGER lorry_loads_no_delete")
        with pytest.raises(SchemaMismatch, match="lorry_loads_no_delete"):
            open_ledger(place)


def test_lost_guards_are_put_back_and_hold_again(ledger, other, place):
    ledger.append([a_load()], by="gate")
    _drop_one(other)
    repair_ledger(place, migrations=False, guards=True)
    with closing(open_ledger(place)) as mended:
        assert len(mended.current("lorry_loads")) == 1
    with pytest.raises(REFUSALS, match="append-only"):
        other.run("UPDATE lorry_loads SET net_kg = 1")


def test_repairing_a_sound_ledger_changes_nothing(ledger, place):
    ledger.append(one_of_each(), by="engineer")
    before = {kind: ledger.current(kind) for kind in KINDS}
    repair_ledger(place, migrations=True, guards=True)
    with closing(open_ledger(place)) as again:
        assert {kind: again.current(kind) for kind in KINDS} == before
