"""Lost ground by cause: who owns it, and the returns behind each bar."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import Head, chart_note, record_link, table
from dashboard.figures.delays import delays_summary, owner_words
from tracker.statements.capacity_shapes import DelayStatement, GovernedShare

ALL_CAUSES = "all causes"
MOST_ROWS = 40


def delays_note(statement: DelayStatement) -> list[Any]:
    """The bars in a sentence, their rows, and how many shifts each cause governed."""
    tables = [cause_rows(statement), owner_rows(statement), governed_rows(statement.governed)]
    return chart_note(delays_summary(statement), html.Div(tables))


def causes(statement: DelayStatement) -> list[dict[str, str]]:
    """The causes whose returns may be asked for."""
    named = [{"value": line.cause, "label": line.name} for line in statement.lines]
    return [{"value": ALL_CAUSES, "label": "All causes"}, *named]


def cause_rows(statement: DelayStatement) -> Any:
    """The bars as rows."""
    rows = [
        (
            line.name,
            owner_words(line.owner),
            theme.number(line.lost_bank_m3),
            theme.percent(100.0 * line.share),
            theme.percent(100.0 * line.cumulative_share),
            theme.number(line.minutes),
            theme.number(line.shifts),
        )
        for line in statement.lines
    ]
    heads = [
        Head("Cause"),
        Head("Owner"),
        Head("Lost, m³ bank", True),
        Head("Share", True),
        Head("With all above", True),
        Head("Minutes", True),
        Head("Shifts of a zone", True),
    ]
    return table("Lost ground by cause", heads, rows)


def owner_rows(statement: DelayStatement) -> Any:
    """What the causes of each owner took."""
    rows = [
        (
            owner_words(one.owner),
            theme.number(one.lost_bank_m3),
            theme.percent(100.0 * one.share),
            theme.number(one.minutes),
        )
        for one in statement.owners
    ]
    heads = [Head("Owner"), Head("Lost, m³ bank", True), Head("Share", True), Head("Minutes", True)]
    return table("By owner of the cause", heads, rows)


def governed_rows(governed: Sequence[GovernedShare]) -> Any:
    """How many shifts of all zones were governed by one thing."""
    rows = [
        (one.words, theme.number(one.shifts), theme.percent(100.0 * one.share))
        for one in governed
        if not one.zone
    ]
    heads = [Head("Governed by"), Head("Shifts of a zone", True), Head("Share", True)]
    return table("What governed the shifts", heads, rows)


def return_rows(statement: DelayStatement, cause: str) -> Any:
    """The returns behind a bar, the latest first."""
    found = [row for row in statement.rows if cause in (ALL_CAUSES, row.cause)]
    found.sort(key=lambda row: (row.work_date, row.shift), reverse=True)
    names = {line.cause: line.name for line in statement.lines}
    rows = [
        (
            theme.day(row.work_date),
            row.shift,
            f"{row.zone}, stage {row.stage}",
            names.get(row.cause, row.cause),
            f"{row.minutes} of {row.shift_minutes}",
            f"{theme.number(row.rate_bank_m3_per_h, decimals=1)}, of {row.rate_of}",
            theme.number(row.lost_bank_m3, decimals=1),
            record_link(row.entry_id),
        )
        for row in found[:MOST_ROWS]
    ]
    heads = [
        Head("Work date"),
        Head("Shift"),
        Head("Zone"),
        Head("Cause"),
        Head("Minutes", True),
        Head("Rate, m³ bank an hour"),
        Head("Lost, m³ bank", True),
        Head("Return"),
    ]
    rest = len(found) - len(rows)
    more = html.P(f"{rest} earlier returns are in the export of Records.") if rest > 0 else None
    return [table("Returns with this delay, the latest first", heads, rows), more]
