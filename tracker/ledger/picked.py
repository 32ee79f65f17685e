"""Some columns of the current entries of a kind, where whole entries would cost too much."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import Select, bindparam

from tracker.ledger.reads import LedgerReads, current_rows
from tracker.ledger.schema import TABLES, WORK_DATE, IsoDate


def picked(
    ledger: LedgerReads,
    kind: str,
    columns: Sequence[str],
    *,
    until: date,
    since: date | None = None,
    known_at: datetime | None = None,
) -> list[Any]:
    """Rows with these columns, of every current entry to a work date, as known at a moment.

    `since` leaves out what is dated before it."""
    table = TABLES[kind]
    query = (
        current_rows(table, known_at)
        .with_only_columns(*(table.c[name] for name in columns))
        .where(table.c[WORK_DATE[kind]] <= until)
    )
    if since is not None:
        query = query.where(table.c[WORK_DATE[kind]] >= since)
    with ledger.reading() as conn:
        return list(conn.execute(query))


def last_dug(
    ledger: LedgerReads,
    columns: Sequence[str],
    zone: str,
    stage: int,
    *,
    until: date,
    limit: int | None,
    known_at: datetime | None = None,
) -> list[Any]:
    """Rows of the last returns that dug a stage of a zone, the newest first; all without limit."""
    asked = {"zone": zone, "stage": stage, "until": until}
    with ledger.reading() as conn:
        return list(conn.execute(_last_dug(tuple(columns), limit, known_at), asked))


@lru_cache(maxsize=16)  # building the query costs more than asking it
def _last_dug(columns: Sequence[str], limit: int | None, known_at: datetime | None) -> Select[Any]:
    table = TABLES["dig_returns"]
    return (
        current_rows(table, known_at)
        .with_only_columns(*(table.c[name] for name in columns))
        .where(
            table.c.zone == bindparam("zone"),
            table.c.stage == bindparam("stage"),
            table.c.work_date <= bindparam("until", type_=IsoDate),
            table.c.nil_reason == "",
        )
        .order_by(table.c.work_date.desc())
        .limit(limit)
    )
