"""Checking and writing a record: what the fields mean, what went in, what did not."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import mark, notice, record_link
from dashboard.desk import Desk
from dashboard.forms.fields import DECISIONS, ONES, RECORDS, asked, in_words
from dashboard.forms.form import Held, emptied, names_of, written
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
from tracker.recording.columns import KINDS
from tracker.recording.entry import Recorded, amend, checked_row, record
from tracker.recording.hints import Hint, hints
from tracker.recording.preview import preview
from tracker.statements import entry_words

FORMS = {kind: Form(kind, one, f"/spoil-out?record={kind}&") for kind, one in RECORDS.items()} | {
    kind: Form(kind, one, f"/progress?record={kind}&") for kind, one in DECISIONS.items()
}
LOOKS = {"": "", "caution": "beside", "warning": "mark warning"}
MEANT = ("holds",)  # what these change stands above what is wrong with them
ALSO = {"loads": "One load, two movements."}


def hint_lines(found: Sequence[Hint]) -> html.Div | None:
    """What stands beside the fields while they are filled."""
    if not found:
        return None
    return html.Div(
        [html.P(hint.words, className=LOOKS[hint.meaning]) for hint in found], className="permit"
    )


def beside(desk: Desk, kind: str, held: Held) -> html.Div | None:
    """What is recorded, held or allowed, as far as the fields are filled."""
    return hint_lines(hints(desk.ledger, kind, written(kind, held)))


# --- checking ------------------------------------------------------------------------------------
def checked(desk: Desk, mode: dict[str, Any], held: Held, by: str) -> dict[str, Any]:
    """What the fields mean, or what is wrong, beside each field. Writes nothing."""
    kind, instead = mode["kind"], amended_id(mode)
    fields = written(kind, held)
    row = checked_row(desk.ledger, KINDS[kind], fields, instead_of=instead)
    problems = [*row.problems, *not_yet(desk, kind, held)]
    no_name = None if by.strip() else NO_NAME
    refused = bool(no_name) or any(p.severity == "error" for p in problems)
    twice = None
    if row.entry is not None and not refused:
        found = desk.ledger.duplicates([row.entry]).values()
        twice = next((stated_already(kind, s) for s in found if s.entry_id != instead), None)
    said = entry_words(desk.ledger, row.entry) if row.entry is not None else ""
    meant = (
        preview(desk.ledger, kind, fields, instead_of=instead).sentences if kind in MEANT else ()
    )
    return {
        "errors": beside_fields(kind, problems, held),
        "by": no_name,
        "echo": [] if twice else echo_parts(kind, said, problems, refused, meant),
        "locked": refused or twice is not None,
        "saved": twice,
    }


def not_yet(desk: Desk, kind: str, held: Held) -> list[Problem]:
    """The dates that lie after today, by the clock of the page."""
    today, out = desk.today(), []
    for column, field in asked(KINDS[kind]).items():
        given = str(held.get(f"{column} date") or "")[:10]
        if given > today.isoformat() and not field.may_be_to_come:
            words = f"{theme.day(today)} is today: a record is of what has happened."
            out.append(Problem("", 0, column, given, words))
    return out


def stated_already(kind: str, stored: Any) -> html.Div:
    """That another entry states the same, and the way to amend it."""
    when = theme.day(stored.recorded_at.date())
    words = f"This {ONES[kind]} is recorded already, by {stored.recorded_by} on {when}. Not saved."
    return refusal(words, amend_link(FORMS[kind], stored.entry_id))


def beside_fields(kind: str, problems: Sequence[Problem], held: Held) -> dict[str, str | None]:
    """Field -> what is wrong with it; of a moment, beside the part that is to be mended."""
    found: dict[str, str | None] = {}
    for column, field in asked(KINDS[kind]).items():
        words = " ".join(in_words(kind, m) for m in errors_of(problems, column)) or None
        names = names_of(field)
        wrong = names[-1]
        if len(names) == 2:
            no_clock = not str(held.get(names[1]) or "").strip()
            words = "Give the time as HH:MM." if words and no_clock else words
            if "future" in (words or "") or "today" in (words or ""):
                wrong = names[0]
        found |= {name: words if name == wrong else None for name in names}
    return found


def echo_parts(
    kind: str, said: str, problems: Sequence[Problem], refused: bool, meant: Sequence[str] = ()
) -> list[Any]:
    """The entry in a sentence, what it changes, and every problem in words."""
    ordered = sorted(problems, key=lambda p: p.severity != "error")
    parts: list[Any] = [
        html.P(mark(_line(kind, p), "breach" if p.severity == "error" or p.rule else "warning"))
        for p in ordered
    ]
    parts[:0] = [html.P(html.Strong(words)) for words in meant]
    if said:
        parts.insert(
            0, html.P([html.Strong(f"{said[0].upper()}{said[1:]}."), f" {ALSO.get(kind, '')}"])
        )
    words = "Not saved. Correct what is marked, then check again." if refused else "Not saved yet."
    return [html.Div([*parts, html.P(html.Strong(words))], className="echo", role="status")]


def _line(kind: str, problem: Problem) -> str:
    """A problem after the label of its field."""
    field = asked(KINDS[kind]).get(problem.field)
    label = f"{field.label.partition(',')[0]}: " if field else ""
    return f"{label}{in_words(kind, problem.message)}"


# --- writing -------------------------------------------------------------------------------------
def saved(
    desk: Desk, mode: dict[str, Any], entry: str, reason: str, held: Held, by: str
) -> dict[str, Any]:
    """Write what was checked; then the typed fields are empty, the rest is as last time.

    What is not in the answer stays as it is.
    """
    kind, fields = mode["kind"], written(mode["kind"], held)
    if mode["mode"] == "amend" and not (reason or "").strip():
        return {"reason": f"Say why the {ONES[kind]} is amended."}
    late = not_yet(desk, kind, held)
    if late:
        return {"errors": beside_fields(kind, late, held), "saved": refusal(late[0].message)}
    try:
        done = _written(desk, mode, entry, reason, fields, by)
    except TrackerError as error:
        problems = getattr(error, "problems", [])
        return {
            "errors": beside_fields(kind, problems, held),
            "saved": why_not(desk, mode, entry, error),
        }
    return {
        "errors": dict.fromkeys(held),
        "values": emptied(kind, held) if mode["mode"] == "new" else {},
        "reason": None,
        "entry": secrets.token_hex(16),
        "saved": written_notice(mode, done),
        "locked": True,
        "changed": done.entry_id,
        "last": {n: v for n, v in held.items() if v and n not in emptied(kind, held)},
        "note": None,
    }


def _written(
    desk: Desk, mode: dict[str, Any], entry: str, reason: str, fields: dict[str, str], by: str
) -> Recorded:
    if mode["mode"] == "amend":
        return amend(desk.ledger, mode["entry"], {**fields, "entry_id": ""}, reason=reason, by=by)
    own = None if fields["entry_id"] else entry
    return record(desk.ledger, mode["kind"], fields, by=by, entry_id=own)


def why_not(desk: Desk, mode: dict[str, Any], entry: str, error: TrackerError) -> html.Div:
    """Why nothing was written, without the ids of the entries, and what to do instead."""
    kind = mode["kind"]
    meanwhile = changed_meanwhile(FORMS[kind], mode, error)
    if meanwhile:
        return meanwhile
    if isinstance(error, DuplicateEntry):
        known = desk.ledger.known_ids(KINDS[kind].ledger_kind, [entry])
        link = [amend_link(FORMS[kind], entry)] if known else []
        words = f"This {ONES[kind]} is recorded already, with other values; they stay."
        return refusal(f"{words} Nothing was changed.", *link)
    return refusal(in_words(kind, str(error)))


def written_notice(mode: dict[str, Any], done: Recorded) -> html.Div:
    """What was written, the warnings it went in with, and the way to its row."""
    words = "Amended." if mode["mode"] == "amend" else "Saved."
    warnings = [html.P(_line(mode["kind"], p)) for p in done.problems]
    return notice(words, *warnings, record_link(done.entry_id), meaning="done")
