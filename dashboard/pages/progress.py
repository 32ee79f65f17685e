"""Progress: where each zone stands, when formation will be reached, and what governs."""

from __future__ import annotations

from datetime import date
from typing import Any

import dash_mantine_components as dmc
from dash import ClientsideFunction, Dash, Input, Output, State, ctx, dcc, html
from dash.exceptions import PreventUpdate

from dashboard import theme
from dashboard.components import block, chart, graph, page, slot
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
from dashboard.figures.governs import governs_figure
from dashboard.forms.entering import entry_page
from dashboard.forms.fields import DECISIONS
from dashboard.ids import Progress, Shell
from dashboard.progress.ahead import ahead_blocks, register_ahead
from dashboard.progress.delays import lost_block, register_lost
from dashboard.progress.governs import governs_note, shares
from dashboard.progress.holds import (
    GOVERN,
    assumed_parts,
    decision_links,
    hold_parts,
    timer_parts,
)
from dashboard.progress.shown import ALL_ZONES, shown, zone_rows
from dashboard.progress.waiting import Asked, asked, asked_when_seen, own_cautions, waiting
from dashboard.surveys.view import ViewIds, register_view, survey_words, view
from tracker.statements import (
    capacity_statement,
    forecast_statement,
    holds_statement,
    progress_statement,
    site_in_force,
)

PATH, NAME, SHORT = "/progress", "Progress", "Progress"
DATES = DateIds(
    Progress.DATE, Progress.TO_TODAY, Progress.TO_YESTERDAY, Progress.EARLIER, Progress.LATER
)
VIEW = ViewIds(
    Progress.KIND, Progress.DRAWABLE, Progress.FRAME, Progress.GRAPH, Progress.SURVEY_NOTE
)
LAST_SURVEY = "The surface that the last survey found"
CHOOSE_ZONE = "Choose a zone under To formation to see its stages here."


# --- what stands on the page ---------------------------------------------------------------------
def layout(
    record: str = "", amend: str = "", withdraw: str = "", fresh: str = "", **_query: str
) -> html.Article:
    """The shell of the page; an address may ask for the form of a decision."""
    if record in DECISIONS:
        back = dcc.Link("Back to Progress", href=PATH, className="link")
        return entry_page(record, amend, withdraw, fresh, back=back)
    return page(
        NAME,
        html.Div(
            [
                date_control(DATES, "As of the end of"),
                dmc.SegmentedControl(id=Progress.EXCAVATION, data=[], className="segments"),
            ],
            className="controls no-print",
        ),
        html.P(id=Progress.HEADLINE, className="headline"),
        html.Section(
            [
                graph(Progress.SECTION, "Section along the excavation"),
                slot(Progress.SECTION_NOTE),
                slot(Progress.CAUTIONS),
            ],
            className="chart-block section-block",
        ),
        slot(Progress.FIGURES),
        *ahead_blocks(),
        block("Stages", slot(Progress.ROWS), className="rows-block"),
        *_behind_it(),
        block("Last survey", view(VIEW, LAST_SURVEY), className="chart-block screen-only"),
        chart(
            "Dug against design, by level band",
            Progress.BANDS,
            Progress.BANDS_NOTE,
            className="screen-only",
        ),
        slot(Progress.BASIS),
        exports(Progress.EXPORT, Progress.DOWNLOAD),
        *(dcc.Store(id=name) for name in (Progress.SHOWN, *SEEN)),
    )


def _behind_it() -> tuple[html.Section, ...]:
    """What governs, what was lost and what is held: asked for when they are scrolled to."""
    return (
        block(
            "What governs",
            graph(Progress.GOVERNS, "What governs, day by day", waiting("the days")),
            slot(Progress.GOVERNS_NOTE),
            className="chart-block screen-only",
        ),
        lost_block(),
        block(
            "Hold points",
            html.P(GOVERN, className="cautions"),
            html.Div(decision_links(PATH), className="buttons no-print"),
            html.Div(
                html.P("Working out what is held …", className="wait"),
                id=Progress.HOLDS,
                className="hold-parts",
            ),
            className="screen-only holds-block",
        ),
    )


SEEN = {
    Progress.HELD_SEEN: Progress.HELD,
    Progress.GOVERNS_SEEN: Progress.GOVERNS_NOTE,
    Progress.LOST_SEEN: Progress.LOST_NOTE,
    Progress.HOLDS_SEEN: Progress.HOLDS,
}


# --- how it is wired -----------------------------------------------------------------------------
def register(app: Dash, desk: Desk) -> None:
    """Wire the page."""
    register_date(app, desk, DATES)
    register_exports(
        app,
        Progress.EXPORT,
        Progress.DOWNLOAD,
        [State(Progress.DATE, "value")],
        "progress",
        lambda day: desk.stated(progress_statement, as_date(day)),
    )
    register_view(
        app,
        desk,
        VIEW,
        [Input(Progress.DATE, "value"), Input(Progress.EXCAVATION, "value")],
        last_survey,
        lambda survey: survey_words(survey, "/survey"),
    )
    _register_choices(app, desk)
    _register_answers(app, desk)
    register_ahead(app, desk)
    for seen, place in SEEN.items():
        asked_when_seen(app, Progress.SHOWN, place, seen)
    _register_governs(app, desk)
    register_lost(app, desk)
    _register_holds(app, desk)


def last_survey(day: str | None, excavation: str | None) -> tuple[date, str, str]:
    """As of when, which excavation, and of its surveys the last."""
    if not excavation:
        raise PreventUpdate
    return as_date(day), excavation, ""


def _register_answers(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "headline": Output(Progress.HEADLINE, "children"),
            "figures": Output(Progress.FIGURES, "children"),
            "section": Output(Progress.SECTION, "figure"),
            "section_note": Output(Progress.SECTION_NOTE, "children"),
            "cautions": Output(Progress.CAUTIONS, "children"),
            "bands": Output(Progress.BANDS, "figure"),
            "bands_note": Output(Progress.BANDS_NOTE, "children"),
            "basis": Output(Progress.BASIS, "children"),
            "asked": Output(Progress.SHOWN, "data"),
        },
        inputs=(
            Input(Progress.DATE, "value"),
            Input(Progress.EXCAVATION, "value"),
            Input(Shell.WIDTH, "data"),
        ),
    )
    def show_progress(day: str | None, excavation: str | None, width: int | None):
        if not excavation:
            raise PreventUpdate
        on, width_px = as_date(day), as_width(width)
        statement = desk.stated(progress_statement, on)
        return shown(statement, excavation, width_px) | {
            "asked": Asked(on, excavation, width_px).data
        }

    @app.callback(
        Output(Progress.ROWS, "children"),
        Input(Progress.DATE, "value"),
        Input(Progress.EXCAVATION, "value"),
        Input(Progress.ZONE, "value"),
        State(Shell.WIDTH, "data"),
    )
    def show_rows(day: str | None, excavation: str | None, zone: str | None, width: int | None):
        statement = desk.stated(progress_statement, as_date(day))
        if zone in (None, ALL_ZONES) and as_width(width) < theme.CARDS_PX:
            return html.P(CHOOSE_ZONE, className="empty")  # twenty cards are a long way to scroll
        return zone_rows(statement, excavation or "", zone or ALL_ZONES)


def _register_choices(app: Dash, desk: Desk) -> None:
    app.clientside_callback(
        ClientsideFunction("shell", "reveal"),
        Input(Progress.SECTION, "clickData"),
        State(Progress.ANSWER, "id"),
        prevent_initial_call=True,
    )

    @app.callback(
        Output(Progress.EXCAVATION, "data"),
        Output(Progress.EXCAVATION, "value"),
        Input(Shell.URL, "pathname"),
    )
    def offer_excavations(_path: str):
        found = site_in_force(desk.ledger, desk.today()).excavations
        data = [{"value": e.excavation, "label": e.name} for e in found]
        return data, found[0].excavation

    @app.callback(
        Output(Progress.ZONE, "data"),
        Output(Progress.ZONE, "value"),
        Input(Progress.EXCAVATION, "value"),
        Input(Progress.SECTION, "clickData"),
        prevent_initial_call=True,
    )
    def offer_zones(excavation: str | None, click: dict | None):
        zones = site_in_force(desk.ledger, desk.today()).zones_of(excavation or "")
        data = [{"value": ALL_ZONES, "label": "All zones"}]
        data += [{"value": z.zone, "label": z.name} for z in zones]
        if ctx.triggered_id == Progress.SECTION and click:
            return data, click["points"][0]["customdata"][0]
        return data, ALL_ZONES


def _register_governs(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(Progress.GOVERNS, "figure"),
        Output(Progress.GOVERNS_NOTE, "children"),
        Input(Progress.GOVERNS_SEEN, "data"),
        prevent_initial_call=True,
    )
    def show_governs(data: dict[str, Any] | None):
        of = asked(data)
        statement = desk.stated(capacity_statement, of.day)
        forecast = desk.stated(forecast_statement, of.day)
        first_look = desk.stated(progress_statement, of.day).basis
        note = [
            *governs_note(statement, of.excavation),
            shares(forecast, of.excavation),
            own_cautions(statement.basis, first_look),
        ]
        return governs_figure(statement, of.excavation, of.width_px), note


def _register_holds(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(Progress.HOLDS, "children"),
        Input(Progress.HOLDS_SEEN, "data"),
        prevent_initial_call=True,
    )
    def show_holds(data: dict[str, Any] | None):
        of = asked(data)
        statement = desk.stated(holds_statement, of.day)
        forecast = desk.stated(forecast_statement, of.day)
        return [
            *hold_parts(statement, of.excavation),
            timer_parts(statement.formation, of.excavation),
            assumed_parts(forecast, of.excavation),
            own_cautions(statement.basis, desk.stated(progress_statement, of.day).basis),
        ]
