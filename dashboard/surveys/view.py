"""Plan or 3D of one survey with its sentence and rows: shared by the pages that show a survey."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

import dash_mantine_components as dmc
import plotly.graph_objects as go
from dash import ClientsideFunction, Dash, Input, Output, dcc, html

from dashboard import theme
from dashboard.components import Head, Part, chart_note, empty_state, graph, mark, slot, table
from dashboard.controls import as_width
from dashboard.desk import Desk
from dashboard.figures.deepest import deepest_points
from dashboard.figures.ground import NO_WEBGL, DigLevel, ground_figure, ground_summary
from dashboard.figures.plan import plan_figure, plan_summary
from dashboard.ids import Shell
from tracker.errors import NotEnoughData
from tracker.statements import site_in_force, survey_picture, survey_statement
from tracker.statements.survey_shapes import SurveyStatement

PLAN, GROUND = "plan", "3d"
KINDS = [{"value": PLAN, "label": "Plan"}, {"value": GROUND, "label": "3D"}]


@dataclass(frozen=True, slots=True)
class ViewIds:
    """The ids of one view."""

    kind: str  # plan or 3D, as chosen
    drawable: str  # the same, with whether this browser can draw in 3D
    frame: str
    graph: str
    note: str


def view(ids: ViewIds, words: str) -> html.Div:
    """The chosen drawing; 3D is fetched only when asked for."""
    return html.Div(
        [
            html.Div(
                [
                    dmc.SegmentedControl(id=ids.kind, data=KINDS, value=PLAN, className="segments"),
                    dcc.Store(id=ids.drawable),
                    graph(ids.graph, words),
                ],
                id=ids.frame,
            ),
            slot(ids.note),
        ]
    )


def in_silence(_statement: SurveyStatement) -> None:
    """Nothing more to say of the survey than its drawing does."""


def register_view(
    app: Dash,
    desk: Desk,
    ids: ViewIds,
    inputs: list[Input],
    asked: Callable[..., tuple[date, str, str]],
    above: Callable[[SurveyStatement], Part] = in_silence,
) -> None:
    """Draw the survey that `asked` makes of the inputs: as of when, excavation, survey.

    `above` says what stands between the drawing and its sentence.
    """
    app.clientside_callback(
        ClientsideFunction("files", "drawable"),
        Output(ids.drawable, "data"),
        Input(ids.kind, "value"),
    )

    @app.callback(
        Output(ids.graph, "figure"),
        Output(ids.note, "children"),
        Output(ids.frame, "hidden"),
        Input(ids.drawable, "data"),
        Input(Shell.WIDTH, "data"),
        *inputs,
    )
    def show_view(drawable: dict[str, Any] | None, width: int | None, *values: Any):
        kind = drawable or {"kind": PLAN, "webgl": False}
        as_of, excavation, survey = asked(*values)
        try:
            statement = desk.stated(survey_statement, as_of, excavation=excavation, survey=survey)
        except NotEnoughData as error:
            return theme.empty_figure(""), nothing_yet(error), True
        figure, sentence = drawn(desk, kind, as_width(width), statement)
        note = chart_note(sentence, zone_rows(statement))
        return figure, [above(statement), *note], False


def drawn(
    desk: Desk, kind: dict[str, Any], width_px: int, statement: SurveyStatement
) -> tuple[go.Figure, str]:
    """The plan or the 3D drawing of a survey, and the sentence that goes with it."""
    picture = desk.stated(survey_picture, statement.entry_id)
    if kind["kind"] == PLAN:
        left_out = {one.reason: one.points for one in statement.left_out}
        deepest = deepest_points(statement.zones)
        return plan_figure(picture, deepest, left_out, width_px), plan_summary(picture, deepest)
    if not kind["webgl"]:
        return theme.empty_figure("", 24), NO_WEBGL
    levels = dig_levels(desk, statement.basis.as_of, statement.excavation)
    return ground_figure(picture, levels, width_px), ground_summary(picture, levels)


def survey_words(statement: SurveyStatement, path: str) -> html.P:
    """What a survey says in one sentence, and the way to all that it says."""
    query = urlencode({"excavation": statement.excavation, "survey": statement.survey})
    low = any(zone.in_breach for zone in statement.zones)
    said = mark(statement.headline, "breach") if low else html.Strong(statement.headline)
    link = dcc.Link("See the survey", href=f"{path}?{query}", className="link")
    return html.P([said, " ", link], className="survey-words")


def nothing_yet(error: NotEnoughData) -> html.Div:
    """What is missing, without the marks of a command, and the way to the form."""
    link = dcc.Link("Record a survey", href="/survey?mode=record", className="link")
    return html.Div([empty_state(str(error).replace("`", "")), link])


def dig_levels(desk: Desk, as_of: date, excavation: str) -> list[DigLevel]:
    """The design dig levels of every zone of an excavation."""
    site = site_in_force(desk.ledger, as_of)
    return [
        DigLevel(zone.zone, stage.stage, stage.design_level_m, stage is stages[-1], zone.outline)
        for zone in site.zones_of(excavation)
        for stages in [site.stages_of(zone.zone)]
        for stage in stages
    ]


def zone_rows(statement: SurveyStatement) -> Any:
    """Each zone as the survey found it, and what is left to formation."""
    rows = [
        (
            zone.name,
            zone.covered,
            theme.level(round(zone.mean_level_m, 2)),
            theme.level(zone.lowest_level_m),
            theme.level(zone.permitted_level_m),
            mark("below permitted", "breach") if zone.in_breach else "no",
            theme.number(zone.above_formation_m3),
            theme.number(zone.below_formation_m3),
        )
        for zone in statement.zones
    ]
    heads = [
        Head("Zone"),
        Head("Covered"),
        Head("Mean level, m", True),
        Head("Lowest, m", True),
        Head("Permitted, m", True),
        Head("Breach"),
        Head("Still to dig, m³ bank", True),
        Head("Below formation, m³ bank", True),
    ]
    return table("Surveyed levels by zone, above site datum", heads, rows)
