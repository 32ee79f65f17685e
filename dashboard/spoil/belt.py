"""The belt on the page Spoil out: its readings, the checks of its weigher, the days without one."""

from __future__ import annotations

from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import Head, block, mark, record_link, table
from tracker.statements.spoil_shapes import CheckLine, ReadingLine, SpoilStatement

SHOWN = 14


def belt_panel(statement: SpoilStatement) -> html.Div:
    """Days without a reading first, then the checks of the weigher, then the readings."""
    return html.Div(
        [
            block("Days without a reading", *unread_days(statement)),
            block("Checks of the weigher", checks_table(statement.checks)),
            block("Readings", *readings_tables(statement.readings)),
        ]
    )


def unread_days(statement: SpoilStatement) -> list[Any]:
    """Days on which ground that goes by belt was dug and the belt was not read."""
    rows = [
        (
            theme.day(found.day),
            found.belt,
            found.stream,
            theme.number(found.dug_t),
            theme.number(found.lorries_t),
        )
        for found in statement.unread_days
    ]
    if not rows:
        return [html.P("The belt was read on every day on which its ground was dug.")]
    heads = [
        Head("Day"),
        Head("Belt"),
        Head("Stream"),
        Head("Dug, t", numeric=True),
        Head("Gone by lorry, t", numeric=True),
    ]
    words = "Read it for these days if the number was noted; else say so in the next reading."
    return [table("Ground dug, belt not read", heads, rows), html.P(words, className="beside")]


def checks_table(checks: tuple[CheckLine, ...]) -> Any:
    """Each check with its error against what is allowed."""
    rows = [
        (
            f"{theme.day(check.work_date)}, {check.belt}",
            check.method,
            theme.number(check.shown_t, decimals=3),
            theme.number(check.reference_t, decimals=3),
            error_words(check),
            theme.number(check.allowed_t, decimals=3),
            mark(check.verdict, "warning" if check.verdict.startswith("more") else ""),
            record_link(check.entry_id),
        )
        for check in reversed(checks)
    ]
    heads = [
        Head("Day, belt"),
        Head("Check"),
        Head("Counted, t", numeric=True),
        Head("Reference, t", numeric=True),
        Head("Error, t", numeric=True),
        Head("Allowed, t", numeric=True),
        Head("Verdict"),
        Head("Row", short=True),
    ]
    return table("Zero and material checks, newest first", heads, rows)


def error_words(check: CheckLine) -> str:
    """The error in tonnes, and in percent of the reference where there is one."""
    error = theme.number(check.error_t, decimals=3)
    return error if check.error_percent is None else f"{error} ({check.error_percent:+.1f} %)"


def readings_tables(readings: tuple[ReadingLine, ...]) -> list[Any]:
    """The newest readings, the older ones behind a disclosure."""
    newest = list(reversed(readings))
    first, rest = newest[:SHOWN], newest[SHOWN:]
    parts: list[Any] = [readings_table("Readings, newest first", first)]
    if rest:
        older = readings_table("Older readings", rest)
        parts.append(html.Details([html.Summary(f"{len(rest)} older readings"), older]))
    return parts


def readings_table(caption: str, readings: list[ReadingLine]) -> Any:
    """Readings with what was carried since the one before; a new count is marked."""
    rows = [
        (
            f"{theme.day(r.work_date)}, {r.shift}",
            r.belt,
            mark(r.event, "planned") if r.event != "reading" else r.event,
            theme.number(r.totaliser_t, decimals=1),
            theme.number(r.run_t, decimals=1),
            theme.number(r.running_h, decimals=1),
            theme.number(r.kwh),
            record_link(r.entry_id),
        )
        for r in readings
    ]
    heads = [
        Head("Work date, shift"),
        Head("Belt"),
        Head("What"),
        Head("Totaliser, t", numeric=True),
        Head("Carried, t", numeric=True),
        Head("Ran, h", numeric=True),
        Head("kWh", numeric=True),
        Head("Row", short=True),
    ]
    return table(caption, heads, rows)
