"""Some columns of the current entries of a kind, where whole entries would cost too much."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import and_, false, or_

from tracker.ledger.reads import LedgerReads, current_rows
from tracker.ledger.schema import TABLES, WORK_DATE


def picked(
    ledger: LedgerReads,
    kind: str,
    columns: Sequence[str],
    *,
    until: date,
    since: date | None = None,
    known_at: datetime | None = None,
    dug_of: Collection[tuple[str, int]] | None = None,
) -> list[Any]:
    """Rows with these columns, of every current entry to a work date, as known at a moment.

    `since` leaves out what is dated before it.
    `dug_of`, of returns, asks for what was dug of some (zone, stage) alone.
    """
    table = TABLES[kind]
    query = (
        current_rows(table, known_at)
        .with_only_columns(*(table.c[name] for name in columns))
        .where(table.c[WORK_DATE[kind]] <= until)
    )
    if since is not None:
        query = query.where(table.c[WORK_DATE[kind]] >= since)
    if dug_of is not None:
        places = [and_(table.c.zone == zone, table.c.stage == stage) for zone, stage in dug_of]
        query = query.where(table.c.nil_reason == "", or_(false(), *places))
    with ledger.reading() as conn:
        return list(conn.execute(query))
