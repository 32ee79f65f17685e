"""Recording a survey: hand over, look, and only then record. Wiring and what each step answers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from urllib.parse import urlencode

from dash import ClientsideFunction, Dash, Input, Output, State, dcc, html, no_update

from dashboard.at_work import DONE, REFUSED, Progress, Work
from dashboard.components import notice
from dashboard.controls import as_width, pressed
from dashboard.desk import Desk
from dashboard.handing_over import register_handing_over
from dashboard.ids import Shell, SurveyRecord
from dashboard.surveys.form import FIELDS, HANDING, SWITCHES, ending, form
from dashboard.surveys.report import breaches, report_parts
from tracker.errors import InputError, TrackerError
from tracker.recording.survey_fields import questions_of
from tracker.recording.surveys import (
    Examined,
    SurveyQuestions,
    examine_survey,
    record_survey,
)
from tracker.statements import site_in_force

TICK_MS = 700
GONE = "The file is not on the server any more. Choose it again, then look at it."
FILE_STORES = {"storage_type": "session"}  # of this tab only


def record_parts() -> list[Any]:
    """The form, what is looked at, and the stores of this tab."""
    return [
        dcc.Store(id=SurveyRecord.HANDED, **FILE_STORES),
        dcc.Store(id=SurveyRecord.WORK, **FILE_STORES),
        dcc.Interval(id=SurveyRecord.TICK, interval=TICK_MS),
        html.P(
            "A survey goes on record with its volume, its uncertainty and its deepest points, and"
            " is held against the returns. First look at what the file says.",
        ),
        form(),
        ending(),
    ]


def register_recording(app: Dash, desk: Desk) -> None:
    """Wire the form."""
    register_handing_over(app, HANDING, desk.work)
    _register_browser(app)
    _register_choices(app, desk)
    _register_looking(app, desk)
    _register_saving(app, desk)


def _register_browser(app: Dash) -> None:
    """The files, what a change undoes, and the way to the report."""
    app.clientside_callback(
        ClientsideFunction("files", "place"), Input(SurveyRecord.HANDED, "data")
    )
    app.clientside_callback(
        ClientsideFunction("files", "arrive"), Input(SurveyRecord.REPORT, "children")
    )
    app.clientside_callback(
        ClientsideFunction("files", "answer"),
        Input(SurveyRecord.SAID, "children"),
        Input(SurveyRecord.SAVED, "children"),
    )
    app.clientside_callback(
        ClientsideFunction("files", "unlooked"),
        Output(SurveyRecord.REPORT, "children", allow_duplicate=True),
        Output(SurveyRecord.SAVE_BLOCK, "hidden", allow_duplicate=True),
        Output(SurveyRecord.WORK, "data", allow_duplicate=True),
        *(Input(name, "value") for name in FIELDS.values()),
        *(Input(name, "checked") for name in SWITCHES.values()),
        prevent_initial_call=True,
    )


def _register_choices(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(SurveyRecord.EXCAVATION, "data"),
        Output(SurveyRecord.EXCAVATION, "value"),
        Output(SurveyRecord.DATUM, "data"),
        Output(SurveyRecord.DATE, "maxDate"),
        Output(SurveyRecord.BY, "value"),
        Input(SurveyRecord.TICK, "id"),
        State(SurveyRecord.EXCAVATION, "value"),
        State(Shell.LAST, "data"),
    )
    def offer(_id: str, chosen: str | None, last: dict | None):
        site = site_in_force(desk.ledger, desk.today())
        excavations = [{"value": e.excavation, "label": e.name} for e in site.excavations]
        first = no_update if chosen else excavations[0]["value"]
        datums = [
            {"value": "site", "label": site.datum.name},
            {"value": "national", "label": site.datum.national_name},
        ]
        by = (last or {}).get("by") or desk.user
        return excavations, first, datums, desk.today().isoformat(), by


def _register_looking(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(SurveyRecord.WORK, "data"),
        Output(SurveyRecord.TICK, "disabled"),
        Output(SurveyRecord.SAID, "children"),
        Output(SurveyRecord.SAVED, "children", allow_duplicate=True),
        Output(SurveyRecord.REASON, "value", allow_duplicate=True),
        Input(SurveyRecord.LOOK, "n_clicks"),
        State(SurveyRecord.HANDED, "data"),
        *(State(name, "value") for name in FIELDS.values()),
        *(State(name, "checked") for name in SWITCHES.values()),
        prevent_initial_call=True,
    )
    def look(clicks: int | None, handed: dict[str, str] | None, *values: Any):
        pressed(clicks)
        try:
            token = looked_at(desk, (handed or {}).get("work", ""), values)
        except TrackerError as error:
            return None, True, refusal(str(error)), None, no_update
        # A reason belongs to the look it was written for.
        return token, False, progress_part(desk.work.opened(token)), None, ""

    @app.callback(
        output={
            "said": Output(SurveyRecord.SAID, "children", allow_duplicate=True),
            "report": Output(SurveyRecord.REPORT, "children"),
            "locked": Output(SurveyRecord.SAVE_BLOCK, "hidden"),
            "no_reason": Output(SurveyRecord.REASON_BLOCK, "hidden"),
            "still": Output(SurveyRecord.TICK, "disabled", allow_duplicate=True),
        },
        inputs=(
            Input(SurveyRecord.TICK, "n_intervals"),
            State(SurveyRecord.WORK, "data"),
            State(Shell.WIDTH, "data"),
        ),
        prevent_initial_call=True,
    )
    def tick(_n: int, token: str | None, width: int | None):
        return looked(desk, token, as_width(width))


def _register_saving(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "saved": Output(SurveyRecord.SAVED, "children"),
            "handed": Output(SurveyRecord.HANDED, "data"),
            "work": Output(SurveyRecord.WORK, "data", allow_duplicate=True),
            "report": Output(SurveyRecord.REPORT, "children", allow_duplicate=True),
            "locked": Output(SurveyRecord.SAVE_BLOCK, "hidden", allow_duplicate=True),
            "changed": Output(Shell.CHANGED, "data", allow_duplicate=True),
            "reason": Output(SurveyRecord.REASON, "value"),
        },
        inputs=(
            Input(SurveyRecord.SAVE, "n_clicks"),
            State(SurveyRecord.WORK, "data"),
            State(SurveyRecord.BY, "value"),
            State(SurveyRecord.REASON, "value"),
        ),
        prevent_initial_call=True,
    )
    def save(clicks: int | None, token: str | None, by: str | None, reason: str | None):
        pressed(clicks)
        return saved(desk, token or "", (by or "").strip(), reason or "")


# --- what each step answers ----------------------------------------------------------------------
def looked_at(desk: Desk, token: str, values: Sequence[Any]) -> str:
    """Begin to examine what was handed over as the fields say; gives the token of the work.

    Raises InputError for the first field that is wrong.
    """
    texts, checks = values[: len(FIELDS)], values[len(FIELDS) :]
    fields = {name: str(text or "") for name, text in zip(FIELDS, texts, strict=True)}
    fields |= {name: "yes" if on else "" for name, on in zip(SWITCHES, checks, strict=True)}
    work = desk.work.found(token)
    if token and work is None:
        raise InputError(GONE, field="points")
    asked = questions_of(fields, work.files if work else {})
    work = desk.work.opened(token)
    desk.work.start(work, lambda progress: examined(desk, asked, progress))
    return work.token


def examined(desk: Desk, asked: SurveyQuestions, progress: Progress) -> Examined:
    """Examine; what is refused is said a line each, without the names of columns."""
    try:
        return examine_survey(desk.ledger, asked, progress=progress)
    except InputError as error:
        problems = getattr(error, "problems", ())
        if not problems:
            raise
        said = list(dict.fromkeys(problem.message for problem in problems))
        raise InputError("\n".join(said)) from None


def looked(desk: Desk, token: str | None, width_px: int) -> dict[str, Any]:
    """How far the examination is, what it refused, or what it found."""
    answer = dict.fromkeys(("said", "report", "locked", "no_reason"), no_update)
    if not token:
        return answer | {"still": True}
    work = desk.work.found(token)
    if work is None:
        return answer | {"said": refusal(GONE), "report": None, "locked": True, "still": True}
    if work.state == REFUSED:
        said = refusal(*work.refusal.splitlines())
        return answer | {"said": said, "report": None, "locked": True, "still": True}
    if work.recorded:
        return answer | {"said": None, "report": None, "locked": True, "still": True}
    if work.state != DONE or work.examined is None:
        return answer | {"said": progress_part(work), "still": not work.is_under_way}
    return {
        "said": None,
        "report": report_parts(desk, work.examined, width_px),
        "locked": False,
        "no_reason": not work.examined.report.is_red,
        "still": True,
    }


def saved(desk: Desk, token: str, by: str, reason: str) -> dict[str, Any]:
    """Record what was looked at, once however often the button is pressed."""
    held = ("handed", "work", "report", "locked", "changed", "reason")
    answer: dict[str, Any] = dict.fromkeys(held, no_update)
    work = desk.work.found(token)
    if work is None or work.examined is None:
        return answer | {"saved": refusal(GONE)}
    if not by:
        return answer | {"saved": refusal("Write your name or initials. Nothing is recorded.")}
    with work.lock:
        try:
            work.recorded = work.recorded or record_survey(
                desk.ledger, work.examined, by=by, reason=reason
            )
        except TrackerError as error:
            return answer | {"saved": refusal(f"{error} Nothing is recorded.")}
    work.let_go()
    done = recorded_notice(work.examined)
    empty = dict.fromkeys(("handed", "work", "report"))
    return empty | {"saved": done, "locked": True, "changed": work.recorded, "reason": ""}


def recorded_notice(found: Examined) -> html.Div:
    """That it is recorded, the breaches it went in with, and the way to it."""
    surface, low = found.surface, breaches(found)
    query = urlencode({"excavation": surface.excavation, "survey": surface.survey})
    link = dcc.Link("See the survey", href=f"/survey?{query}", className="link")
    words = f"Recorded survey {surface.survey}."
    return notice(words, *map(html.P, low), link, meaning="breach" if low else "done")


def refusal(words: str, *more: str) -> html.Div:
    """Why it went no further, beside the button; nothing typed is lost."""
    return notice(words, *map(html.P, more), meaning="breach", alert=True)


def progress_part(work: Work) -> html.Div:
    """How far the reading is; the page can be left meanwhile."""
    done, of = work.done, work.of
    words = (
        f"Reading: {done:,} of {of:,}."
        if of and done < of
        else "Making the surface and its volumes."
        if of
        else "Waiting for its turn."
    )
    bar = html.Progress(value=str(done), max=str(of)) if of else html.Progress()
    return html.Div(
        [html.P(f"{words} You can leave this page and come back in this tab."), bar],
        role="status",
        className="at-work",
    )
