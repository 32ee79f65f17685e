"""Today: what needs somebody now."""

from __future__ import annotations

from typing import Any

import dash_mantine_components as dmc
from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, dcc, html, no_update
from dash.exceptions import PreventUpdate

from dashboard import theme
from dashboard.components import (
    basis_block,
    block,
    button,
    cautions,
    chart,
    chart_note,
    key_figures,
    long_table,
    mark,
    matrix,
    page,
    record_link,
    slot,
    text_field,
)
from dashboard.controls import (
    DateIds,
    as_date,
    as_width,
    date_control,
    exports,
    pressed,
    register_date,
    register_exports,
)
from dashboard.desk import Desk
from dashboard.figures.day import hours_figure, hours_summary, movements_of
from dashboard.ids import Shell, Today
from tracker.errors import InputError
from tracker.recording.entry import close_exception
from tracker.statements import day_statement
from tracker.statements.shapes import DayStatement, OpenException, ShiftLine

PATH, NAME, SHORT = "/", "Today", "Today"
DATES = DateIds(Today.DATE, Today.TO_TODAY, Today.TO_YESTERDAY, Today.EARLIER, Today.LATER)
STATES = {"received": "done", "nil": "", "missing": "warning", "due": ""}
SHOWN_WARNINGS = 20
ROLE_OF_WARNING = "such as temporary works coordinator"
ROLE_OF_BREACH = "A breach below the permitted level is closed by the temporary works coordinator."


def layout(**_query: str) -> html.Article:
    """The shell of the page."""
    return page(
        NAME,
        date_control(DATES, "Day"),
        html.P(id=Today.HEADLINE, className="headline"),
        slot(Today.BREACHES),
        slot(Today.FIGURES),
        block("Lowest level of each zone", slot(Today.LEVELS)),
        block("Shifts, yesterday and today", slot(Today.SHIFTS)),
        chart("Movements through the gate by hour", Today.HOURS, Today.HOURS_NOTE),
        block("Open exceptions", slot(Today.EXCEPTIONS)),
        slot(Today.BASIS),
        exports(Today.EXPORT, Today.DOWNLOAD),
        close_dialog(),
    )


def close_dialog() -> dmc.Modal:
    """The form that closes an exception: a reason and the role of who decides."""
    return dmc.Modal(
        [
            html.P(id=Today.CLOSE_WHAT),
            dcc.Store(id=Today.CLOSE_ABOUT),
            dmc.Textarea(
                id=Today.CLOSE_REASON,
                label="Why it is closed, and what was done",
                value="",
                autosize=True,
                minRows=3,
                required=True,
            ),
            text_field(
                Today.CLOSE_ROLE,
                "Role of who closes it",
                ROLE_OF_WARNING,
                required=True,
            ),
            text_field(Today.CLOSE_BY, "Your name or initials", required=True),
            button("Close with this reason", Today.CLOSE_SAVE, main=True),
        ],
        id=Today.CLOSE_DIALOG,
        title="Close an exception",
        opened=False,
        size="md",
        transitionProps={"duration": 0},
        closeButtonProps={"aria-label": "Leave without closing"},
    )


def register(app: Dash, desk: Desk) -> None:
    """Wire the page."""
    register_date(app, desk, DATES)
    register_exports(
        app,
        Today.EXPORT,
        Today.DOWNLOAD,
        [State(Today.DATE, "value")],
        "day",
        lambda day: day_statement(desk.ledger, as_date(day)),
    )

    @app.callback(
        output={
            "headline": Output(Today.HEADLINE, "children"),
            "breaches": Output(Today.BREACHES, "children"),
            "figures": Output(Today.FIGURES, "children"),
            "levels": Output(Today.LEVELS, "children"),
            "hours": Output(Today.HOURS, "figure"),
            "note": Output(Today.HOURS_NOTE, "children"),
            "shifts": Output(Today.SHIFTS, "children"),
            "exceptions": Output(Today.EXCEPTIONS, "children"),
            "basis": Output(Today.BASIS, "children"),
        },
        inputs=(
            Input(Today.DATE, "value"),
            Input(Shell.WIDTH, "data"),
            Input(Shell.CHANGED, "data"),
        ),
    )
    def show_day(day: str | None, width: int | None, _changed: Any) -> dict[str, Any]:
        return shown(day_statement(desk.ledger, as_date(day)), as_width(width))

    _register_dialog(app, desk)
    _register_closing(app, desk)


def _register_dialog(app: Dash, desk: Desk) -> None:
    asked = (Today.CLOSE_REASON, Today.CLOSE_ROLE, Today.CLOSE_BY)
    errors = [Output(name, "error", allow_duplicate=True) for name in asked]

    @app.callback(
        Output(Today.CLOSE_DIALOG, "opened"),
        Output(Today.CLOSE_ABOUT, "data"),
        Output(Today.CLOSE_WHAT, "children"),
        Output(Today.CLOSE_REASON, "value"),
        Output(Today.CLOSE_BY, "value"),
        Output(Today.CLOSE_ROLE, "description"),
        *errors,
        Input({"type": Today.CLOSE, "rule": ALL, "about": ALL}, "n_clicks"),
        State(Today.DATE, "value"),
        State(Shell.LAST, "data"),
        prevent_initial_call=True,
    )
    def open_dialog(clicks: list[int | None], day: str | None, last: dict | None):
        if not any(clicks):
            raise PreventUpdate
        found = exception_of(day_statement(desk.ledger, as_date(day)), **ctx.triggered_id)
        about = {"rule": found.rule, "about": found.about}
        by = (last or {}).get("by", desk.user)
        return True, about, found.sentence, "", by, role_help(found), None, None, None

    app.clientside_callback(
        ClientsideFunction("shell", "filled"),
        *errors,
        *(Input(name, "value") for name in asked),
        prevent_initial_call=True,
    )


def role_help(found: OpenException) -> str:
    """Who closes an exception of this kind."""
    return ROLE_OF_BREACH if found.severity == "breach" else ROLE_OF_WARNING


def _register_closing(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(Today.CLOSE_DIALOG, "opened", allow_duplicate=True),
        Output(Shell.CHANGED, "data", allow_duplicate=True),
        Output(Today.CLOSE_REASON, "error"),
        Output(Today.CLOSE_ROLE, "error"),
        Output(Today.CLOSE_BY, "error"),
        Input(Today.CLOSE_SAVE, "n_clicks"),
        State(Today.CLOSE_ABOUT, "data"),
        State(Today.CLOSE_REASON, "value"),
        State(Today.CLOSE_ROLE, "value"),
        State(Today.CLOSE_BY, "value"),
        prevent_initial_call=True,
        running=[(Output(Today.CLOSE_SAVE, "disabled"), True, False)],
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


def exception_of(statement: DayStatement, rule: str, about: str, **_type: str) -> OpenException:
    """The open exception that a button stands for. Raises InputError if it is open no more."""
    for found in (*statement.breaches, *statement.exceptions):
        if (found.rule, found.about) == (rule, about):
            return found
    raise InputError("This exception is closed already. Load the page again.")


# --- what is shown -------------------------------------------------------------------------------
def shown(statement: DayStatement, width_px: int) -> dict[str, Any]:
    """Every part of the page for one statement."""
    return {
        "headline": None if statement.breaches else statement.headline,
        "breaches": [exception_line(e) for e in statement.breaches],
        "figures": figures(statement),
        "levels": [*levels_table(statement), cautions(statement.basis)],
        "hours": hours_figure(statement.hours, statement.cap_hour, width_px),
        "note": hours_note(statement),
        "shifts": shifts_matrix(statement),
        "exceptions": exceptions_list(statement.exceptions),
        "basis": basis_block(statement.basis),
    }


def exception_line(found: OpenException) -> html.Div:
    """One open exception: its sentence, its row, and the way to close it."""
    breach = found.severity == "breach"
    rule = found.rule.replace("_", " ")
    parts = [
        html.P([mark("Breach" if breach else "Warning", found.severity), f" {rule}"]),
        html.P(found.sentence),
    ]
    link = (
        record_link(found.about)
        if found.kind
        else dcc.Link(
            "See the loads of that day",
            href=f"/records?kind=lorry_loads&since={found.work_date}&until={found.work_date}",
            className="link",
        )
    )
    close = button("Close …", {"type": Today.CLOSE, "rule": found.rule, "about": found.about})
    return html.Div(
        [*parts, html.Div([link, close], className="buttons")],
        className=f"exception {found.severity}",
    )


def exceptions_list(exceptions: tuple[OpenException, ...]) -> list[Any]:
    """The newest open warnings, the older ones behind a disclosure."""
    if not exceptions:
        return [html.P("No exception is open.", className="empty")]
    lines = [exception_line(e) for e in exceptions]
    if len(lines) <= SHOWN_WARNINGS // 4:
        return lines
    first, rest = lines[: SHOWN_WARNINGS // 4], lines[SHOWN_WARNINGS // 4 :]
    words = html.Summary(f"{len(rest)} older open exceptions")
    return [*first, html.Details([words, *rest], className="rows")]


def figures(statement: DayStatement) -> html.Dl:
    """The day in six numbers."""
    lines = statement.shifts
    day = [s for s in lines if s.work_date == statement.basis.as_of]
    received = sum(s.state in ("received", "nil") for s in day)
    due = sum(s.state == "due" for s in day)
    late = sum(s.state == "missing" for s in lines)
    busiest = max((movements_of(h) for h in statement.hours), default=0)
    gone = f"{statement.loads} loads, 2 movements each"
    return key_figures(
        [
            (
                "Returns in, this day",
                f"{received} of {len(day)}",
                f"{due} not due yet, {late} missing since yesterday",
            ),
            (
                "Movements, this day",
                of_cap(statement.movements + statement.other_movements, statement.cap_day),
                gate_words(statement),
            ),
            ("Busiest hour", of_cap(busiest, statement.cap_hour), "movements through the gate"),
            (
                "Dug, this day",
                theme.number(statement.bank_m3, "m³ bank"),
                theme.number(statement.mass_t, "t"),
            ),
            ("By belt", theme.number(statement.belt_t, "t"), "moist tonnes, weigher"),
            ("By lorry", theme.number(statement.lorry_t, "t"), gone),
        ]
    )


def gate_words(statement: DayStatement) -> str:
    """What the movements of the day are made of, what is booked, when the gate is open."""
    spoil, other, booked = (
        theme.number(n)
        for n in (statement.movements, statement.other_movements, statement.booked_movements)
    )
    made_of = f"{spoil} spoil, {other} other" if statement.other_movements else "all spoil"
    more = f", {booked} more booked" if statement.booked_movements else ""
    return f"{made_of}{more}; gate {statement.gate_window.removeprefix('gate ')}"


def of_cap(count: int, cap: int | None) -> str:
    """Movements beside their cap, with the words if over it."""
    if cap is None:
        return f"{theme.number(count)}, no cap set"
    return f"{theme.number(count)} of {theme.number(cap)}" + (", over cap" if count > cap else "")


def levels_table(statement: DayStatement) -> list[Any]:
    """Each zone's lowest level against its permitted level, and what the zones wait for."""
    rows = [
        (
            z.name,
            theme.level(z.lowest_level_m),
            theme.short_day(z.lowest_on)[:-5] or theme.NO_NUMBER,
            theme.level(z.permitted_level_m),
            standing(z.lowest_level_m, z.permitted_level_m, z.in_breach),
        )
        for z in statement.zones
    ]
    columns = ("Lowest", "On", "Permitted", "Standing")
    waits = [html.Li(f"{z.name}: {z.waits_for}") for z in statement.zones if z.waits_for]
    return [
        matrix("Levels, m above site datum", "Zone", columns, rows, words_last=True),
        html.Ul(waits, className="waits"),
    ]


def standing(lowest_m: float | None, permitted_m: float, in_breach: bool) -> Any:
    """How far above permitted, or the breach in words."""
    if lowest_m is None:
        return "no level yet"
    gap = theme.level(abs(lowest_m - permitted_m), "m")
    if in_breach:
        return mark(f"{gap} below permitted: stop and ask", "breach")
    return f"{gap} above permitted" if lowest_m > permitted_m else "at the permitted level"


def hours_note(statement: DayStatement) -> list[Any]:
    """The hours in a sentence, and as rows."""
    sentence = hours_summary(statement.hours, statement.cap_hour)
    return chart_note(sentence, hours_rows(statement))


def hours_rows(statement: DayStatement) -> Any:
    """Movements by hour as rows."""
    rows = [
        (
            f"{h.hour:02d}:00",
            *map(str, (h.movements_in, h.movements_out, h.other_in, h.other_out)),
            str(movements_of(h)),
        )
        for h in statement.hours
    ]
    heads = ("Local hour", "Spoil in", "Spoil out", "Other in", "Other out", "Movements")
    return long_table("Movements by hour", heads, rows)


def shifts_matrix(statement: DayStatement) -> Any:
    """Each shift of two days by zone: bank m³ dug, or the word for why not."""
    zones = list(dict.fromkeys(line.zone for line in statement.shifts))
    shifts = list(dict.fromkeys((line.work_date, line.shift) for line in statement.shifts))
    found = {(line.work_date, line.shift, line.zone): line for line in statement.shifts}
    rows = [
        (
            f"{theme.day(day)[:-5]}, {shift}",
            *(shift_cell(found.get((day, shift, zone))) for zone in zones),
        )
        for day, shift in shifts
    ]
    return matrix("Bank m³ of each return, by shift and zone", "Shift", zones, rows)


def shift_cell(line: ShiftLine | None) -> Any:
    """A number, or one of the words nil, missing, due."""
    if line is None:
        return ""
    if line.state == "received":
        return theme.number(line.bank_m3)
    return html.Span(mark(line.state, STATES.get(line.state, "")), title=line.detail)
