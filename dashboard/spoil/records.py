"""Every kind of record of spoil: the last one, and the ways to enter, to import and to search."""

from __future__ import annotations

from urllib.parse import urlencode

from dash import dcc, html

from dashboard import theme
from dashboard.components import block
from dashboard.desk import Desk
from dashboard.forms.fields import RECORDS
from tracker.recording.columns import KINDS
from tracker.statements import records_statement


def records_panel(desk: Desk) -> html.Section:
    """A line for each kind."""
    rows = [
        html.Li(
            [
                html.Div(
                    [
                        html.Span(KINDS[kind].title, className="kind"),
                        html.Span(last_words(desk, kind), className="beside"),
                    ]
                ),
                *record_links(kind),
            ]
        )
        for kind in RECORDS
    ]
    return block("Enter, import and search", html.Ul(rows, className="kinds"))


def last_words(desk: Desk, kind: str) -> str:
    """The latest entry of a kind in a sentence."""
    ledger_kind = KINDS[kind].ledger_kind
    found = records_statement(desk.ledger, kind=ledger_kind, limit=1, current_only=True)
    if not found.lines:
        return "None recorded yet."
    line = found.lines[0]
    return f"{theme.number(found.found)} recorded; last of {theme.day(line.work_date)}: {line.what}"


def record_links(kind: str) -> list[dcc.Link]:
    """The ways to enter, to import and to search one kind."""
    ways = {
        f"Record a {RECORDS[kind]}": f"/spoil-out?{urlencode({'record': kind})}",
        "Import a file": f"/spoil-out?{urlencode({'import': kind})}",
        "Search": f"/records?kind={KINDS[kind].ledger_kind}",
    }
    return [dcc.Link(words, href=href, className="link") for words, href in ways.items()]
