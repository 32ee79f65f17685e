"""What statements ask about tickets and their receipts.

Each takes `known_at`: None reads the current rows; a moment those that were current then.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import and_, exists, literal, select

from tracker.ledger.entries import LorryLoad, Receipt
from tracker.ledger.reads import LedgerReads, current_rows, entry_of
from tracker.ledger.schema import TABLES, WITHDRAWN


@dataclass(frozen=True, slots=True)
class TicketUse:
    """A ticket that a load was recorded under, whether the load still stands or was withdrawn."""

    issuer: str
    number: str
    entry_id: str
    gate_date: date


def tickets_used(
    ledger: LedgerReads, since: date, until: date, known_at: datetime | None = None
) -> list[TicketUse]:
    """The tickets of loads between two dates. A withdrawn load leaves its ticket accounted for."""
    table = TABLES["lorry_loads"]
    later = table.alias("later")
    amended = and_(later.c.supersedes == table.c.entry_id, later.c.action != WITHDRAWN)
    query = select(
        table.c.ticket_issuer, table.c.ticket_number, table.c.entry_id, table.c.gate_date
    ).where(table.c.action != WITHDRAWN, table.c.gate_date.between(since, until))
    if known_at is not None:
        amended = and_(amended, later.c.recorded_at <= known_at)
        query = query.where(table.c.recorded_at <= known_at)
    with ledger.reading() as conn:
        rows = conn.execute(query.where(~exists(select(literal(1)).where(amended))))
        return [TicketUse(*row) for row in rows]


def loads_without_receipt(
    ledger: LedgerReads,
    since: date,
    until: date,
    receipts_until: date,
    known_at: datetime | None = None,
) -> list[LorryLoad]:
    """Loads between two dates that were not rejected and that no receipt to a date answers."""
    loads, receipts = TABLES["lorry_loads"], current_rows(TABLES["receipts"], known_at).subquery()
    answered = exists(
        select(literal(1)).where(
            receipts.c.ticket_issuer == loads.c.ticket_issuer,
            receipts.c.ticket_number == loads.c.ticket_number,
            receipts.c.receipt_date <= receipts_until,
        )
    )
    query = (
        current_rows(loads, known_at)
        .where(loads.c.gate_date.between(since, until), loads.c.outcome != "rejected", ~answered)
        .order_by(loads.c.gate_date, loads.c.gate_out_at, loads.c.entry_id)
    )
    with ledger.reading() as conn:
        return [entry_of("lorry_loads", row) for row in conn.execute(query)]


def receipts_of(
    ledger: LedgerReads,
    since: date,
    until: date,
    receipts_until: date,
    known_at: datetime | None = None,
) -> list[Receipt]:
    """Receipts to a date that answer loads which left between two dates."""
    receipts = TABLES["receipts"]
    loads = current_rows(TABLES["lorry_loads"], known_at).subquery()
    of_them = exists(
        select(literal(1)).where(
            loads.c.ticket_issuer == receipts.c.ticket_issuer,
            loads.c.ticket_number == receipts.c.ticket_number,
            loads.c.gate_date.between(since, until),
        )
    )
    query = current_rows(receipts, known_at).where(
        receipts.c.receipt_date.between(since, receipts_until), of_them
    )
    with ledger.reading() as conn:
        return [entry_of("receipts", row) for row in conn.execute(query)]
