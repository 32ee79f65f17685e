"""Controls that several pages share, each with its wiring: the date, the exports, the width."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, dcc, html, no_update
from dash.exceptions import PreventUpdate

from dashboard.components import button, date_field
from dashboard.desk import Desk
from tracker.statements.export import to_csv, to_json, to_xlsx

FORMATS = {"csv": "CSV", "xlsx": "Workbook (XLSX)", "json": "JSON"}


@dataclass(frozen=True, slots=True)
class DateIds:
    """The ids of one date control."""

    date: str
    to_today: str
    to_yesterday: str
    earlier: str
    later: str


def date_control(ids: DateIds, label: str, help: str = "") -> html.Div:
    """A date with buttons for today, yesterday, and a day either way."""
    field = date_field(ids.date, label, description=help or None)
    return html.Div(
        [
            button("← Before", ids.earlier),
            html.Div(field, className="date-field"),
            button("After →", ids.later),
            html.Div(
                [button("Yesterday", ids.to_yesterday), button("Today", ids.to_today)],
                className="buttons",
            ),
        ],
        className="date-control no-print",
    )


def register_date(app: Dash, desk: Desk, ids: DateIds) -> None:
    """Let the buttons set the date; today when the page opens."""

    @app.callback(Output(ids.date, "value"), *_pressed(ids))
    def set_date(_today: int, _yesterday: int, _earlier: int, _later: int, value: str | None):
        return date_after(ids, ctx.triggered_id, value, desk.today())


def register_date_buttons(app: Dash, desk: Desk, ids: DateIds) -> None:
    """Let the buttons set a date that opens with another value than today; they stop there."""

    @app.callback(
        Output(ids.date, "value", allow_duplicate=True), *_pressed(ids), prevent_initial_call=True
    )
    def set_date(_today: int, _yesterday: int, _earlier: int, _later: int, value: str | None):
        today = desk.today()
        return min(date_after(ids, ctx.triggered_id, value, today), today.isoformat())


def _pressed(ids: DateIds) -> list[Any]:
    buttons = (ids.to_today, ids.to_yesterday, ids.earlier, ids.later)
    return [*(Input(name, "n_clicks") for name in buttons), State(ids.date, "value")]


def date_after(ids: DateIds, pressed: str | None, value: str | None, today: date) -> str:
    """The date after a button was pressed; today where there was none."""
    shown = date.fromisoformat(value) if value else today
    days = {ids.to_today: today, ids.to_yesterday: today - timedelta(days=1)}
    days |= {ids.earlier: shown - timedelta(days=1), ids.later: shown + timedelta(days=1)}
    return days.get(pressed or "", shown).isoformat()


def exports(export_id: str, download_id: str) -> html.Div:
    """Buttons that hand out the statement of the page."""
    buttons = [
        button(words, {"type": export_id, "format": name}) for name, words in FORMATS.items()
    ]
    return html.Div(
        [html.Span("Take it away:"), *buttons, dcc.Download(id=download_id)],
        className="buttons exports no-print",
    )


def register_exports(
    app: Dash,
    export_id: str,
    download_id: str,
    states: list[State],
    stem: str,
    answer: Callable[..., Any],
) -> None:
    """Send the statement that `answer` gives for the values of `states`."""

    @app.callback(
        Output(download_id, "data"),
        Input({"type": export_id, "format": ALL}, "n_clicks"),
        *states,
        prevent_initial_call=True,
    )
    def send(clicks: list[int | None], *values: Any):
        if not any(clicks) or not ctx.triggered_id:
            return no_update
        return download(answer(*values), ctx.triggered_id["format"], stem)


def download(statement: Any, kind: str, stem: str) -> dict[str, Any]:
    """A statement as a file."""
    if kind == "xlsx":
        return dcc.send_bytes(to_xlsx(statement), f"{stem}.xlsx")
    text = to_csv(statement) if kind == "csv" else to_json(statement)
    return dcc.send_string(text, f"{stem}.{kind}")


def pressed(clicks: int | None) -> None:
    """Stop a callback that ran only because its button came onto the page."""
    if not clicks:
        raise PreventUpdate


def as_date(value: str | None) -> date:
    """The date of a date field; a page waits until it has one."""
    if not value:
        raise PreventUpdate
    return date.fromisoformat(value[:10])


def as_width(value: int | None) -> int:
    """The width the browser measured; a chart waits until it has one."""
    if not value:
        raise PreventUpdate
    return int(value)
