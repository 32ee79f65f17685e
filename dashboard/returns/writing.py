"""Checking and writing a return: what the fields mean, what went in, and what did not."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Any

from dash import html, no_update

from dashboard import theme
from dashboard.components import Head, notice, record_link, table
from dashboard.desk import Desk
from dashboard.returns import form
from dashboard.returns.words import echo_parts, in_words, is_breach
from tracker.errors import AlreadySuperseded, DuplicateEntry, Problem, TrackerError
from tracker.recording.entry import Recorded, amend, checked_row, kind_of, record, withdraw
from tracker.recording.preview import preview
from tracker.statements import records_statement

UNTOLD = (
    "The lowest level is below the permitted one. Tick that it is right and that the temporary"
    " works coordinator is told, then save. Not saved."
)


def read_form(values: Sequence[Any]) -> tuple[dict[str, str], str, dict[str, Any]]:
    """The columns of the return, who writes, and the fields as they stand."""
    *texts, nil, causes, minutes = values
    held = dict(zip(form.FIELDS, texts, strict=True))
    return form.written(held, bool(nil), causes, minutes), str(held["by"] or "").strip(), held


def checked(desk: Desk, mode: dict[str, str], values: Sequence[Any]) -> dict[str, Any]:
    """What the fields mean, or what is wrong, beside each field. Writes nothing."""
    fields, by, _held = read_form(values)
    instead = amended_id(mode)
    echo = preview(desk.ledger, "returns", fields, instead_of=instead)
    problems = [*echo.problems, *not_yet(desk, fields)]
    if not by:
        problems.append(Problem("", 0, "by", "", "Write your name or initials."))
    refused = any(p.severity == "error" for p in problems)
    twice = None if refused else stated_already(desk, fields, instead)
    below = any(is_breach(p) for p in problems)
    return {
        "errors": beside_fields(problems),
        "delays": beside(problems, "delays"),
        "echo": []
        if twice
        else echo_parts(echo, sorted(problems, key=is_breach, reverse=True), refused),
        "locked": refused or twice is not None,
        "saved": twice,
        "told": False,
        "untold": not below,
        "told_words": form.told_words(fields["lowest_level_m"] if below and not refused else ""),
    }


def amended_id(mode: dict[str, str]) -> str:
    """The entry that is being amended; empty for a new one."""
    return mode["entry"] if mode["mode"] == "amend" else ""


def stated_already(desk: Desk, fields: dict[str, str], instead: str) -> html.Div | None:
    """That another return states the same shift, zone and stream, and the way to amend it."""
    row = checked_row(desk.ledger, kind_of("returns"), fields, instead_of=instead)
    if row.entry is None:
        return None
    found = [s for s in desk.ledger.duplicates([row.entry]).values() if s.entry_id != instead]
    if not found:
        return None
    words = (
        f"This shift, zone, stage and stream have a return already, recorded by"
        f" {found[0].recorded_by} on {theme.day(found[0].recorded_at.date())}. Not saved."
    )
    return refusal(words, amend_link(found[0].entry_id))


def refusal(words: str, *parts: Any) -> html.Div:
    """Why nothing was written, in vermilion."""
    return notice(words, *parts, meaning="breach", alert=True)


def amend_link(entry: str) -> html.A:
    """The way to the return that stands."""
    return html.A("Amend that one", href=f"/dig-return?amend={entry}", className="link")


def not_yet(desk: Desk, fields: dict[str, str]) -> list[Problem]:
    """That a work date lies after today, by the clock of the page."""
    today, given = desk.today(), fields.get("work_date", "")
    if given <= today.isoformat():
        return []
    words = f"{theme.day(today)} is today: a return is of a shift that has begun."
    return [Problem("", 0, "work_date", given, words)]


def beside(problems: Sequence[Problem], column: str) -> str | None:
    """The errors of one field in words."""
    said = [in_words(p.message) for p in problems if p.field == column and p.severity == "error"]
    return " ".join(said) or None


def beside_fields(problems: Sequence[Problem]) -> dict[str, str | None]:
    """The errors of every field that can show them."""
    return {column: beside(problems, column) for column in form.WITH_ERROR}


def saved(
    desk: Desk, mode: dict[str, str], entry: str, reason: str, told: bool, values: Sequence[Any]
) -> dict[str, Any]:
    """Write what was checked; then the typed fields are empty, the rest is as last time."""
    fields, by, held = read_form(values)
    if mode["mode"] == "amend" and not (reason or "").strip():
        return unwritten(reason="Say why the return is amended.")
    late = not_yet(desk, fields)
    if late:
        return unwritten(errors=beside_fields(late), saved=refusal(late[0].message))
    if not told and is_below(desk, mode, fields):
        return unwritten(saved=refusal(UNTOLD))
    try:
        if mode["mode"] == "amend":
            done = amend(desk.ledger, mode["entry"], fields, reason=reason, by=by)
        else:
            done = record(desk.ledger, "returns", fields, by=by, entry_id=entry)
    except TrackerError as error:
        return unwritten(
            errors=beside_fields(getattr(error, "problems", [])),
            saved=why_not(desk, mode, entry, fields, error),
        )
    return {
        **unwritten(errors=dict.fromkeys(form.WITH_ERROR)),
        "typed": dict.fromkeys(form.TYPED, ""),
        "nil": False,
        "causes": [None] * form.DELAY_ROWS,
        "minutes": [""] * form.DELAY_ROWS,
        "entry": secrets.token_hex(16),
        "saved": written_notice(mode, done),
        "locked": True,
        "changed": done.entry_id,
        "last": {name: held[name] for name in form.AS_LAST_TIME},
        "note": None,
    }


def is_below(desk: Desk, mode: dict[str, str], fields: dict[str, str]) -> bool:
    """Whether these fields state a level below the permitted one."""
    echo = preview(desk.ledger, "returns", fields, instead_of=amended_id(mode))
    return any(is_breach(p) for p in echo.problems)


def why_not(
    desk: Desk, mode: dict[str, str], entry: str, fields: dict[str, str], error: TrackerError
) -> html.Div:
    """Why nothing was written, without the ids of the entries, and what to do instead."""
    if isinstance(error, AlreadySuperseded):
        words = "This return was amended or withdrawn meanwhile. Nothing was saved."
        return refusal(words, record_link(mode["entry"], "See its versions"))
    if isinstance(error, DuplicateEntry):
        words = "This return was saved already, with other values; they stay. Nothing was changed."
        twice = stated_already(desk, fields, amended_id(mode))
        return twice or refusal(words, amend_link(entry))
    return refusal(in_words(str(error)))


def taken_back(desk: Desk, mode: dict[str, str], reason: str, by: str) -> dict[str, Any]:
    """Withdraw a return, or say beside the field or the button why not."""
    missing = {
        "reason": None if (reason or "").strip() else "Say why it is withdrawn.",
        "by": None if (by or "").strip() else "Write your name or initials.",
    }
    if any(missing.values()):
        return {"saved": None, "changed": no_update, **missing}
    try:
        withdraw(desk.ledger, mode["entry"], reason=reason, by=by)
    except TrackerError as error:
        answer = why_not(desk, mode, "", {}, error)
        return {"saved": answer, "changed": no_update, **missing}
    answer = withdrawn_notice(mode["entry"])
    return {"saved": answer, "changed": secrets.token_hex(4), **missing}


def written_notice(mode: dict[str, str], done: Recorded) -> html.Div:
    """What was written, the warnings it went in with, and the way to its row."""
    words = "Amended." if mode["mode"] == "amend" else "Saved."
    problems = sorted(done.problems, key=is_breach, reverse=True)
    warnings = [html.P(in_words(p.message)) for p in problems]
    meaning = "breach" if any(is_breach(p) for p in done.problems) else "done"
    return notice(words, *warnings, record_link(done.entry_id), meaning=meaning)


def unwritten(**parts: Any) -> dict[str, Any]:
    """Nothing written and nothing lost: every output stays but those named."""
    stay: dict[str, Any] = {
        "errors": dict.fromkeys(form.WITH_ERROR, no_update),
        "typed": dict.fromkeys(form.TYPED, no_update),
        "causes": [no_update] * form.DELAY_ROWS,
        "minutes": [no_update] * form.DELAY_ROWS,
        "reason": None,
    }
    rest = dict.fromkeys(("nil", "entry", "saved", "locked", "changed", "last", "note"), no_update)
    return stay | rest | parts


def withdrawn_notice(entry: str) -> html.Div:
    """What a withdrawal did."""
    link = record_link(entry, "See its versions")
    return notice("Withdrawn. It stays in the history and counts no more.", link, meaning="done")


def last_rows(desk: Desk, by: str) -> Any:
    """The returns that this person wrote last, each with the way to amend it."""
    if not by.strip():
        return html.P("Give your name to see your last returns.", className="empty")
    lines = records_statement(
        desk.ledger, kind="dig_returns", text=by, limit=200, current_only=True
    ).lines
    mine = [line for line in lines if line.recorded_by == by and line.action != "withdrawn"][:10]
    rows = [(theme.day(line.work_date), line.what, change_links(line.entry_id)) for line in mine]
    return table(f"By {by}", [Head("Work date"), Head("What it says"), Head("Change")], rows)


def change_links(entry: str) -> html.Div:
    """The ways to amend and to withdraw a return."""
    return html.Div(
        [
            html.A(words, href=f"/dig-return?{verb}={entry}", className="link")
            for words, verb in (("Amend", "amend"), ("Withdraw", "withdraw"))
        ],
        className="links",
    )
