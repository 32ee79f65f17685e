"""Open exceptions as a list, and the form that closes one: a reason, a role, a name."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any
from urllib.parse import urlencode

import dash_mantine_components as dmc
from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, dcc, html, no_update
from dash.exceptions import PreventUpdate

from dashboard import theme
from dashboard.components import button, mark, record_link, text_field
from dashboard.controls import as_date, pressed
from dashboard.desk import Desk
from dashboard.ids import Shell, SpoilClose, TodayClose
from tracker.errors import InputError
from tracker.recording.entry import close_exception
from tracker.statements.shapes import OpenException

CloseIds = type[TodayClose] | type[SpoilClose]
MARKS = {"breach": "Breach", "serious": "Serious", "warning": "Warning"}
SHOWN = 5  # of what is beyond a limit; the rest, and each other rule, behind a disclosure


def close_dialog(ids: CloseIds) -> dmc.Modal:
    """The form that closes an exception."""
    return dmc.Modal(
        [
            html.P(id=ids.WHAT),
            dcc.Store(id=ids.ABOUT),
            dmc.Textarea(
                id=ids.REASON,
                label="Why it is closed, and what was done",
                value="",
                autosize=True,
                minRows=3,
                required=True,
            ),
            text_field(ids.ROLE, "Role of who closes it", role_help("the site"), required=True),
            text_field(ids.BY, "Your name or initials", required=True),
            button("Close with this reason", ids.SAVE, main=True),
        ],
        id=ids.DIALOG,
        title="Close an exception",
        opened=False,
        size="md",
        transitionProps={"duration": 0},
        closeButtonProps={"aria-label": "Leave without closing"},
    )


def role_help(role: str) -> str:
    """Who usually closes an exception of this kind."""
    return f"Usually closed by: {role}."


# --- the list ------------------------------------------------------------------------------------
def exceptions_list(exceptions: Sequence[OpenException], ids: CloseIds) -> list[Any]:
    """The serious ones first; then each rule with its count, its lines behind a disclosure."""
    if not exceptions:
        return [html.P("No exception is open.", className="empty")]
    serious = [e for e in exceptions if e.severity != "warning"]
    parts = [exception_line(e, ids) for e in serious[:SHOWN]]
    if len(serious) > SHOWN:
        rest = [exception_line(e, ids) for e in serious[SHOWN:]]
        parts.append(_behind(f"{len(rest)} more beyond a limit or without papers", rest))
    warnings = [e for e in exceptions if e.severity == "warning"]
    return [*parts, *_by_rule(warnings, ids)]


def _by_rule(warnings: Sequence[OpenException], ids: CloseIds) -> list[Any]:
    groups = []
    for rule in dict.fromkeys(e.rule for e in warnings):
        of_rule = [e for e in warnings if e.rule == rule]
        oldest = min(e.work_date for e in of_rule)
        words = (
            f"{rule_words(rule).capitalize()}: {len(of_rule)}, the oldest since"
            f" {theme.short_day(oldest)}; usually closed by: {of_rule[0].closes}"
        )
        groups.append(_behind(words, [exception_line(e, ids) for e in of_rule]))
    return groups


def _behind(words: str, lines: Sequence[Any]) -> html.Details:
    return html.Details([html.Summary(words), *lines], className="rows")


def rule_words(rule: str) -> str:
    """The name of a rule as people read it."""
    return rule.replace("_", " ")


def exception_line(found: OpenException, ids: CloseIds) -> html.Div:
    """One open exception: its sentence, since when, its records, and the way to close it."""
    close = button("Close …", {"type": ids.PRESSED, "rule": found.rule, "about": found.about})
    since = f" {rule_words(found.rule)}, since {theme.short_day(found.work_date)}"
    return html.Div(
        [
            html.P([mark(MARKS[found.severity], _meaning(found.severity)), since]),
            html.P(found.sentence),
            html.Div([records_link(found), close], className="buttons"),
        ],
        className=f"exception {found.severity}",
    )


def _meaning(severity: str) -> str:
    return "warning" if severity == "warning" else "breach"


def records_link(found: OpenException) -> Any:
    """The way to the records behind an exception."""
    if found.kind:
        return record_link(found.about)
    if found.look_for:
        query = {"text": found.look_for}
    else:
        day = found.work_date.isoformat()
        query = {"kind": "lorry_loads", "since": day, "until": day}
    return dcc.Link("See its records", href=f"/records?{urlencode(query)}", className="link")


# --- closing -------------------------------------------------------------------------------------
def register_closing(
    app: Dash,
    desk: Desk,
    ids: CloseIds,
    day: State,
    open_on: Callable[[Any], Sequence[OpenException]],
) -> None:
    """Wire the form. `open_on` gives what is open on the day that the state of `day` holds."""
    asked = (ids.REASON, ids.ROLE, ids.BY)
    errors = [Output(name, "error", allow_duplicate=True) for name in asked]

    @app.callback(
        Output(ids.DIALOG, "opened"),
        Output(ids.ABOUT, "data"),
        Output(ids.WHAT, "children"),
        Output(ids.REASON, "value"),
        Output(ids.BY, "value"),
        Output(ids.ROLE, "description"),
        *errors,
        Input({"type": ids.PRESSED, "rule": ALL, "about": ALL}, "n_clicks"),
        day,
        State(Shell.LAST, "data"),
        prevent_initial_call=True,
    )
    def open_dialog(clicks: list[int | None], on: str | None, last: dict | None):
        if not any(clicks):
            raise PreventUpdate
        found = exception_of(open_on(as_date(on)), **ctx.triggered_id)
        about = {"rule": found.rule, "about": found.about}
        by = (last or {}).get("by", desk.user)
        return True, about, found.sentence, "", by, role_help(found.closes), None, None, None

    app.clientside_callback(
        ClientsideFunction("shell", "filled"),
        *errors,
        *(Input(name, "value") for name in asked),
        prevent_initial_call=True,
    )
    _register_saving(app, desk, ids)


def _register_saving(app: Dash, desk: Desk, ids: CloseIds) -> None:
    @app.callback(
        Output(ids.DIALOG, "opened", allow_duplicate=True),
        Output(Shell.CHANGED, "data", allow_duplicate=True),
        Output(ids.REASON, "error"),
        Output(ids.ROLE, "error"),
        Output(ids.BY, "error"),
        Input(ids.SAVE, "n_clicks"),
        State(ids.ABOUT, "data"),
        State(ids.REASON, "value"),
        State(ids.ROLE, "value"),
        State(ids.BY, "value"),
        prevent_initial_call=True,
        running=[(Output(ids.SAVE, "disabled"), True, False)],
    )
    def save(clicks: int, about: dict, reason: str, role: str, by: str):
        pressed(clicks)
        wanted = missing(reason, role, by)
        if any(wanted):
            return True, no_update, *wanted
        close_exception(desk.ledger, **about, reason=reason, closed_by=role, by=by)
        return False, f"closed {clicks} {about['about']}", None, None, None


def missing(reason: str, role: str, by: str) -> tuple[str | None, str | None, str | None]:
    """A sentence for each of the three that is blank."""
    return (
        None if (reason or "").strip() else "Say why it is closed and what was done.",
        None if (role or "").strip() else "Say in which role you close it.",
        None if (by or "").strip() else "Write your name or initials.",
    )


def exception_of(
    exceptions: Sequence[OpenException], rule: str, about: str, **_type: str
) -> OpenException:
    """The open exception that a button stands for. Raises InputError if it is open no more."""
    for found in exceptions:
        if (found.rule, found.about) == (rule, about):
            return found
    raise InputError("This exception is closed already. Load the page again.")
