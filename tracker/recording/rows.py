"""From the fields of a row to an entry, with every problem of the row at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from tracker.errors import Problem
from tracker.ledger.entries import Entry
from tracker.recording.fields import Fields, Given, Sheet
from tracker.recording.rows_claims import read_baseline, read_closure
from tracker.recording.rows_gate import read_booking, read_traffic
from tracker.recording.rows_levels import read_hold, read_survey
from tracker.recording.rows_loads import read_load
from tracker.recording.rows_papers import read_declaration, read_note
from tracker.recording.rows_programme import read_formation, read_plan
from tracker.recording.rows_returns import read_return
from tracker.recording.rows_spoil import (
    read_belt,
    read_belt_check,
    read_receipt,
    read_reuse,
    read_stock,
)

_READERS: dict[str, Callable[[Fields], Entry | None]] = {
    "returns": read_return,
    "belt": read_belt,
    "belt_checks": read_belt_check,
    "loads": read_load,
    "stock": read_stock,
    "reuse": read_reuse,
    "notes": read_note,
    "declarations": read_declaration,
    "traffic": read_traffic,
    "bookings": read_booking,
    "holds": read_hold,
    "formation": read_formation,
    "plan": read_plan,
    "surveys": read_survey,
    "receipts": read_receipt,
    "baseline": read_baseline,
    "closures": read_closure,
}


def entry_from_fields(
    sheet: Sheet, given: Mapping[str, Given], number: int = 0
) -> tuple[Entry | None, list[Problem]]:
    """The entry that the fields of one row state, or None; and everything there is to say."""
    row = read_row(sheet, given, number)
    return row.entry, row.problems


def read_row(sheet: Sheet, given: Mapping[str, Given], number: int = 0) -> Fields:
    """One row read, with the entry it states, or without where it has failed."""
    row = Fields(sheet, given, number)
    row.entry = _READERS[sheet.kind.name](row)
    return row
