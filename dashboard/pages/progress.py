"""Progress: where each zone stands against its design dig levels."""

from __future__ import annotations

from datetime import date
from typing import Any

import dash_mantine_components as dmc
from dash import ClientsideFunction, Dash, Input, Output, State, ctx, html
from dash.exceptions import PreventUpdate

from dashboard import theme
from dashboard.components import (
    Head,
    basis_block,
    block,
    cautions,
    chart,
    chart_note,
    choice,
    graph,
    key_figures,
    long_table,
    mark,
    page,
    slot,
    table,
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
from dashboard.figures.bands import bands_figure, bands_summary
from dashboard.figures.curve import curve_figure, curve_summary
from dashboard.figures.section import section_figure, section_summary
from dashboard.ids import Progress, Shell
from dashboard.surveys.view import ViewIds, register_view, survey_words, view
from tracker.statements import progress_statement, site_in_force
from tracker.statements.shapes import (
    CurvePoint,
    ExcavationProgress,
    ProgressStatement,
    StageProgress,
    ZoneProgress,
)

PATH, NAME, SHORT = "/progress", "Progress", "Progress"
DATES = DateIds(
    Progress.DATE, Progress.TO_TODAY, Progress.TO_YESTERDAY, Progress.EARLIER, Progress.LATER
)
VIEW = ViewIds(
    Progress.KIND, Progress.DRAWABLE, Progress.FRAME, Progress.GRAPH, Progress.SURVEY_NOTE
)
LAST_SURVEY = "The surface that the last survey found"
ALL_ZONES = "all zones"
SUNDAY = 6


def layout(**_query: str) -> html.Article:
    """The shell of the page."""
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
        block(
            "Stages",
            html.Div(choice(Progress.ZONE, "Zone"), className="narrow no-print"),
            slot(Progress.ROWS),
            className="rows-block",
        ),
        block("Last survey", view(VIEW, LAST_SURVEY), className="chart-block screen-only"),
        chart("Planned and dug", Progress.CURVE, Progress.CURVE_NOTE),
        chart(
            "Dug against design, by level band",
            Progress.BANDS,
            Progress.BANDS_NOTE,
            className="screen-only",
        ),
        slot(Progress.BASIS),
        exports(Progress.EXPORT, Progress.DOWNLOAD),
    )


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
            "curve": Output(Progress.CURVE, "figure"),
            "curve_note": Output(Progress.CURVE_NOTE, "children"),
            "bands": Output(Progress.BANDS, "figure"),
            "bands_note": Output(Progress.BANDS_NOTE, "children"),
            "basis": Output(Progress.BASIS, "children"),
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
        statement = desk.stated(progress_statement, as_date(day))
        return shown(statement, excavation, as_width(width))

    @app.callback(
        Output(Progress.ROWS, "children"),
        Input(Progress.DATE, "value"),
        Input(Progress.EXCAVATION, "value"),
        Input(Progress.ZONE, "value"),
    )
    def show_rows(day: str | None, excavation: str | None, zone: str | None):
        statement = desk.stated(progress_statement, as_date(day))
        return zone_rows(statement, excavation or "", zone or ALL_ZONES)


def _register_choices(app: Dash, desk: Desk) -> None:
    app.clientside_callback(
        ClientsideFunction("shell", "reveal"),
        Input(Progress.SECTION, "clickData"),
        State(Progress.ROWS, "id"),
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
        State(Shell.WIDTH, "data"),
        prevent_initial_call=True,
    )
    def offer_zones(excavation: str | None, click: dict | None, width: int | None):
        zones = site_in_force(desk.ledger, desk.today()).zones_of(excavation or "")
        data = [{"value": ALL_ZONES, "label": "All zones"}]
        data += [{"value": z.zone, "label": z.name} for z in zones]
        if ctx.triggered_id == Progress.SECTION and click:
            return data, click["points"][0]["customdata"][0]
        # Where rows are cards, start with one zone: twenty stages are a long way to scroll.
        narrow = bool(zones) and as_width(width) < theme.CARDS_PX
        return data, zones[0].zone if narrow else ALL_ZONES


# --- what is shown -------------------------------------------------------------------------------
def shown(statement: ProgressStatement, excavation: str, width_px: int) -> dict[str, Any]:
    """Every part of the page for one statement and excavation."""
    return {
        "headline": headline(statement, excavation),
        "figures": [
            figures(e, rests_on(statement, excavation))
            for e in statement.excavations
            if e.excavation == excavation
        ],
        "section": section_figure(statement, excavation, width_px),
        "section_note": chart_note(
            section_summary(statement, excavation), levels_rows(statement, excavation)
        ),
        "cautions": cautions(statement.basis),
        "curve": curve_figure(statement, excavation, width_px),
        "curve_note": chart_note(
            curve_summary(statement, excavation), curve_rows(statement, excavation)
        ),
        "bands": bands_figure(statement, excavation, width_px),
        "bands_note": chart_note(
            bands_summary(statement, excavation), bands_rows(statement, excavation)
        ),
        "basis": basis_block(statement.basis),
    }


def headline(statement: ProgressStatement, excavation: str) -> Any:
    """The most important thing of an excavation first; in vermilion if it is a breach."""
    breach = any(z.in_breach for z in statement.zones if z.excavation == excavation)
    said = next((e.headline for e in statement.excavations if e.excavation == excavation), "")
    return mark(said, "breach") if breach else said


def rests_on(statement: ProgressStatement, excavation: str) -> str:
    """What the volume dug stands on: the last surveys, and the returns after them."""
    zones = [z for z in statement.zones if z.excavation == excavation]
    surveys = dict.fromkeys((z.survey, z.surveyed_on) for z in zones if z.survey)
    if not surveys:
        return "by returns alone, ± of the conversion factors only"
    named = " and ".join(f"{name} of {theme.short_day(on)}" for name, on in surveys)
    since_m3 = sum(z.since_survey_m3 or 0.0 for z in zones)
    alone = [z.zone for z in zones if not z.survey]
    rest = f"; zone {', '.join(alone)} by returns alone" if alone else ""
    return f"by survey {named}, then {theme.number(since_m3, 'm³')} by returns{rest}"


def figures(part: ExcavationProgress, resting: str) -> html.Dl:
    """The three progress figures, never one; overdig apart."""
    volume = theme.number(part.design_bank_m3, "m³ bank")
    dug = theme.percent(theme.share(part.dug_net_m3, part.design_bank_m3))
    accepted = theme.percent(theme.share(part.accepted_m2, part.formation_m2))
    return key_figures(
        [
            (
                "Volume dug",
                f"{theme.number(part.dug_net_m3)} of {volume}",
                f"{dug}, ± {theme.number(2.0 * part.u_dug_m3, 'm³')} (twice the standard"
                f" uncertainty): {resting}",
            ),
            (
                "Stages",
                f"{part.stages_released} released, {part.stages_reached} reached",
                f"of {part.stages_total} by zone",
            ),
            (
                "Formation accepted",
                f"{theme.number(part.accepted_m2)} of {theme.number(part.formation_m2, 'm²')}",
                accepted,
            ),
            (
                "Overdig below formation",
                theme.number(part.overdig_m3, "m³ bank"),
                "not in the volume dug; by stage, see the table",
            ),
            ("Formation wanted by", theme.day(part.target_formation), "target of the set-up"),
        ]
    )


def zone_rows(statement: ProgressStatement, excavation: str, zone: str) -> list[Any]:
    """The stages of a zone, or of all zones, and what the zone waits for."""
    zones = [
        z for z in statement.zones if z.excavation == excavation and zone in (ALL_ZONES, z.zone)
    ]
    waits = [html.Li(f"{z.name}: {z.waits_for}") for z in zones if z.waits_for]
    today = statement.basis.as_of
    rows = [stage_row(z, s, today) for z in zones for s in z.stages]
    heads = [
        Head("Zone"),
        Head("Stage"),
        Head("From, m", True),
        Head("Design dig level, m", True),
        Head("Then"),
        Head("Hold point"),
        Head("Reached"),
        Head("Planned to finish"),
        Head("Dug, m³ bank", True),
        Head("Design, m³ bank", True),
    ]
    return [
        html.Ul(waits, className="waits"),
        table("Stages, levels above site datum", heads, rows),
    ]


def stage_row(zone: ZoneProgress, stage: StageProgress, today: date) -> tuple[Any, ...]:
    """One stage as a row; late if its planned finish has passed and it is not reached."""
    late_days = (today - stage.planned_finish).days
    waiting = mark(f"not yet, {late_days} days late", "warning") if late_days > 0 else "not yet"
    decided = f" {theme.short_day(stage.decided_on)}" if stage.decided_on else ""
    meaning = {"released": "planned", "suspended": "warning"}.get(stage.status, "")
    reached = theme.short_day(stage.reached_on) if stage.reached_on else "yes"
    return (
        zone.name,
        str(stage.stage),
        theme.level(stage.top_level_m),
        theme.level(stage.design_level_m),
        stage.support,
        mark(f"{stage.status}{decided}", meaning),
        mark(reached, "done") if stage.reached else waiting,
        theme.short_day(stage.planned_finish),
        theme.number(stage.dug_bank_m3),
        theme.number(stage.design_bank_m3),
    )


def levels_rows(statement: ProgressStatement, excavation: str) -> Any:
    """The levels of the section as rows."""
    rows = [
        (
            z.name,
            theme.level(z.lowest_level_m),
            theme.day(z.lowest_on),
            theme.level(z.permitted_level_m),
            mark("below permitted", "breach") if z.in_breach else "no",
            f"{theme.level(z.general_level_m)} ({z.general_basis})",
            theme.level(z.formation_level_m),
            theme.number(z.dug_net_m3),
        )
        for z in statement.zones
        if z.excavation == excavation
    ]
    heads = [
        Head("Zone"),
        Head("Lowest, m", True),
        Head("On"),
        Head("Permitted, m", True),
        Head("Breach"),
        Head("General level, m", True),
        Head("Formation, m", True),
        Head("Dug, m³ bank", True),
    ]
    return table("Levels by zone, above site datum", heads, rows)


def curve_rows(statement: ProgressStatement, excavation: str) -> Any:
    """The curve as rows, one a week, one at each survey and one at its end."""
    points = [p for p in statement.curve if p.excavation == excavation]
    rows = [
        (curve_day(p), theme.number(p.planned_bank_m3), theme.number(p.dug_bank_m3))
        for p in points
        if p.day.weekday() == SUNDAY or p.survey or p is points[-1]
    ]
    heads = ("To the end of", "Planned, m³ bank", "Dug, m³ bank")
    return long_table("Planned and dug by week", heads, rows)


def curve_day(point: CurvePoint) -> str:
    """The day of a row; on that of a survey its name, with twice its standard uncertainty."""
    if not point.survey:
        return theme.day(point.day)
    twice_m3 = 2.0 * (point.u_dug_m3 or 0.0)
    return f"{theme.day(point.day)}: survey {point.survey}, ± {theme.number(twice_m3, 'm³')}"


def bands_rows(statement: ProgressStatement, excavation: str) -> Any:
    """The level bands as rows."""
    rows = [
        (
            f"{b.zone}, {theme.level(b.upper_level_m)} to {theme.level(b.lower_level_m)}",
            theme.number(b.design_bank_m3),
            theme.number(b.dug_bank_m3),
        )
        for b in statement.bands
        if b.excavation == excavation
    ]
    heads = ("Zone and levels, m above site datum", "Design, m³ bank", "Dug, m³ bank")
    return long_table("Level bands", heads, rows)
