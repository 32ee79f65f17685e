"""The ledger: append, supersede, withdraw, current, history, as known at.

One process and one store: no repository layer. Every write is one transaction that also keeps the
running totals; every read can be drawn as known at an earlier moment.
"""

from __future__ import annotations

import threading
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, Select, Table, and_, exists, insert, literal, or_, select
from sqlalchemy.sql.elements import ColumnElement

from tracker.errors import AlreadySuperseded, DuplicateEntry, EntryNotFound, InputError
from tracker.ledger import totals
from tracker.ledger.database import WRITING, connect, migrate, prepare
from tracker.ledger.entries import KINDS, BeltReading, Entry, Stored, as_row, field_names
from tracker.ledger.guards import install_guards
from tracker.ledger.schema import AMENDED, RECORDED, TABLES, WITHDRAWN, WORK_DATE

_CHUNK = 400  # ids or facts asked for at once


@dataclass(frozen=True, slots=True)
class Appended:
    """What an append did: ids written, and ids that were stored already."""

    written: tuple[str, ...]
    already: tuple[str, ...]


def open_ledger(
    place: str | Path, *, create: bool = False, clock: Callable[[], datetime] | None = None
) -> Ledger:
    """Open the ledger at a path or URL; with `create`, make it if there is none.

    Raises SchemaMismatch if it is no ledger of this version or has lost its guards.
    """
    if not create and "://" not in str(place) and not Path(place).expanduser().exists():
        raise EntryNotFound(f"There is no ledger at {place}. Run `spoil init` to make one.")
    engine = connect(place)
    try:
        prepare(engine, create=create)
    except BaseException:
        engine.dispose()
        raise
    return Ledger(engine, clock or (lambda: datetime.now(UTC)))


def repair_ledger(place: str | Path, *, migrations: bool, guards: bool) -> None:
    """Migrate to the newest schema, put the guards back: what `open_ledger` refuses to do alone."""
    engine = connect(place)
    with engine.execution_options(**{WRITING: True}).begin() as conn:
        if migrations:
            migrate(conn)
        if guards:
            install_guards(conn)
    engine.dispose()


class Ledger:
    """Append-only entries of one site. Safe to use from several threads and processes."""

    def __init__(self, engine: Any, clock: Callable[[], datetime]) -> None:
        self._engine = engine
        self._clock = clock
        self._local = threading.local()

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    # --- transactions ----------------------------------------------------------------------------
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
            try:
                yield conn
            finally:
                self._local.conn = held

    # --- writing ---------------------------------------------------------------------------------
    def append(self, entries: Sequence[Entry], *, by: str) -> Appended:
        """Store entries, all or none. An id that is stored already is left out, not repeated.

        Raises DuplicateEntry if another current entry states the same fact, InputError if `by`
        is empty.
        """
        _named(by)
        with self.writing() as conn:
            already: list[str] = []
            fresh: dict[str, list[Entry]] = defaultdict(list)
            for kind, group in _by_kind(entries).items():
                known = self.known_ids(kind, [e.entry_id for e in group])
                already += [e.entry_id for e in group if e.entry_id in known]
                fresh[kind] = [e for e in group if e.entry_id not in known]
            self._refuse_duplicates([e for group in fresh.values() for e in group])
            stamp = self._clock()
            for kind, group in fresh.items():
                rows = [_new_row(e, stamp, by) for e in group]
                if rows:
                    conn.execute(insert(TABLES[kind]), rows)
            self._count(conn, [e for group in fresh.values() for e in group], [])
            written = tuple(e.entry_id for group in fresh.values() for e in group)
            return Appended(written, tuple(already))

    def supersede(self, old_id: str, entry: Entry, *, reason: str, by: str) -> Stored:
        """Store `entry` in place of an earlier one, once, with a reason.

        Raises EntryNotFound, AlreadySuperseded, DuplicateEntry, InputError (no reason).
        """
        with self.writing() as conn:
            old = self._supersedable(old_id, reason, by)
            if KINDS[old.kind] is not type(entry):
                raise InputError(f"Entry {old_id} is one of {old.kind}; give another such entry.")
            self._refuse_duplicates([entry], instead_of=old_id)
            row = _new_row(entry, self._clock(), by) | {
                "action": AMENDED,
                "supersedes": old_id,
                "change_reason": reason.strip(),
            }
            conn.execute(insert(TABLES[old.kind]), [row])
            self._count(conn, [entry], [old.entry] if old.entry else [])
            return self.stored(entry.entry_id)

    def withdraw(self, old_id: str, *, reason: str, by: str, entry_id: str = "") -> Stored:
        """Withdraw an entry: it stays in the history and counts no more.

        Raises EntryNotFound, AlreadySuperseded, InputError (no reason).
        """
        with self.writing() as conn:
            old = self._supersedable(old_id, reason, by)
            if old.entry is None:
                raise AlreadySuperseded(f"Entry {old_id} is a withdrawal already.")
            new_id = entry_id or f"{old_id[:50]}-withdrawn"
            row = {
                "entry_id": new_id,
                "recorded_at": self._clock(),
                "recorded_by": by.strip(),
                "action": WITHDRAWN,
                "supersedes": old_id,
                "change_reason": reason.strip(),
            }
            conn.execute(insert(TABLES[old.kind]), [row])
            self._count(conn, [], [old.entry])
            return self.stored(new_id)

    def _supersedable(self, old_id: str, reason: str, by: str) -> Stored:
        _named(by)
        if not reason.strip():
            raise InputError("Give a reason: a change without one is not recorded.", field="reason")
        old = self.stored(old_id)
        if old.superseded_by:
            raise AlreadySuperseded(
                f"Entry {old_id} was superseded already by {old.superseded_by}. Change that one."
            )
        return old

    def _refuse_duplicates(self, entries: Sequence[Entry], instead_of: str = "") -> None:
        seen: set[tuple[Any, ...]] = set()
        for entry in entries:
            fact = (entry.KIND, *_fact(entry))
            if fact in seen:
                raise DuplicateEntry(f"{_described(entry)} is stated twice in what was sent.")
            seen.add(fact)
        for entry_id, stored in self.duplicates(entries).items():
            if stored.entry_id != instead_of:
                entry = next(e for e in entries if e.entry_id == entry_id)
                raise DuplicateEntry(
                    f"{_described(entry)} is in the ledger already (entry {stored.entry_id},"
                    f" recorded {stored.recorded_at:%Y-%m-%d %H:%M} UTC by {stored.recorded_by})."
                    " Amend that entry instead of recording another."
                )

    def _count(self, conn: Connection, new: Sequence[Entry], old: Sequence[Entry]) -> None:
        sums: Counter[totals.Key] = Counter()
        for entry in new:
            totals.gather(totals.contributions(entry), sums)
        for entry in old:
            for key, amount in totals.contributions(entry):
                sums[key] -= amount
        totals.add_totals(conn, sums)
        for belt in {e.belt for e in (*new, *old) if isinstance(e, BeltReading)}:
            totals.replace_belt_totals(conn, belt, self.belt_readings(belt))

    def rebuild_totals(self) -> tuple[int, int]:
        """Count every running total anew from the entries.

        Returns (totals counted, totals that had been wrong).
        """
        with self.writing() as conn:
            before = totals.read_totals(conn)
            totals.clear_totals(conn)
            totals.add_totals(conn, self.counted_totals())
            after = totals.read_totals(conn)
            wrong = sum(before[key] != after[key] for key in {*before, *after})
            return len(after), wrong

    def counted_totals(self, known_at: datetime | None = None) -> Counter[totals.Key]:
        """The totals, counted from the entries as known at a moment."""
        sums: Counter[totals.Key] = Counter()
        with self.reading():
            for kind in ("dig_returns", "lorry_loads", "receipts"):
                for entry in self.current(kind, known_at=known_at):
                    totals.gather(totals.contributions(entry), sums)
            readings = self.current("belt_readings", known_at=known_at)
            for belt in {r.belt for r in readings if isinstance(r, BeltReading)}:
                totals.gather(totals.belt_runs(self.belt_readings(belt, known_at)), sums)
        return Counter({key: amount for key, amount in sums.items() if amount})

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

    def belt_readings(self, belt: str, known_at: datetime | None = None) -> list[BeltReading]:
        """The current readings of one belt in the order in which they were read."""
        readings = self.current("belt_readings", known_at=known_at, where={"belt": belt})
        return sorted(readings, key=lambda r: r.read_at)

    def known_ids(self, kind: str, ids: Sequence[str]) -> set[str]:
        """Those of the ids that are stored, current or not."""
        column = TABLES[kind].c.entry_id
        found: set[str] = set()
        with self.reading() as conn:
            for part in _chunks(ids):
                found.update(conn.execute(select(column).where(column.in_(part))).scalars())
        return found

    def duplicates(self, entries: Sequence[Entry]) -> dict[str, Stored]:
        """Entry id -> the current entry, stored under another id, that states the same fact."""
        found: dict[str, Stored] = {}
        with self.reading() as conn:
            for kind, group in _by_kind(entries).items():
                table = TABLES[kind]
                for part in _chunks(group):
                    facts = {_fact(e): e.entry_id for e in part}
                    same = or_(*(_states(table, KINDS[kind].UNIQUE, fact) for fact in facts))
                    for row in conn.execute(current_rows(table).where(same)):
                        stored = self._stored(conn, table, row)
                        assert stored.entry is not None
                        mine = facts[_fact(stored.entry)]
                        if mine != stored.entry_id:
                            found[mine] = stored
        return found

    def _stored(self, conn: Connection, table: Table, row: Row[Any]) -> Stored:
        after = conn.execute(select(table.c.entry_id).where(table.c.supersedes == row.entry_id))
        return stored_of(table.name, row, after.scalar())


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


def _states(table: Table, names: Sequence[str], fact: tuple[Any, ...]) -> ColumnElement[bool]:
    return and_(*(table.c[name] == value for name, value in zip(names, fact, strict=True)))


def _fact(entry: Entry) -> tuple[Any, ...]:
    return tuple(getattr(entry, name) for name in entry.UNIQUE)


def _described(entry: Entry) -> str:
    fact = ", ".join(
        f"{name.replace('_', ' ')} {getattr(entry, name)}"
        for name in entry.UNIQUE
        if getattr(entry, name) not in ("", None)
    )
    return f"{KINDS[entry.KIND].__name__} of {fact}"


def _by_kind(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    groups: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        groups[entry.KIND].append(entry)
    return groups


def _new_row(entry: Entry, stamp: datetime, by: str) -> dict[str, Any]:
    return as_row(entry) | {
        "recorded_at": stamp,
        "recorded_by": by.strip(),
        "action": RECORDED,
        "supersedes": None,
        "change_reason": "",
    }


def _named(by: str) -> None:
    if not by.strip():
        raise InputError("Say who records this: every entry carries a name.", field="by")


def _chunks(items: Sequence[Any]) -> Iterator[Sequence[Any]]:
    for start in range(0, len(items), _CHUNK):
        yield items[start : start + _CHUNK]
