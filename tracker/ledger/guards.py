"""Triggers that keep the entries append-only and each fact stated once, against any program.

Made from one list, so that they can be put back after a migration and verified at start-up. In
SQLite `INSERT OR REPLACE` deletes without firing delete triggers; the insert guard stops it, since
it refuses an id that is already there.
"""

from __future__ import annotations

from sqlalchemy import Connection, text

from tracker.ledger.entries import KINDS

_REFUSE_CHANGE = """
    CREATE OR REPLACE FUNCTION spoil_refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        RAISE EXCEPTION 'append-only: % may not be changed or removed', TG_TABLE_NAME;
    END $$"""


def _stated_already(kind: str) -> str:
    """SQL: whether a current entry, other than the one superseded, states the new row's fact."""
    same = " AND ".join(f"o.{name} = NEW.{name}" for name in KINDS[kind].UNIQUE)
    return (
        f"EXISTS (SELECT 1 FROM {kind} o WHERE {same} AND o.action <> 'withdrawn'"
        f" AND o.entry_id <> COALESCE(NEW.supersedes, '')"
        f" AND NOT EXISTS (SELECT 1 FROM {kind} s WHERE s.supersedes = o.entry_id))"
    )


def _sqlite_triggers(kind: str) -> dict[str, str]:
    refuse = f"BEGIN SELECT RAISE(ABORT, 'append-only: {kind} may not be changed or removed'); END"
    return {
        f"{kind}_no_update": f"BEFORE UPDATE ON {kind} {refuse}",
        f"{kind}_no_delete": f"BEFORE DELETE ON {kind} {refuse}",
        f"{kind}_no_replace": f"BEFORE INSERT ON {kind} WHEN EXISTS"
        f" (SELECT 1 FROM {kind} o WHERE o.entry_id = NEW.entry_id) {refuse}",
        f"{kind}_stated_once": f"BEFORE INSERT ON {kind} WHEN {_stated_already(kind)}"
        f" BEGIN SELECT RAISE(ABORT, 'stated twice: another current entry of {kind} states this"
        f" fact'); END",
    }


def _postgresql_function(kind: str) -> str:
    return f"""
        CREATE OR REPLACE FUNCTION spoil_{kind}_stated_once() RETURNS trigger
        LANGUAGE plpgsql AS $$
        BEGIN
            IF {_stated_already(kind)} THEN
                RAISE EXCEPTION 'stated twice: another current entry of {kind} states this fact';
            END IF;
            RETURN NEW;
        END $$"""


def _postgresql_triggers(kind: str) -> dict[str, str]:
    refuse = "EXECUTE FUNCTION spoil_refuse_change()"
    return {
        f"{kind}_no_update": f"BEFORE UPDATE ON {kind} FOR EACH ROW {refuse}",
        f"{kind}_no_delete": f"BEFORE DELETE ON {kind} FOR EACH ROW {refuse}",
        f"{kind}_no_truncate": f"BEFORE TRUNCATE ON {kind} FOR EACH STATEMENT {refuse}",
        f"{kind}_stated_once": f"BEFORE INSERT ON {kind} FOR EACH ROW"
        f" EXECUTE FUNCTION spoil_{kind}_stated_once()",
    }


def _wanted(dialect: str) -> dict[str, tuple[str, str]]:
    """Trigger name -> (table, definition)."""
    make = _sqlite_triggers if dialect == "sqlite" else _postgresql_triggers
    return {name: (kind, body) for kind in KINDS for name, body in make(kind).items()}


def install_guards(conn: Connection) -> None:
    """Put every guard in place anew."""
    dialect = conn.dialect.name
    if dialect == "postgresql":
        conn.execute(text(_REFUSE_CHANGE))
        for kind in KINDS:
            conn.execute(text(_postgresql_function(kind)))
    for name, (kind, body) in _wanted(dialect).items():
        on = "" if dialect == "sqlite" else f" ON {kind}"
        conn.execute(text(f"DROP TRIGGER IF EXISTS {name}{on}"))
        conn.execute(text(f"CREATE TRIGGER {name} {body}"))


def missing_guards(conn: Connection) -> list[str]:
    """Names of the guards that are gone or altered."""
    if conn.dialect.name == "sqlite":
        rows = conn.execute(text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
        present = {row[0]: row[1] for row in rows}
        return [
            name
            for name, (_, body) in _wanted("sqlite").items()
            if present.get(name) != f"CREATE TRIGGER {name} {body}"
        ]
    rows = conn.execute(
        text(
            "SELECT tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
            " JOIN pg_namespace n ON n.oid = c.relnamespace"
            " WHERE tgenabled <> 'D' AND n.nspname = current_schema()"
        )
    )
    names = {name for (name,) in rows}
    return [name for name in _wanted("postgresql") if name not in names]
