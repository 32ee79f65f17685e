"""Points from CSV and TXT, in a column order that somebody states; fast for millions of lines.

P point name, E easting, N northing, Z level, D description; X and Y are E and N.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from tracker.errors import InputError
from tracker.recording.points.parsed import Floats, Parsed, Progress, in_silence

ORDERS = ("ENZ", "NEZ", "PENZ", "PNEZ", "PENZD", "PNEZD")
SWAPPED = {"ENZ": "NEZ", "NEZ": "ENZ", "PENZ": "PNEZ", "PNEZ": "PENZ", "PENZD": "PNEZD",
           "PNEZD": "PENZD"}  # fmt: skip
_LONGEST_LINE = 4096
_BLOCK = 1 << 20
_LINES_AT_ONCE = 500_000
_HEADINGS = {
    "P": ("p", "point", "name", "id", "no", "pt"),
    "E": ("e", "x", "east", "easting", "easting_m", "east_m", "x_m"),
    "N": ("n", "y", "north", "northing", "northing_m", "north_m", "y_m"),
    "Z": ("z", "level", "elevation", "height", "rl", "h", "level_m", "z_m"),
    "D": ("d", "description", "code", "desc"),
}


@dataclass(frozen=True, slots=True)
class Layout:
    """How the lines of a text file are laid out."""

    encoding: str
    separator: str
    heading: tuple[str, ...]  # empty if the first line is a point
    first: tuple[str, ...]  # cells of the first point
    lines: int
    sha256: str
    skip: int  # lines before the first point

    @property
    def columns(self) -> int:
        """How many cells the first point has."""
        return len(self.first)


def order_named(text: str) -> str:
    """The column order as the readers know it. Raises InputError that lists the known ones."""
    order = text.strip().upper().replace(",", "").replace("X", "E").replace("Y", "N")
    if order not in ORDERS:
        raise InputError(
            f"Column order “{text}” is not known. Give one of XYZ, {', '.join(ORDERS)}.",
            field="order",
        )
    return order


def layout_of(path: Path) -> Layout:
    """Look through a file once: its hash, how many lines, how they are cut into columns.

    Raises InputError for a file that is empty, no text, or has a line of no sensible length.
    """
    told, lines, start, open_line = hashlib.sha256(), 0, b"", 0
    with path.open("rb") as file:
        while block := file.read(_BLOCK):
            told.update(block)
            start = start or block[: 16 * _LONGEST_LINE]
            lines += block.count(b"\n") or block.count(b"\r")
            last = max(block.rfind(b"\n"), block.rfind(b"\r"))
            open_line = open_line + len(block) if last < 0 else len(block) - last
            if open_line > _BLOCK:
                raise _long_line(path, lines + 1)
    encoding = _encoding(path, start)
    head = start.decode(encoding, errors="replace").lstrip("\ufeff").splitlines()
    for number, line in enumerate(head, 1):
        if len(line) > _LONGEST_LINE:
            raise _long_line(path, number)
    skip = next((n for n, t in enumerate(head) if t.strip() and not t.startswith("#")), -1)
    if skip < 0:
        raise InputError(f"{path.name} is empty: there is no point in it.", field="file")
    separator = _separator(head[skip : skip + 20])
    cells = _cells(head[skip], separator)
    heading = tuple(cells) if _is_heading(cells) else ()
    first = _cells(head[skip + 1], separator) if heading and len(head) > skip + 1 else cells
    return Layout(
        encoding,
        separator,
        heading,
        tuple(first),
        lines + 1,
        told.hexdigest(),
        skip + bool(heading),
    )


def orders_possible(layout: Layout) -> list[str]:
    """Orders that the file allows, likeliest first: by its headings, else by its columns."""
    named = "".join(
        next((key for key, names in _HEADINGS.items() if cell.lower().strip() in names), "?")
        for cell in layout.heading
    )
    if named in ORDERS:
        return [named]
    plain = ["ENZ", "NEZ"] if layout.columns <= 3 or layout.separator != "," else []
    if layout.columns >= 5:
        return ["PENZD", "PNEZD", *plain]
    return ["PENZ", "PNEZ", *plain] if layout.columns == 4 else ["ENZ", "NEZ"]


def read_text(
    path: Path, order: str, layout: Layout, progress: Progress = in_silence, most: int | None = None
) -> Parsed:
    """Points of a text file in the stated order; `most` reads the first lines only.

    Raises InputError that names the first line that is no point, and says why.
    """
    used = [order.index(column) for column in "ENZ"]
    if layout.columns < max(used) + 1:
        raise InputError(
            f"{path.name} has {layout.columns} columns; order {order} needs {max(used) + 1}."
            " State the order in which its columns stand.",
            field="order",
        )
    beyond = [cell for cell in layout.first[len(order) :] if _is_number(cell)]
    if beyond and layout.separator == "," and "D" not in order and not layout.heading:
        raise InputError(
            f"{path.name} has {layout.columns} columns where order {order} names {len(order)}. If"
            " commas stand for decimal points, write numbers as 1234.5; else give it headings.",
            field="order",
        )
    try:
        parts = list(_chunks(path, order, layout, most, progress))
    except (ValueError, OverflowError, pd.errors.ParserError) as error:
        raise _bad_line(path, order, layout, error) from None
    points = np.concatenate(parts) if parts else np.empty((0, 3))
    if not len(points):
        raise InputError(f"{path.name} has no points, only headings.", field="file")
    return Parsed(points=points)


def _chunks(
    path: Path, order: str, layout: Layout, most: int | None, progress: Progress
) -> Iterator[Floats]:
    """Points in portions. Raises ValueError or ParserError at a line that is none.

    A cell too many may be half of a number with a decimal comma: only a description may have more.
    """
    used = [order.index(column) for column in "ENZ"]
    names = list(range(max(len(order), layout.columns)))
    kinds: dict[int, Any] = {**dict.fromkeys(names, "str"), **dict.fromkeys(used, np.float64)}
    described = "D" in order
    done = 0
    with pd.read_csv(
        path,
        sep=r"\s+" if layout.separator == " " else layout.separator,
        header=None,
        names=names,
        usecols=used if described else None,  # with usecols, further cells are passed over
        index_col=False if described else None,
        dtype=kinds,
        skiprows=layout.skip,
        nrows=most,
        comment="#",
        encoding=layout.encoding,
        chunksize=_LINES_AT_ONCE,
        keep_default_na=False,
        skipinitialspace=True,
    ) as chunks:
        for chunk in chunks:
            part = np.ascontiguousarray(chunk[used].to_numpy(dtype=np.float64))
            if not np.all(np.isfinite(part)):
                raise ValueError("a cell is blank or no number")
            yield part
            done += len(part)
            progress(done, layout.lines)


def _long_line(path: Path, number: int) -> InputError:
    return InputError(
        f"{path.name}, line {number} is longer than {_LONGEST_LINE:,} characters: this is no file"
        " of one point a line. Export it again as text.",
        field="file",
    )


def _encoding(path: Path, start: bytes) -> str:
    if start.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if b"\x00" in start:
        raise InputError(
            f"{path.name} is no text file (it holds zero bytes). Give CSV or TXT, or name the file"
            " by its format: .las, .laz, .xml, .dxf.",
            field="file",
        )
    try:
        start[: len(start) - 4 if len(start) > 4 * _LONGEST_LINE else None].decode("utf-8-sig")
    except UnicodeDecodeError:
        return "cp1252"  # names of points in an older encoding; digits are the same
    return "utf-8-sig" if start.startswith(b"\xef\xbb\xbf") else "utf-8"


def _separator(lines: list[str]) -> str:
    text = [line for line in lines if line.strip()]
    for separator in (";", "\t", ","):
        if all(separator in line for line in text):
            return separator
    return " "


def _cells(line: str, separator: str) -> list[str]:
    cells = line.split() if separator == " " else line.split(separator)
    return [cell.strip().strip('"') for cell in cells]


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _is_heading(cells: list[str]) -> bool:
    known = {name for names in _HEADINGS.values() for name in names}
    return not any(_is_number(cell) for cell in cells) and (
        any(cell.lower() in known for cell in cells) or not any(c.isdigit() for c in "".join(cells))
    )


def _bad_line(path: Path, order: str, layout: Layout, error: Exception) -> InputError:
    """Find the line that stopped the fast reader, and say what is wrong with it."""
    used = [order.index(column) for column in "ENZ"]
    with path.open(encoding=layout.encoding, errors="replace", newline=None) as file:
        for number, line in enumerate(file, 1):
            if number <= layout.skip or not line.strip() or line.startswith("#"):
                continue
            if len(line) > _LONGEST_LINE:
                return _long_line(path, number)
            why = _wrong(_cells(line.split("#")[0], layout.separator), used, order, layout)
            if why:
                return InputError(f"{path.name}, line {number}: {why}", field="file")
    return InputError(f"{path.name} cannot be read as text ({error}). Export it again.")


def _wrong(cells: list[str], used: list[int], order: str, layout: Layout) -> str:
    names = {0: "easting", 1: "northing", 2: "level"}
    if len(cells) <= max(used):
        return f"only {len(cells)} cells where order {order} needs {max(used) + 1}. Complete it."
    for which, column in enumerate(used):
        cell = cells[column]
        if not cell:
            return f"the {names[which]} is blank. Fill it in, or delete the line."
        if not _is_number(cell):
            if "," in cell:
                return f"the {names[which]} “{cell}” has a comma. Write numbers as 1234.5."
            return f"the {names[which]} “{cell[:40]}” is not a number. Check the column order."
        if not np.isfinite(float(cell)):
            return f"the {names[which]} is “{cell}”. Delete points without a level."
    if "D" not in order and any(cells[max(len(order), layout.columns) :]):
        return (
            f"{len(cells)} cells where the first line has {layout.columns}. A comma may stand for a"
            " decimal point: write numbers as 1234.5."
        )
    return ""
