"""The form of a record at work: opening, choices, check, save, withdraw. Wiring only."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, dcc, html, no_update

from dashboard.components import page, slot
from dashboard.controls import pressed
from dashboard.desk import Desk
from dashboard.forms.fields import ONES, asked, choices
from dashboard.forms.form import (
    ending,
    form,
    fresh_values,
    held_of,
    last_ten,
    name_of,
    stores,
)
from dashboard.forms.writing import FORMS, beside, checked, saved
from dashboard.ids import Shell, SpoilEntry
from dashboard.writing import draft_notice, last_rows, taken_back, withdrawn_words
from tracker.recording.columns import KINDS
from tracker.recording.texts import fields_of
from tracker.statements import history_statement, records_statement, site_in_force

FIELD = {"type": SpoilEntry.FIELD, "column": ALL, "part": ALL}
CHOICE = {"type": SpoilEntry.FIELD, "column": ALL, "part": "choice"}
KNOWN = {"type": SpoilEntry.FIELD, "column": ALL, "part": "known"}
DATE = {"type": SpoilEntry.FIELD, "column": ALL, "part": "date"}
PLACE = {"type": SpoilEntry.PLACE, "column": ALL}
KNOWN_FROM = 200  # the latest entries of a kind, of which what was written before is offered
MOST_KNOWN = 40


VERBS = {"amend": "Amend a", "withdraw": "Withdraw a"}


def entry_page(
    kind: str, amend: str = "", withdraw: str = "", fresh: str = "", *, back: dcc.Link
) -> html.Article:
    """The page that a form is, with the way back to the page it belongs to."""
    verb = VERBS["amend"] if amend else VERBS["withdraw"] if withdraw else "Record a"
    parts = entry_parts(kind, amend, withdraw, fresh)
    return page(f"{verb} {ONES[kind]}", back, *parts)


def entry_parts(kind: str, amend: str = "", withdraw: str = "", fresh: str = "") -> list[Any]:
    """The form of a kind, what is said of it, and the entries one wrote last."""
    one = FORMS[kind].one
    return [
        *stores(kind, amend, withdraw, fresh),
        slot(SpoilEntry.DRAFT_NOTE),
        html.Div([html.Div([form(kind), ending(one)]), last_ten(kind)], className="return-columns"),
    ]


def register_entering(app: Dash, desk: Desk) -> None:
    """Wire the form."""
    _register_opening(app, desk)
    _register_offers(app, desk)
    _register_browser(app)
    _register_days(app, desk)
    _register_check(app, desk)
    _register_saving(app, desk)
    _register_withdrawing(app, desk)


def held_now() -> dict[str, Any]:
    """What stands in the fields, by their names, of the callback that runs."""
    given = ctx.args_grouping["fields"]
    return {name_of(one["id"]): one.get("value") for one in given}


def spread(values: Mapping[str, Any], outputs: Sequence[Any], absent: Any = no_update) -> list[Any]:
    """Values by the names of fields in the order of the outputs of a callback."""
    return [values.get(name_of(one["id"]), absent) for one in outputs]


# --- opening -------------------------------------------------------------------------------------
def _register_opening(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "values": Output(FIELD, "value"),
            "by": Output(SpoilEntry.BY, "value"),
            "note": Output(SpoilEntry.DRAFT_NOTE, "children"),
            "ready": Output(SpoilEntry.READY, "data"),
            "entry": Output(SpoilEntry.ENTRY, "data"),
        },
        inputs={
            "mode": Input(SpoilEntry.MODE, "data"),
            "drafts": State(Shell.SPOIL_DRAFTS, "data"),
            "last": State(Shell.SPOIL_LAST, "data"),
            "last_return": State(Shell.LAST, "data"),
        },
    )
    def open_form(mode: dict, drafts: dict | None, last: dict | None, last_return: dict | None):
        values, note = opening(desk, mode, drafts or {}, last or {})
        by = (last or {}).get("by") or (last_return or {}).get("by") or desk.user
        outputs = ctx.outputs_grouping["values"]
        return {
            "values": [
                blank(one["id"], v)
                for one, v in zip(outputs, spread(values, outputs, ""), strict=True)
            ],
            "by": by,
            "note": note,
            "ready": mode,
            "entry": secrets.token_hex(16),
        }


def blank(id: Mapping[str, str], value: Any) -> Any:
    """Nothing, as the control of a field knows it."""
    return value or (None if id["part"] in ("choice", "date") else "")


def opening(
    desk: Desk, mode: dict[str, Any], drafts: dict[str, Any], last: dict[str, Any]
) -> tuple[dict[str, Any], Any]:
    """The fields as they open (as written, as a draft left them, as last time), and a notice."""
    kind = mode["kind"]
    draft = drafts.get(kind)
    if mode["mode"] != "new":
        return stored_values(desk, kind, mode["entry"]), None
    values = fresh_values(kind, desk.today(), last.get(kind) or {})
    if not draft or mode.get("fresh"):
        return values, None
    note = draft_notice(draft["saved_at"], f"{FORMS[kind].address}fresh=yes")
    return values | {n: v for n, v in draft["values"].items() if n in values}, note


def stored_values(desk: Desk, kind: str, entry: str) -> dict[str, str]:
    """The fields of an entry as it stands, without what is worked out from the others."""
    fields = fields_of(desk.ledger.stored(entry).entry)
    site = site_in_force(desk.ledger, desk.today())
    if fields.get("gross_t") and fields.get("tare_t"):
        fields["net_t"] = ""
    if fields.get("weight_basis") == "none":
        fields["weight_basis"] = ""
    if fields.get("height_m"):
        fields["loose_m3"] = ""
    ends = {r.route: r.destination for r in site.routes}
    if "route" in fields and ends.get(fields["route"]) == fields.get("destination"):
        fields["destination"] = ""
    return held_of(kind, {**fields, "entry_id": ""}, site.time_zone)


# --- what is offered -----------------------------------------------------------------------------
def _register_offers(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "choices": Output(CHOICE, "data"),
            "known": Output(KNOWN, "data"),
            "last_days": Output(DATE, "maxDate"),
            "blocks": {
                "form": Output(SpoilEntry.FORM, "hidden"),
                "reason": Output(SpoilEntry.REASON_BLOCK, "hidden"),
                "check": Output(SpoilEntry.CHECK_BLOCK, "hidden"),
                "withdraw": Output(SpoilEntry.WITHDRAW_BLOCK, "hidden"),
            },
            "what": Output(SpoilEntry.WITHDRAW_WHAT, "children"),
        },
        inputs={"mode": Input(SpoilEntry.MODE, "data")},
    )
    def offer(mode: dict[str, Any]):
        wanted = {
            name: [one["id"]["column"] for one in ctx.outputs_grouping[name]]
            for name in ("choices", "known", "last_days")
        }
        return offered(desk, mode, wanted)


def offered(desk: Desk, mode: dict[str, Any], wanted: Mapping[str, Sequence[str]]) -> dict:
    """The choices, what was written before, the last days of dates, and which parts show."""
    columns = asked(KINDS[mode["kind"]])
    site, today = site_in_force(desk.ledger, desk.today()), desk.today().isoformat()
    withdrawing, changing = mode["mode"] == "withdraw", mode["mode"] != "new"
    old = history_statement(desk.ledger, mode["entry"]).lines[-1] if changing else None
    stated = dict(old.fields) if old else {}
    known = known_words(desk, mode["kind"], wanted["known"]) if wanted["known"] else {}
    return {
        "choices": [
            with_stated(choices(columns[c], site, mode["kind"]), stated.get(c, ""))
            for c in wanted["choices"]
        ],
        "known": [known.get(c, []) for c in wanted["known"]],
        "last_days": [None if columns[c].may_be_to_come else today for c in wanted["last_days"]],
        "blocks": {
            "form": withdrawing,
            "reason": not changing,
            "check": withdrawing,
            "withdraw": not withdrawing,
        },
        "what": withdrawn_words(old.what) if withdrawing and old else "",
    }


def with_stated(offered: list[dict[str, str]], stated: str) -> list[dict[str, str]]:
    """What is offered, and the name that stands although the set-up has it no more."""
    if not stated or stated in (one["value"] for one in offered):
        return offered
    return [*offered, {"value": stated, "label": f"{stated} (no more in the set-up)"}]


def known_words(desk: Desk, kind: str, columns: Sequence[str]) -> dict[str, list[str]]:
    """What was written in some columns before, latest first."""
    ledger_kind = KINDS[kind].ledger_kind
    found = records_statement(desk.ledger, kind=ledger_kind, limit=KNOWN_FROM, current_only=True)
    rows = [dict(line.fields) for line in found.lines]
    return {
        name: list(dict.fromkeys(row[name] for row in rows if row.get(name)))[:MOST_KNOWN]
        for name in columns
    }


# --- in the browser ------------------------------------------------------------------------------
def _register_browser(app: Dash) -> None:
    """What needs no server: which fields show, the draft, and what a change undoes."""
    app.clientside_callback(
        ClientsideFunction("spoil", "places"),
        Output(PLACE, "hidden"),
        Input(CHOICE, "value"),
        State(SpoilEntry.MODE, "data"),
        State(PLACE, "id"),
    )
    app.clientside_callback(
        ClientsideFunction("spoil", "draft"),
        Output(Shell.SPOIL_DRAFTS, "data"),
        Input(FIELD, "value"),
        State(SpoilEntry.READY, "data"),
        State(Shell.SPOIL_DRAFTS, "data"),
        prevent_initial_call=True,
    )
    app.clientside_callback(
        ClientsideFunction("spoil", "unchecked"),
        Output(SpoilEntry.ECHO, "children", allow_duplicate=True),
        Output(SpoilEntry.SAVE_BLOCK, "hidden", allow_duplicate=True),
        Input(FIELD, "value"),
        prevent_initial_call=True,
    )


def _register_days(app: Dash, desk: Desk) -> None:
    @app.callback(
        output=[Output(DATE, "value", allow_duplicate=True)],
        inputs={
            "clicks": [
                Input(SpoilEntry.YESTERDAY, "n_clicks"),
                Input(SpoilEntry.TODAY, "n_clicks"),
            ],
            "mode": State(SpoilEntry.MODE, "data"),
        },
        prevent_initial_call=True,
    )
    def set_days(clicks: list[int | None], mode: dict[str, Any]):
        pressed(max(n or 0 for n in clicks))
        back = timedelta(days=int(ctx.triggered_id == SpoilEntry.YESTERDAY))
        columns, day = asked(KINDS[mode["kind"]]), (desk.today() - back).isoformat()
        wanted = [columns[one["id"]["column"]] for one in ctx.outputs_grouping[0]]
        return [[no_update if column.may_be_to_come else day for column in wanted]]

    @app.callback(
        output=Output(SpoilEntry.BESIDE, "children"),
        inputs={"fields": Input(FIELD, "value"), "mode": State(SpoilEntry.MODE, "data")},
    )
    def show_beside(fields: list[Any], mode: dict[str, Any]):
        return beside(desk, mode["kind"], held_now())


# --- check and write -----------------------------------------------------------------------------
def _register_check(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "errors": Output(FIELD, "error"),
            "by": Output(SpoilEntry.BY, "error"),
            "echo": Output(SpoilEntry.ECHO, "children"),
            "locked": Output(SpoilEntry.SAVE_BLOCK, "hidden"),
            "saved": Output(SpoilEntry.SAVED, "children", allow_duplicate=True),
        },
        inputs={
            "clicks": Input(SpoilEntry.CHECK, "n_clicks"),
            "mode": State(SpoilEntry.MODE, "data"),
            "by": State(SpoilEntry.BY, "value"),
            "fields": State(FIELD, "value"),
        },
        prevent_initial_call=True,
    )
    def check(clicks: int, mode: dict[str, Any], by: str | None, fields: list[Any]):
        pressed(clicks)
        answer = checked(desk, mode, held_now(), by or "")
        return answer | {"errors": spread(answer["errors"], ctx.outputs_grouping["errors"], None)}

    @app.callback(
        Output(SpoilEntry.LAST_TEN, "children"),
        Input(Shell.CHANGED, "data"),
        Input(SpoilEntry.BY, "value"),
        State(SpoilEntry.MODE, "data"),
    )
    def show_last(_changed: Any, by: str | None, mode: dict[str, Any]):
        return last_rows(desk, FORMS[mode["kind"]], by or "")


WRITTEN = {
    "errors": Output(FIELD, "error", allow_duplicate=True),
    "values": Output(FIELD, "value", allow_duplicate=True),
    "reason": Output(SpoilEntry.REASON, "error"),
    "entry": Output(SpoilEntry.ENTRY, "data", allow_duplicate=True),
    "saved": Output(SpoilEntry.SAVED, "children"),
    "locked": Output(SpoilEntry.SAVE_BLOCK, "hidden", allow_duplicate=True),
    "changed": Output(Shell.CHANGED, "data", allow_duplicate=True),
    "last": Output(Shell.SPOIL_LAST, "data"),
    "note": Output(SpoilEntry.DRAFT_NOTE, "children", allow_duplicate=True),
}


def _register_saving(app: Dash, desk: Desk) -> None:
    @app.callback(
        output=WRITTEN,
        inputs={
            "clicks": Input(SpoilEntry.SAVE, "n_clicks"),
            "mode": State(SpoilEntry.MODE, "data"),
            "entry": State(SpoilEntry.ENTRY, "data"),
            "reason": State(SpoilEntry.REASON, "value"),
            "by": State(SpoilEntry.BY, "value"),
            "last": State(Shell.SPOIL_LAST, "data"),
            "fields": State(FIELD, "value"),
        },
        prevent_initial_call=True,
        running=[(Output(SpoilEntry.SAVE, "disabled"), True, False)],
    )
    def save(clicks, mode, entry, reason, by, last, fields):
        pressed(clicks)
        answer = saved(desk, mode, entry, reason or "", held_now(), by or "")
        return answered(answer, mode["kind"], last, by, ctx.outputs_grouping)


def answered(
    answer: dict[str, Any], kind: str, last: dict | None, by: str | None, outputs: Mapping[str, Any]
) -> dict[str, Any]:
    """What was answered, in the order of the outputs; what was not stays as it is."""
    values = answer.get("values", {})
    out = dict.fromkeys(WRITTEN, no_update) | answer
    if "last" in answer:
        out["last"] = {**(last or {}), kind: answer["last"], "by": by}
    out["errors"] = spread(answer.get("errors", {}), outputs["errors"])
    out["values"] = [
        blank(one["id"], values[name_of(one["id"])]) if name_of(one["id"]) in values else no_update
        for one in outputs["values"]
    ]
    return out


def _register_withdrawing(app: Dash, desk: Desk) -> None:
    @app.callback(
        output={
            "saved": Output(SpoilEntry.SAVED, "children", allow_duplicate=True),
            "changed": Output(Shell.CHANGED, "data", allow_duplicate=True),
            "reason": Output(SpoilEntry.REASON, "error", allow_duplicate=True),
            "by": Output(SpoilEntry.BY, "error", allow_duplicate=True),
        },
        inputs=(
            Input(SpoilEntry.WITHDRAW, "n_clicks"),
            State(SpoilEntry.MODE, "data"),
            State(SpoilEntry.REASON, "value"),
            State(SpoilEntry.BY, "value"),
        ),
        prevent_initial_call=True,
        running=[(Output(SpoilEntry.WITHDRAW, "disabled"), True, False)],
    )
    def take_back(clicks: int, mode: dict[str, Any], reason: str, by: str):
        pressed(clicks)
        return taken_back(desk, FORMS[mode["kind"]], mode, reason, by)
