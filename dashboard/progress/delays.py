"""Lost ground by cause: who owns it, and the returns behind each bar; with its wiring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import dash_mantine_components as dmc
from dash import Dash, Input, Output, html
from dash.exceptions import PreventUpdate

from dashboard import theme
from dashboard.components import Head, block, chart_note, choice, graph, record_link, slot, table
from dashboard.desk import Desk
from dashboard.figures.delays import delays_figure, delays_summary, owner_words
from dashboard.ids import Progress
from dashboard.progress.waiting import asked, recent, waiting
from tracker.statements import delays_statement
from tracker.statements.capacity_shapes import DelayRow, DelayStatement, GovernedShare

LOST_SINCE = {"recent": "The last four weeks", "all": "The whole job"}
ALL_CAUSES = "all causes"
MOST_ROWS = 40


# --- the block and its wiring --------------------------------------------------------------------
def lost_block() -> html.Section:
    """The bars, with the choice of their period and of the returns behind them."""
    since = [{"value": value, "label": words} for value, words in LOST_SINCE.items()]
    title = "Lost ground by cause"
    return block(
        title,
        html.P("All excavations together: ground not dug in the coded minutes of returns."),
        dmc.SegmentedControl(
            id=Progress.LOST_SINCE, data=since, value="recent", className="segments no-print"
        ),
        graph(Progress.LOST, title, waiting("the causes")),
        slot(Progress.LOST_NOTE),
        html.Div(choice(Progress.CAUSE, "Returns with"), className="wide-choice no-print"),
        slot(Progress.RETURNS),
        className="chart-block screen-only",
    )


def register_lost(app: Dash, desk: Desk) -> None:
    """Draw the bars of the period, and let a bar or a choice open its returns."""

    def delays_of(day: date, since: str | None):
        return desk.stated(delays_statement, day, since=recent(day, since or ""))

    @app.callback(
        Output(Progress.LOST, "figure"),
        Output(Progress.LOST_NOTE, "children"),
        Output(Progress.CAUSE, "data"),
        Input(Progress.LOST_SEEN, "data"),
        Input(Progress.LOST_SINCE, "value"),
        prevent_initial_call=True,
    )
    def show_lost(data: dict[str, Any] | None, since: str | None):
        of = asked(data)
        statement = delays_of(of.day, since)
        figure = delays_figure(statement, of.width_px)
        return figure, delays_note(statement), causes(statement)

    @app.callback(
        Output(Progress.CAUSE, "value"),
        Input(Progress.LOST, "clickData"),
        prevent_initial_call=True,
    )
    def choose_cause(click: dict | None):
        if not click:
            raise PreventUpdate
        return click["points"][0]["customdata"][0]

    @app.callback(
        Output(Progress.RETURNS, "children"),
        Input(Progress.CAUSE, "value"),
        Input(Progress.LOST_SINCE, "value"),
        Input(Progress.LOST_SEEN, "data"),
        prevent_initial_call=True,
    )
    def show_returns(cause: str | None, since: str | None, data: dict[str, Any] | None):
        of = asked(data)
        return return_rows(delays_of(of.day, since), cause) if cause else None


# --- what is shown -------------------------------------------------------------------------------
def delays_note(statement: DelayStatement) -> list[Any]:
    """The bars in a sentence, their rows, and how many shifts each cause governed."""
    tables = [cause_rows(statement), owner_rows(statement), governed_rows(statement.governed)]
    lead = html.P(statement.headline)
    return [lead, *chart_note(delays_summary(statement), html.Div(tables))]


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
            theme.number(line.busy_minutes) if line.busy_minutes else "",
        )
        for line in statement.lines
    ]
    heads = [
        Head("Cause"),
        Head("Owner, by the set-up"),
        Head("Lost, m³ bank", True),
        Head("Share", True),
        Head("With all above", True),
        Head("Minutes", True),
        Head("Shifts of a zone", True),
        Head("Crews at work elsewhere, minutes", True),
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
            cause_words(row, names),
            f"{row.minutes} of {row.shift_minutes}",
            rate_words(row),
            "none: crews elsewhere" if row.busy else theme.number(row.lost_bank_m3, decimals=1),
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


def cause_words(row: DelayRow, names: Mapping[str, str]) -> str:
    """The cause by the return; beside it the line that it counts in, where that is another."""
    coded = row.coded or row.cause
    called = names.get(coded, coded)
    return called if coded == row.cause else f"{called} ({names.get(row.cause, row.cause)})"


def rate_words(row: DelayRow) -> str:
    """The rate of digging with what it is taken from, and which stage waited."""
    rate = f"{theme.number(row.rate_bank_m3_per_h, decimals=1)}, of {row.rate_of}"
    waited = row.rate_stage and row.rate_stage != row.stage
    return f"{rate}; stage {row.rate_stage} waited" if waited else rate
