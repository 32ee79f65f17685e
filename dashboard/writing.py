"""What every form of entries says and does: refusals, withdrawals, what one wrote last."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from dash import dcc, html, no_update

from dashboard import theme
from dashboard.components import Head, notice, record_link, table
from dashboard.desk import Desk
from tracker.errors import AlreadySuperseded, Problem, TrackerError
from tracker.recording.columns import KINDS
from tracker.recording.entry import withdraw
from tracker.statements import records_statement

NO_NAME = "Write your name or initials."


@dataclass(frozen=True, slots=True)
class Form:
    """A form by the kind of record it writes, what people call one, and its address."""

    kind: str
    one: str  # as in "this return"
    address: str  # up to and with the ? or & before amend=

    def change_address(self, verb: str, entry: str) -> str:
        """Where an entry is amended or withdrawn."""
        return f"{self.address}{verb}={entry}"


def refusal(words: str, *parts: Any) -> html.Div:
    """Why nothing was written, in vermilion."""
    return notice(words, *parts, meaning="breach", alert=True)


def amended_id(mode: dict[str, Any]) -> str:
    """The entry that is being amended; empty for a new one."""
    return mode["entry"] if mode["mode"] == "amend" else ""


def amend_link(form: Form, entry: str) -> html.A:
    """The way to the entry that stands."""
    return html.A("Amend that one", href=form.change_address("amend", entry), className="link")


def changed_meanwhile(form: Form, mode: dict[str, Any], error: TrackerError) -> html.Div | None:
    """That somebody else changed the entry first, if that is the error."""
    if not isinstance(error, AlreadySuperseded):
        return None
    words = f"This {form.one} was amended or withdrawn meanwhile. Nothing was saved."
    return refusal(words, record_link(mode["entry"], "See its versions"))


def taken_back(
    desk: Desk, form: Form, mode: dict[str, Any], reason: str, by: str
) -> dict[str, Any]:
    """Withdraw an entry, or say beside the field or the button why not."""
    missing = {
        "reason": None if (reason or "").strip() else "Say why it is withdrawn.",
        "by": None if (by or "").strip() else NO_NAME,
    }
    if any(missing.values()):
        return {"saved": None, "changed": no_update, **missing}
    try:
        withdraw(desk.ledger, mode["entry"], reason=reason, by=by)
    except TrackerError as error:
        answer = changed_meanwhile(form, mode, error) or refusal(str(error))
        return {"saved": answer, "changed": no_update, **missing}
    link = record_link(mode["entry"], "See its versions")
    words = "Withdrawn. It stays in the history and counts no more."
    done = notice(words, link, meaning="done")
    return {"saved": done, "changed": secrets.token_hex(4), **missing}


def last_rows(desk: Desk, form: Form, by: str) -> Any:
    """The entries of a form that this person wrote last, each with the way to amend it."""
    if not by.strip():
        return html.P("Give your name to see your last entries.", className="empty")
    kind = KINDS[form.kind].ledger_kind
    lines = records_statement(desk.ledger, kind=kind, text=by, limit=200, current_only=True).lines
    mine = [line for line in lines if line.recorded_by == by and line.action != "withdrawn"][:10]
    rows = [
        (theme.day(line.work_date), line.what, change_links(form, line.entry_id)) for line in mine
    ]
    return table(f"By {by}", [Head("Work date"), Head("What it says"), Head("Change")], rows)


def change_links(form: Form, entry: str) -> html.Div:
    """The ways to amend and to withdraw an entry."""
    return html.Div(
        [
            html.A(words, href=form.change_address(verb, entry), className="link")
            for words, verb in (("Amend", "amend"), ("Withdraw", "withdraw"))
        ],
        className="links",
    )


def draft_notice(stamp: str, afresh: str) -> html.Div:
    """That a draft was restored, of when (the browser's UTC), and the way to begin without it."""
    when = f"{theme.day(date.fromisoformat(stamp[:10]))} {stamp[11:16]} UTC"
    link = dcc.Link("Start afresh", href=afresh, className="link")
    return notice(f"Draft of {when} restored.", link, meaning="planned")


def withdrawn_words(what: str) -> str:
    """What is about to be withdrawn."""
    return f"To withdraw: {what}. It stays in the history and counts no more."


def errors_of(problems: Sequence[Problem], column: str) -> list[str]:
    """What keeps an entry out because of one column."""
    return [p.message for p in problems if p.field == column and p.severity == "error"]
