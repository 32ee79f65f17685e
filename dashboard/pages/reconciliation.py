"""Reconciliation: do the five figures agree, and if not, who does not fit?"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import dash_mantine_components as dmc
from dash import Dash, Input, Output, State, html

from dashboard import theme
from dashboard.components import basis_block, block, cautions, choice, graph, page, slot
from dashboard.controls import as_width, exports, register_exports
from dashboard.desk import Desk
from dashboard.figures.reconciliation import BANK, MASS
from dashboard.ids import Reconciliation, Shell
from dashboard.reconciled import charts
from dashboard.reconciled.charts import choices, first_telling
from dashboard.reconciled.shown import (
    bar_rows,
    drift_rows,
    figures,
    fit,
    headline,
    how_sure,
    implied_rows,
    misfit_rows,
    missing,
    suspect,
)
from tracker.statements import reconciliation_statement
from tracker.statements.reconciliation_shapes import ALL, ReconciliationStatement

PATH, NAME, SHORT = "/reconciliation", "Reconciliation", "Agree?"
START = ""


def layout(since: str = "", **_query: str) -> html.Article:
    """The shell of the page; an address may name the survey to begin at."""
    return page(
        NAME,
        html.P(id=Reconciliation.HEADLINE, className="headline"),
        html.Div(id=Reconciliation.SUSPECT, className="suspect"),
        _controls(since),
        _chart(
            "What each says of the ground dug",
            Reconciliation.BARS,
            Reconciliation.BARS_NOTE,
            Reconciliation.BARS_ROWS,
        ),
        slot(Reconciliation.FIT),
        _chosen_chart(
            "Implied by the records, beside what is assumed",
            Reconciliation.QUANTITY,
            "Of which",
            (Reconciliation.IMPLIED, Reconciliation.IMPLIED_NOTE, Reconciliation.IMPLIED_ROWS),
        ),
        _chosen_chart(
            "Has the belt weigher changed against the surveys?",
            Reconciliation.BELT,
            "Belt and stream",
            (Reconciliation.DRIFT, Reconciliation.DRIFT_NOTE, Reconciliation.DRIFT_ROWS),
        ),
        _chart(
            "Where it does not fit",
            Reconciliation.MISFITS,
            Reconciliation.MISFITS_NOTE,
            Reconciliation.MISFITS_ROWS,
        ),
        block("Missing and unmatched", slot(Reconciliation.MISSING)),
        slot(Reconciliation.BASIS),
        exports(Reconciliation.EXPORT, Reconciliation.DOWNLOAD),
    )


def _controls(since: str) -> html.Div:
    units = [{"value": BANK, "label": "Bank m³"}, {"value": MASS, "label": "Tonnes"}]
    return html.Div(
        [
            html.Div(
                choice(
                    Reconciliation.STREAM,
                    "Ground",
                    data=[{"value": ALL, "label": "All streams"}],
                    value=ALL,
                ),
                className="survey-choice",
            ),
            html.Div(
                choice(Reconciliation.SINCE, "Since the survey of", value=since),
                className="survey-choice",
            ),
            dmc.SegmentedControl(
                id=Reconciliation.UNIT, data=units, value=BANK, className="segments"
            ),
        ],
        className="controls no-print",
    )


def _chart(title: str, graph_id: str, said_id: str, rows_id: str, *before: Any) -> html.Section:
    """A chart that a choice picks, its sentence, and rows that stay."""
    return block(
        title,
        *before,
        graph(graph_id, title),
        html.P(id=said_id, className="summary"),
        slot(rows_id),
        className="chart-block",
    )


def _chosen_chart(
    title: str, choice_id: str, label: str, ids: tuple[str, str, str]
) -> html.Section:
    chosen = html.Div(choice(choice_id, label), className="wide-choice no-print")
    return _chart(title, *ids, chosen)


def register(app: Dash, desk: Desk) -> None:
    """Wire the page."""
    register_exports(
        app,
        Reconciliation.EXPORT,
        Reconciliation.DOWNLOAD,
        [State(Reconciliation.SINCE, "value")],
        "reconciliation",
        lambda since: stated(desk, since),
    )
    _register_answers(app, desk)
    _register_charts(app, desk)


def _register_charts(app: Dash, desk: Desk) -> None:
    R = Reconciliation
    for draw, chart, said, chosen in (
        (charts.bars, R.BARS, R.BARS_NOTE, (R.STREAM, R.UNIT)),
        (charts.misfits, R.MISFITS, R.MISFITS_NOTE, (R.STREAM,)),
        (charts.implied, R.IMPLIED, R.IMPLIED_NOTE, (R.QUANTITY,)),
        (charts.drift, R.DRIFT, R.DRIFT_NOTE, (R.BELT,)),
    ):
        app.callback(
            Output(chart, "figure"),
            Output(said, "children"),
            Input(R.SINCE, "value"),
            Input(Shell.WIDTH, "data"),
            *(Input(one, "value") for one in chosen),
        )(drawer(desk, draw))


def drawer(desk: Desk, draw: Callable[..., charts.Chart]) -> Callable[..., charts.Chart]:
    """A callback that draws one chart for what is chosen."""

    def show(since: str | None, width: int | None, *chosen: str | None) -> charts.Chart:
        return draw(stated(desk, since), *chosen, as_width(width))

    return show


def _register_answers(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "headline": Output(Reconciliation.HEADLINE, "children"),
            "suspect": Output(Reconciliation.SUSPECT, "children"),
            "streams": Output(Reconciliation.STREAM, "data"),
            "quantities": Output(Reconciliation.QUANTITY, "data"),
            "quantity": Output(Reconciliation.QUANTITY, "value"),
            "belts": Output(Reconciliation.BELT, "data"),
            "belt": Output(Reconciliation.BELT, "value"),
            "sinces": Output(Reconciliation.SINCE, "data"),
            "bar_rows": Output(Reconciliation.BARS_ROWS, "children"),
            "fit": Output(Reconciliation.FIT, "children"),
            "implied": Output(Reconciliation.IMPLIED_ROWS, "children"),
            "drift": Output(Reconciliation.DRIFT_ROWS, "children"),
            "misfits": Output(Reconciliation.MISFITS_ROWS, "children"),
            "missing": Output(Reconciliation.MISSING, "children"),
            "basis": Output(Reconciliation.BASIS, "children"),
        },
        inputs=(
            Input(Reconciliation.SINCE, "value"),
            State(Reconciliation.QUANTITY, "value"),
            State(Reconciliation.BELT, "value"),
        ),
    )
    def show(since: str | None, quantity: str | None, belt: str | None):
        whole = stated(desk, START)
        statement = stated(desk, since) if since else whole
        return shown(statement, quantity, belt) | {"sinces": sinces(whole)}


def stated(desk: Desk, since: str | None) -> ReconciliationStatement:
    """The statement from the survey of a date on; from the start without one."""
    day = date.fromisoformat(since) if since else None
    return desk.stated(reconciliation_statement, desk.today(), since=day)


def sinces(statement: ReconciliationStatement) -> list[dict[str, str]]:
    """The surveys at which a reconciliation may begin; the last one ends it."""
    days = sorted({line.period for line in statement.periods})[:-1]
    named = [{"value": day, "label": theme.day(date.fromisoformat(day))} for day in reversed(days)]
    return [{"value": START, "label": "From the start"}, *named]


def shown(
    statement: ReconciliationStatement, quantity: str | None, belt: str | None
) -> dict[str, Any]:
    """Every part of the page but the surveys to choose from."""
    offered = choices(statement)
    first_quantity, first_belt = first_telling(statement)
    kept = [one["value"] for one in offered["implied"]], [one["value"] for one in offered["belts"]]
    return {
        "headline": headline(statement),
        "suspect": suspect(statement),
        "streams": offered["streams"],
        "quantities": offered["implied"],
        "quantity": quantity if quantity in kept[0] else first_quantity,
        "belts": offered["belts"],
        "belt": belt if belt in kept[1] else first_belt,
        "bar_rows": [
            *how_sure(statement),
            figures(statement),
            _rows("Rows behind this chart", bar_rows(statement)),
        ],
        "fit": fit(statement),
        "implied": implied_rows(statement),
        "drift": _rows("Rows behind this chart", drift_rows(statement.drifts)),
        "misfits": _rows("Rows behind this chart", misfit_rows(statement)),
        "missing": missing(statement),
        "basis": [cautions(statement.basis), basis_block(statement.basis)],
    }


def _rows(words: str, rows: Any) -> html.Details:
    return html.Details([html.Summary(words), rows], className="rows")
