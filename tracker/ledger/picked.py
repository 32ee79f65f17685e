"""Some columns of the current entries of a kind, where whole entries would cost too much."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import and_, or_

from tracker.ledger.reads import LedgerReads, current_rows
from tracker.ledger.schema import TABLES, WORK_DATE


def picked(
    ledger: LedgerReads,
    kind: str,
    columns: Sequence[str],
    *,
    until: date,
    known_at: datetime | None = None,
    zones_since: Mapping[str, date] | None = None,
) -> list[Any]:
    """Rows with these columns, of every current entry to a work date, as known at a moment.

    `zones_since` asks for some zones alone, each from a work date on.
    """
    table = TABLES[kind]
    query = (
        current_rows(table, known_at)
        .with_only_columns(*(table.c[name] for name in columns))
        .where(table.c[WORK_DATE[kind]] <= until)
    )
    if zones_since is not None:
        dated = table.c[WORK_DATE[kind]]
        parts = [and_(table.c.zone == zone, dated >= day) for zone, day in zones_since.items()]
        query = query.where(or_(False, *parts))
    with ledger.reading() as conn:
        return list(conn.execute(query))
