"""To formation, and ahead or behind: their places on the page, and how they are filled."""

from __future__ import annotations

from typing import Any

import dash_mantine_components as dmc
from dash import Dash, Input, Output, html

from dashboard.components import block, chart_note, choice, graph, slot
from dashboard.desk import Desk
from dashboard.figures.ahead import ahead_figure, ahead_summary
from dashboard.figures.fan import PLOT_PX, fan_figure
from dashboard.ids import Progress
from dashboard.progress.formation import (
    answer,
    dates_table,
    earned_rows,
    fan_note,
    held_parts,
)
from dashboard.progress.shown import ALL_ZONES
from dashboard.progress.waiting import asked, own_cautions, recent, waiting
from tracker.statements import forecast_statement, progress_statement

SPANS = {"ahead": "From four weeks ago", "all": "The whole job"}
WAIT = "Working out when formation is reached …"
LOOK_BACK = "Looking back at how earlier forecasts held …"


def ahead_blocks() -> tuple[html.Section, html.Section]:
    """When formation is reached, and how far the digging is ahead of its plan."""
    fan = graph(Progress.FAN, "Planned, dug and ahead", waiting("the chart", PLOT_PX))
    spans = [{"value": value, "label": words} for value, words in SPANS.items()]
    to_formation = block(
        "To formation",
        html.Div(html.P(WAIT, className="wait"), id=Progress.ANSWER, role="status"),
        html.Div(choice(Progress.ZONE, "Zone"), className="narrow no-print"),
        slot(Progress.BY_ZONE),
        html.Div(html.P(LOOK_BACK, className="wait"), id=Progress.HELD, role="status"),
        dmc.SegmentedControl(
            id=Progress.SPAN, data=spans, value="ahead", className="segments no-print"
        ),
        fan,
        slot(Progress.FAN_NOTE),
        className="chart-block formation-block",
    )
    title = "Ahead or behind"
    bars = graph(Progress.EARNED, title, waiting("the days"))
    behind = block(title, bars, slot(Progress.EARNED_NOTE), className="chart-block screen-only")
    return to_formation, behind


def register_ahead(app: Dash, desk: Desk) -> None:
    """The forecast walks for up to a second, so it is asked for once the section stands."""

    @app.callback(
        Output(Progress.ANSWER, "children"),
        Output(Progress.BY_ZONE, "children"),
        Output(Progress.FAN, "figure"),
        Output(Progress.FAN_NOTE, "children"),
        Input(Progress.SHOWN, "data"),
        Input(Progress.ZONE, "value"),
        Input(Progress.SPAN, "value"),
        prevent_initial_call=True,
    )
    def show_formation(data: dict[str, Any] | None, zone: str | None, span: str | None):
        of, zone = asked(data), "" if zone in (None, ALL_ZONES) else zone
        forecast = desk.stated(forecast_statement, of.day)
        progress = desk.stated(progress_statement, of.day)
        since = recent(of.day, span or "")
        return (
            [
                answer(forecast, of.excavation, zone),
                own_cautions(forecast.basis, progress.basis),
            ],
            dates_table(forecast, progress, of.excavation, zone),
            fan_figure(progress, forecast, of.excavation, zone, of.width_px, since),
            fan_note(progress, forecast, of.excavation, zone),
        )

    @app.callback(
        Output(Progress.HELD, "children"),
        Input(Progress.HELD_SEEN, "data"),
        prevent_initial_call=True,
    )
    def show_held(data: dict[str, Any] | None):
        return held_parts(desk.stated(forecast_statement, asked(data).day, backtest=True))

    @app.callback(
        Output(Progress.EARNED, "figure"),
        Output(Progress.EARNED_NOTE, "children"),
        Input(Progress.SHOWN, "data"),
        prevent_initial_call=True,
    )
    def show_earned(data: dict[str, Any] | None):
        of = asked(data)
        earned = desk.stated(forecast_statement, of.day).earned
        rows = chart_note(ahead_summary(earned, of.excavation), earned_rows(earned, of.excavation))
        return ahead_figure(earned, of.excavation, of.width_px), rows
