"""The gate on the page Spoil out: used, booked, left; the hours; what went beyond; days ahead."""

from __future__ import annotations

from datetime import date
from typing import Any

from dash import dcc, html

from dashboard import theme
from dashboard.components import (
    Head,
    Part,
    block,
    chart_note,
    graph,
    key_figures,
    long_table,
    mark,
    notice,
    record_link,
    table,
)
from dashboard.figures.gate import gate_figure, gate_summary
from dashboard.ids import SpoilGate
from tracker.statements.gate_shapes import GateBreach, GateCapLine, GatePass, GateStatement

SHOWN_BREACHES = 5
WAYS = {"both": "both ways", "in": "in", "out": "out"}


def gate_panel(statement: GateStatement, width_px: int) -> html.Section:
    """All that the page Spoil out says of the gate on a day."""
    return block(
        "Gate",
        html.P(statement.headline, className="headline"),
        *(notice(words) for words in statement.warnings),
        gate_figures(statement),
        *(html.P(f"By permission: {reference}.") for reference in statement.permissions),
        graph(SpoilGate.HOURS, "Movements by hour", gate_figure(statement, width_px)),
        *chart_note(gate_summary(statement), hours_rows(statement)),
        html.H3("Booked for the days ahead"),
        days_ahead(statement),
        html.H3(f"Beyond caps and windows since {theme.day(statement.since)}"),
        *breaches_list(statement),
        *(html.P(words, className="cautions") for words in statement.basis.cautions),
    )


def gate_figures(statement: GateStatement) -> html.Dl:
    """Each cap in three numbers, and the loads of spoil that they leave."""
    found = [_cap_figure(cap) for cap in statement.caps]
    if not found:
        passed = sum(h.movements for h in statement.hours)
        found = [("Movements", theme.number(passed), "no cap is set up")]
    if statement.loads_left is not None:
        left = theme.number(statement.loads_left)
        found.append(("Room for spoil", f"{left} loads", f"gate {_window(statement)}"))
    return key_figures(found)


def _window(statement: GateStatement) -> str:
    return statement.gate_window.removeprefix("gate ")


def _cap_figure(cap: GateCapLine) -> tuple[str, str, str]:
    hour = "" if cap.hour is None else f", {cap.hour:02d}:00"
    period = "a day" if cap.per == "day" else f"an hour{hour}"
    left = f"{cap.left} left" if cap.left >= 0 else f"{-cap.left} over the cap"
    booked = f"{cap.booked} booked, " if cap.booked else ""
    used = f"{theme.number(cap.used)} of {theme.number(cap.cap)}"
    return f"Movements {period}, {WAYS[cap.direction]}", used, f"{booked}{left}"


def hours_rows(statement: GateStatement) -> Any:
    """The hours as rows, in and out of each kind in one column, so that a phone holds them."""
    heads = ("Local hour", "Spoil, in / out", "Other, in / out", "Booked, in / out", "All", "Left")
    rows = [
        (
            f"{h.hour:02d}:00",
            f"{h.spoil_in} / {h.spoil_out}",
            f"{h.other_in} / {h.other_out}",
            f"{h.booked_in} / {h.booked_out}",
            str(h.movements),
            theme.number(h.left),
        )
        for h in statement.hours
    ]
    return long_table("Movements by hour", heads, rows)


def days_ahead(statement: GateStatement) -> Any:
    """What is booked ahead and the loads of spoil that it leaves."""
    heads = (
        Head("Day"),
        Head("Booked, movements", numeric=True),
        Head("For"),
        Head("Cap a day", numeric=True),
        Head("Loads of spoil left", numeric=True),
        Head("With nothing booked", numeric=True),
        Head("To do"),
    )
    rows = [
        (
            dcc.Link(theme.day(d.day), href=_records("gate_bookings", d.day), className="link"),
            theme.number(d.booked),
            d.booked_for,
            theme.number(d.cap_day),
            theme.number(d.loads_left),
            theme.number(d.loads_usual),
            " ".join(d.warnings) or theme.NO_NUMBER,
        )
        for d in statement.ahead
    ]
    return table("Bookings of the next two weeks", heads, rows)


def _records(kind: str, day: date) -> str:
    return f"/records?kind={kind}&since={day}&until={day}"


# --- beyond caps and windows ---------------------------------------------------------------------
def breaches_list(statement: GateStatement) -> list[Part]:
    """The newest breaches with the loads behind each, the older ones behind a disclosure."""
    if not statement.breaches:
        return [html.P("No cap was passed, and nobody passed outside the window.")]
    lines: list[Part] = [breach_line(found) for found in statement.breaches]
    if len(lines) <= SHOWN_BREACHES:
        return lines
    first, rest = lines[:SHOWN_BREACHES], lines[SHOWN_BREACHES:]
    return [*first, html.Details([html.Summary(f"{len(rest)} older ones"), *rest])]


def breach_line(found: GateBreach) -> html.Div:
    """One breach: its sentence, whether it is closed, and the rows behind it."""
    state = mark("Closed with a reason", "done") if found.closed else mark("Open", "warning")
    look = "exception" if found.closed else "exception warning"
    return html.Div([html.P([state, f" {found.sentence}"]), _behind(found)], className=look)


def _behind(found: GateBreach) -> Part:
    if len(found.passes) == 1:
        return record_link(found.passes[0].entry_id)
    of_the_day = dcc.Link(
        "All loads of that day", href=_records("lorry_loads", found.day), className="link"
    )
    rows = html.Ul([html.Li(_pass_line(one)) for one in found.passes])
    words = html.Summary(f"{len(found.passes)} rows behind this")
    return html.Details([words, rows, of_the_day], className="rows")


def _pass_line(one: GatePass) -> list[Part]:
    times = ", ".join(
        f"{way} {clock}" for way, clock in (("in", one.came), ("out", one.left)) if clock
    )
    plural = "movement" if one.movements == 1 else "movements"
    return [record_link(one.entry_id, one.what), f", {times}: {one.movements} {plural}"]
