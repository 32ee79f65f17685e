"""Files of records into the ledger: good rows in, the others out with their reasons."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import Any

from tracker.domain.written import safe_cell
from tracker.errors import InputError, Problem, UnknownName
from tracker.ledger.entries import Entry
from tracker.ledger.store import Ledger
from tracker.recording.around import Around
from tracker.recording.columns import KINDS, Kind
from tracker.recording.fields import Fields, Given, Sheet, text_of
from tracker.recording.mapping import ColumnMapping, read_mapping
from tracker.recording.rows import read_row
from tracker.recording.setups import setups_of
from tracker.recording.sheets import PROBLEM_COLUMN, Cells, Rows, read_rows
from tracker.recording.texts import fields_of

BATCH_ROWS = 5000
Progress = Callable[[int, int | None], None]


@dataclass(frozen=True, slots=True)
class Rejected:
    """A row that stayed out, its cells as they came, and why."""

    row: int
    cells: Sequence[Given]
    reasons: tuple[str, ...]


@dataclass(slots=True)
class ImportReport:
    """What became of a file: rows = recorded + already + held_back + len(rejected_rows)."""

    kind: str
    file: str
    headings: tuple[str, ...] = ()
    rows: int = 0
    recorded: int = 0  # or that would be, where the file was only looked at
    already: int = 0
    held_back: int = 0  # good rows of a strict import that other rows kept out
    problems: list[Problem] = field(default_factory=list)
    rejected_rows: list[Rejected] = field(default_factory=list)

    @property
    def errors(self) -> list[Problem]:
        """The problems that kept rows out."""
        return [p for p in self.problems if p.severity == "error"]

    @property
    def warnings(self) -> list[Problem]:
        """The problems of rows that went in."""
        return [p for p in self.problems if p.severity != "error"]


class _Undo(Exception):
    """Takes back what a strict import, or one that only looks, has written."""


def import_file(
    ledger: Ledger,
    kind: str,
    path: str | Path,
    *,
    by: str,
    mapping: ColumnMapping | str | Path | None = None,
    strict: bool = False,
    dry_run: bool = False,
    now: datetime | None = None,
    progress: Progress | None = None,
) -> ImportReport:
    """Record the rows of a CSV or workbook; with `strict`, all of them or none.

    A row that is in the ledger already is counted and left alone, so that a file can be sent
    again, mended or longer. `mapping`, or its file, names other people's columns. With `dry_run`
    each batch of rows is taken in and undone at once, so that nobody who writes meanwhile waits
    long: the report says what would be recorded. Raises InputError for an unknown kind or a file
    that is none, NotEnoughData without a set-up.
    """
    columns = _kind(kind)
    rows = read_rows(path, kind)
    sheet = Sheet(
        columns,
        setups_of(ledger),
        now or datetime.now(UTC),
        file=rows.file,
        comma_is_decimal=rows.comma_is_decimal,
    )
    if isinstance(mapping, (str, Path)):
        mapping = read_mapping(mapping, columns)
    intake = _Intake(ledger, sheet, mapping or ColumnMapping(), by, dry_run=dry_run)
    intake.check_headings(rows)
    try:
        with ledger.writing() if strict and not dry_run else nullcontext():
            intake.take(rows, progress)
            if strict and intake.report.errors:
                raise _Undo
    except _Undo:
        intake.report.held_back, intake.report.recorded = intake.report.recorded, 0
    return intake.report


def _kind(name: str) -> Kind:
    if name not in KINDS:
        raise UnknownName("kind of record", name, KINDS)
    return KINDS[name]


class _Intake:
    """One file on its way in, batch by batch."""

    def __init__(
        self, ledger: Ledger, sheet: Sheet, mapping: ColumnMapping, by: str, *, dry_run: bool
    ) -> None:
        self._ledger = ledger
        self._sheet = sheet
        self._mapping = mapping
        self._mapped = bool(mapping.columns or mapping.constants)
        self._by = by
        self._dry_run = dry_run
        self._around = Around(ledger)
        self._facts: dict[tuple[Any, ...], int] = {}  # fact -> the row that states it
        self._ids: dict[str, int] = {}  # of rows that give their own; made ones differ as facts do
        self.report = ImportReport(sheet.kind.name, sheet.file)

    def check_headings(self, rows: Rows) -> None:
        """Say which headings are unknown or missing; a missing one stops the file."""
        self.report.headings = rows.headings
        ours = {c.name for c in self._sheet.kind.columns}
        theirs = set(rows.headings)
        if not rows.headings:
            return
        for heading in rows.headings:
            if not self._mapped and heading not in ours | {PROBLEM_COLUMN}:
                said = str(UnknownName("column", heading, ours))
                rows.warn(f"{said} It is passed over.", 1, heading)
        for source in sorted(self._mapping.sources - theirs):
            rows.refuse(str(UnknownName("column of the file", source, theirs)), 1, source)
        have = theirs | set(self._mapping.columns) | set(self._mapping.constants)
        for name in self._sheet.kind.required:
            if name not in have:
                rows.refuse(f"The column {name} is missing. Add it or map another to it.", 1, name)

    def take(self, rows: Rows, progress: Progress | None) -> None:
        """Take every row in or out; problems come in the order of the rows."""
        self.report.problems += rows.problems
        if not rows.readable:
            return
        told = len(rows.problems)
        lines = iter(rows)
        while batch := list(islice(lines, BATCH_ROWS)):
            self.report.rows += len(batch)
            self._take_batch(rows, batch)
            if progress:
                progress(self.report.rows, rows.total)
        self.report.problems += rows.problems[told:]  # found on the way, such as an open quote

    def _take_batch(self, rows: Rows, batch: Sequence[tuple[int, Cells]]) -> None:
        read = [self._read(rows, number, cells) for number, cells in batch]
        fresh = self._fresh([row for row in read if not row.failed])
        self._refuse_stated(fresh)
        fresh = [row for row in fresh if not row.failed]
        self._around.check(self._sheet.kind.name, fresh)
        entries = [row.entry for row in fresh if row.entry and not row.failed]
        self._append(entries)
        self.report.recorded += len(entries)
        for row, (number, cells) in zip(read, batch, strict=True):
            self.report.problems += row.problems
            if row.failed:
                reasons = tuple(_reason(p) for p in row.problems if p.severity == "error")
                self.report.rejected_rows.append(Rejected(number, cells, reasons))

    def _append(self, entries: Sequence[Entry]) -> None:
        """Record the entries; where the file is only looked at, take them back at once."""
        try:
            with self._ledger.writing():
                self._ledger.append(entries, by=self._by)
                if self._dry_run:
                    raise _Undo
        except _Undo:
            return

    def _read(self, rows: Rows, number: int, cells: Cells) -> Fields:
        given: Mapping[str, Given] = dict(zip(rows.headings, cells, strict=False))
        misfit = rows.misfit(cells)
        if misfit:
            row = Fields(self._sheet, given, number)
            row.wrong("", misfit)
            return row
        if self._mapped:
            given = self._mapping.apply(given)
        row = read_row(self._sheet, given, number)
        for name in self._mapping.required:
            if row.value(name) is None:
                theirs = " ".join(self._mapping.columns.get(name, (name,)))
                row.wrong(name, f"This must be filled here (column {theirs}).")
        if row.entry and not row.failed:
            self._refuse_repeated(row, row.entry)
        return row

    def _refuse_repeated(self, row: Fields, entry: Entry) -> None:
        """A fact stated, or an id given, in an earlier row of the same file."""
        fact = tuple(getattr(entry, name) for name in entry.UNIQUE)
        first = self._facts.setdefault(fact, row.number)
        if first == row.number and row.value("entry_id") is not None:
            first = self._ids.setdefault(entry.entry_id, row.number)
        if first != row.number:
            row.wrong(
                _telling_column(row), f"Row {first} states the same already. Keep one of them."
            )

    def _fresh(self, rows: Sequence[Fields]) -> list[Fields]:
        """The rows that are not in the ledger yet; the others are only counted."""
        by_id = {row.entry.entry_id: row for row in rows if row.entry}
        known = self._ledger.known_ids(self._sheet.kind.ledger_kind, list(by_id))
        self.report.already += len(known)
        for entry_id in known:
            row = by_id.pop(entry_id)
            row.problems = self._change_of(row)
        return list(by_id.values())

    def _change_of(self, row: Fields) -> list[Problem]:
        """What to say of a row whose own id is known although it now says something else."""
        assert row.entry
        if row.value("entry_id") is not None:
            stored = self._ledger.stored(row.entry.entry_id)
            if stored.entry and fields_of(stored.entry) != fields_of(row.entry):
                row.problems.clear()
                row.warn(
                    "entry_id",
                    "An entry of this id is recorded with other values; it stays as it is. Amend it"
                    " with a reason instead.",
                )
                return row.problems
        return []

    def _refuse_stated(self, rows: Sequence[Fields]) -> None:
        """Rows whose fact a current entry states under another id."""
        stated = self._ledger.duplicates([row.entry for row in rows if row.entry])
        for row in rows:
            stored = stated.get(row.entry.entry_id) if row.entry else None
            if row.entry and stored:
                row.wrong(
                    _telling_column(row),
                    f"This is recorded already with other values (entry {stored.entry_id},"
                    f" {stored.recorded_at:%Y-%m-%d %H:%M} UTC by {stored.recorded_by}). Amend that"
                    " entry with a reason instead.",
                )


def _telling_column(row: Fields) -> str:
    """The column that tells one fact of this kind from another best: the last given."""
    names = [name for name in row.entry.UNIQUE if row.given.get(name)] if row.entry else []
    return names[-1] if names else "entry_id"


def _reason(problem: Problem) -> str:
    return f"{problem.field}: {problem.message}" if problem.field else problem.message


def write_rejected(report: ImportReport, path: str | Path) -> None:
    """Write the rows that stayed out to a CSV, as they came, after a column with the reasons.

    Mend the rows and send the file again: the column of reasons is passed over. Raises InputError
    if the file cannot be written.
    """
    try:
        with Path(path).open("w", encoding="utf-8-sig", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow([PROBLEM_COLUMN, *report.headings])
            for rejected in report.rejected_rows:
                cells = [safe_cell(text_of(cell)) for cell in rejected.cells]
                writer.writerow([safe_cell(" ".join(rejected.reasons)), *cells])
    except OSError as error:
        raise InputError(f"{path} cannot be written ({error.strerror}). Choose another.") from None
