"""Files as rows: CSV and workbooks, whatever their encoding, separator or line ends."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tracker.errors import InputError, Problem
from tracker.recording.fields import Given

WORKBOOKS = (".xlsx", ".xlsm", ".xls", ".ods")
HELP_MARK = "#"  # begins the line of help that a template has under its headings
PROBLEM_COLUMN = "problem"  # what write_rejected adds; passed over when the file is sent again
_SEPARATORS = ",;\t"
Cells = Sequence[Given]


@dataclass(slots=True)
class Rows:
    """The rows of a file under their headings.

    `problems` are about the file as a whole; the file is not read further if one is an error.
    """

    file: str
    headings: tuple[str, ...] = ()
    problems: list[Problem] = field(default_factory=list)
    comma_is_decimal: bool = False
    total: int | None = None  # about how many rows, for a progress bar
    _lines: Iterator[tuple[int, Cells]] = field(default_factory=lambda: iter(()))

    @property
    def readable(self) -> bool:
        """Whether the rows can be read at all."""
        return bool(self.headings) and all(p.severity != "error" for p in self.problems)

    def __iter__(self) -> Iterator[tuple[int, Cells]]:
        """Row number and cells of every row that is not blank."""
        for number, cells in self._lines:
            if any(cells) or any(c not in (None, "") for c in cells):
                yield number, cells

    def misfit(self, cells: Cells) -> str:
        """What is wrong with the shape of a row, or empty."""
        width = len(self.headings)
        if len(cells) == width:
            return ""
        if len(cells) < width:
            return (
                f"The row has only {len(cells)} cells under {width} headings. It may be cut off:"
                " complete it, with empty cells where nothing is known."
            )
        if any(c not in (None, "") for c in cells[width:]):
            return (
                f"The row has {len(cells)} cells under {width} headings. A separator may stand"
                " inside a text, or a comma for a decimal point: put the text in double quotes,"
                " write the number as 1234.5."
            )
        return ""

    def refuse(self, message: str, row: int = 0, column: str = "", value: str = "") -> None:
        """Keep a problem that stops the file from being read."""
        self.problems.append(Problem(self.file, row, column, value, message))

    def warn(self, message: str, row: int = 0, column: str = "", value: str = "") -> None:
        """Keep a problem that does not stop the file from being read."""
        self.problems.append(Problem(self.file, row, column, value, message, "warning"))


def read_rows(path: str | Path, sheet: str = "") -> Rows:
    """The rows of a CSV file or of a workbook's sheet (the one of that name, else the first).

    Raises InputError if there is no such file or it is neither text nor a workbook.
    """
    path = Path(path)
    if not path.is_file():
        raise InputError(f"There is no file at {path}. Check its name.")
    if path.suffix.lower() in WORKBOOKS:
        sheets = read_workbook(path)
        name = sheet if sheet in sheets else next(iter(sheets))
        return rows_of(path.name, sheets[name])
    return _csv_rows(path)


def read_workbook(path: Path) -> dict[str, Sequence[Cells]]:
    """Every sheet of a workbook as its cells. Raises InputError if it cannot be opened."""
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        with CalamineWorkbook.from_path(str(path)) as book:
            return {
                name: book.get_sheet_by_name(name).to_python(skip_empty_area=False)
                for name in book.sheet_names
            }
    except (CalamineError, OSError, ValueError) as error:
        raise InputError(
            f"{path.name} cannot be opened as a workbook ({error}). Save it anew, or as CSV."
        ) from None


def rows_of(file: str, lines: Sequence[Cells]) -> Rows:
    """Rows from lines of cells, the first of which are the headings."""
    rows = Rows(file, total=len(lines))
    _take_lines(rows, iter(lines))
    return rows


def _csv_rows(path: Path) -> Rows:
    rows = Rows(path.name)
    text = _decoded(path.read_bytes(), rows)
    if not text.strip():
        rows.refuse("The file is empty. Its first line holds the headings.")
        return rows
    separator = _separator(text)
    rows.comma_is_decimal = separator == ";"
    rows.total = text.count("\n")
    # Held as bytes: a StringIO takes four for every letter, half a gigabyte for a million loads.
    lines = io.TextIOWrapper(io.BytesIO(text.encode()), encoding="utf-8", newline="")
    reader = csv.reader(lines, delimiter=separator)
    _take_lines(rows, _guarded(reader, rows))
    return rows


def _decoded(raw: bytes, rows: Rows) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace")
    if b"\x00" in raw:
        raise InputError(
            f"{rows.file} is not a text file. Give a CSV file, or a workbook that ends in .xlsx."
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        rows.warn(
            f"Line {line} is not UTF-8; the file is read as Windows-1252. Check names with accents"
            " and signs such as ³.",
            line,
        )
        return raw.decode("cp1252", errors="replace")


def _separator(text: str) -> str:
    """The separator of the headings: the one that occurs most outside quotes."""
    found = re.search(r"[^\r\n]*\S[^\r\n]*", text)
    heading = found[0] if found else ""
    outside = "".join(heading.split('"')[::2])
    return max(_SEPARATORS, key=outside.count)


def _guarded(reader: Iterator[list[str]], rows: Rows) -> Iterator[list[str]]:
    """The lines of a CSV; a line that the reader gives up on ends them, and is said."""
    number = 0
    while True:
        number += 1
        try:
            line = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            rows.refuse(
                f"The file cannot be read from here on ({error}). A double quote may be left open.",
                number,
            )
            return
        yield line


def _take_lines(rows: Rows, lines: Iterator[Cells]) -> None:
    """Take the headings off the lines, pass over the line of help, keep the rest."""
    numbered = enumerate(lines, start=1)
    for number, cells in numbered:
        if any(c not in (None, "") for c in cells):
            headings = [str(c or "").strip() for c in cells]
            while headings and not headings[-1]:
                headings.pop()
            rows.headings = tuple(headings)
            _check_headings(rows, number)
            break
    else:
        rows.refuse("The file is empty. Its first line holds the headings.")
        return
    rows._lines = _without_help(numbered)


def _check_headings(rows: Rows, number: int) -> None:
    for heading, count in Counter(rows.headings).items():
        if not heading:
            rows.refuse("A column has no heading. Name it or remove it.", number)
        elif count > 1:
            rows.refuse(f"The heading “{heading}” stands {count} times. Keep one.", number, heading)


def _without_help(lines: Iterator[tuple[int, Cells]]) -> Iterator[tuple[int, Cells]]:
    for place, (number, cells) in enumerate(lines):
        if place == 0 and cells and str(cells[0] or "").startswith(HELP_MARK):
            continue
        yield number, cells
