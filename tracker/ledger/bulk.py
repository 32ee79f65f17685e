"""Many rows at once, past SQLAlchemy's work per row: encoding, inserting, looking facts up.

The tables hold whole numbers, text and booleans only, so the driver takes the encoded rows as they
are, in both databases.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime
from functools import cache, lru_cache
from operator import attrgetter
from typing import Any

from sqlalchemy import Connection

from tracker.ledger.entries import KINDS, Entry, field_names
from tracker.ledger.schema import RECORDED, TABLES, Delays, IsoDate, UtcStamp, stamp_text

_CHUNK = 500  # rows of one look-up
_Encoder = Callable[[Any], Any]
_iso = lru_cache(maxsize=4096)(date.isoformat)


def encoded(value: Any) -> Any:
    """A value as the tables hold it."""
    if isinstance(value, datetime):
        return stamp_text(value)
    return _iso(value) if isinstance(value, date) else value


@cache
def _encoders(kind: str) -> tuple[Callable[[Entry], tuple[Any, ...]], list[tuple[int, _Encoder]]]:
    """How to take a row from an entry of a kind: a getter, and the places to encode."""
    table, names = TABLES[kind], field_names(KINDS[kind])
    places: list[tuple[int, _Encoder]] = []
    for place, name in enumerate(names):
        if isinstance(table.c[name].type, UtcStamp | IsoDate):
            places.append((place, encoded))
        elif isinstance(table.c[name].type, Delays):
            places.append((place, Delays.text_of))
    return attrgetter(*names), places


def entry_rows(kind: str, entries: Sequence[Entry]) -> Iterator[list[Any]]:
    """The entries as encoded rows, in the order of their fields."""
    getter, places = _encoders(kind)
    for entry in entries:
        row = list(getter(entry))
        for place, encode in places:
            if row[place] is not None:
                row[place] = encode(row[place])
        yield row


def insert_recorded(
    conn: Connection, kind: str, entries: Sequence[Entry], stamp: datetime, by: str
) -> None:
    """Insert entries as first recorded at a moment by somebody."""
    names = (
        "recorded_at",
        "recorded_by",
        "action",
        "change_reason",
        *field_names(KINDS[kind]),
    )
    head = [stamp_text(stamp), by, RECORDED, ""]
    marks = ", ".join([_mark(conn)] * len(names))
    conn.exec_driver_sql(
        f"INSERT INTO {kind} ({', '.join(names)}) VALUES ({marks})",
        [tuple(head + row) for row in entry_rows(kind, entries)],
    )


def stored_ids(conn: Connection, kind: str, ids: Sequence[str]) -> set[str]:
    """Those of the ids that are stored, current or not."""
    found: set[str] = set()
    for part in chunks(ids):
        marks = ", ".join([_mark(conn)] * len(part))
        rows = conn.exec_driver_sql(
            f"SELECT entry_id FROM {kind} WHERE entry_id IN ({marks})", tuple(part)
        )
        found.update(rows.scalars())
    return found


def stated_by_others(
    conn: Connection, kind: str, entries: Sequence[Entry]
) -> Iterator[tuple[str, str]]:
    """(id, id of the current entry, another one, that states the same fact)."""
    unique = KINDS[kind].UNIQUE
    same = " AND ".join(f"t.{name} = mine.{name}" for name in unique)
    facts = attrgetter("entry_id", *unique)
    mark = f"({', '.join([_mark(conn)] * (len(unique) + 1))})"
    for part in chunks(entries):
        values = [encoded(value) for entry in part for value in facts(entry)]
        # CROSS JOIN keeps SQLite from starting at the larger side.
        rows = conn.exec_driver_sql(
            f"WITH mine (mine_id, {', '.join(unique)}) AS (VALUES {', '.join([mark] * len(part))})"
            f" SELECT mine.mine_id, t.entry_id FROM mine CROSS JOIN {kind} t WHERE {same}"
            f" AND t.entry_id <> mine.mine_id AND t.action <> 'withdrawn' AND NOT EXISTS"
            f" (SELECT 1 FROM {kind} s WHERE s.supersedes = t.entry_id)",
            tuple(values),
        )
        yield from ((row[0], row[1]) for row in rows)


def chunks(items: Sequence[Any]) -> Iterator[Sequence[Any]]:
    """Items in runs that one look-up takes."""
    for start in range(0, len(items), _CHUNK):
        yield items[start : start + _CHUNK]


def _mark(conn: Connection) -> str:
    return "?" if conn.dialect.name == "sqlite" else "%s"
