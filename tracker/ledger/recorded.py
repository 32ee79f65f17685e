"""When releases and levels were first written down: what a level is judged by.

An amendment keeps the moment at which what it says was first recorded, so that a corrected permit
number makes no release late, and a corrected remark no report new.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from functools import lru_cache
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Select, bindparam, func, literal, or_, select

from tracker.ledger.entries import HoldRelease
from tracker.ledger.questions import LEVEL_KINDS, LevelReport
from tracker.ledger.reads import LedgerReads, current_rows
from tracker.ledger.schema import TABLES, WITHDRAWN

# Nothing is ever deleted, so the first stays the first; to find it reads every return.
_FIRST: WeakKeyDictionary[LedgerReads, datetime] = WeakKeyDictionary()


def releases_recorded(ledger: LedgerReads, decisions: Sequence[HoldRelease]) -> dict[str, datetime]:
    """Entry id of a decision -> when one of its versions first said so much, or more, by then.

    So much: the same status of the same hold, decided at that moment or before.
    """
    table = TABLES["hold_releases"]
    with ledger.reading() as conn:
        versions = {row.entry_id: row for row in conn.execute(select(table))} if decisions else {}
    return {d.entry_id: _first_said(versions, d) for d in decisions}


def _first_said(versions: dict[str, Any], decision: HoldRelease) -> datetime:
    row = versions[decision.entry_id]
    first: datetime = row.recorded_at
    while row.supersedes:
        row = versions[row.supersedes]
        same = (row.zone, row.hold, row.status) == (decision.zone, decision.hold, decision.status)
        if row.action != WITHDRAWN and same and row.decided_at <= decision.decided_at:
            first = row.recorded_at
    return first


def first_report_at(ledger: LedgerReads) -> datetime | None:
    """When the first level of all was recorded: no release recorded before it came after one."""
    if ledger not in _FIRST:
        stamps = [TABLES[kind].c.recorded_at for kind in LEVEL_KINDS]
        with ledger.reading() as conn:
            found = [conn.execute(select(func.min(at))).scalar() for at in stamps]
        known = [at for at in found if at is not None]
        if not known:
            return None
        _FIRST[ledger] = min(known)
    return _FIRST[ledger]


def reported_before(
    ledger: LedgerReads,
    zone: str,
    level_mm: int,
    *,
    since: date,
    until: date,
    recorded_before: datetime,
    known_at: datetime | None = None,
) -> list[tuple[LevelReport, datetime]]:
    """Reports below a level that were recorded before a moment, with when each was recorded."""
    found: list[tuple[LevelReport, datetime]] = []
    asked = {"zone": zone, "since": since, "until": until, "level_mm": level_mm}
    with ledger.reading() as conn:
        for kind in LEVEL_KINDS:
            rows = conn.execute(_below(kind, known_at), asked | {"before": recorded_before})
            for *row, recorded_at, supersedes in rows.all():
                report = LevelReport(*row)
                at = _first_reported(conn, report) if supersedes else recorded_at
                if at < recorded_before:
                    found.append((report, at))
    return found


@lru_cache(maxsize=64)  # building the query costs more than asking it
def _below(kind: str, known_at: datetime | None) -> Select[Any]:
    """Reports recorded before a moment, and the amended ones, which may have been."""
    rows = current_rows(TABLES[kind], known_at).subquery().c
    return select(
        rows.entry_id,
        literal(kind).label("kind"),
        rows.work_date,
        (rows["shift"] if "shift" in rows else literal("")).label("shift"),
        rows.zone,
        rows.lowest_level_mm,
        rows.recorded_at,
        rows.supersedes,
    ).where(
        rows.zone == bindparam("zone"),
        rows.work_date.between(bindparam("since"), bindparam("until")),
        rows.lowest_level_mm < bindparam("level_mm"),
        or_(rows.recorded_at < bindparam("before"), rows.supersedes.is_not(None)),
    )


def _first_reported(conn: Connection, report: LevelReport) -> datetime:
    """When one of its versions was first recorded that reports this level of the zone, or less."""
    table = TABLES[report.kind]
    row: Any = conn.execute(select(table).where(table.c.entry_id == report.entry_id)).one()
    first: datetime = row.recorded_at
    while row.supersedes:
        row = conn.execute(select(table).where(table.c.entry_id == row.supersedes)).one()
        deep = row.lowest_level_mm is not None and row.lowest_level_mm <= report.level_mm
        if row.zone == report.zone and deep:
            first = row.recorded_at
    return first
