"""The tables: the migrations make what the code describes, on both databases, to the constraint."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Boolean, Connection, Integer, String, inspect

from tests.ledger.samples import a_nil_return, a_return, one_of_each
from tracker.errors import InputError
from tracker.ledger.database import connect
from tracker.ledger.entries import KINDS, Delay, field_names
from tracker.ledger.schema import TABLES, WORK_DATE, metadata, stamp_text


def described(conn: Connection) -> dict[str, dict[str, list[str]]]:
    """Table -> what the database says of it, in an order that does not depend on how it was made.

    The comparison by Alembic leaves out the conditions of checks and of partial indexes.
    """
    asked = inspect(conn)
    return {
        table: {
            part: sorted(str(_plain(one)) for one in found)
            for part, found in {
                "columns": asked.get_columns(table),
                "checks": asked.get_check_constraints(table),
                "indexes": asked.get_indexes(table),
                "unique": asked.get_unique_constraints(table),
                "foreign keys": asked.get_foreign_keys(table),
                "primary key": [asked.get_pk_constraint(table)],
            }.items()
        }
        for table in asked.get_table_names()
        if table != "alembic_version"
    }


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return sorted((name, _plain(part)) for name, part in value.items())
    return str(value)


def test_the_migrations_make_the_schema_that_the_code_describes(ledger, new_place):
    with ledger.reading() as conn:
        migrated = described(conn)
        assert compare_metadata(MigrationContext.configure(conn), metadata) == []
    engine = connect(new_place(empty=True), create=True)
    with engine.begin() as conn:
        metadata.create_all(conn)
        created = described(conn)
    engine.dispose()
    assert set(created) == {*KINDS, "daily_totals"}
    assert migrated == created


def test_each_kind_of_entry_has_a_table_with_its_fields_and_a_date():
    assert set(TABLES) == set(KINDS) == set(WORK_DATE)
    for kind, cls in KINDS.items():
        columns = TABLES[kind].c.keys()
        assert set(field_names(cls)) < set(columns)
        assert set(cls.UNIQUE) <= set(columns)
        assert WORK_DATE[kind] in {"", *field_names(cls)}


def test_only_whole_numbers_text_and_booleans_are_stored():
    for table in metadata.tables.values():
        for column in table.c:
            stored_as = getattr(column.type, "impl_instance", column.type)
            assert isinstance(stored_as, Integer | String | Boolean), f"{table}.{column.name}"


def test_a_moment_is_text_of_one_width_that_sorts_as_time_does():
    start = datetime(2026, 10, 25, 0, 59, 59, 999_999, tzinfo=UTC)
    moments = [start + timedelta(microseconds=n) for n in (0, 1, 2, 3_600_000_000)]
    texts = [stamp_text(moment) for moment in moments]
    assert texts == sorted(texts)
    assert {len(text) for text in texts} == {32}
    in_summer = start.astimezone(timezone(timedelta(hours=1)))
    assert stamp_text(in_summer) == texts[0] == "2026-10-25T00:59:59.999999+00:00"


def test_a_moment_without_time_zone_has_no_text():
    with pytest.raises(InputError, match="write its offset"):
        stamp_text(datetime(2026, 10, 25, 1, 0))  # noqa: DTZ001 - the mistake under test


def test_a_withdrawal_leaves_the_fields_of_the_fact_empty(ledger):
    for entry in one_of_each():
        ledger.append([entry], by="engineer")
        ledger.withdraw(entry.entry_id, reason="wrong", by="engineer", entry_id=f"w-{entry.KIND}")
        table = TABLES[entry.KIND]
        with ledger.reading() as conn:
            row = conn.execute(table.select().where(table.c.entry_id == f"w-{entry.KIND}")).one()
        filled = {name for name, value in row._mapping.items() if value is not None}
        assert filled == {
            "entry_id",
            "recorded_at",
            "recorded_by",
            "action",
            "supersedes",
            "change_reason",
        }


def test_dates_and_delays_are_stored_as_text_anybody_can_read(ledger):
    ledger.append([a_nil_return(delays=(Delay("rain", 30),)), a_return()], by="engineer")
    with ledger.reading() as conn:
        rows = conn.exec_driver_sql("SELECT shift, work_date, delays, stage FROM dig_returns")
        found = {row[0]: tuple(row[1:]) for row in rows}
    assert found == {
        "night": ("2026-10-01", '[["rain", 30]]', 1),
        "day": (date(2026, 10, 1).isoformat(), "[]", 1),
    }
