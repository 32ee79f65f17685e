"""What statements ask of a ledger: sums of totals, lowest levels, decisions, flags, search.

Each takes `known_at`: None reads the running totals and current rows; a moment counts from the
entries as they were known then.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from operator import attrgetter
from typing import Any

from sqlalchemy import (
    Select,
    String,
    Table,
    bindparam,
    cast,
    func,
    literal,
    or_,
    select,
    type_coerce,
    union_all,
)
from sqlalchemy.sql.elements import ColumnElement

from tracker.ledger.entries import KINDS, DigReturn, HoldRelease, LorryLoad, Stored
from tracker.ledger.reads import LedgerReads, current_rows, entry_of, stored_of
from tracker.ledger.schema import DAILY_TOTALS, TABLES, WORK_DATE, IsoDate
from tracker.ledger.totals import Key

_COLUMNS = {c.name: c for c in DAILY_TOTALS.c} | {
    "month": func.substr(cast(DAILY_TOTALS.c.day, String), 1, 7)  # ISO text: YYYY-MM
}

LEVEL_KINDS = ("dig_returns", "survey_levels")


def summed(
    ledger: LedgerReads,
    measures: Sequence[str],
    by: Sequence[str] = (),
    *,
    since: date | None = None,
    until: date | None = None,
    known_at: datetime | None = None,
) -> dict[tuple[Any, ...], int]:
    """Totals by (measure, *by), between two dates inclusive. Keys with a sum of 0 are left out.

    `by` names columns of the totals, or `month` (text YYYY-MM).
    """
    if known_at is not None:
        return _summed_then(ledger, measures, by, since, until, known_at)
    columns = [_COLUMNS[name] for name in ("measure", *by)]
    query = select(*columns, func.sum(DAILY_TOTALS.c.amount)).where(
        DAILY_TOTALS.c.measure.in_(measures)
    )
    if since is not None:
        query = query.where(DAILY_TOTALS.c.day >= since)
    if until is not None:
        query = query.where(DAILY_TOTALS.c.day <= until)
    with ledger.reading() as conn:
        rows = conn.execute(query.group_by(*columns)).all()
        # Sorted here, since the databases would each sort text in their own order.
        return {tuple(row[:-1]): int(row[-1]) for row in sorted(rows) if row[-1]}


def _summed_then(
    ledger: LedgerReads,
    measures: Sequence[str],
    by: Sequence[str],
    since: date | None,
    until: date | None,
    known_at: datetime,
) -> dict[tuple[Any, ...], int]:
    sums: Counter[tuple[Any, ...]] = Counter()
    for key, amount in ledger.counted_totals(known_at).items():
        if key.measure in measures and (since or date.min) <= key.day <= (until or date.max):
            sums[tuple(part_of(key, name) for name in ("measure", *by))] += amount
    return {key: amount for key, amount in sorted(sums.items()) if amount}


def exceeded(
    ledger: LedgerReads,
    measures: Sequence[str],
    by: Sequence[str],
    limit: int,
    *,
    since: date,
    until: date,
    known_at: datetime | None = None,
) -> dict[tuple[Any, ...], int]:
    """Sums of the measures together, by columns of the totals, that are more than a limit."""
    if known_at is not None:
        sums: Counter[tuple[Any, ...]] = Counter()
        then = _summed_then(ledger, measures, by, since, until, known_at)
        for (_, *key), amount in then.items():
            sums[tuple(key)] += amount
        return {key: amount for key, amount in sums.items() if amount > limit}
    columns, total = [_COLUMNS[name] for name in by], func.sum(DAILY_TOTALS.c.amount)
    query = (
        select(*columns, total)
        .where(DAILY_TOTALS.c.measure.in_(measures), DAILY_TOTALS.c.day.between(since, until))
        .group_by(*columns)
        .having(total > limit)
    )
    with ledger.reading() as conn:
        return {tuple(row[:-1]): int(row[-1]) for row in conn.execute(query)}


def part_of(key: Key, name: str) -> Any:
    """The part of a total's key that a column or `month` names."""
    return f"{key.day:%Y-%m}" if name == "month" else getattr(key, name)


@dataclass(frozen=True, slots=True)
class LevelReport:
    """The level an entry reports for a zone [mm above site datum]."""

    entry_id: str
    kind: str
    work_date: date
    shift: str  # empty for a survey
    zone: str
    level_mm: int


def lowest_report(
    ledger: LedgerReads, zone: str, until: date, known_at: datetime | None = None
) -> LevelReport | None:
    """The deepest point that a return or a survey reports for a zone to a date; None if none."""
    asked = {"zone": zone, "until": until}
    with ledger.reading() as conn:
        rows = [conn.execute(_lowest(k, known_at), asked).first() for k in LEVEL_KINDS]
    found = [LevelReport(*row) for row in rows if row]
    return min(found, key=lambda report: report.level_mm, default=None)


def levels_below(
    ledger: LedgerReads,
    zone: str,
    level_mm: int,
    *,
    since: date,
    until: date,
    known_at: datetime | None = None,
) -> list[LevelReport]:
    """Reports of a zone between two dates whose lowest level is below a level."""
    asked = {"zone": zone, "since": since, "until": until, "level_mm": level_mm}
    with ledger.reading() as conn:
        return [LevelReport(*row) for row in conn.execute(_below(known_at), asked)]


# Built once and asked with values, since building these queries costs more than asking them.
@lru_cache(maxsize=64)
def _lowest(kind: str, known_at: datetime | None) -> Select[Any]:
    rows = _level_rows(kind, known_at).subquery()
    # Joined to nothing, the date is no index to start from: the index by level gives the deepest.
    day = type_coerce(rows.c.work_date, String).concat("")
    return (
        select(rows)
        .where(rows.c.zone == bindparam("zone"), day <= bindparam("until", type_=IsoDate))
        .order_by(rows.c.lowest_level_mm)
        .limit(1)
    )


@lru_cache(maxsize=64)
def _below(known_at: datetime | None) -> Select[Any]:
    rows = union_all(*(_level_rows(kind, known_at) for kind in LEVEL_KINDS)).subquery()
    return (
        select(rows)
        .where(
            rows.c.zone == bindparam("zone"),
            rows.c.work_date.between(bindparam("since"), bindparam("until")),
            rows.c.lowest_level_mm < bindparam("level_mm"),
        )
        .order_by(rows.c.work_date, rows.c.entry_id)
    )


def _level_rows(kind: str, known_at: datetime | None) -> Select[Any]:
    """The levels that entries of a kind report, as the fields of LevelReport."""
    rows = current_rows(TABLES[kind], known_at).subquery().c
    shift = rows["shift"] if "shift" in rows else literal("")
    return select(
        rows.entry_id,
        literal(kind).label("kind"),
        rows.work_date,
        shift.label("shift"),
        rows.zone,
        rows.lowest_level_mm,
    ).where(rows.lowest_level_mm.is_not(None))


def general_levels(
    ledger: LedgerReads,
    until: date,
    known_at: datetime | None = None,
    since: date = date.min,
) -> dict[str, int]:
    """Zone -> the general level its deepest return of a period ends at [mm above site datum]."""
    with ledger.reading() as conn:
        rows = current_rows(TABLES["dig_returns"], known_at).subquery()
        query = (
            select(rows.c.zone, func.min(rows.c.to_level_mm))
            .where(rows.c.work_date.between(since, until))
            .group_by(rows.c.zone)
        )
        return {row[0]: row[1] for row in conn.execute(query) if row[1] is not None}


def first_reached(
    ledger: LedgerReads,
    zone: str,
    level_mm: int,
    until: date,
    known_at: datetime | None = None,
) -> date | None:
    """The first work date on which a return of a zone ends at or below a level; None if none."""
    asked = {"zone": zone, "level_mm": level_mm, "until": until}
    with ledger.reading() as conn:
        return conn.execute(_first_reached(known_at), asked).scalar()


@lru_cache(maxsize=64)
def _first_reached(known_at: datetime | None) -> Select[Any]:
    rows = current_rows(TABLES["dig_returns"], known_at).subquery().c
    return select(func.min(rows.work_date)).where(
        rows.zone == bindparam("zone"),
        rows.to_level_mm <= bindparam("level_mm"),
        rows.work_date <= bindparam("until"),
    )


def returns_below(
    ledger: LedgerReads,
    zone: str,
    level_mm: int,
    until: date,
    known_at: datetime | None = None,
) -> list[DigReturn]:
    """Returns of a zone to a date whose general level ends below a level."""
    table = TABLES["dig_returns"]
    query = current_rows(table, known_at).where(
        table.c.zone == zone, table.c.to_level_mm < level_mm, table.c.work_date <= until
    )
    with ledger.reading() as conn:
        return [entry_of("dig_returns", row) for row in conn.execute(query)]


def hold_decisions(
    ledger: LedgerReads, until: date, known_at: datetime | None = None
) -> list[HoldRelease]:
    """Decisions on hold points to a date, in the order in which they were made."""
    decisions = ledger.current("hold_releases", known_at=known_at, until=until)
    return sorted(decisions, key=attrgetter("decided_at"))


def flagged_loads(
    ledger: LedgerReads, until: date, known_at: datetime | None = None
) -> list[LorryLoad]:
    """Loads to a date that broke a rule when they were recorded."""
    table = TABLES["lorry_loads"]
    query = current_rows(table, known_at).where(table.c.flags != "", table.c.gate_date <= until)
    with ledger.reading() as conn:
        return [entry_of("lorry_loads", row) for row in conn.execute(query)]


def closed_exceptions(
    ledger: LedgerReads, known_at: datetime | None = None
) -> set[tuple[str, str]]:
    """(rule, about) of every exception that was closed."""
    closed = ledger.current("closed_exceptions", known_at=known_at)
    return {(entry.rule, entry.about) for entry in closed}


def last_work_date(ledger: LedgerReads) -> date | None:
    """The latest day with anything counted on it, or surveyed; None for an empty ledger."""
    day, surveyed = DAILY_TOTALS.c.day, TABLES["survey_surfaces"]
    counted = select(day).where(DAILY_TOTALS.c.amount != 0).order_by(day.desc()).limit(1)
    latest = select(func.max(current_rows(surveyed).subquery().c.work_date))
    with ledger.reading() as conn:
        found = [conn.execute(query).scalar() for query in (counted, latest)]
    return max((on for on in found if on is not None), default=None)


def search(
    ledger: LedgerReads,
    kinds: Iterable[str],
    *,
    text: str = "",
    since: date | None = None,
    until: date | None = None,
    known_at: datetime | None = None,
    current_only: bool = False,
    limit: int = 50,
) -> tuple[int, list[Stored]]:
    """How many entries match, and the newest of them by work date, then by when recorded.

    `text` is looked for in every text column. What has no work date counts as of its recording.
    """
    count, found = 0, []
    with ledger.reading() as conn:
        for kind in kinds:
            table = TABLES[kind]
            if (since or until) and not WORK_DATE[kind]:
                continue
            query = current_rows(table, known_at) if current_only else select(table)
            query = _matching(query, table, text, since, until, known_at)
            count += conn.execute(select(func.count()).select_from(query.subquery())).scalar_one()
            rows = conn.execute(
                query.order_by(
                    _day_of(table).desc(), table.c.recorded_at.desc(), table.c.entry_id
                ).limit(limit)
            ).all()
            after = _successors(conn, table, [row.entry_id for row in rows], known_at)
            found += [stored_of(kind, row, after.get(row.entry_id)) for row in rows]
    found.sort(key=lambda stored: (_dated(stored), stored.recorded_at), reverse=True)
    return count, found[:limit]


def _day_of(table: Table) -> ColumnElement[str]:
    """The work date of a row, or the UTC day on which it was recorded, as text."""
    recorded = func.substr(cast(table.c.recorded_at, String), 1, 10)
    dated = WORK_DATE[table.name]
    return func.coalesce(cast(table.c[dated], String), recorded) if dated else recorded


def _matching(
    query: Select[Any],
    table: Table,
    text: str,
    since: date | None,
    until: date | None,
    known_at: datetime | None,
) -> Select[Any]:
    dated = WORK_DATE[table.name]
    if since:
        query = query.where(table.c[dated] >= since)
    if until:
        query = query.where(table.c[dated] <= until)
    if known_at is not None:
        query = query.where(table.c.recorded_at <= known_at)
    return query.where(*_holding(table, text))


def _holding(table: Table, text: str) -> list[ColumnElement[bool]]:
    """That a row holds every word of a text.

    The name of a column and the word after it ask for that column alone, as in `zone B`; a number
    is looked for as a level, a volume or a mass as well, as in `94.45`.
    """
    large = KINDS[table.name].LARGE
    texts = [c for c in table.c if isinstance(c.type, String) and c.name not in large]
    named = {column.name: column for column in texts}
    wholes = [c for c in table.c if c.name.endswith(("_mm", "_l", "_kg"))]
    found: list[ColumnElement[bool]] = []
    words = text.split()
    while words:
        word = words.pop(0)
        if word.lower() in named and words:
            found.append(func.lower(named[word.lower()]) == words.pop(0).lower())
            continue
        matches = [column.icontains(word, autoescape=True) for column in texts]
        if re.fullmatch(r"\d{1,12}(\.\d{1,3})?", word):
            matches += [column == round(float(word) * 1000) for column in wholes]
        found.append(or_(*matches))
    return found


def _successors(
    conn: Any, table: Table, ids: Sequence[str], known_at: datetime | None
) -> Mapping[str, str]:
    query = select(table.c.supersedes, table.c.entry_id).where(table.c.supersedes.in_(ids))
    if known_at is not None:
        query = query.where(table.c.recorded_at <= known_at)
    return {row[0]: row[1] for row in conn.execute(query)}


def _dated(stored: Stored) -> date:
    name = WORK_DATE[stored.kind]
    if stored.entry is None or not name:
        return stored.recorded_at.date()
    day: date = getattr(stored.entry, name)
    return day
