"""What a file of records holds: rows good, there already and refused, each with its reasons."""

from __future__ import annotations

from collections import Counter
from typing import Any

from dash import dcc, html

from dashboard import theme
from dashboard.components import Head, button, key_figures, notice, table
from dashboard.ids import SpoilImport
from tracker.recording.columns import KINDS
from tracker.recording.files import ImportReport

MOST_ROWS = 50


def report_parts(report: ImportReport, is_recorded: bool, token: str) -> list[Any]:
    """The file in numbers, the rows refused, and what good rows should be looked at for."""
    done = ("Recorded", "in the ledger now") if is_recorded else ("Good", "nothing is recorded yet")
    good = (done[0], theme.number(report.recorded), done[1])
    heading = html.H2(f"What {report.file} holds", className="report-heading", tabIndex=-1)
    return [
        heading,
        headline(report, is_recorded),
        key_figures(
            [
                ("Rows", theme.number(report.rows), KINDS[report.kind].title.lower()),
                good,
                ("There already", theme.number(report.already), "left alone"),
                ("Refused", theme.number(len(report.rejected_rows)), "with reasons below"),
            ]
        ),
        *whole_file(report),
        *refused(report, token),
        *warnings(report),
    ]


def headline(report: ImportReport, is_recorded: bool) -> Any:
    """What was done, or can be."""
    one = report.recorded == 1
    good = f"{theme.number(report.recorded)} row{'' if one else 's'}"
    if is_recorded:
        kind = KINDS[report.kind].ledger_kind
        link = dcc.Link("See them in Records", href=f"/records?kind={kind}", className="link")
        return notice(f"{good} {'is' if one else 'are'} recorded.", link, meaning="done")
    if report.recorded:
        return html.P(f"{good} can be recorded.", className="headline")
    if report.already and not report.rejected_rows:
        return html.P("Every row is in the ledger already.", className="headline")
    return html.P("No row of this file can be recorded as it is.", className="headline")


def whole_file(report: ImportReport) -> list[Any]:
    """What is wrong with the file itself: headings, encoding."""
    rejected = {r.row for r in report.rejected_rows}
    said = [p.message for p in report.errors if p.row not in rejected]
    return [notice(words, meaning="breach") for words in dict.fromkeys(said)]


def refused(report: ImportReport, token: str) -> list[Any]:
    """The rows that stay out, each with its reasons, and all of them to mend and send again."""
    rows = report.rejected_rows
    if not rows:
        return []
    lines = [(str(r.row), " ".join(r.reasons)) for r in rows[:MOST_ROWS]]
    more = f", the first {MOST_ROWS} of {len(rows):,}" if len(rows) > MOST_ROWS else ""
    id = {"type": SpoilImport.REJECTED, "work": token}
    return [
        table(f"Rows refused{more}", [Head("Row", short=True), Head("Why")], lines),
        html.Div(button("Download the refused rows (CSV)", id), className="buttons"),
        html.P("Mend them there and send the file again: rows that are in stay as they are.",
               className="beside"),
    ]  # fmt: skip


def warnings(report: ImportReport) -> list[Any]:
    """What should be looked at in rows that are good, most frequent first."""
    if not report.warnings:
        return []
    found = Counter((p.field, p.message) for p in report.warnings)
    first = {}
    for p in report.warnings:
        first.setdefault((p.field, p.message), p.row)
    lines = [
        (theme.number(count), str(first[key]), f"{key[0]}: {key[1]}" if key[0] else key[1])
        for key, count in found.most_common(MOST_ROWS)
    ]
    heads = [Head("Rows", numeric=True), Head("First row", short=True), Head("What")]
    summary = html.Summary(f"{len(report.warnings):,} warnings of good rows")
    return [html.Details([summary, table("Warnings", heads, lines)], className="rows")]
