"""What loads are held against: notes by number, declarations, what was moved under them."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import case, func, select

from tracker.domain.haulage import usual_payload_t
from tracker.domain.site import Site
from tracker.ledger.entries import LorryLoad, ReuseDeclaration, TransferNote
from tracker.ledger.questions import summed
from tracker.ledger.reads import LedgerReads, current_rows, entry_of
from tracker.ledger.schema import TABLES

_AT_ONCE = 400  # names in one query


def notes_of(
    ledger: LedgerReads, numbers: Iterable[str], known_at: datetime | None = None
) -> dict[str, TransferNote]:
    """Note number -> the note, of those that are on record."""
    notes = _named(ledger, "transfer_notes", "note_number", numbers, known_at)
    return {note.note_number: note for note in notes}


def loads_under(
    ledger: LedgerReads, numbers: Iterable[str], known_at: datetime | None = None
) -> dict[str, list[LorryLoad]]:
    """Note number -> the loads that name it."""
    found: dict[str, list[LorryLoad]] = defaultdict(list)
    for load in _named(ledger, "lorry_loads", "transfer_note", numbers, known_at):
        found[load.transfer_note].append(load)
    return found


def _named(
    ledger: LedgerReads,
    kind: str,
    column: str,
    names: Iterable[str],
    known_at: datetime | None,
) -> list[Any]:
    """Entries of a kind whose column holds one of the names."""
    table, wanted, found = TABLES[kind], sorted(names), []
    with ledger.reading() as conn:
        for start in range(0, len(wanted), _AT_ONCE):
            some = wanted[start : start + _AT_ONCE]
            query = current_rows(table, known_at).where(table.c[column].in_(some))
            found += [entry_of(kind, row) for row in conn.execute(query)]
    return found


@dataclass(frozen=True, slots=True)
class NoteUse:
    """Loads of one day that name the same note, stream, carrier and destination."""

    note_number: str
    stream: str
    carrier: str
    destination: str
    gate_date: date
    loads: int  # those that carry on a rejected load left out: they go under the same note
    gate_out_at: datetime  # the first of them
    first_ticket: str


def note_uses(
    ledger: LedgerReads, since: date, until: date, known_at: datetime | None = None
) -> list[NoteUse]:
    """What went between two dates, by note (empty: none named), by date."""
    rows = current_rows(TABLES["lorry_loads"], known_at).subquery().c
    by = (rows.transfer_note, rows.stream, rows.carrier, rows.destination, rows.gate_date)
    query = (
        select(
            *by,
            func.sum(case((rows.reconsigned_from == "", 1), else_=0)),
            func.min(rows.gate_out_at),
            func.min(rows.ticket_number),
        )
        .where(rows.gate_date.between(since, until))
        .group_by(*by)
    )
    with ledger.reading() as conn:
        uses = [NoteUse(*row[:5], int(row[5]), *row[6:]) for row in conn.execute(query)]
    return sorted(uses, key=lambda use: (use.gate_date, use.note_number, use.stream))


def declarations_of(
    ledger: LedgerReads, stream: str, destination: str, known_at: datetime | None = None
) -> list[ReuseDeclaration]:
    """The re-use declarations of a stream to a destination."""
    where = {"stream": stream, "destination": destination}
    found: list[ReuseDeclaration] = ledger.current(
        "reuse_declarations", known_at=known_at, where=where
    )
    return found


def moved_kg(
    ledger: LedgerReads,
    streams: Collection[str],
    site_on: Callable[[date], Site],
    until: date | None = None,
    known_at: datetime | None = None,
) -> dict[tuple[date, str, str], int]:
    """(day, stream, route) -> what went by belt and by lorry [kg], by day.

    A load without a weight counts at the usual payload of its vehicle by the set-up of its day: a
    quantity that must not be passed is guarded on the high side.
    """
    moved: Counter[tuple[date, str, str]] = Counter()
    measures, by = ("belt_kg", "load_kg", "loads_no_weight"), ("day", "stream", "route", "detail")
    sums = summed(ledger, measures, by, until=until, known_at=known_at)
    for (measure, day, stream, route, vehicle), amount in sums.items():
        if stream in streams:
            without = measure == "loads_no_weight"
            each_kg = usual_payload_kg(site_on(day), vehicle, stream) if without else 1
            moved[day, stream, route] += amount * each_kg
    return dict(sorted(moved.items()))


def usual_payload_kg(site: Site, vehicle: str, stream: str) -> int:
    """What a load without a weight counts as [kg]."""
    return round(1000.0 * usual_payload_t(site, vehicle, stream))
