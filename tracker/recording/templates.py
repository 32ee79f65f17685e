"""Files to fill in, and files of what is recorded, in the same columns."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

from tracker.domain.written import safe_cell
from tracker.errors import InputError
from tracker.ledger.store import Ledger
from tracker.recording.columns import Column
from tracker.recording.entry import kind_of
from tracker.recording.setup_columns import OPTIONAL_TABLES, SETUP
from tracker.recording.sheets import HELP_MARK
from tracker.recording.texts import fields_of

# A workbook would turn these into numbers or dates: codes lose zeros, tickets become 1.2E+15.
_TEXT_WORDS = ("code", "number", "ticket", "note", "registration", "permit", "outline", "entry_id")
_COLUMN_WIDTH = 22


def template(kind: str, path: str | Path) -> Path:
    """Write an empty file of a kind, or of the whole `setup`, with help under each heading.

    A name ending in .xlsx makes a workbook; else a CSV, for `setup` a folder of them. The reader
    passes over the line of help. Raises UnknownName, InputError if it cannot be written there.
    """
    path = Path(path)
    tables = SETUP if kind == "setup" else {kind: kind_of(kind).columns}
    if path.suffix.lower() == ".xlsx":
        _write_workbook(path, tables)
    elif kind == "setup":
        for name, columns in tables.items():
            _write_csv(path / f"{name}.csv", columns, folder=True)
    else:
        _write_csv(path, tables[kind])
    return path


def export_entries(ledger: Ledger, kind: str, path: str | Path) -> int:
    """Write the current entries of a kind in the columns in which they can be imported again.

    Returns how many. Raises UnknownName, InputError if the file cannot be written.
    """
    columns = kind_of(kind)
    lines = [
        [safe_cell(text) for text in fields_of(entry).values()]
        for entry in ledger.current(columns.ledger_kind)
    ]
    if Path(path).suffix.lower() == ".xlsx":
        _write_workbook(Path(path), {kind: columns.columns}, lines)
    else:
        _write_csv(Path(path), columns.columns, lines)
    return len(lines)


def help_line(columns: Iterable[Column]) -> list[str]:
    """The line of help under the headings; its first cell begins with the mark."""
    texts = [c.help + (" (must be filled)" if c.required else "") for c in columns]
    return [f"{HELP_MARK} {texts[0]}", *texts[1:]]


def _write_csv(
    path: Path,
    columns: Sequence[Column],
    lines: Sequence[Sequence[str]] | None = None,
    *,
    folder: bool = False,
) -> None:
    try:
        if folder:
            path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("w", encoding="utf-8-sig", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow([c.name for c in columns])
            writer.writerows([help_line(columns)] if lines is None else lines)
    except OSError as error:
        raise InputError(f"{path} cannot be written ({error.strerror}). Choose another.") from None


def _write_workbook(
    path: Path,
    tables: dict[str, tuple[Column, ...]],
    lines: Sequence[Sequence[str]] | None = None,
) -> None:
    import xlsxwriter
    from xlsxwriter.exceptions import XlsxWriterException

    book = xlsxwriter.Workbook(str(path), {"strings_to_formulas": False, "strings_to_urls": False})
    bold = book.add_format({"bold": True, "bottom": 1})
    small = book.add_format({"italic": True, "font_color": "#555555", "text_wrap": True})
    as_text = book.add_format({"num_format": "@"})
    for name, columns in tables.items():
        sheet = book.add_worksheet(name)
        for place, column in enumerate(columns):
            kept_as_text = any(word in column.name for word in _TEXT_WORDS)
            sheet.set_column(place, place, _COLUMN_WIDTH, as_text if kept_as_text else None)
        sheet.write_row(0, 0, [c.name for c in columns], bold)
        if lines is None:
            sheet.write_row(1, 0, help_line(columns), small)
        for number, line in enumerate(lines or (), start=1):
            for place, text in enumerate(line):
                sheet.write_string(number, place, text)
        sheet.freeze_panes(1 if lines is not None else 2, 0)
        if name in OPTIONAL_TABLES:
            sheet.set_tab_color("#999999")
    try:
        book.close()
    except (XlsxWriterException, OSError):
        raise InputError(f"{path} cannot be written. Close it, or choose another place.") from None
