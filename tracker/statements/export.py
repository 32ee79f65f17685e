"""Statements as CSV, XLSX and JSON: the same tables, the same names, the basis with each."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict, fields, is_dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, get_args, get_type_hints

from tracker.statements.basis import Basis

if TYPE_CHECKING:
    import pandas as pd

UNCERTAINTY_NOTE = (
    "A column whose name begins with u_ is one standard uncertainty; twice that covers some 95 %."
)
DIGITS = 9  # of a number in a CSV or a workbook: more are left over from adding up, not recorded
FORMATS = ("csv", "xlsx", "json")
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def to_json(statement: Any) -> str:
    """The whole statement, dates as ISO text, its basis in sentences as `basis_lines`."""
    return json.dumps(as_data(statement), indent=2, ensure_ascii=False)


def as_data(statement: Any) -> dict[str, Any]:
    """The statement as plain values, ready for JSON."""
    data: dict[str, Any] = _plain(asdict(statement))
    basis = getattr(statement, "basis", None)
    if isinstance(basis, Basis):
        data |= {"basis_lines": list(basis.lines), "note": UNCERTAINTY_NOTE}
    return data


def tables(statement: Any) -> dict[str, list[dict[str, Any]]]:
    """Table name -> rows: every list of the statement, its single figures, and its basis.

    Lists within rows (the stages of a zone) become tables of their own.
    """
    out: dict[str, list[dict[str, Any]]] = {"figures": [{}]}
    for f in fields(statement):
        value = getattr(statement, f.name)
        if isinstance(value, Basis):
            lines = (*value.lines, *value.cautions, UNCERTAINTY_NOTE)
            out["basis"] = [{"line": line} for line in lines]
        elif isinstance(value, tuple):
            _add_rows(out, f.name, value)
        elif is_dataclass(value) and not isinstance(value, type):
            out[f.name] = [_flat(value)]
        else:
            out["figures"][0][f.name] = value
    return {name: rows for name, rows in out.items() if rows and rows[0]}


def frames(statement: Any) -> dict[str, pd.DataFrame]:
    """The tables of a statement as frames, for a notebook: dates as dates, units in the names."""
    import pandas as pd

    out = {name: pd.DataFrame(rows) for name, rows in tables(statement).items()}
    for frame in out.values():
        for column in frame.columns:
            if any(isinstance(value, date) for value in frame[column]):
                frame[column] = pd.to_datetime(frame[column])
    return out


def _add_rows(out: dict[str, list[dict[str, Any]]], name: str, rows: tuple[Any, ...]) -> None:
    for row in rows:
        if not is_dataclass(row):
            out.setdefault(name, []).append({name: _joined(row)})
            continue
        out.setdefault(name, []).append(_flat(row))
        for inner in _inner_tables(type(row)):
            known = {k: getattr(row, k) for k in ("zone",) if hasattr(row, k)}
            lines = [known | _flat(item) for item in getattr(row, inner)]
            out.setdefault(f"{name}_{inner}", []).extend(lines)


def _flat(row: Any) -> dict[str, Any]:
    inner = _inner_tables(type(row))
    return {f.name: _joined(getattr(row, f.name)) for f in fields(row) if f.name not in inner}


def _inner_tables(shape: type[Any]) -> tuple[str, ...]:
    """The fields of a row that hold rows themselves, whether or not there are any."""
    hints = get_type_hints(shape)
    return tuple(
        f.name for f in fields(shape) if is_dataclass(next(iter(get_args(hints[f.name])), None))
    )


def _joined(value: Any) -> Any:
    if isinstance(value, tuple):
        return "; ".join(str(_joined(v)) for v in value)
    return value


def to_csv(statement: Any) -> str:
    """Every table under its name, a blank line between them. Text never starts a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for name, rows in tables(statement).items():
        writer.writerow([name])
        writer.writerow(list(rows[0]))
        for row in rows:
            writer.writerow([_cell(value) for value in row.values()])
        writer.writerow([])
    return out.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, str) and value.startswith(_FORMULA_STARTS):
        return f"'{value}"
    return _rounded(value)


def _rounded(value: Any) -> Any:
    return float(f"{value:.{DIGITS}g}") if isinstance(value, float) else value


def to_xlsx(statement: Any) -> bytes:
    """One sheet a table, real numbers and dates, headings frozen, no formula."""
    import xlsxwriter

    out = io.BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "remove_timezone": True,
        "default_date_format": "yyyy-mm-dd",
    }
    with xlsxwriter.Workbook(out, options) as book:
        bold = book.add_format({"bold": True, "bottom": 1, "text_wrap": True})
        for name, rows in tables(statement).items():
            sheet = book.add_worksheet(name[:31])
            sheet.write_row(0, 0, list(rows[0]), bold)
            sheet.freeze_panes(1, 0)
            for number, row in enumerate(rows, start=1):
                sheet.write_row(number, 0, [_rounded(value) for value in row.values()])
            sheet.autofit()
    return out.getvalue()


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    if isinstance(value, date | datetime):
        return value.isoformat()
    return value
