"""Records: who wrote what, with every version, as known now or at an earlier moment."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import Any

from dash import Dash, Input, Output, State, ctx, dcc, html

from dashboard import theme
from dashboard.components import (
    Head,
    block,
    button,
    choice,
    date_field,
    mark,
    page,
    record_link,
    slot,
    table,
    text_field,
)
from dashboard.controls import exports, register_exports
from dashboard.desk import Desk
from dashboard.fields import readable_field
from dashboard.forms.writing import FORMS
from dashboard.ids import Records
from dashboard.returns.writing import RETURN
from tracker.errors import InputError
from tracker.recording.columns import KINDS
from tracker.statements import history_statement, records_statement
from tracker.statements.shapes import RecordLine, RecordsStatement

CHANGED_BY = {KINDS[form.kind].ledger_kind: form for form in (RETURN, *FORMS.values())}
PATH, NAME, SHORT = "/records", "Records", "Records"
STEP = 25
TITLES = {
    "setup_revisions": "Set-up revisions",
    **{kind.ledger_kind: kind.title for kind in KINDS.values()},
    "survey_surfaces": "Surveyed surfaces",
    "survey_checks": "Survey checks",
}


def layout(
    entry: str = "", kind: str = "", since: str = "", until: str = "", text: str = "", **_query: str
) -> html.Article:
    """The shell of the page; an address may name an entry, or what to search for."""
    kinds = [{"value": "", "label": "Every kind"}]
    kinds += [{"value": name, "label": title} for name, title in TITLES.items()]
    return page(
        NAME,
        dcc.Store(id=Records.ENTRY, data=entry),
        slot(Records.HISTORY),
        html.Div(
            [
                choice(Records.KIND, "Kind", data=kinds, value=kind),
                text_field(Records.TEXT, "Holds the words"),
                date_field(Records.SINCE, "From work date", value=since or None, clearable=True),
                date_field(Records.UNTIL, "To work date", value=until or None, clearable=True),
                date_field(Records.KNOWN_DATE, "As known on", clearable=True),
                text_field(Records.KNOWN_TIME, "at (UTC, HH:MM)"),
            ],
            className="search-fields no-print",
        ),
        html.Div(button("Search", Records.SEARCH, main=True), className="buttons no-print"),
        block("Entries", slot(Records.ROWS)),
        html.Div(button("Show more", Records.MORE), className="buttons no-print"),
        exports(Records.EXPORT, Records.DOWNLOAD),
    )


def register(app: Dash, desk: Desk) -> None:
    """Wire the page."""
    names = (
        Records.KIND,
        Records.TEXT,
        Records.SINCE,
        Records.UNTIL,
        Records.KNOWN_DATE,
        Records.KNOWN_TIME,
    )
    states = [State(name, "value") for name in names]
    register_exports(
        app,
        Records.EXPORT,
        Records.DOWNLOAD,
        [*states, State(Records.MORE, "n_clicks")],
        "records",
        lambda *values: found(desk, *values),
    )

    @app.callback(
        Output(Records.ROWS, "children"),
        Output(Records.KNOWN_TIME, "error"),
        Input(Records.SEARCH, "n_clicks"),
        Input(Records.MORE, "n_clicks"),
        *states,
    )
    def search(_search: int, more: int, *values: str | None):
        try:
            statement = found(desk, *values, more if ctx.triggered_id == Records.MORE else 0)
        except InputError as error:
            return [], str(error)
        return entry_rows(statement), None

    @app.callback(Output(Records.HISTORY, "children"), Input(Records.ENTRY, "data"))
    def show_history(entry: str):
        return history(history_statement(desk.ledger, entry)) if entry else None


def found(
    desk: Desk,
    kind: str | None,
    text: str | None,
    since: str | None,
    until: str | None,
    known_date: str | None,
    known_time: str | None,
    more: int = 0,
) -> RecordsStatement:
    """The entries that the fields ask for."""
    return records_statement(
        desk.ledger,
        kind=kind or "",
        text=(text or "").strip(),
        since=date.fromisoformat(since) if since else None,
        until=date.fromisoformat(until) if until else None,
        known_at=known_moment(known_date, known_time),
        limit=STEP * ((more or 0) + 1),
    )


def known_moment(day: str | None, clock: str | None) -> datetime | None:
    """The moment that the records are read as known at; the end of the day without a time.

    >>> known_moment("2026-10-20", "06:30")
    datetime.datetime(2026, 10, 20, 6, 30, tzinfo=datetime.timezone.utc)
    >>> known_moment(None, "") is None
    True
    """
    clock = (clock or "").strip()
    if not day:
        if clock:
            raise InputError("A time needs its date: pick the date, or clear the time.")
        return None
    try:
        at = time.fromisoformat(clock) if clock else time(23, 59, 59)
    except ValueError:
        raise InputError(f"“{clock}” is no time of day; write it as 06:30.") from None
    return datetime.combine(date.fromisoformat(day), at, UTC)


# --- what is shown -------------------------------------------------------------------------------
def found_words(statement: RecordsStatement) -> str:
    """How many were found, how many are shown, and as known when."""
    known = f" as known at {theme.moment(statement.as_known_at)}" if statement.as_known_at else ""
    return (
        f"{theme.number(statement.found)} entries found{known};"
        f" {theme.number(len(statement.lines))} shown, newest first"
    )


def entry_rows(statement: RecordsStatement) -> Any:
    """Entries as rows, each with the way to its versions."""
    rows = [
        (
            theme.day(line.work_date),
            TITLES.get(line.kind, line.kind),
            line.what,
            state(line),
            f"{line.recorded_by}, {theme.moment(line.recorded_at)}",
            record_link(line.entry_id, "Versions"),
        )
        for line in statement.lines
    ]
    heads = [
        Head("Work date", short=True),
        Head("Kind"),
        Head("What it says"),
        Head("State"),
        Head("Recorded by, at"),
        Head("History", short=True),
    ]
    return table(found_words(statement), heads, rows)


def state(line: RecordLine) -> Any:
    """Whether an entry stands, with the reason of a change."""
    if line.superseded_by:
        return mark("superseded", "")
    if line.action == "withdrawn":
        return mark(f"withdrawn: {line.reason}", "warning")
    if line.action == "amended":
        return mark(f"amended: {line.reason}", "planned")
    return "stands as recorded"


def history(statement: RecordsStatement) -> html.Section:
    """Every version of one entry, oldest first, and what may be done with the last."""
    last = statement.lines[-1]
    parts = [version(n, line) for n, line in enumerate(statement.lines, start=1)]
    return block(f"{TITLES.get(last.kind, last.kind)}: one entry", *parts, changes(last))


def version(number: int, line: RecordLine) -> html.Div:
    """One version with all its fields."""
    fields = [
        html.Div([html.Dt(name), html.Dd(text)])
        for name, text in (readable_field(*field) for field in line.fields)
    ]
    when = theme.moment(line.recorded_at)
    said = f"Version {number}, {line.action} by {line.recorded_by}, {when}"
    reason = [html.P(f"Reason: {line.reason}")] if line.reason else []
    return html.Div(
        [html.H3(said), html.P(line.what), *reason, html.Dl(fields, className="fields")],
        className="version",
    )


def changes(last: RecordLine) -> html.Div | None:
    """Ways to amend or withdraw an entry that stands and has a form."""
    form = CHANGED_BY.get(last.kind)
    if form is None or last.action == "withdrawn" or last.superseded_by:
        return None
    return html.Div(
        [
            dcc.Link(words, href=form.change_address(verb, last.entry_id), className="button")
            for words, verb in (("Amend …", "amend"), ("Withdraw …", "withdraw"))
        ],
        className="buttons no-print",
    )
