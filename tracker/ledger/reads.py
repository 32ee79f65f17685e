"""Reading the ledger: current entries, history, as known at an earlier moment."""

from __future__ import annotations

import threading
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Row, Select, Table, and_, exists, literal, select, text
from sqlalchemy.sql.elements import ColumnElement

from tracker.domain.site import Site
from tracker.errors import EntryNotFound, NotEnoughData
from tracker.ledger import bulk, totals
from tracker.ledger.database import WRITING
from tracker.ledger.entries import KINDS, BeltReading, Entry, LorryLoad, Stored, field_names
from tracker.ledger.schema import TABLES, WITHDRAWN, WORK_DATE
from tracker.ledger.setups import site_of


class LedgerReads:
    """What can be asked of a ledger. Safe to use from several threads and processes."""

    def __init__(self, engine: Engine, clock: Callable[[], datetime]) -> None:
        self._engine = engine
        self._clock = clock
        self._local = threading.local()

    def now(self) -> datetime:
        """The moment that the ledger's clock shows [UTC]."""
        return self._clock()

    def state(self) -> str:
        """A text that changes whenever anything is written, by whichever program; quickly asked.

        It may change without that, too. Of SQLite it is when the files changed and how long they
        are; of PostgreSQL the transactions that are visible.
        """
        if self._engine.dialect.name == "postgresql":
            with self._engine.connect() as conn:
                return str(conn.execute(text("SELECT pg_current_snapshot()")).scalar())
        place = str(self._engine.url.database)
        return " ".join(_changed(Path(f"{place}{end}")) for end in ("", "-wal"))

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction for everything written inside; nested use joins the outer one."""
        with self._transaction(writing=True) as conn:
            yield conn

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One consistent view for everything read inside; nested use joins the outer one."""
        with self._transaction(writing=False) as conn:
            yield conn

    @contextmanager
    def _transaction(self, *, writing: bool) -> Iterator[Connection]:
        held = getattr(self._local, "conn", None)
        if held is not None and (not writing or held.get_execution_options().get(WRITING)):
            yield held
            return
        options: dict[str, Any] = {WRITING: writing}
        if not writing and self._engine.dialect.name == "postgresql":
            options["isolation_level"] = "REPEATABLE READ"
        with self._engine.connect().execution_options(**options) as conn, conn.begin():
            self._local.conn = conn
            self._local.counted = {}  # totals counted in this view, by moment
            try:
                yield conn
            finally:
                self._local.conn = held

    # --- reading ---------------------------------------------------------------------------------
    def stored(self, entry_id: str) -> Stored:
        """An entry with what the ledger added to it. Raises EntryNotFound."""
        with self.reading() as conn:
            for table in TABLES.values():
                row = conn.execute(select(table).where(table.c.entry_id == entry_id)).first()
                if row is not None:
                    return self._stored(conn, table, row)
        raise EntryNotFound(f"No entry has the id “{entry_id}”. Search it in the records.")

    def history(self, entry_id: str) -> tuple[Stored, ...]:
        """Every version of the fact an entry states, oldest first. Raises EntryNotFound."""
        with self.reading():
            version = self.stored(entry_id)
            while version.supersedes:
                version = self.stored(version.supersedes)
            versions = [version]
            while versions[-1].superseded_by:
                versions.append(self.stored(versions[-1].superseded_by))
            return tuple(versions)

    def current(
        self,
        kind: str,
        *,
        known_at: datetime | None = None,
        where: Mapping[str, Any] | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> list[Any]:
        """Current entries of a kind, by work date, as known at a moment (None: now)."""
        table = TABLES[kind]
        query = current_rows(table, known_at).order_by(*_order(table))
        for name, value in (where or {}).items():
            query = query.where(table.c[name] == value)
        if since is not None:
            query = query.where(table.c[WORK_DATE[kind]] >= since)
        if until is not None:
            query = query.where(table.c[WORK_DATE[kind]] <= until)
        with self.reading() as conn:
            return [entry_of(kind, row) for row in conn.execute(query)]

    def recorded_at(self, kind: str, *, known_at: datetime | None = None) -> dict[str, datetime]:
        """Entry id -> when it was recorded [UTC], of the current entries of a kind."""
        rows = current_rows(TABLES[kind], known_at)
        with self.reading() as conn:
            return {row.entry_id: row.recorded_at for row in conn.execute(rows)}

    def belt_readings(self, belt: str, known_at: datetime | None = None) -> list[BeltReading]:
        """The current readings of one belt in the order in which they were read."""
        readings = self.current("belt_readings", known_at=known_at, where={"belt": belt})
        return sorted(readings, key=lambda r: r.read_at)

    def known_ids(self, kind: str, ids: Sequence[str]) -> set[str]:
        """Those of the ids that are stored, current or not."""
        with self.reading() as conn:
            return bulk.stored_ids(conn, kind, ids)

    def duplicates(self, entries: Sequence[Entry]) -> dict[str, Stored]:
        """Entry id -> the current entry, stored under another id, that states the same fact."""
        with self.reading() as conn:
            return {
                mine: self.stored(other)
                for kind, group in by_kind(entries).items()
                for mine, other in bulk.stated_by_others(conn, kind, group)
            }

    def counted_totals(self, known_at: datetime | None = None) -> Counter[totals.Key]:
        """The totals, counted from the entries as known at a moment; once for each view."""
        with self.reading() as conn:
            if known_at is None or conn.get_execution_options().get(WRITING):
                return self._count_entries(known_at)
            counted: dict[datetime, Counter[totals.Key]] = self._local.counted
            if known_at not in counted:
                counted[known_at] = self._count_entries(known_at)
            return counted[known_at]

    def _count_entries(self, known_at: datetime | None) -> Counter[totals.Key]:
        sums: Counter[totals.Key] = Counter()
        with self.reading():
            for kind in totals.COUNTED:
                for entry in self.current(kind, known_at=known_at):
                    totals.gather(totals.contributions(entry), sums)
            readings = self.current("belt_readings", known_at=known_at)
            for belt in {r.belt for r in readings if isinstance(r, BeltReading)}:
                totals.gather(totals.belt_runs(self.belt_readings(belt, known_at)), sums)
        return Counter({key: amount for key, amount in sums.items() if amount})

    def revisions(self, known_at: datetime | None = None) -> list[Any]:
        """The set-up revisions, by the date from which each is in force."""
        return self.current("setup_revisions", known_at=known_at)

    def revision(self, day: date | None = None, *, known_at: datetime | None = None) -> Any:
        """The set-up revision in force on a work date (None: the latest).

        A date before the first revision takes the first. Raises NotEnoughData if there is none.
        """
        revisions = self.revisions(known_at)
        if not revisions:
            raise NotEnoughData("No set-up yet: adopt one with `spoil init --setup FOLDER`.")
        in_force = [r for r in revisions if day is None or r.effective_date <= day]
        return (in_force or revisions[:1])[-1]

    def site(self, day: date | None = None, *, known_at: datetime | None = None) -> Site:
        """The set-up in force on a work date (None: the latest). Raises NotEnoughData."""
        return site_of(self.revision(day, known_at=known_at).tables)

    def neighbours(
        self, belt: str, read_at: datetime
    ) -> tuple[BeltReading | None, BeltReading | None]:
        """The current readings of a belt just before and just after a moment."""
        at = TABLES["belt_readings"].c.read_at
        query = current_rows(TABLES["belt_readings"]).where(TABLES["belt_readings"].c.belt == belt)
        with self.reading() as conn:
            before = conn.execute(query.where(at < read_at).order_by(at.desc()).limit(1)).first()
            after = conn.execute(query.where(at > read_at).order_by(at).limit(1)).first()
        return (
            entry_of("belt_readings", before) if before else None,
            entry_of("belt_readings", after) if after else None,
        )

    def departures(self, registration: str, since: datetime, until: datetime) -> list[LorryLoad]:
        """The current loads of one lorry that left between two moments, both included."""
        table = TABLES["lorry_loads"]
        query = current_rows(table).where(
            table.c.registration == registration, table.c.gate_out_at.between(since, until)
        )
        with self.reading() as conn:
            return [entry_of("lorry_loads", row) for row in conn.execute(query)]

    def _stored(self, conn: Connection, table: Table, row: Row[Any]) -> Stored:
        after = conn.execute(select(table.c.entry_id).where(table.c.supersedes == row.entry_id))
        return stored_of(table.name, row, after.scalar())


@lru_cache(maxsize=256)  # building the query costs more than asking it
def current_rows(table: Table, known_at: datetime | None = None) -> Select[Any]:
    """Rows that were neither superseded nor withdrawn by a moment (None: by now)."""
    later = table.alias("later")
    superseded = later.c.supersedes == table.c.entry_id
    if known_at is not None:
        superseded = and_(superseded, later.c.recorded_at <= known_at)
    query = select(table).where(
        table.c.action != WITHDRAWN, ~exists(select(literal(1)).where(superseded))
    )
    return query if known_at is None else query.where(table.c.recorded_at <= known_at)


def entry_of(kind: str, row: Row[Any]) -> Any:
    """The entry that a row holds."""
    cls = KINDS[kind]
    values = row._mapping
    return cls(**{name: values[name] for name in field_names(cls)})


def stored_of(kind: str, row: Row[Any], superseded_by: str | None) -> Stored:
    """A row with what the ledger added to it."""
    return Stored(
        kind=kind,
        entry_id=row.entry_id,
        action=row.action,
        recorded_at=row.recorded_at,
        recorded_by=row.recorded_by,
        supersedes=row.supersedes,
        superseded_by=superseded_by,
        reason=row.change_reason,
        entry=None if row.action == WITHDRAWN else entry_of(kind, row),
    )


def _order(table: Table) -> list[ColumnElement[Any]]:
    dated = WORK_DATE[table.name]
    return [*([table.c[dated]] if dated else []), table.c.recorded_at, table.c.entry_id]


def fact_of(entry: Entry) -> tuple[Any, ...]:
    return tuple(getattr(entry, name) for name in entry.UNIQUE)


def by_kind(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    groups: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        groups[entry.KIND].append(entry)
    return groups


def _changed(file: Path) -> str:
    """When a file was changed last and how long it is; empty where there is none."""
    try:
        found = file.stat()
    except OSError:
        return ""
    return f"{found.st_mtime_ns} {found.st_size}"
