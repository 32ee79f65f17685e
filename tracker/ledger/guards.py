"""Triggers that keep the entries append-only and each fact stated once, against any program.

Made from one list, so that they can be put back after a migration and verified at start-up. In
SQLite `INSERT OR REPLACE` deletes without firing delete triggers; the insert guard stops it, since
it refuses an id that is already there and a second entry in place of the same one.
"""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import Connection, text

from tracker.ledger.entries import KINDS

_REFUSE_CHANGE = """
    BEGIN
        RAISE EXCEPTION 'append-only: % may not be changed or removed', TG_TABLE_NAME;
    END """


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
    # One trigger for both, since each costs every insert about as much again.
    stored = (
        f"EXISTS (SELECT 1 FROM {kind} o WHERE o.entry_id = NEW.entry_id)"
        f" OR EXISTS (SELECT 1 FROM {kind} o WHERE o.supersedes = NEW.supersedes)"
    )
    return {
        f"{kind}_no_update": f"BEFORE UPDATE ON {kind} {refuse}",
        f"{kind}_no_delete": f"BEFORE DELETE ON {kind} {refuse}",
        f"{kind}_stated_once": f"BEFORE INSERT ON {kind} WHEN {stored} OR {_stated_already(kind)}"
        f" BEGIN SELECT RAISE(ABORT, 'append-only: {kind} holds this id, a successor of the"
        f" same entry, or a current entry that states this fact, already'); END",
    }


def _postgresql_functions() -> dict[str, str]:
    """Function name -> body."""
    functions = {"spoil_refuse_change": _REFUSE_CHANGE}
    for kind in KINDS:
        functions[f"spoil_{kind}_stated_once"] = f"""
            BEGIN
                IF {_stated_already(kind)} THEN
                    RAISE EXCEPTION
                        'stated twice: another current entry of {kind} states this fact';
                END IF;
                RETURN NEW;
            END """
    return functions


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
        for name, body in _postgresql_functions().items():
            head = f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql"
            conn.execute(text(f"{head} AS $${body}$$"))
    for name, (kind, body) in _wanted(dialect).items():
        on = "" if dialect == "sqlite" else f" ON {kind}"
        conn.execute(text(f"DROP TRIGGER IF EXISTS {name}{on}"))
        conn.execute(text(f"CREATE TRIGGER {name} {body}"))


def missing_guards(conn: Connection) -> list[str]:
    """Names of the guards that are gone or altered."""
    present = (_sqlite_present if conn.dialect.name == "sqlite" else _postgresql_present)(conn)
    return [
        name
        for name, (kind, body) in _wanted(conn.dialect.name).items()
        if not present(name, kind, body)
    ]


_IsPresent = Callable[[str, str, str], bool]


def _sqlite_present(conn: Connection) -> _IsPresent:
    rows = conn.execute(text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
    present = {row[0]: row[1] for row in rows}
    return lambda name, _, body: present.get(name) == f"CREATE TRIGGER {name} {body}"


def _postgresql_present(conn: Connection) -> _IsPresent:
    """A trigger counts if it fires in ordinary sessions and its function says what it should."""
    rows = conn.execute(
        text(
            "SELECT t.tgname, c.relname, p.proname, p.prosrc FROM pg_trigger t"
            " JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid"
            " JOIN pg_namespace n ON n.oid = c.relnamespace"
            " WHERE t.tgenabled IN ('O', 'A') AND n.nspname = current_schema()"
        )
    )
    functions = _postgresql_functions()
    present = {(row[0], row[1]) for row in rows if functions.get(row[2]) == row[3]}
    return lambda name, kind, _: (name, kind) in present
