"""Dig return: what a shift did. Check first, then save; a double tap saves once."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, html
from dash.exceptions import PreventUpdate

from dashboard import theme
from dashboard.components import page, slot
from dashboard.controls import as_date, pressed, register_date_buttons
from dashboard.desk import Desk
from dashboard.ids import DigReturn, Shell
from dashboard.returns import form
from dashboard.returns.words import permit_panel
from dashboard.returns.writing import RETURN, checked, saved
from dashboard.writing import draft_notice, last_rows, taken_back, withdrawn_words
from tracker.recording.texts import fields_of
from tracker.statements import day_statement, history_statement, records_statement, site_in_force

PATH, NAME, SHORT = "/dig-return", "Dig return", "Return"
HEADINGS = {"new": NAME, "amend": "Amend a dig return", "withdraw": "Withdraw a dig return"}


def layout(amend: str = "", withdraw: str = "", fresh: str = "", **_query: str) -> html.Article:
    """The shell of the page; an address may name a return to amend or to withdraw."""
    stores = form.stores(amend, withdraw, fresh)
    return page(
        HEADINGS[stores[0].data["mode"]],
        *stores,
        slot(DigReturn.DRAFT_NOTE),
        html.Div(
            [html.Div([form.form(), form.ending()]), form.last_ten()], className="return-columns"
        ),
    )


def register(app: Dash, desk: Desk) -> None:
    """Wire the page."""
    register_date_buttons(app, desk, form.DATES)
    _register_opening(app, desk)
    _register_browser(app)
    _register_choices(app, desk)
    _register_writing(app, desk)


VALUES = [State(name, "value") for name in form.FIELDS.values()]
DELAYS = [
    State({"type": DigReturn.DELAY_CAUSE, "n": ALL}, "value"),
    State({"type": DigReturn.DELAY_MINUTES, "n": ALL}, "value"),
]
FORM = [*VALUES, State(DigReturn.NIL, "checked"), *DELAYS]
ERRORS = {c: Output(form.FIELDS[c], "error", allow_duplicate=True) for c in form.WITH_ERROR}


# --- opening -------------------------------------------------------------------------------------
def _register_opening(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "values": {c: Output(name, "value") for c, name in form.FIELDS.items()},
            "nil": Output(DigReturn.NIL, "checked"),
            "causes": Output({"type": DigReturn.DELAY_CAUSE, "n": ALL}, "value"),
            "minutes": Output({"type": DigReturn.DELAY_MINUTES, "n": ALL}, "value"),
            "note": Output(DigReturn.DRAFT_NOTE, "children"),
            "ready": Output(DigReturn.READY, "data"),
            "entry": Output(DigReturn.ENTRY, "data"),
        },
        inputs=(
            Input(DigReturn.MODE, "data"),
            State(Shell.DRAFT, "data"),
            State(Shell.LAST, "data"),
        ),
    )
    def open_form(mode: dict[str, str], draft: dict | None, last: dict | None):
        return opening(desk, mode, draft, {"by": desk.user} | (last or {}))

    @app.callback(
        output={
            "shift": Output(DigReturn.SHIFT, "data"),
            "zone": Output(DigReturn.ZONE, "data"),
            "causes": Output({"type": DigReturn.DELAY_CAUSE, "n": ALL}, "data"),
            "blocks": {
                "form": Output(DigReturn.FORM, "hidden"),
                "reason": Output(DigReturn.REASON_BLOCK, "hidden"),
                "check": Output(DigReturn.CHECK_BLOCK, "hidden"),
                "withdraw": Output(DigReturn.WITHDRAW_BLOCK, "hidden"),
            },
            "what": Output(DigReturn.WITHDRAW_WHAT, "children"),
            "last_day": Output(DigReturn.DATE, "maxDate"),
        },
        inputs=(Input(DigReturn.MODE, "data"),),
    )
    def offer(mode: dict[str, str]) -> dict[str, Any]:
        return offered(desk, mode)


def opening(desk: Desk, mode: dict[str, str], draft: dict | None, last: dict) -> dict[str, Any]:
    """The fields as they open: as they were written, as a draft left them, or as last time."""
    nil, causes, minutes, note = False, [None] * form.DELAY_ROWS, [""] * form.DELAY_ROWS, None
    values: dict[str, Any] = dict.fromkeys(form.FIELDS, "")
    values |= {"work_date": desk.today().isoformat(), "basis": "measured"}
    values |= {name: last[name] for name in form.AS_LAST_TIME if last.get(name)}
    if mode["mode"] != "new":
        old = fields_of(desk.ledger.stored(mode["entry"]).entry)
        values |= {name: text for name, text in old.items() if name in form.FIELDS}
        values["basis"] = values["basis"] or "measured"
        nil = bool(old["nil_reason"])
        causes, minutes = form.delay_rows(old["delays"])
    elif draft and not mode.get("fresh"):
        values |= {name: draft[name] for name in form.FIELDS if draft.get(name)}
        nil, causes, minutes = bool(draft["nil"]), draft["causes"], draft["minutes"]
        note = draft_notice(draft["saved_at"], f"{PATH}?fresh=yes")
    return {
        "values": {name: value or None for name, value in values.items()}
        | {name: values[name] or "" for name in form.TYPED},
        "nil": nil,
        "causes": causes,
        "minutes": minutes,
        "note": note,
        "ready": {**mode, "zone": values["zone"]},
        "entry": secrets.token_hex(16),
    }


def offered(desk: Desk, mode: dict[str, str]) -> dict[str, Any]:
    """The choices of the set-up, and which parts of the page show."""
    site = site_in_force(desk.ledger, desk.today())
    causes = [{"value": c.cause, "label": c.name} for c in site.causes]
    withdrawing, changing = mode["mode"] == "withdraw", mode["mode"] != "new"
    what = history_statement(desk.ledger, mode["entry"]).lines[-1].what if withdrawing else ""
    return {
        "shift": [{"value": s.shift, "label": s.name} for s in site.shifts],
        "zone": [{"value": z.zone, "label": z.name} for z in site.zones],
        "causes": [causes] * form.DELAY_ROWS,
        "blocks": {
            "form": withdrawing,
            "reason": not changing,
            "check": withdrawing,
            "withdraw": not withdrawing,
        },
        "what": withdrawn_words(what) if withdrawing else "",
        "last_day": desk.today().isoformat(),
    }


# --- in the browser ------------------------------------------------------------------------------
def _register_browser(app: Dash) -> None:
    """What needs no server: which fields show, the draft, and what a change undoes."""
    values = [Input(name, "value") for name in form.FIELDS.values()]
    rest = [
        Input(DigReturn.NIL, "checked"),
        Input({"type": DigReturn.DELAY_CAUSE, "n": ALL}, "value"),
        Input({"type": DigReturn.DELAY_MINUTES, "n": ALL}, "value"),
    ]
    blocks = ("NIL_BLOCK", "DUG_BLOCK", "BANK_BLOCK", "COUNT_BLOCK", "MASS_BLOCK")
    app.clientside_callback(
        ClientsideFunction("entry", "blocks"),
        *(Output(DigReturn[name], "hidden") for name in blocks),
        Input(DigReturn.NIL, "checked"),
        Input(DigReturn.BASIS, "value"),
    )
    app.clientside_callback(
        ClientsideFunction("entry", "draft"),
        Output(Shell.DRAFT, "data"),
        *values,
        *rest,
        State(DigReturn.READY, "data"),
        prevent_initial_call=True,
    )
    app.clientside_callback(
        ClientsideFunction("entry", "unchecked"),
        Output(DigReturn.ECHO, "children", allow_duplicate=True),
        Output(DigReturn.SAVE_BLOCK, "hidden", allow_duplicate=True),
        *values,
        *rest,
        prevent_initial_call=True,
    )
    app.clientside_callback(
        ClientsideFunction("entry", "untold"),
        Output(DigReturn.SAVE, "disabled"),
        Input(DigReturn.TOLD, "checked"),
        Input(DigReturn.TOLD_BLOCK, "hidden"),
    )


# --- choices that follow the zone ----------------------------------------------------------------
def _register_choices(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(DigReturn.STAGE, "data"),
        Output(DigReturn.STAGE, "value", allow_duplicate=True),
        Output(DigReturn.STREAM, "data"),
        Output(DigReturn.STREAM, "value", allow_duplicate=True),
        Output(DigReturn.PERMIT, "children"),
        Input(DigReturn.ZONE, "value"),
        Input(DigReturn.DATE, "value"),
        Input(Shell.CHANGED, "data"),
        State(DigReturn.STAGE, "value"),
        State(DigReturn.STREAM, "value"),
        State(DigReturn.READY, "data"),
        prevent_initial_call=True,
    )
    def follow_zone(
        zone: str | None,
        day: str | None,
        _changed: Any,
        stage: str | None,
        stream: str | None,
        ready: dict | None,
    ):
        if not zone or not ready:
            raise PreventUpdate
        same = zone == ready["zone"] or ctx.triggered_id == Shell.CHANGED
        kept = (stage, stream) if same else (None, None)
        return followed(desk, zone, as_date(day), *kept)


def followed(desk: Desk, zone: str, day: date, stage: str | None, stream: str | None):
    """Stages and streams of a zone, the ones to offer first, and the permitted level."""
    site = site_in_force(desk.ledger, day)
    statement = desk.stated(day_statement, day)
    level = next(z for z in statement.zones if z.zone == zone)
    stages = site.stages_of(zone)
    bands = site.ground_of(zone)
    known = {b.stream: site.stream(b.stream).name for b in bands}
    open_stage = next((s for s in stages if s.design_level_m == level.permitted_level_m), stages[0])
    ground = next(
        (b.stream for b in bands if b.lower_level_m <= level.permitted_level_m), bands[-1].stream
    )
    holds = records_statement(
        desk.ledger, kind="hold_releases", until=day, limit=500, current_only=True
    )
    return (
        [
            {"value": str(s.stage), "label": f"{s.stage}, to {theme.level(s.design_level_m, 'm')}"}
            for s in stages
        ],
        stage or str(open_stage.stage),
        [{"value": name, "label": words} for name, words in known.items()],
        stream if stream in known else ground,
        permit_panel(level, holds.lines, statement.basis.datum),
    )


# --- check and write -----------------------------------------------------------------------------
def _register_writing(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "errors": ERRORS,
            "delays": Output(DigReturn.DELAYS_ERROR, "children"),
            "echo": Output(DigReturn.ECHO, "children"),
            "locked": Output(DigReturn.SAVE_BLOCK, "hidden"),
            "saved": Output(DigReturn.SAVED, "children", allow_duplicate=True),
            "told": Output(DigReturn.TOLD, "checked"),
            "untold": Output(DigReturn.TOLD_BLOCK, "hidden"),
            "told_words": Output(DigReturn.TOLD, "label"),
        },
        inputs=(Input(DigReturn.CHECK, "n_clicks"), State(DigReturn.MODE, "data"), *FORM),
        prevent_initial_call=True,
    )
    def check(clicks: int, mode: dict[str, str], *values: Any) -> dict[str, Any]:
        pressed(clicks)
        return checked(desk, mode, values)

    _register_saving(app, desk)
    _register_withdrawing(app, desk)

    @app.callback(
        Output(DigReturn.LAST_TEN, "children"),
        Input(Shell.CHANGED, "data"),
        Input(DigReturn.READY, "data"),
        Input(DigReturn.BY, "value"),
        State(Shell.LAST, "data"),
    )
    def show_last(_changed: Any, _ready: Any, by: str | None, last: dict | None):
        return last_rows(desk, RETURN, by or (last or {}).get("by") or desk.user or "")


def _register_saving(app: Dash, desk: Desk) -> None:
    @app.callback(
        output=_written_outputs(),
        inputs=(
            Input(DigReturn.SAVE, "n_clicks"),
            State(DigReturn.MODE, "data"),
            State(DigReturn.ENTRY, "data"),
            State(DigReturn.REASON, "value"),
            State(DigReturn.TOLD, "checked"),
            *FORM,
        ),
        prevent_initial_call=True,
        running=[(Output(DigReturn.SAVE, "disabled"), True, False)],
    )
    def save(clicks: int, mode: dict[str, str], entry: str, reason: str, told: bool, *values: Any):
        pressed(clicks)
        return saved(desk, mode, entry, reason, told, values)


def _register_withdrawing(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "saved": Output(DigReturn.SAVED, "children", allow_duplicate=True),
            "changed": Output(Shell.CHANGED, "data", allow_duplicate=True),
            "reason": Output(DigReturn.REASON, "error", allow_duplicate=True),
            "by": Output(DigReturn.BY, "error", allow_duplicate=True),
        },
        inputs=(
            Input(DigReturn.WITHDRAW, "n_clicks"),
            State(DigReturn.MODE, "data"),
            State(DigReturn.REASON, "value"),
            State(DigReturn.BY, "value"),
        ),
        prevent_initial_call=True,
        running=[(Output(DigReturn.WITHDRAW, "disabled"), True, False)],
    )
    def take_back(clicks: int, mode: dict[str, str], reason: str, by: str):
        pressed(clicks)
        return taken_back(desk, RETURN, mode, reason, by)


def _written_outputs() -> dict[str, Any]:
    return {
        "errors": ERRORS,
        "reason": Output(DigReturn.REASON, "error"),
        "typed": {c: Output(form.FIELDS[c], "value", allow_duplicate=True) for c in form.TYPED},
        "nil": Output(DigReturn.NIL, "checked", allow_duplicate=True),
        "minutes": Output(
            {"type": DigReturn.DELAY_MINUTES, "n": ALL}, "value", allow_duplicate=True
        ),
        "causes": Output({"type": DigReturn.DELAY_CAUSE, "n": ALL}, "value", allow_duplicate=True),
        "entry": Output(DigReturn.ENTRY, "data", allow_duplicate=True),
        "saved": Output(DigReturn.SAVED, "children"),
        "locked": Output(DigReturn.SAVE_BLOCK, "hidden", allow_duplicate=True),
        "changed": Output(Shell.CHANGED, "data", allow_duplicate=True),
        "last": Output(Shell.LAST, "data"),
        "note": Output(DigReturn.DRAFT_NOTE, "children", allow_duplicate=True),
    }
