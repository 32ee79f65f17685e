"""The ledger: append, supersede, withdraw; every write one transaction that keeps the totals."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, insert

from tracker.errors import AlreadySuperseded, DuplicateEntry, InputError
from tracker.ledger import bulk, totals
from tracker.ledger.database import connect, prepare, repair
from tracker.ledger.entries import KINDS, BeltReading, Entry, Stored, as_row, is_generated, new_id
from tracker.ledger.reads import LedgerReads, by_kind, fact_of
from tracker.ledger.schema import AMENDED, RECORDED, TABLES, WITHDRAWN


@dataclass(frozen=True, slots=True)
class Appended:
    """What an append did: ids written, and ids that were stored already."""

    written: tuple[str, ...]
    already: tuple[str, ...]


def open_ledger(
    place: str | Path, *, create: bool = False, clock: Callable[[], datetime] | None = None
) -> Ledger:
    """Open the ledger at a path or URL; with `create`, make it if there is none.

    Raises EntryNotFound if there is no file, SchemaMismatch if it is no ledger of this version or
    has lost its guards.
    """
    engine = connect(place, create=create)
    try:
        prepare(engine, create=create)
    except BaseException:
        engine.dispose()
        raise
    return Ledger(engine, clock or (lambda: datetime.now(UTC)))


def repair_ledger(place: str | Path, *, migrations: bool, guards: bool) -> None:
    """Migrate to the newest schema, put the guards back: what `open_ledger` refuses to do alone.

    Raises EntryNotFound if there is no file, SchemaMismatch if it is no ledger.
    """
    engine = connect(place)
    try:
        repair(engine, migrations=migrations, guards=guards)
    finally:
        engine.dispose()


class Ledger(LedgerReads):
    """Append-only entries of one site: what can be asked, and what can be written."""

    def append(self, entries: Sequence[Entry], *, by: str) -> Appended:
        """Store entries, all or none. An id that is stored already is left out, not repeated.

        Raises DuplicateEntry if another current entry states the same fact, InputError if `by`
        is empty.
        """
        _named(by)
        with self.writing() as conn:
            already: list[str] = []
            fresh: dict[str, list[Entry]] = defaultdict(list)
            for kind, group in by_kind(entries).items():
                known = self.known_ids(kind, [e.entry_id for e in group])
                already += [e.entry_id for e in group if e.entry_id in known]
                fresh[kind] = [e for e in group if e.entry_id not in known]
            new = [e for group in fresh.values() for e in group]
            self._refuse_taken_ids([e.entry_id for e in new])
            self._refuse_duplicates(new)
            stamp = self._clock()
            for kind, group in fresh.items():
                if group:
                    bulk.insert_recorded(conn, kind, group, stamp, by.strip())
            self._count(conn, new, [])
            return Appended(tuple(e.entry_id for e in new), tuple(already))

    def supersede(self, old_id: str, entry: Entry, *, reason: str, by: str) -> Stored:
        """Store `entry` in place of an earlier one, once, with a reason.

        Raises EntryNotFound, AlreadySuperseded, DuplicateEntry, InputError (no reason).
        """
        with self.writing() as conn:
            old = self._supersedable(old_id, reason, by)
            if KINDS[old.kind] is not type(entry):
                raise InputError(f"Entry {old_id} is one of {old.kind}; give another such entry.")
            self._refuse_stored_id(old.kind, entry.entry_id)
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
            entry_id = entry_id or new_id()
            self._refuse_stored_id(old.kind, entry_id)
            row = {
                "entry_id": entry_id,
                "recorded_at": self._clock(),
                "recorded_by": by.strip(),
                "action": WITHDRAWN,
                "supersedes": old_id,
                "change_reason": reason.strip(),
            }
            conn.execute(insert(TABLES[old.kind]), [row])
            self._count(conn, [], [old.entry])
            return self.stored(entry_id)

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

    def _refuse_stored_id(self, kind: str, entry_id: str) -> None:
        if self.known_ids(kind, [entry_id]):
            raise DuplicateEntry(f"Id “{entry_id}” is stored already. Give this entry another id.")
        self._refuse_taken_ids([entry_id])

    def _refuse_taken_ids(self, ids: Sequence[str]) -> None:
        """Ids that people make: one may be given twice, or be that of an entry of another kind."""
        own = [entry_id for entry_id in ids if not is_generated(entry_id)]
        twice = [entry_id for entry_id, times in Counter(own).items() if times > 1]
        for kind in KINDS if own else ():
            twice += self.known_ids(kind, own)
        if twice:
            raise DuplicateEntry(
                f"Id “{twice[0]}” is that of another entry as well. Give every entry an id of its"
                " own, or none."
            )

    def _refuse_duplicates(self, entries: Sequence[Entry], instead_of: str = "") -> None:
        seen: set[tuple[Any, ...]] = set()
        for entry in entries:
            fact = (entry.KIND, *fact_of(entry))
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


def _described(entry: Entry) -> str:
    fact = ", ".join(
        f"{name.replace('_', ' ')} {getattr(entry, name)}"
        for name in entry.UNIQUE
        if getattr(entry, name) not in ("", None)
    )
    name = re.sub(r"(?<!^)(?=[A-Z])", " ", type(entry).__name__).capitalize()
    return f"{name} of {fact}"


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
