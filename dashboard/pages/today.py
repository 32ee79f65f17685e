"""Today: what needs somebody now."""

from __future__ import annotations

from typing import Any

from dash import Dash, Input, Output, State, dcc, html

from dashboard import theme
from dashboard.closing import close_dialog, exception_line, exceptions_list, register_closing
from dashboard.components import (
    basis_block,
    block,
    cautions,
    chart,
    chart_note,
    key_figures,
    long_table,
    mark,
    matrix,
    page,
    slot,
)
from dashboard.controls import (
    DateIds,
    as_date,
    as_width,
    date_control,
    exports,
    register_date,
    register_exports,
)
from dashboard.desk import Desk
from dashboard.figures.day import hours_figure, hours_summary, movements_of
from dashboard.ids import Shell, Today, TodayClose
from tracker.statements import day_statement
from tracker.statements.capacity_shapes import FormationTimer
from tracker.statements.shapes import DayStatement, OpenException, ShiftLine

PATH, NAME, SHORT = "/", "Today", "Today"
STEPS = "/records?kind=formation_steps"
DATES = DateIds(Today.DATE, Today.TO_TODAY, Today.TO_YESTERDAY, Today.EARLIER, Today.LATER)
STATES = {"received": "done", "nil": "", "missing": "warning", "due": ""}
ALL_OF_THEM = "Papers, receipts and tickets of the last month. Everything open stands on "


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
        block("Open exceptions", slot(Today.EXCEPTIONS), all_of_them()),
        slot(Today.BASIS),
        exports(Today.EXPORT, Today.DOWNLOAD),
        close_dialog(TodayClose),
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
        lambda day: desk.stated(day_statement, as_date(day)),
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
        return shown(desk.stated(day_statement, as_date(day)), as_width(width))

    register_closing(
        app, desk, TodayClose, State(Today.DATE, "value"), lambda day: open_on(desk, day)
    )


def open_on(desk: Desk, day: Any) -> tuple[OpenException, ...]:
    """Everything open that the page shows for a day."""
    statement = desk.stated(day_statement, day)
    return (*statement.breaches, *statement.exceptions)


def all_of_them() -> html.P:
    """Where the older ones are."""
    return html.P(
        [ALL_OF_THEM, dcc.Link("Spoil out", href="/spoil-out?part=open", className="link"), "."]
    )


# --- what is shown -------------------------------------------------------------------------------
def shown(statement: DayStatement, width_px: int) -> dict[str, Any]:
    """Every part of the page for one statement."""
    return {
        "headline": None if statement.breaches else statement.headline,
        "breaches": [
            *(exception_line(e, TodayClose) for e in statement.breaches),
            *map(timer_line, statement.formation),
        ],
        "figures": figures(statement),
        "levels": [*levels_table(statement), cautions(statement.basis)],
        "hours": hours_figure(statement.hours, statement.cap_hour, width_px),
        "note": hours_note(statement),
        "shifts": shifts_matrix(statement),
        "exceptions": exceptions_list(statement.exceptions, TodayClose),
        "basis": basis_block(statement.basis),
    }


def timer_line(timer: FormationTimer) -> html.Div:
    """Formation that lies open, from half of its limit on: by when to blind it."""
    of = "beyond its limit" if timer.over else "for more than half of its limit"
    word = mark("Formation lies open", "breach" if timer.over else "warning")
    return html.Div(
        [
            html.P([word, f" {of}: {theme.number(timer.exposed_h, 'h')} of {timer.limit_h:g} h"]),
            html.P(timer.sentence),
            html.Div(dcc.Link("Search formation steps", href=STEPS, className="link")),
        ],
        className=f"exception {'serious' if timer.over else 'warning'}",
    )


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
