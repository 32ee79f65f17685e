"""Records that pass a limit which stands in them: heaps over their surcharge, weighers off."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import func
from sqlalchemy.sql.elements import ColumnElement

from tracker.ledger.entries import BeltCheck, StockCount
from tracker.ledger.reads import LedgerReads, current_rows, entry_of
from tracker.ledger.schema import TABLES


def counts_over_limit(
    ledger: LedgerReads, until: date, known_at: datetime | None = None
) -> list[StockCount]:
    """Counts of heaps to a date that found more than the surcharge limit beside them."""
    counts = TABLES["stock_counts"].c
    return _beyond(
        ledger, "stock_counts", counts.loose_l > counts.surcharge_limit_l, until, known_at
    )


def failed_checks(
    ledger: LedgerReads, until: date, known_at: datetime | None = None
) -> list[BeltCheck]:
    """Checks of belt weighers to a date that found more than was allowed."""
    checks = TABLES["belt_checks"].c
    off = func.abs(checks.shown_kg - checks.reference_kg) > checks.allowed_kg
    return _beyond(ledger, "belt_checks", off, until, known_at)


def _beyond(
    ledger: LedgerReads,
    kind: str,
    condition: ColumnElement[bool],
    until: date,
    known_at: datetime | None,
) -> list[Any]:
    table = TABLES[kind]
    query = current_rows(table, known_at).where(condition, table.c.work_date <= until)
    with ledger.reading() as conn:
        return [entry_of(kind, row) for row in conn.execute(query.order_by(table.c.work_date))]
