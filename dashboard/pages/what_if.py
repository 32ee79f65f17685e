"""What if: what should we change? Two options side by side, and a link that reproduces them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dash import (
    ALL,
    MATCH,
    ClientsideFunction,
    Dash,
    Input,
    Output,
    State,
    ctx,
    dcc,
    html,
    no_update,
)
from dash.exceptions import PreventUpdate

from dashboard.components import block, button, chart_note, graph, notice, page, slot
from dashboard.controls import as_width, exports, register_exports
from dashboard.desk import Desk
from dashboard.figures.options import ranges_figure, ranges_summary
from dashboard.ids import Shell, WhatIf
from dashboard.options.form import form
from dashboard.options.reading import beside, compared, name_of, written
from dashboard.options.shown import (
    assumed,
    governs,
    headline,
    range_rows,
    sides,
    stands_on,
)
from tracker.errors import InputError, TrackerError
from tracker.statements import site_in_force, what_if_of
from tracker.statements.forecast_shapes import WhatIfStatement
from tracker.statements.options import Comparison, comparison_of, comparison_of_query, query_of

PATH, NAME, SHORT = "/what-if", "What if", "What if"
HINT = "Switch on what should change in A or B, then compare. Nothing is recorded."
AT_WORK = "Walking both options to formation …"
FIELDS = {"type": WhatIf.FIELD, "side": ALL, "key": ALL}
NUMBERS = {"type": WhatIf.NUMBER, "side": ALL, "key": ALL}
PARTS = {"type": WhatIf.PART, "side": ALL, "part": ALL}


def layout(**query: str) -> html.Article:
    """The shell of the page; an address may name both options."""
    return page(
        NAME,
        dcc.Store(id=WhatIf.ASKED, data=query),
        dcc.Store(id=WhatIf.COMPARED),
        dcc.Store(id=WhatIf.QUERY),
        html.P(HINT, className="summary no-print"),
        html.Details(
            [
                html.Summary("The two options"),
                html.Div(id=WhatIf.FORM, className="option-sides"),
                html.Div(button("Compare", WhatIf.COMPARE, main=True), className="option-compare"),
            ],
            open=not query,  # a link is opened for its answer
            className="option-form no-print",
        ),
        html.P(id=WhatIf.WORKING, role="status", className="beside"),
        slot(WhatIf.SAID),
        html.Div(_answer(), id=WhatIf.ANSWER, hidden=True),
    )


def _answer() -> list[Any]:
    words = "When formation is reached"
    copy = dcc.Clipboard(
        id=WhatIf.COPY,
        target_id=WhatIf.LINK,
        children="Copy the link",
        copied_children="Copied",
        title="Copy the link",
        className="button copy",
    )
    link = html.Div(
        [html.P(id=WhatIf.LINK, className="copy-text"), html.Div([copy], className="buttons")],
        className="no-print",
    )
    return [
        html.P(id=WhatIf.HEADLINE, className="headline", tabIndex=-1),
        block(
            words,
            graph(WhatIf.RANGES, words),
            slot(WhatIf.RANGES_NOTE),
            className="chart-block",
        ),
        block("Side by side", slot(WhatIf.SIDES)),
        block("What governs", slot(WhatIf.GOVERNS)),
        block("What is assumed", slot(WhatIf.ASSUMED)),
        block("Link to this comparison", link),
        slot(WhatIf.BASIS),
        exports(WhatIf.EXPORT, WhatIf.DOWNLOAD),
    ]


def register(app: Dash, desk: Desk) -> None:
    """Wire the page."""
    _register_form(app, desk)
    _register_comparing(app, desk)
    _register_answer(app, desk)
    register_exports(
        app,
        WhatIf.EXPORT,
        WhatIf.DOWNLOAD,
        [State(WhatIf.COMPARED, "data")],
        "what-if",
        lambda query: stated(desk, comparison_of_query(query or "")),
    )


# --- the form ------------------------------------------------------------------------------------
def _register_form(app: Dash, desk: Desk) -> None:
    @app.callback(Output(WhatIf.FORM, "children"), Input(WhatIf.ASKED, "data"))
    def show_form(asked: dict[str, str] | None):
        return form(site_in_force(desk.ledger, desk.today()), linked(asked or {}))

    one = {"side": MATCH, "part": MATCH}
    app.clientside_callback(
        ClientsideFunction("options", "opened"),
        Output({"type": WhatIf.PLACE, **one}, "hidden"),
        Input({"type": WhatIf.PART, **one}, "checked"),
        prevent_initial_call=True,
    )
    number = {"side": MATCH, "key": MATCH}
    app.clientside_callback(
        ClientsideFunction("options", "follow"),
        Output({"type": WhatIf.NUMBER, **number}, "value"),
        Output({"type": WhatIf.SLIDER, **number}, "value"),
        Input({"type": WhatIf.NUMBER, **number}, "value"),
        Input({"type": WhatIf.SLIDER, **number}, "value"),
        State({"type": WhatIf.SLIDER, **number}, "min"),
        State({"type": WhatIf.SLIDER, **number}, "max"),
        prevent_initial_call=True,
    )


def linked(asked: Mapping[str, str]) -> Comparison | None:
    """The comparison of a link; None where it says none, or nothing that can be read."""
    try:
        return comparison_of(asked) if asked else None
    except InputError:
        return None


# --- comparing -----------------------------------------------------------------------------------
def _register_comparing(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "compared": Output(WhatIf.COMPARED, "data"),
            "said": Output(WhatIf.SAID, "children"),
            "fields": Output(FIELDS, "error"),
            "numbers": Output(NUMBERS, "error"),
        },
        inputs={
            "clicks": Input(WhatIf.COMPARE, "n_clicks"),
            "asked": Input(WhatIf.ASKED, "data"),
            "fields": State(FIELDS, "value"),
            "numbers": State(NUMBERS, "value"),
            "parts": State(PARTS, "checked"),
        },
        running=[
            (Output(WhatIf.COMPARE, "disabled"), True, False),
            (Output(WhatIf.WORKING, "children"), AT_WORK, ""),
        ],
    )
    def compare(clicks: int | None, asked: dict[str, str] | None, fields, numbers, parts):
        by_button = ctx.triggered_id == WhatIf.COMPARE and bool(clicks)
        if not by_button and not asked:
            raise PreventUpdate
        values = held(ctx.args_grouping) if by_button else None
        return spread(answered(desk, values, asked or {}), ctx.outputs_grouping)


def held(given: Mapping[str, Any]) -> dict[str, str]:
    """What stands in the form, by the names of the reader."""
    fields = [(one["id"], one.get("value")) for one in (*given["fields"], *given["numbers"])]
    return written(fields, [(one["id"], one.get("value")) for one in given["parts"]])


def answered(
    desk: Desk, values: Mapping[str, str] | None, asked: Mapping[str, str]
) -> dict[str, Any]:
    """What the form, or without one the link, comes to: its query, or the sentences against it."""
    try:
        comparison = comparison_of(asked) if values is None else compared(values, asked)
        stated(desk, comparison)
    except InputError as error:
        said, rest = beside(error, list(values or ()))
        told = [*rest, *_see(len(said))]
        return {"compared": None, "said": refusal(told), "errors": said}
    except TrackerError as error:
        return {"compared": None, "said": refusal([str(error)]), "errors": {}}
    return {"compared": query_of(comparison), "said": None, "errors": {}}


def _see(count: int) -> list[str]:
    if not count:
        return []
    return [f"{count} value{'s' if count > 1 else ''} cannot be taken: see beside the fields."]


def refusal(sentences: list[str]) -> html.Div:
    """Why nothing was compared."""
    first, *others = sentences
    return notice(first, *(html.P(words) for words in others), meaning="breach", alert=True)


def spread(answer: Mapping[str, Any], outputs: Mapping[str, Any]) -> dict[str, Any]:
    """An answer in the order of the outputs: each sentence beside its field."""
    errors = answer["errors"]
    return {
        "compared": answer["compared"],
        "said": answer["said"],
        **{
            kind: [errors.get(name_of(one["id"])) for one in outputs[kind]]
            for kind in ("fields", "numbers")
        },
    }


def stated(desk: Desk, comparison: Comparison) -> WhatIfStatement:
    """The statement of a comparison, as kept while nothing is written."""
    statement: WhatIfStatement = desk.stated(what_if_of, comparison, as_of=desk.today())
    return statement


# --- the answer ----------------------------------------------------------------------------------
def _register_answer(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "hidden": Output(WhatIf.ANSWER, "hidden"),
            "headline": Output(WhatIf.HEADLINE, "children"),
            "ranges": Output(WhatIf.RANGES, "figure"),
            "note": Output(WhatIf.RANGES_NOTE, "children"),
            "sides": Output(WhatIf.SIDES, "children"),
            "governs": Output(WhatIf.GOVERNS, "children"),
            "assumed": Output(WhatIf.ASSUMED, "children"),
            "query": Output(WhatIf.QUERY, "data"),
            "basis": Output(WhatIf.BASIS, "children"),
        },
        inputs=(Input(WhatIf.COMPARED, "data"), Input(Shell.WIDTH, "data")),
    )
    def show(query: str | None, width: int | None):
        if query is None:
            return dict.fromkeys(ctx.outputs_grouping, no_update) | {"hidden": True}
        return shown(stated(desk, comparison_of_query(query)), as_width(width))

    app.clientside_callback(
        ClientsideFunction("options", "link"),
        Output(WhatIf.LINK, "children"),
        Input(WhatIf.QUERY, "data"),
        State(WhatIf.COMPARE, "n_clicks"),
        State(WhatIf.HEADLINE, "id"),
    )


def shown(statement: WhatIfStatement, width_px: int) -> dict[str, Any]:
    """Every part of the answer."""
    return {
        "hidden": False,
        "headline": headline(statement),
        "ranges": ranges_figure(statement, width_px),
        "note": chart_note(ranges_summary(statement), range_rows(statement)),
        "sides": sides(statement),
        "governs": governs(statement),
        "assumed": assumed(statement),
        "query": f"{PATH}?{statement.link}",
        "basis": stands_on(statement),
    }
