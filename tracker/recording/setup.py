"""The set-up from a folder of CSVs or a workbook, and its adoption as a revision with a date."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from tracker.domain.public_holidays import public_holidays
from tracker.domain.site import Site
from tracker.domain.site_levels import outline_problems
from tracker.domain.site_tables import parsed_tables, site_from_tables
from tracker.errors import InputError, Problem, UnknownName
from tracker.ledger.entries import SetupRevision
from tracker.ledger.store import Ledger
from tracker.recording.fields import text_of
from tracker.recording.files import import_file
from tracker.recording.setup_columns import SETUP
from tracker.recording.sheets import WORKBOOKS, Rows, read_rows, read_workbook, rows_of

Tables = dict[str, list[dict[str, str]]]
BASELINE_FILE = "baseline.csv"
YEARS_AHEAD = 2  # after the last planned one, of public holidays: work may run late


@dataclass(frozen=True, slots=True)
class Adopted:
    """What adopting a set-up did; `revision` is the id of its entry, None if it was refused."""

    revision: str | None
    effective_date: date | None = None
    new: bool = False  # False too if the same set-up was adopted before
    baselines: int = 0
    problems: tuple[Problem, ...] = ()


def read_setup(
    given: str | Path | Mapping[str, Sequence[Mapping[str, object]]],
) -> tuple[Site | None, Tables, list[Problem]]:
    """The site that a set-up states, its tables as text, and every problem of it at once.

    `given` is a folder with one CSV a table, a workbook with one sheet a table, or the tables. The
    site is None if a problem is an error. Raises InputError if there is nothing to read.
    """
    if isinstance(given, Mapping):
        tables, numbers, problems = _read_sheets(
            {name: _as_rows(name, rows) for name, rows in given.items()}
        )
    else:
        tables, numbers, problems = _read_sheets(_sheets(Path(given)))
    site, found = site_from_tables(tables)
    if site is not None and site.public_holidays:
        site, found = _with_public_holidays(site, tables)
    found += outline_problems(parsed_tables(tables)["zones"])
    problems += [_placed(p, numbers) for p in found]
    if any(p.severity == "error" for p in problems):
        site = None
    return site, tables, problems


def _with_public_holidays(site: Site, tables: Tables) -> tuple[Site | None, list[Problem]]:
    """Write the public holidays of the nation into the closures, and read the set-up again.

    They are recorded as rows, so that a later release of the library alters no history.
    """
    planned = [stage.planned_finish for stage in site.stages]
    until = date(max(planned).year + YEARS_AHEAD, 12, 31)
    try:
        found = public_holidays(site.nation, site.first_date, until)
    except UnknownName as error:
        return None, [Problem("site", 2, "public_holidays", "yes", str(error))]
    closures = tables.setdefault("closures", [])
    for day, name in found.items():
        if day not in site.closed_days:
            reason = f"public holiday ({site.nation}): {name}"
            closures.append({"day": day.isoformat(), "reason": reason})
    return site_from_tables(tables)


def _as_rows(name: str, rows: Sequence[Mapping[str, object]]) -> Rows:
    """A table in memory as the rows of a file under its headings."""
    headings = list(dict.fromkeys(column for row in rows for column in row))
    if not headings:
        return Rows(name)
    lines: list[list[Any]] = [headings, *([row.get(h) for h in headings] for row in rows)]
    return rows_of(name, lines)


def _read_sheets(
    sheets: Mapping[str, Rows],
) -> tuple[Tables, dict[str, list[int]], list[Problem]]:
    """The tables as text, the row numbers of each, and what is wrong with their shape."""
    tables: Tables = {}
    numbers: dict[str, list[int]] = {}
    problems: list[Problem] = []
    for name, rows in sheets.items():
        if name not in SETUP:
            problems.append(_unknown_table(name))
            continue
        known = {c.name for c in SETUP[name]}
        for heading in rows.headings:
            if heading not in known:
                said = str(UnknownName("column", heading, known))
                rows.refuse(said, 1, heading)
        tables[name], numbers[name] = [], []
        for number, cells in rows if rows.headings else ():
            misfit = rows.misfit(cells)
            if misfit:
                rows.refuse(misfit, number)
            tables[name].append(_texts(dict(zip(rows.headings, cells, strict=False))))
            numbers[name].append(number)
        problems += [replace(p, file=name) for p in rows.problems]
    return tables, numbers, problems


def _sheets(path: Path) -> dict[str, Rows]:
    if path.is_dir():
        files = sorted(p for p in path.iterdir() if p.suffix.lower() == ".csv")
        sheets = {p.stem: read_rows(p) for p in files if p.name != BASELINE_FILE}
        if not sheets:
            raise InputError(f"There is no CSV file in {path}. Put one there for each table.")
        return sheets
    if not path.is_file():
        raise InputError(f"There is no set-up at {path}. Give a folder of CSV files or a workbook.")
    if path.suffix.lower() not in WORKBOOKS:
        raise InputError(f"{path.name} is no set-up. Give a folder of CSV files or a workbook.")
    return {name: rows_of(name, lines) for name, lines in read_workbook(path).items() if lines}


def _unknown_table(name: str) -> Problem:
    said = str(UnknownName("table of the set-up", name, SETUP))
    return Problem(name, 0, "", "", f"{said} It is passed over.", "warning")


def _texts(row: Mapping[str, object]) -> dict[str, str]:
    """A row as text; a date or a time of a workbook as it is written here."""
    texts = {}
    for column, value in row.items():
        text = text_of(value).strip()
        if isinstance(value, datetime) and text.endswith(" 00:00:00"):
            text = text.removesuffix(" 00:00:00")
        if text:
            texts[column] = text
    return texts


def _placed(problem: Problem, numbers: Mapping[str, Sequence[int]]) -> Problem:
    """A problem with the row number that the file has, where blank lines or help stand between."""
    rows = numbers.get(problem.file, ())
    place = problem.row - 2
    return replace(problem, row=rows[place]) if 0 <= place < len(rows) else problem


def adopt_setup(
    ledger: Ledger,
    given: str | Path | Mapping[str, Sequence[Mapping[str, object]]],
    *,
    title: str,
    by: str,
    effective_date: date | None = None,
    now: datetime | None = None,
) -> Adopted:
    """Record a set-up as the revision in force from a work date on (None: its first date).

    The same tables with the same date are recorded once. A `baseline.csv` in the folder is recorded
    with it. Nothing is recorded if one of the problems is an error.
    """
    site, tables, problems = read_setup(given)
    if site is None:
        return Adopted(None, problems=tuple(problems))
    canonical = json.dumps(tables, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    digest = hashlib.sha256(canonical.encode()).hexdigest()
    starts = effective_date or site.first_date
    revision = SetupRevision(
        entry_id=f"setup-{digest[:24]}-{starts:%Y%m%d}",
        effective_date=starts,
        title=title.strip() or f"Set-up of {starts}",
        tables=canonical,
        digest=digest,
    )
    appended = ledger.append([revision], by=by)
    baselines = 0
    if not isinstance(given, Mapping) and (Path(given) / BASELINE_FILE).is_file():
        report = import_file(ledger, "baseline", Path(given) / BASELINE_FILE, by=by, now=now)
        baselines = report.recorded
        problems += report.problems
    return Adopted(revision.entry_id, starts, bool(appended.written), baselines, tuple(problems))
