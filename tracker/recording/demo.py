"""Building the demonstration ledger from the packaged, invented site."""

from __future__ import annotations

import csv
from datetime import date
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.errors import InputError
from tracker.recording.files import import_file
from tracker.recording.setup import adopt_setup
from tracker.recording.surveys import SurveyQuestions, examine_survey, record_survey

if TYPE_CHECKING:
    from tracker.ledger.store import Ledger

DEMO_DAY = date(2026, 10, 27)  # the last day of the invented season
_BY, _TITLE = "demo", "Demonstration site"
# Holds come before the returns that they permit, loads before the receipts that answer them. Notes
# come after the loads, as papers do: a load that its note does not cover would be refused.
_RECORDS = (
    ("plan", "plan"),
    ("holds", "holds"),
    ("formation", "formation"),
    ("returns", "returns"),
    ("belt", "belt"),
    ("belt_checks", "belt_checks"),
    ("declarations", "declarations"),
    ("loads", "loads"),
    ("loads", "loads_late"),
    ("notes", "notes"),
    ("stock", "stock"),
    ("reuse", "reuse"),
    ("traffic", "traffic"),
    ("bookings", "bookings"),
    ("surveys", "surveys"),
    ("receipts", "receipts"),
    ("baseline", "baseline"),
    ("closures", "closures"),
)


def build_demo(ledger: Ledger) -> list[str]:
    """Adopt the invented set-up and import its season; built once, a second call adds nothing.

    Returns a line on each file, with the rows that the importer kept out. Raises InputError for a
    ledger of another site.
    """
    set_up = ledger.revisions()
    if set_up and set_up[0].title != _TITLE:
        raise InputError(
            f"This ledger has the set-up “{set_up[0].title}” and not that of the demonstration."
            " Give another file for the demonstration."
        )
    if set_up:
        return []
    lines = []
    with ledger.writing(), resources.as_file(resources.files("data_demo")) as folder:
        adopted = adopt_setup(ledger, folder / "setup", title=_TITLE, by=_BY)
        if adopted.revision is None:
            raise RuntimeError(f"the packaged demo set-up has problems: {adopted.problems}")
        for kind, stem in _RECORDS:
            report = import_file(ledger, kind, Path(folder / "records" / f"{stem}.csv"), by=_BY)
            out = [p for p in report.problems if p.severity == "error"]
            lines.append(
                f"{stem}.csv: {report.recorded:,} of {report.rows:,} rows recorded"
                + (f", {len(out)} problems kept out, such as: {out[0]}" if out else "")
            )
        lines += _surveyed(ledger, Path(folder / "surveys"))
    return lines


def _surveyed(ledger: Ledger, folder: Path) -> list[str]:
    """Record the point files of the invented surveyor, each with what he says of it."""
    lines = []
    with (folder / "surveys.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            asked = SurveyQuestions(
                path=folder / row["file"],
                survey=row["survey"],
                excavation=row["excavation"],
                surveyed_at=row["surveyed_at"],
                method=row["method"],
                order=row["order"],
                filter_ground=row["filter_ground"] == "yes",
            )
            examined = examine_survey(ledger, asked)
            record_survey(ledger, examined, by=_BY)
            used, of = examined.report.points_used, examined.report.points_in
            lines.append(f"{row['file']}: survey recorded from {used:,} of {of:,} points")
    return lines
