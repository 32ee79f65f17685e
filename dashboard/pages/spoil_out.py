"""Spoil out: where did it go? By belt and lorry, through the gate, with what papers."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

import dash_mantine_components as dmc
from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, dcc, html, no_update
from dash.exceptions import PreventUpdate

from dashboard.closing import close_dialog, exceptions_list, register_closing
from dashboard.components import Part, basis_block, block, cautions, page, slot
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
from dashboard.forms.entering import entry_page
from dashboard.forms.fields import RECORDS
from dashboard.ids import Shell, SpoilClose, SpoilOut
from dashboard.spoil.balance import balance_panel
from dashboard.spoil.gate import gate_panel
from dashboard.spoil.importing import import_parts, register_importing
from dashboard.spoil.integrity import belt_block, moved_figures, receipts_block, tickets_block
from dashboard.spoil.look import look_figures
from dashboard.spoil.papers import papers_block
from dashboard.spoil.records import records_panel
from tracker.statements import (
    balance_statement,
    exceptions_statement,
    gate_statement,
    site_in_force,
    spoil_statement,
)
from tracker.statements.spoil_shapes import SpoilStatement

Show = Callable[[Desk, date, date, int], Part]  # day, first day of the period, width in pixels
PATH, NAME, SHORT = "/spoil-out", "Spoil out", "Out"
DATES = DateIds(
    SpoilOut.DATE, SpoilOut.TO_TODAY, SpoilOut.TO_YESTERDAY, SpoilOut.EARLIER, SpoilOut.LATER
)
PERIODS = {"month": "this month", "30": "the last 30 days", "all": "the whole job"}
AT_ONCE = ("loads", "belt", "stock")  # what is entered every day


# --- what stands on the page ---------------------------------------------------------------------
def layout(
    record: str = "",
    amend: str = "",
    withdraw: str = "",
    fresh: str = "",
    part: str = "",
    **query: str,
) -> html.Article:
    """The shell of the page; an address may ask for a part, for a form, or for that of a file."""
    back = dcc.Link("Back to Spoil out", href=PATH, className="link")
    if record in RECORDS:
        return entry_page(record, amend, withdraw, fresh, back=back)
    if "import" in query:
        kind = query["import"] if query["import"] in RECORDS else next(iter(RECORDS))
        return page("Import records of spoil", back, *import_parts(kind))
    return page(
        NAME,
        html.Div(
            [date_control(DATES, "Day"), html.Div(ways_in(), className="buttons no-print")],
            className="controls",
        ),
        html.P(id=SpoilOut.HEADLINE, className="headline"),
        slot(SpoilOut.FIGURES),
        slot(SpoilOut.CAUTIONS),
        parts(part if part in PARTS else next(iter(PARTS))),
        slot(SpoilOut.BASIS),
        exports(SpoilOut.EXPORT, SpoilOut.DOWNLOAD),
        close_dialog(SpoilClose),
    )


def ways_in() -> list[dcc.Link]:
    """The forms needed every day, and the way to all others."""
    ways = {f"Record a {RECORDS[kind]}": {"record": kind} for kind in AT_ONCE}
    ways["Other records …"] = {"part": "records"}
    return [
        dcc.Link(words, href=f"{PATH}?{urlencode(query)}", className="button")
        for words, query in ways.items()
    ]


def parts(opened: str) -> html.Section:
    """The parts of the page, one in sight at a time; each is worked out when it is opened."""
    tabs = [dmc.TabsTab(name, value=part) for part, (name, _show) in PARTS.items()]
    panels = [
        dmc.TabsPanel(html.Div(id={"type": SpoilOut.PART, "part": part}), value=part)
        for part in PARTS
    ]
    periods = [{"value": value, "label": words} for value, words in PERIODS.items()]
    period = html.Div(
        [
            html.Span("Gate, tickets, papers, receipts and belt of", className="field-label"),
            dmc.SegmentedControl(id=SpoilOut.SINCE, data=periods, value="month"),
        ],
        className="period no-print",
    )
    row = dmc.TabsList(tabs, **{"aria-label": "Parts of this page"})
    return html.Section(
        [
            period,
            dmc.Tabs([row, *panels], id=SpoilOut.PARTS, value=opened, className="parts"),
        ]
    )


# --- the parts -----------------------------------------------------------------------------------
def _gate(desk: Desk, day: date, since: date, width_px: int) -> Part:
    return gate_panel(desk.stated(gate_statement, day, since=since), width_px)


def _balance(desk: Desk, day: date, _since: date, width_px: int) -> Part:
    return balance_panel(desk.stated(balance_statement, day), width_px)


def _open(desk: Desk, day: date, _since: date, _width_px: int) -> Part:
    statement = desk.stated(exceptions_statement, day)
    found = exceptions_list(statement.lines, SpoilClose)
    return block("Open exceptions", html.P(statement.headline, className="summary"), *found)


def _of_spoil(*blocks: Callable[[SpoilStatement], Part]) -> Show:
    """A part that shows what the spoil statement of the period says."""

    def show(desk: Desk, day: date, since: date, _width_px: int) -> Part:
        statement = desk.stated(spoil_statement, day, since=since)
        return html.Div([block(statement) for block in blocks])

    return show


def _records(desk: Desk, _day: date, _since: date, _width_px: int) -> Part:
    return records_panel(desk)


PARTS: dict[str, tuple[str, Show]] = {
    "gate": ("Gate", _gate),
    "open": ("Open", _open),
    "balance": ("Balance", _balance),
    "tickets": ("Tickets", _of_spoil(tickets_block)),
    "papers": ("Papers", _of_spoil(papers_block)),
    "receipts": ("Receipts", _of_spoil(receipts_block)),
    "belt": ("Belt", _of_spoil(moved_figures, belt_block)),
    "records": ("Records", _records),
}


def since_of(desk: Desk, day: date, period: str) -> date:
    """The first day of the period that the parts are about."""
    first = site_in_force(desk.ledger, day).first_date
    begins = {"month": day.replace(day=1), "30": day - timedelta(days=29), "all": first}
    return min(max(begins[period], first), day)


# --- wiring --------------------------------------------------------------------------------------
def register(app: Dash, desk: Desk) -> None:
    """Wire the page."""
    register_date(app, desk, DATES)
    _register_look(app, desk)
    _register_parts(app, desk)
    register_importing(app, desk)
    register_closing(
        app,
        desk,
        SpoilClose,
        State(SpoilOut.DATE, "value"),
        lambda day: desk.stated(exceptions_statement, day).lines,
    )
    register_exports(
        app,
        SpoilOut.EXPORT,
        SpoilOut.DOWNLOAD,
        [State(SpoilOut.DATE, "value"), State(SpoilOut.SINCE, "value")],
        "spoil",
        lambda day, period: desk.stated(
            spoil_statement, as_date(day), since=since_of(desk, as_date(day), period)
        ),
    )


def _register_look(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(SpoilOut.HEADLINE, "children"),
        Output(SpoilOut.FIGURES, "children"),
        Output(SpoilOut.CAUTIONS, "children"),
        Output(SpoilOut.BASIS, "children"),
        Input(SpoilOut.DATE, "value"),
        Input(Shell.CHANGED, "data"),
    )
    def show_look(day: str | None, _changed: Any):
        spoil = desk.stated(spoil_statement, as_date(day))
        gate = desk.stated(gate_statement, as_date(day))
        shown = look_figures(spoil, gate), cautions(spoil.basis), basis_block(spoil.basis)
        return spoil.headline, *shown


def _register_parts(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output({"type": SpoilOut.PART, "part": ALL}, "children"),
        Input(SpoilOut.PARTS, "value"),
        Input(SpoilOut.DATE, "value"),
        Input(SpoilOut.SINCE, "value"),
        Input(Shell.WIDTH, "data"),
        Input(Shell.CHANGED, "data"),
    )
    def show_part(part: str, day: str | None, period: str, width: int | None, _changed: Any):
        if part not in PARTS:
            raise PreventUpdate
        on = as_date(day)
        _name, show = PARTS[part]
        shown = show(desk, on, since_of(desk, on, period), as_width(width))
        places = [one["id"]["part"] for one in ctx.outputs_list]
        return [shown if place == part else no_update for place in places]

    app.clientside_callback(
        ClientsideFunction("spoil", "part"),
        Input({"type": SpoilOut.PART, "part": ALL}, "children"),
    )
