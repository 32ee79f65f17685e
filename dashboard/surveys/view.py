"""Plan or 3D of one survey with its sentence and rows: shared by the pages that show a survey."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

import dash_mantine_components as dmc
from dash import ClientsideFunction, Dash, Input, Output, dcc, html

from dashboard import theme
from dashboard.components import Head, chart_note, empty_state, graph, mark, slot, table
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


def register_view(
    app: Dash,
    desk: Desk,
    ids: ViewIds,
    inputs: list[Input],
    asked: Callable[..., tuple[date, str, str]],
) -> None:
    """Draw the survey that `asked` makes of the inputs: as of when, excavation, survey."""
    app.clientside_callback(
        ClientsideFunction("survey", "drawable"),
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
        return shown_view(desk, kind, as_width(width), *asked(*values))


def shown_view(
    desk: Desk, kind: dict[str, Any], width_px: int, as_of: date, excavation: str, survey: str
) -> tuple[Any, Any, bool]:
    """The figure, what stands below it, and whether there is nothing to draw."""
    try:
        statement = survey_statement(desk.ledger, as_of, excavation=excavation, survey=survey)
    except NotEnoughData as error:
        return theme.empty_figure(""), empty_state(plain(error)), True
    picture = survey_picture(desk.ledger, statement.entry_id)
    deepest = deepest_points(statement.zones)
    rows = zone_rows(statement)
    if kind["kind"] == PLAN:
        left_out = {one.reason: one.points for one in statement.left_out}
        figure = plan_figure(picture, deepest, left_out, width_px)
        return figure, chart_note(plan_summary(picture, deepest), rows), False
    if not kind["webgl"]:
        return theme.empty_figure(""), chart_note(NO_WEBGL, rows), False
    levels = dig_levels(desk, as_of, statement.excavation)
    figure = ground_figure(picture, levels, width_px)
    return figure, chart_note(ground_summary(picture, levels), rows), False


def plain(error: NotEnoughData) -> str:
    """What is missing, without the marks of a command."""
    return str(error).replace("`", "")


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
