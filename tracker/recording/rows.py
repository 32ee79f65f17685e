"""From the fields of a row to an entry, with every problem of the row at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any
from uuid import UUID, uuid5

from tracker.errors import Problem
from tracker.ledger.entries import Entry, as_row
from tracker.recording.fields import Fields, Given, Sheet
from tracker.recording.rows_claims import read_baseline, read_closure
from tracker.recording.rows_levels import read_hold, read_survey
from tracker.recording.rows_loads import read_load
from tracker.recording.rows_returns import read_return
from tracker.recording.rows_spoil import read_belt, read_receipt, read_stock

_READERS: dict[str, Callable[[Fields], Entry | None]] = {
    "returns": read_return,
    "belt": read_belt,
    "loads": read_load,
    "stock": read_stock,
    "holds": read_hold,
    "surveys": read_survey,
    "receipts": read_receipt,
    "baseline": read_baseline,
    "closures": read_closure,
}
_NAMESPACE = UUID("6f2f3b0e-6a2b-5d6a-9b63-0c9a5d1c7e41")
_LONGEST_ID = 48


def entry_from_fields(
    sheet: Sheet, given: Mapping[str, Given], number: int = 0
) -> tuple[Entry | None, list[Problem]]:
    """The entry that the fields of one row state, or None; and everything there is to say."""
    row = read_row(sheet, given, number)
    return row.entry, row.problems


def read_row(sheet: Sheet, given: Mapping[str, Given], number: int = 0) -> Fields:
    """One row read, with the entry it states, or without where it has failed.

    Without an `entry_id` of its own the entry gets one made from what it says, so that the same
    row sent again, from the same place in the file or another, is the same entry.
    """
    row = Fields(sheet, given, number)
    entry = _READERS[sheet.kind.name](row)
    own_id = row.text("entry_id")
    if len(own_id) > _LONGEST_ID or not own_id.isascii():
        row.wrong("entry_id", f"An id has at most {_LONGEST_ID} plain letters and digits.")
    if entry is not None and not row.failed:
        source = f"{sheet.file} row {number}" if number else ""
        row.entry = replace(entry, entry_id=own_id or content_id(entry), source=source)
    return row


def content_id(entry: Entry) -> str:
    """An id made from what an entry says: equal for equal content, wherever it came from."""
    said = as_row(entry)
    for name in ("entry_id", "source", "flags"):  # not what the entry says
        said.pop(name, None)
    return uuid5(_NAMESPACE, repr((entry.KIND, *map(_plain, said.values())))).hex


def _plain(value: Any) -> Any:
    return value.isoformat() if hasattr(value, "isoformat") else value
