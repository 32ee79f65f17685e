"""What many tests need: empty ledgers on both databases, and a clock that only tests move."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

import psycopg
import pytest
from hypothesis import settings

from tracker.errors import SchemaMismatch
from tracker.ledger.schema import metadata
from tracker.ledger.store import Ledger, open_ledger

settings.register_profile("steady", deadline=None)  # a busy machine is no failure
settings.load_profile("steady")

MOST_WORKERS = 4  # each has a PostgreSQL server and a browser of its own
REQUIRE_ALL = os.environ.get("SPOIL_TESTS_REQUIRE_ALL") == "1"


@pytest.hookimpl(optionalhook=True)  # there is no such hook under -p no:xdist
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """The whole run is shared between processes; tests that are named run in this one."""
    whole = config.args_source is pytest.Config.ArgsSource.TESTPATHS
    return min(os.cpu_count() or 1, MOST_WORKERS) if whole else 0


class Clock:
    """Shows the same moment until it is moved."""

    def __init__(self) -> None:
        self.moment = datetime(2026, 10, 1, 6, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.moment

    def forward(self, minutes: float) -> datetime:
        """Move on, and say the moment it was before."""
        before = self.moment
        self.moment += timedelta(minutes=minutes)
        return before


@pytest.fixture
def clock() -> Clock:
    return Clock()


def missing(what: str) -> None:
    """Skip for want of a program; fail where everything must run."""
    if REQUIRE_ALL:
        pytest.fail(f"{what} is missing and SPOIL_TESTS_REQUIRE_ALL=1", pytrace=False)
    pytest.skip(f"{what} is missing")


# --- PostgreSQL ----------------------------------------------------------------------------------
def _programs() -> Path | None:
    """The folder of PostgreSQL's server programs: Debian keeps them off the PATH."""
    on_path = shutil.which("initdb")
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: int(p.parent.name))
    return Path(on_path).parent if on_path else (found[-1] if found else None)


def _unprivileged() -> list[str]:
    """The prefix that runs a program as `postgres`, since its server refuses to run as root."""
    if os.geteuid() != 0:
        return []
    if shutil.which("runuser"):
        return ["runuser", "-u", "postgres", "--"]
    missing("runuser, to start PostgreSQL from root,")
    return []


@contextmanager
def _postgres_server(programs: Path) -> Iterator[Callable[[str], str]]:
    """A server of its own that listens on a socket only; gives database name -> address."""
    run_as = _unprivileged()
    folder = Path(tempfile.mkdtemp(prefix="spoil-pg-"))
    if run_as:
        shutil.chown(folder, "postgres")

    def run(program: str, *options: str) -> None:
        command = [*run_as, str(programs / program), "-D", str(folder / "data"), *options]
        done = subprocess.run(
            command, cwd=folder, stdin=subprocess.DEVNULL, capture_output=True, timeout=60
        )
        assert done.returncode == 0, done.stderr.decode()

    settings = f"-k {folder} -c listen_addresses= -c fsync=off -c synchronous_commit=off"
    try:
        run("initdb", "-U", "spoil", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "-N")
        run("pg_ctl", "start", "-w", "-l", str(folder / "log"), "-o", settings)
        try:
            yield lambda name: f"postgresql+psycopg://spoil@/{name}?host={folder}"
        finally:
            run("pg_ctl", "stop", "-m", "immediate")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def libpq_address(place: str) -> str:
    """The address as other programs write it, without the name of a Python driver."""
    return place.replace("postgresql+psycopg://", "postgresql://")


class Databases:
    """Databases of one server, used again after each test: making one copies 300 files."""

    def __init__(self, address: Callable[[str], str]) -> None:
        self._address = address
        self._clean: list[str] = []
        self._used: list[str] = []
        self._numbers = count(1)

    def new(self, *, empty: bool = False) -> str:
        """The address of a database, empty or with an empty ledger in it."""
        if empty or not self._clean:
            name = f"ledger_{next(self._numbers)}"
            with self._connected("postgres") as conn:
                conn.execute(f"CREATE DATABASE {name} TEMPLATE template0")
            if not empty:
                open_ledger(self._address(name), create=True).close()
        else:
            name = self._clean.pop()
        self._used.append(name)
        return self._address(name)

    def clear(self) -> None:
        """Empty what still is a ledger with its guards; remove what a test has broken."""
        while self._used:
            name = self._used.pop()
            try:
                open_ledger(self._address(name)).close()
            except SchemaMismatch:
                with self._connected("postgres") as conn:
                    conn.execute(f"DROP DATABASE {name}")
            else:
                with self._connected(name) as conn:
                    conn.execute("SET session_replication_role = replica")  # past the guards
                    conn.execute("; ".join(f"DELETE FROM {table}" for table in metadata.tables))
                self._clean.append(name)

    def _connected(self, name: str) -> psycopg.Connection:
        return psycopg.connect(libpq_address(self._address(name)), autocommit=True)


@pytest.fixture(scope="session")
def databases() -> Iterator[Databases]:
    """Databases on a PostgreSQL server started for these tests."""
    programs = _programs()
    if programs is None:
        missing("PostgreSQL")
        return
    with _postgres_server(programs) as address:
        yield Databases(address)


# --- SQLite --------------------------------------------------------------------------------------
@pytest.fixture(scope="session")
def new_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., str]:
    """Makes a place for an SQLite file, empty or with a ledger in it, and gives its path."""
    folder = tmp_path_factory.mktemp("ledgers")
    numbers = count(1)
    open_ledger(folder / "model.sqlite", create=True).close()

    def new(*, empty: bool = False) -> str:
        place = folder / f"ledger_{next(numbers)}.sqlite"
        if not empty:
            shutil.copy(folder / "model.sqlite", place)
        return str(place)

    return new


# --- both ----------------------------------------------------------------------------------------
_POSTGRESQL = pytest.param("postgresql", marks=pytest.mark.postgres)
only_sqlite = pytest.mark.parametrize("new_place", ["sqlite"], indirect=True)
only_postgresql = pytest.mark.parametrize("new_place", [_POSTGRESQL], indirect=True)


@pytest.fixture(params=["sqlite", _POSTGRESQL])
def new_place(request: pytest.FixtureRequest) -> Iterator[Callable[..., str]]:
    """Makes a place for a ledger on SQLite, then on PostgreSQL: every test runs on both."""
    if request.param == "sqlite":
        yield request.getfixturevalue("new_sqlite")
        return
    databases: Databases = request.getfixturevalue("databases")
    yield databases.new
    databases.clear()


@pytest.fixture
def open_new(new_place: Callable[..., str], clock: Clock) -> Iterator[Callable[[], Ledger]]:
    """Opens one empty ledger after another."""
    opened: list[Ledger] = []

    def open_one() -> Ledger:
        opened.append(open_ledger(new_place(), clock=clock))
        return opened[-1]

    yield open_one
    for ledger in opened:
        ledger.close()


@pytest.fixture
def place(new_place: Callable[..., str]) -> str:
    """Where an empty ledger is."""
    return new_place()


@pytest.fixture
def ledger(place: str, clock: Clock) -> Iterator[Ledger]:
    """An empty ledger whose clock only the test moves."""
    opened = open_ledger(place, clock=clock)
    yield opened
    opened.close()
