"""Opening the database: SQLite by default, PostgreSQL by URL; migrations driven from code."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, event, inspect
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError, SQLAlchemyError

from tracker.errors import EntryNotFound, InputError, SchemaMismatch
from tracker.ledger.guards import install_guards, missing_guards

WRITING = "spoil_writing"
_IS_ANOTHERS = (
    "SELECT count(*) > 0 AND sum(name = 'daily_totals') = 0 FROM sqlite_master WHERE type = 'table'"
)
_LOCK_KEY = 7_301_115  # one writer at a time in PostgreSQL, as SQLite has by nature


def database_url(place: str | Path) -> URL:
    """The database URL of a path or a URL. Raises InputError for a URL that means nothing."""
    if "://" not in str(place):
        return URL.create("sqlite", database=str(Path(place).expanduser()))
    try:
        url = make_url(str(place))
        url.get_dialect()
    except (ArgumentError, NoSuchModuleError):
        raise InputError(
            f"“{place}” is no ledger address. Give a file, such as site.sqlite, or a URL that"
            " starts with postgresql+psycopg://."
        ) from None
    if url.get_backend_name() not in ("sqlite", "postgresql"):
        raise InputError(f"A ledger lives in SQLite or PostgreSQL, not {url.get_backend_name()}.")
    return url


def connect(place: str | Path, *, create: bool = False) -> Engine:
    """An engine that begins and locks as a ledger needs.

    Raises EntryNotFound if the file is not there and is not to be made.
    """
    url = database_url(place)
    if url.get_backend_name() != "sqlite":
        try:
            engine = create_engine(url)
        except ModuleNotFoundError:
            raise InputError(
                "PostgreSQL needs the extra: pip install 'spoil-ledger[postgres]'."
            ) from None
        event.listen(engine, "begin", _begin_postgresql)
        return engine
    if not create and not Path(url.database or "").exists():
        raise EntryNotFound(f"There is no ledger at {place}. Run `spoil init` to make one.")
    engine = create_engine(url, connect_args={"timeout": 15, "check_same_thread": False})
    event.listen(engine, "connect", _set_up_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _set_up_sqlite(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # transactions are begun below, not by the driver
    (others,) = connection.execute(_IS_ANOTHERS).fetchone()
    for pragma in (
        *([] if others else ["journal_mode=WAL"]),  # it stays in the file: never alter another's
        "foreign_keys=ON",
        "busy_timeout=15000",
        "synchronous=FULL",
        "recursive_triggers=ON",
        # A long import writes all over its indexes, and the guards make each row a statement that
        # may be undone: both outgrow what is kept in memory by default, and go to disk.
        "cache_size=-65536",
        "temp_store=MEMORY",
    ):
        connection.execute(f"PRAGMA {pragma}").close()


def _begin_sqlite(conn: Connection) -> None:
    # A plain BEGIN that reads and then writes fails at once when another writer is at work.
    writing = conn.get_execution_options().get(WRITING)
    conn.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def _begin_postgresql(conn: Connection) -> None:
    if conn.get_execution_options().get(WRITING):
        conn.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK_KEY})")


def alembic_config(conn: Connection | None = None) -> Config:
    """Where the migrations are, and the connection on which they run."""
    config = Config()
    scripts = str(resources.files("tracker.ledger") / "migrations")
    config.set_main_option("script_location", scripts.replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = conn
    return config


@cache
def _scripts() -> ScriptDirectory:
    return ScriptDirectory.from_config(alembic_config())


def newest_version() -> str:
    """The schema version that this program writes."""
    head = _scripts().get_current_head()
    assert head is not None, "the package carries its migrations"
    return head


def migrate(conn: Connection) -> None:
    """Bring the schema to the newest version and put the guards back."""
    command.upgrade(alembic_config(conn), "head")
    install_guards(conn)


def prepare(engine: Engine, *, create: bool) -> None:
    """Check that the database is a ledger of this version with its guards; create if asked.

    Raises SchemaMismatch, with what to do, if it is not.
    """
    with _opening(engine, writing=create) as conn:
        version = MigrationContext.configure(conn).get_current_revision()
        if version is None and create and not inspect(conn).get_table_names():
            migrate(conn)
        else:
            _check(conn, version)


def repair(engine: Engine, *, migrations: bool, guards: bool) -> None:
    """Bring a ledger to the newest schema, put its guards back. Raises SchemaMismatch if none."""
    with _opening(engine, writing=True) as conn:
        _check_is_ledger(conn, MigrationContext.configure(conn).get_current_revision())
        if migrations:
            migrate(conn)
        if guards:
            install_guards(conn)


@contextmanager
def _opening(engine: Engine, *, writing: bool) -> Iterator[Connection]:
    try:
        with engine.execution_options(**{WRITING: writing}).begin() as conn:
            yield conn
    except SQLAlchemyError as error:
        detail = str(getattr(error, "orig", error)).splitlines()[0]
        raise SchemaMismatch(
            f"The ledger at {engine.url.render_as_string()} cannot be opened ({detail})."
            " Check the path or the address; `spoil init` makes a new one."
        ) from None


def _check_is_ledger(conn: Connection, version: str | None) -> None:
    place = conn.engine.url.render_as_string()
    if version is None:
        raise SchemaMismatch(
            f"{place} is no ledger. Run `spoil init` to make one, or give the right file."
        )
    if version not in {script.revision for script in _scripts().walk_revisions()}:
        raise SchemaMismatch(
            f"{place} has schema version {version}, which this program does not know. Install the"
            " newer version of the program that wrote it."
        )


def _check(conn: Connection, version: str | None) -> None:
    _check_is_ledger(conn, version)
    place = conn.engine.url.render_as_string()
    if version != newest_version():
        raise SchemaMismatch(
            f"{place} has schema version {version}; this program needs {newest_version()}."
            " Back it up, then run `spoil rebuild --migrate`."
        )
    gone = missing_guards(conn)
    if gone:
        raise SchemaMismatch(
            f"{place} has lost {len(gone)} of its guards ({', '.join(gone[:3])}…): another program"
            " has altered it. Find out who, then run `spoil rebuild --guards` to put them back."
        )
