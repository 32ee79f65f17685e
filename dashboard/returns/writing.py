"""Checking and writing a return: what the fields mean, what went in, and what did not."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Any

from dash import html, no_update

from dashboard import theme
from dashboard.components import notice, record_link
from dashboard.desk import Desk
from dashboard.returns import form
from dashboard.returns.words import echo_parts, in_words, is_breach
from dashboard.writing import (
    NO_NAME,
    Form,
    amend_link,
    amended_id,
    changed_meanwhile,
    errors_of,
    refusal,
)
from tracker.errors import DuplicateEntry, Problem, TrackerError
from tracker.recording.entry import Recorded, amend, checked_row, kind_of, record
from tracker.recording.preview import preview

RETURN = Form("returns", "return", "/dig-return?")

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
        problems.append(Problem("", 0, "by", "", NO_NAME))
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
    return refusal(words, amend_link(RETURN, found[0].entry_id))


def not_yet(desk: Desk, fields: dict[str, str]) -> list[Problem]:
    """That a work date lies after today, by the clock of the page."""
    today, given = desk.today(), fields.get("work_date", "")
    if given <= today.isoformat():
        return []
    words = f"{theme.day(today)} is today: a return is of a shift that has begun."
    return [Problem("", 0, "work_date", given, words)]


def beside(problems: Sequence[Problem], column: str) -> str | None:
    """The errors of one field in words."""
    return " ".join(map(in_words, errors_of(problems, column))) or None


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
    meanwhile = changed_meanwhile(RETURN, mode, error)
    if meanwhile:
        return meanwhile
    if isinstance(error, DuplicateEntry):
        words = "This return was saved already, with other values; they stay. Nothing was changed."
        twice = stated_already(desk, fields, amended_id(mode))
        return twice or refusal(words, amend_link(RETURN, entry))
    return refusal(in_words(str(error)))


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
