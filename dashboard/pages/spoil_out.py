"""Spoil out: where did it go? By belt and lorry, through the gate, with what papers."""

from __future__ import annotations

from urllib.parse import urlencode

from dash import Dash, dcc, html

from dashboard.components import block, page
from dashboard.desk import Desk
from dashboard.spoil.entering import entry_parts, register_entering
from dashboard.spoil.fields import RECORDS
from dashboard.spoil.importing import import_parts, register_importing
from tracker.recording.columns import KINDS

PATH, NAME, SHORT = "/spoil-out", "Spoil out", "Out"
VERBS = {"amend": "Amend a", "withdraw": "Withdraw a"}
BACK = "Back to Spoil out"


def layout(
    record: str = "", amend: str = "", withdraw: str = "", fresh: str = "", **query: str
) -> html.Article:
    """The shell of the page; an address may ask for the form of a record, or of a file."""
    if record in RECORDS:
        back = dcc.Link(BACK, href=PATH, className="link")
        return page(
            heading(record, amend, withdraw), back, *entry_parts(record, amend, withdraw, fresh)
        )
    if "import" in query:
        kind = query["import"] if query["import"] in RECORDS else next(iter(RECORDS))
        back = dcc.Link(BACK, href=PATH, className="link")
        return page("Import records of spoil", back, *import_parts(kind))
    return page(NAME, records_block())


def heading(kind: str, amend: str, withdraw: str) -> str:
    """What the form of a kind is for."""
    one = RECORDS[kind]
    verb = VERBS["amend"] if amend else VERBS["withdraw"] if withdraw else "Record a"
    return f"{verb} {one}"


def records_block() -> html.Section:
    """The ways to enter, to import and to search each kind of record."""
    rows = [
        html.Li([html.Span(KINDS[kind].title, className="kind"), *record_links(kind)])
        for kind in RECORDS
    ]
    return block("Records", html.Ul(rows, className="kinds"))


def record_links(kind: str) -> list[dcc.Link]:
    """The ways to enter, to import and to search one kind."""
    ways = {
        f"Record a {RECORDS[kind]}": address(record=kind),
        "Import a file": address(**{"import": kind}),
        "Search": f"/records?kind={KINDS[kind].ledger_kind}",
    }
    return [dcc.Link(words, href=href, className="link") for words, href in ways.items()]


def address(**query: str) -> str:
    """An address of this page."""
    return f"{PATH}?{urlencode(query)}"


def register(app: Dash, desk: Desk) -> None:
    """Wire the page."""
    register_entering(app, desk)
    register_importing(app, desk)
