"""Papers as the page shows them: notes, what they do not cover, declarations, authorisations."""

from __future__ import annotations

from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import Head, block, mark, notice, record_link, table
from dashboard.spoil.integrity import MOST_ROWS
from tracker.statements.spoil_shapes import DeclarationLine, NoteLine, SpoilStatement


def papers_block(statement: SpoilStatement) -> html.Section:
    """Everything about the papers of the period, what is wanting first."""
    used_up = [line for line in statement.declarations if line.reached_percent >= 100]
    return block(
        "Papers",
        *(notice(line.warning) for line in used_up),
        wanting_rows(statement),
        declaration_rows(statement),
        authorisation_rows(statement),
        note_rows(statement),
    )


def wanting_rows(statement: SpoilStatement) -> Any:
    """Loads whose papers are missing or do not cover them."""
    found = statement.papers
    rows = [
        (
            record_link(line.entry_id, line.ticket),
            theme.day(line.day),
            mark(line.rule.replace("_", " "), "warning"),
            line.sentence,
        )
        for line in found[:MOST_ROWS]
    ]
    more = f", the first {len(rows)} of {len(found)}" if len(rows) < len(found) else ""
    heads = [Head("Ticket"), Head("Left"), Head("Rule"), Head("What is wanting")]
    return table(f"Papers that are wanting{more}", heads, rows)


def declaration_rows(statement: SpoilStatement) -> Any:
    """Moved against declared, with the warning that was reached."""
    rows = [
        (
            line.declarations,
            line.stream,
            line.destination,
            theme.day(line.received_on),
            theme.number(line.declared_t),
            theme.number(line.moved_t),
            _reached(line),
        )
        for line in statement.declarations
    ]
    heads = [
        Head("Declaration"),
        Head("Stream"),
        Head("To"),
        Head("Received"),
        Head("Declared, t", True),
        Head("Moved, t", True),
        Head("Moved, %"),
    ]
    return table("Declarations of re-use: quantity moved against declared", heads, rows)


def _reached(line: DeclarationLine) -> Any:
    words = theme.percent(line.percent, 1)
    if not line.reached_percent:
        return words
    meaning = "breach" if line.reached_percent >= 100 else "warning"
    return mark(f"{words}: {line.reached_percent} % reached", meaning)


def authorisation_rows(statement: SpoilStatement) -> Any:
    """Carriers and destinations whose authorisation ends soon, has ended or is not known."""
    rows = [
        (
            line.name,
            line.what,
            line.number or "not known",
            theme.day(line.valid_to),
            mark(line.state, "breach" if (line.days_left or 0) < 0 else "warning"),
            theme.number(line.loads),
        )
        for line in statement.authorisations
    ]
    heads = [
        Head("Who"),
        Head("As"),
        Head("Number"),
        Head("Valid to"),
        Head("State"),
        Head("Loads in the period", True),
    ]
    return table("Authorisations that end within 30 days, have ended or are not known", heads, rows)


def note_rows(statement: SpoilStatement) -> Any:
    """Notes of the period, with the date to which each is kept."""
    rows = [_note(line) for line in statement.notes[:MOST_ROWS]]
    found = len(statement.notes)
    more = f", the first {len(rows)} of {found}" if len(rows) < found else ""
    heads = [
        Head("Note"),
        Head("Form"),
        Head("Covers"),
        Head("Code"),
        Head("Loads", True),
        Head("t", True),
        Head("Last load"),
        Head("Keep until"),
    ]
    return table(f"Transfer and consignment notes{more}", heads, rows)


def _note(line: NoteLine) -> tuple[Any, ...]:
    if not line.entry_id:
        covers: Any = mark("not on record", "warning")
    else:
        covers = (
            f"{line.stream} by {line.carrier} to {line.destination},"
            f" {theme.short_day(line.valid_from)} to {theme.short_day(line.valid_to)}"
        )
    kept = theme.day(line.keep_until)
    if not line.keep_until:
        kept = "as the governing law says" if line.entry_id and line.loads else theme.NO_NUMBER
    return (
        record_link(line.entry_id, line.note_number) if line.entry_id else line.note_number,
        line.form or theme.NO_NUMBER,
        covers,
        line.waste_code or theme.NO_NUMBER,
        theme.number(line.loads),
        theme.number(line.mass_t, decimals=1),
        theme.day(line.last_load_on),
        kept,
    )
