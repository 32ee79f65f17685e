"""The tables, made from the entry dataclasses: one table a kind, rows that never change.

Whole numbers, text and booleans only, so that both databases store the same bytes: moments are UTC
ISO text, dates are ISO text (SQLite has no types of its own for them, and text compares in order).
"""

from __future__ import annotations

import json
from dataclasses import MISSING, fields
from datetime import UTC, date, datetime
from typing import Any, get_type_hints

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Dialect,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
)

from tracker.errors import InputError
from tracker.ledger.entries import KINDS, Delay, Entry

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

RECORDED, AMENDED, WITHDRAWN = "recorded", "amended", "withdrawn"


class UtcStamp(TypeDecorator[datetime]):
    """A UTC moment as text of fixed width, to the microsecond."""

    impl = String(32)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        return None if value is None else stamp_text(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:
        return None if value is None else datetime.fromisoformat(value)


class IsoDate(TypeDecorator[date]):
    """A local date as ISO text."""

    impl = String(10)
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str | None:
        return None if value is None else value.isoformat()

    def process_result_value(self, value: str | None, dialect: Dialect) -> date | None:
        return None if value is None else date.fromisoformat(value)


class Delays(TypeDecorator[tuple[Delay, ...]]):
    """Delays as JSON text: [[cause, minutes], ...]."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: tuple[Delay, ...] | None, dialect: Dialect) -> str | None:
        return None if value is None else self.text_of(value)

    @staticmethod
    def text_of(value: tuple[Delay, ...]) -> str:
        """Delays as the tables hold them."""
        return json.dumps([[d.cause, d.minutes] for d in value]) if value else "[]"

    def process_result_value(self, value: str | None, dialect: Dialect) -> tuple[Delay, ...] | None:
        if value is None:
            return None
        if value == "[]":  # most returns have none, and JSON takes its time
            return ()
        return tuple(Delay(cause, minutes) for cause, minutes in json.loads(value))


def stamp_text(moment: datetime) -> str:
    """A moment as UTC ISO text of fixed width: 2026-10-27T06:12:03.000000+00:00.

    Raises InputError for a moment without time zone: it would be taken as this machine's.
    """
    if moment.tzinfo is None:
        raise InputError(f"The moment {moment} has no time zone: write its offset, such as +01:00.")
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


_TYPES: dict[Any, Any] = {
    str: Text,
    int: BigInteger,
    bool: Boolean,
    date: IsoDate,
    datetime: UtcStamp,
    tuple[Delay, ...]: Delays,
}

# The local date that an entry counts on, by kind.
WORK_DATE: dict[str, str] = {
    "setup_revisions": "effective_date",
    "dig_returns": "work_date",
    "belt_readings": "work_date",
    "lorry_loads": "gate_date",
    "belt_checks": "work_date",
    "stock_counts": "work_date",
    "site_reuse": "work_date",
    "transfer_notes": "work_date",
    "reuse_declarations": "received_on",
    "gate_traffic": "gate_date",
    "gate_bookings": "gate_date",
    "hold_releases": "work_date",
    "formation_steps": "work_date",
    "planned_stages": "frozen_on",
    "survey_levels": "work_date",
    "survey_surfaces": "work_date",
    "survey_checks": "work_date",
    "receipts": "receipt_date",
    "baselines": "frozen_on",
    "closed_exceptions": "",
}

_CHECKS: dict[str, dict[str, str]] = {
    "dig_returns": {
        "basis": "basis IN ('', 'measured', 'counted', 'weighed', 'estimated')",
        "nil_or_dug": "(nil_reason <> '') = (basis = '')",
        "not_negative": "bank_l >= 0 AND count >= 0 AND capacity_l >= 0 AND mass_kg >= 0",
        "lowest_not_above": "lowest_level_mm <= to_level_mm",
        "downward": "to_level_mm <= from_level_mm",
    },
    "belt_readings": {
        "totaliser": "totaliser_kg >= 0",
        "event": "event IN ('reading', 'reset', 'swap')",
    },
    "belt_checks": {
        "method": "method IN ('zero', 'material')",
        "reference": "reference_kg >= 0 AND (method <> 'zero' OR reference_kg = 0)",
    },
    "lorry_loads": {
        "weights": "net_kg >= 0 AND tare_kg >= 0 AND gross_kg >= tare_kg",
        "weight_basis": "weight_basis IN ('weighed', 'estimated', 'none')",
        "outcome": "outcome IN ('accepted', 'rejected')",
        "in_before_out": "gate_in_at <= gate_out_at",
    },
    "stock_counts": {"not_negative": "loose_l >= 0"},
    "site_reuse": {
        "basis": "basis IN ('bank', 'compacted', 'weighed')",
        "not_negative": "bank_l >= 0 AND compacted_l >= 0 AND mass_kg >= 0",
    },
    "transfer_notes": {
        "form": "form IN ('transfer', 'season', 'consignment')",
        "validity": "valid_from <= valid_to",
    },
    "reuse_declarations": {"declared": "declared_l > 0 OR declared_kg > 0"},
    "gate_traffic": {
        "direction": "direction IN ('in', 'out', 'both')",
        "hour": "hour BETWEEN 0 AND 23 AND vehicles > 0",
    },
    "gate_bookings": {
        "hours": "from_hour >= 0 AND from_hour < to_hour AND to_hour <= 24",
        "movements": "movements_in >= 0 AND movements_out >= 0",
    },
    "hold_releases": {"status": "status IN ('released', 'suspended', 'not released')"},
    "formation_steps": {
        "step": "step IN ('reached', 'inspected', 'blinded')",
        "area": "area_dm2 > 0",
    },
    "planned_stages": {
        "dates": "planned_start <= planned_finish",
        "amounts": "hold_days >= 0 AND design_l > 0",
    },
    "survey_surfaces": {"points": "points_used >= 0 AND points_in >= points_used"},
    "survey_checks": {"limits": "amber_permille > 0 AND red_permille >= amber_permille"},
    "receipts": {"accepted": "accepted_kg >= 0", "outcome": "outcome IN ('accepted', 'rejected')"},
    "baselines": {
        "payload": "payload_low_kg > 0 AND payload_low_kg <= payload_kg"
        " AND payload_kg <= payload_high_kg"
    },
}

_INDEXES: dict[str, tuple[tuple[str, ...], ...]] = {
    "dig_returns": (("zone", "lowest_level_mm"), ("zone", "work_date", "lowest_level_mm")),
    "belt_readings": (("work_date",),),
    "lorry_loads": (("gate_date",), ("registration", "gate_out_at")),
    "stock_counts": (("work_date",),),
    "gate_traffic": (("gate_date",),),
    "gate_bookings": (("gate_date",),),
    "receipts": (("ticket_issuer", "ticket_number"), ("receipt_date",)),
    "survey_levels": (("zone", "lowest_level_mm"),),
    "survey_surfaces": (("work_date",),),
}


def _payload_columns(cls: type[Entry]) -> list[Column[Any]]:
    hints = get_type_hints(cls)
    columns = []
    for f in fields(cls):
        if f.name == "entry_id":
            continue
        kind = hints[f.name]
        inner = next((t for t in getattr(kind, "__args__", ()) if t in _TYPES), None)
        columns.append(Column(f.name, _TYPES[kind if kind in _TYPES else inner], nullable=True))
    return columns


def _required(cls: type[Entry]) -> list[str]:
    """Columns that only a withdrawal may leave empty."""
    return [
        f.name
        for f in fields(cls)
        if f.default is MISSING and f.default_factory is MISSING and "None" not in str(f.type)
    ]


def _table(cls: type[Entry]) -> Table:
    present = " AND ".join(f"{name} IS NOT NULL" for name in _required(cls))
    checks = [
        CheckConstraint(f"action IN ('{RECORDED}', '{AMENDED}', '{WITHDRAWN}')", name="action"),
        CheckConstraint(f"action = '{WITHDRAWN}' OR ({present})", name="complete"),
        CheckConstraint(f"(action = '{RECORDED}') = (supersedes IS NULL)", name="chain"),
        CheckConstraint("supersedes IS NULL OR change_reason <> ''", name="reasoned"),
        *(CheckConstraint(sql, name=name) for name, sql in _CHECKS.get(cls.KIND, {}).items()),
    ]
    table = Table(
        cls.KIND,
        metadata,
        Column("entry_id", String(64), primary_key=True),
        Column("recorded_at", UtcStamp, nullable=False),
        Column("recorded_by", Text, nullable=False),
        Column("action", Text, nullable=False),
        Column("supersedes", String(64), ForeignKey(f"{cls.KIND}.entry_id")),
        Column("change_reason", Text, nullable=False),
        *_payload_columns(cls),
        *checks,
    )
    # Most entries supersede nothing: the index holds only those that do, each predecessor once.
    Index(
        f"uq_{cls.KIND}_supersedes",
        table.c.supersedes,
        unique=True,
        sqlite_where=table.c.supersedes.is_not(None),
        postgresql_where=table.c.supersedes.is_not(None),
    )
    Index(f"ix_{cls.KIND}_fact", *(table.c[name] for name in cls.UNIQUE))
    for names in _INDEXES.get(cls.KIND, ()):
        Index(f"ix_{cls.KIND}_{'_'.join(names)}", *(table.c[name] for name in names))
    return table


TABLES: dict[str, Table] = {kind: _table(cls) for kind, cls in KINDS.items()}

# Flagged loads are few: the index holds only them, so that a page never reads the rest.
Index(
    "ix_lorry_loads_flagged",
    TABLES["lorry_loads"].c.gate_date,
    sqlite_where=TABLES["lorry_loads"].c.flags != "",
    postgresql_where=TABLES["lorry_loads"].c.flags != "",
)

DAILY_TOTALS = Table(
    "daily_totals",
    metadata,
    Column("day", IsoDate, primary_key=True),
    Column("measure", Text, primary_key=True),
    Column("zone", Text, primary_key=True),
    Column("stage", Integer, primary_key=True, autoincrement=False),
    Column("stream", Text, primary_key=True),
    Column("route", Text, primary_key=True),
    Column("detail", Text, primary_key=True),
    Column("amount", BigInteger, nullable=False),
    sqlite_with_rowid=False,
)
Index("ix_daily_totals_measure", DAILY_TOTALS.c.measure, DAILY_TOTALS.c.day)
