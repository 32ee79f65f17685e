"""Survey: what was measured, and whether it can be defended."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import dash_mantine_components as dmc
from dash import Dash, Input, Output, State, ctx, dcc, html
from dash.exceptions import PreventUpdate

from dashboard import theme
from dashboard.components import basis_block, cautions, choice, mark, page, slot
from dashboard.controls import exports, register_exports
from dashboard.desk import Desk
from dashboard.ids import Survey
from dashboard.surveys.recording import record_parts, register_recording
from dashboard.surveys.shown import answers, figures, headline
from dashboard.surveys.view import ViewIds, register_view, view
from tracker.errors import InputError, NotEnoughData, UnknownName
from tracker.statements import site_in_force, survey_statement
from tracker.statements.survey_shapes import SurveyStatement, TakenSurvey

PATH, NAME, SHORT = "/survey", "Survey", "Survey"
VIEW = ViewIds(Survey.KIND, Survey.DRAWABLE, Survey.FRAME, Survey.GRAPH, Survey.NOTE)
GROUND = {"value": "", "label": "Ground before digging"}
RECORD = "record"


def layout(
    excavation: str = "", survey: str = "", since: str = "", mode: str = "", **_query: str
) -> html.Article:
    """The shell of the page; an address may name a survey, or ask for the form of a new one."""
    if mode == RECORD:
        back = dcc.Link("Back to the surveys", href=PATH, className="link")
        return page("Record a survey", back, *record_parts())
    return page(
        NAME,
        dcc.Store(
            id=Survey.ASKED, data={"excavation": excavation, "survey": survey, "since": since}
        ),
        html.Div(
            [
                dmc.SegmentedControl(id=Survey.EXCAVATION, data=[], className="segments"),
                html.Div(
                    choice(Survey.SURVEY, "Survey", placeholder="None recorded yet"),
                    className="survey-choice",
                ),
                html.Div(choice(Survey.SINCE, "Volume since"), className="survey-choice"),
                dcc.Link("Record a survey …", href=f"{PATH}?mode={RECORD}", className="button"),
            ],
            className="controls no-print",
        ),
        html.P(id=Survey.HEADLINE, className="headline"),
        html.Section(
            [view(VIEW, "The surveyed surface"), slot(Survey.CAUTIONS)],
            className="chart-block section-block",
        ),
        slot(Survey.FIGURES),
        slot(Survey.ANSWERS),
        slot(Survey.BASIS),
        html.Div(exports(Survey.EXPORT, Survey.DOWNLOAD), id=Survey.TAKE_AWAY),
    )


def register(app: Dash, desk: Desk) -> None:
    """Wire the page."""
    chosen = (Survey.EXCAVATION, Survey.SURVEY, Survey.SINCE)
    register_exports(
        app,
        Survey.EXPORT,
        Survey.DOWNLOAD,
        [State(name, "value") for name in chosen],
        "survey",
        lambda *values: stated(desk, *values),
    )
    register_view(
        app,
        desk,
        VIEW,
        [Input(Survey.EXCAVATION, "value"), Input(Survey.SURVEY, "value")],
        lambda excavation, survey: (desk.today(), _chosen(excavation), survey or ""),
    )
    register_recording(app, desk)
    _register_choices(app, desk)
    _register_answers(app, desk)


def _register_choices(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(Survey.EXCAVATION, "data"),
        Output(Survey.EXCAVATION, "value"),
        Input(Survey.ASKED, "data"),
    )
    def offer_excavations(asked: dict[str, str]):
        found = site_in_force(desk.ledger, desk.today()).excavations
        names = [e.excavation for e in found]
        wanted = asked["excavation"]
        data = [{"value": e.excavation, "label": e.name} for e in found]
        return data, wanted if wanted in names else names[0]


def _register_answers(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "surveys": Output(Survey.SURVEY, "data"),
            "survey": Output(Survey.SURVEY, "value"),
            "sinces": Output(Survey.SINCE, "data"),
            "since": Output(Survey.SINCE, "value"),
            "headline": Output(Survey.HEADLINE, "children"),
            "cautions": Output(Survey.CAUTIONS, "children"),
            "figures": Output(Survey.FIGURES, "children"),
            "answers": Output(Survey.ANSWERS, "children"),
            "basis": Output(Survey.BASIS, "children"),
            "nothing": Output(Survey.TAKE_AWAY, "hidden"),
        },
        inputs=(
            Input(Survey.EXCAVATION, "value"),
            Input(Survey.SURVEY, "value"),
            Input(Survey.SINCE, "value"),
            State(Survey.ASKED, "data"),
        ),
    )
    def show(excavation: str | None, survey: str | None, since: str | None, asked: dict):
        if ctx.triggered_id == Survey.EXCAVATION:
            first = site_in_force(desk.ledger, desk.today()).excavations[0].excavation
            survey, since = asked_of(asked, _chosen(excavation), first)
        return shown(desk, _chosen(excavation), survey or "", since or "")


def _chosen(excavation: str | None) -> str:
    if not excavation:
        raise PreventUpdate
    return excavation


def asked_of(asked: dict[str, str], excavation: str, first: str) -> tuple[str, str]:
    """The survey and its earlier one that the address asks for, if it is of this excavation.

    An address that names no excavation means the first.
    """
    wanted = asked["excavation"] or first
    return (asked["survey"], asked["since"]) if wanted == excavation else ("", "")


# --- what is shown -------------------------------------------------------------------------------
def stated(desk: Desk, excavation: str, survey: str, since: str) -> SurveyStatement:
    """The statement of what is chosen."""
    return desk.stated(
        survey_statement,
        desk.today(),
        excavation=excavation,
        survey=survey or "",
        since=since or "",
    )


def shown(desk: Desk, excavation: str, survey: str, since: str) -> dict[str, Any]:
    """Every part of the page; an earlier survey that is none any more gives way to the ground."""
    try:
        statement, missing = found(desk, excavation, survey, since)
    except NotEnoughData:
        return nothing()
    earlier = earlier_surveys(statement)
    return {
        "surveys": [survey_option(one) for one in statement.surveys],
        "survey": statement.survey,
        "sinces": [GROUND, *(survey_option(one) for one in earlier)],
        "since": statement.since,
        "headline": [mark(missing, "warning"), headline(statement)]
        if missing
        else headline(statement),
        "cautions": cautions(statement.basis),
        "figures": figures(statement),
        "answers": answers(statement, survey_link),
        "basis": basis_block(statement.basis),
        "nothing": False,
    }


def found(desk: Desk, excavation: str, survey: str, since: str) -> tuple[SurveyStatement, str]:
    """The statement of what is chosen, or the nearest there is, and what is missing in words.

    Raises NotEnoughData where there is no survey at all.
    """
    try:
        return stated(desk, excavation, survey, since), ""
    except InputError:
        pass  # the survey is none of this excavation, or the earlier one was not made before it
    try:
        return stated(desk, excavation, survey, ""), ""
    except UnknownName:
        missing = f"There is no survey “{survey}” here. This is the last one."
        return stated(desk, excavation, "", ""), missing


def nothing() -> dict[str, Any]:
    """The page of an excavation without a survey: the view says so, the rest is empty."""
    empty: dict[str, Any] = dict.fromkeys(("headline", "cautions", "figures", "answers", "basis"))
    choices = {"surveys": [], "survey": None, "sinces": [GROUND], "since": ""}
    return empty | choices | {"nothing": True}


def earlier_surveys(statement: SurveyStatement) -> list[TakenSurvey]:
    """The surveys made before the one that is shown, the newest first."""
    return [one for one in statement.surveys if one.surveyed_at < statement.surveyed_at]


def survey_option(one: TakenSurvey) -> dict[str, str]:
    """A survey in a list to choose from."""
    return {"value": one.survey, "label": f"{one.survey}, {theme.short_day(one.work_date)}"}


def survey_link(one: TakenSurvey) -> dcc.Link:
    """The address of a survey on this page."""
    query = urlencode({"excavation": one.excavation, "survey": one.survey})
    return dcc.Link(one.survey, href=f"{PATH}?{query}", className="link")
