"""Tickets, receipts and belt readings as the page shows them: how whole the records are."""

from __future__ import annotations

from collections import Counter
from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import Head, block, key_figures, mark, record_link, table
from tracker.statements.spoil_shapes import MovedLine, ReadingLine, SpoilStatement

MOST_ROWS = 25  # of a list on the page; the export has all of them


def moved_figures(statement: SpoilStatement) -> html.Dl:
    """What left on the day and in the period, with the hours and the energy of the belts."""
    day, period = statement.moved
    return key_figures(
        [
            (
                f"By belt on {theme.day(day.ends)}",
                theme.number(day.belt_t, "t"),
                _belt_words(day),
            ),
            (
                "By lorry on that day",
                theme.number(day.lorry_t, "t"),
                f"in {theme.number(day.loads)} loads",
            ),
            (
                f"By belt since {theme.day(period.starts)}",
                theme.number(period.belt_t, "t"),
                _belt_words(period),
            ),
            (
                "By lorry in the period",
                theme.number(period.lorry_t, "t"),
                f"in {theme.number(period.loads)} loads",
            ),
        ]
    )


def _belt_words(line: MovedLine) -> str:
    hours = (
        "running hours not read"
        if line.belt_running_h is None
        else f"ran {theme.number(line.belt_running_h, 'h', 1)}"
    )
    if line.belt_kwh is None:
        return f"{hours}; meter not read"
    return (
        f"{hours}; {theme.number(line.belt_kwh, 'kWh')},"
        f" {theme.number(line.belt_kwh_per_t, 'kWh/t', 3)}"
    )


def receipts_block(statement: SpoilStatement) -> html.Section:
    """What was sent to each place and what it accepted; loads that nobody has answered."""
    return block("Receipts", destination_rows(statement), overdue_rows(statement))


def destination_rows(statement: SpoilStatement) -> Any:
    """Dispatched less accepted by destination."""
    rows = [
        (
            line.name,
            theme.number(line.loads + line.carried_on),
            theme.number(line.loads_rejected),
            theme.number(line.dispatched_t, decimals=1),
            theme.number(line.accepted_t, decimals=1),
            theme.number(line.difference_t, decimals=2),
            f"{theme.number(line.without_receipt_t, decimals=1)} in {line.without_receipt}",
            mark(f"{line.overdue}", "warning") if line.overdue else "0",
        )
        for line in statement.destinations
    ]
    heads = [
        Head("Destination"),
        Head("Loads", True),
        Head("Rejected", True),
        Head("Sent, t", True),
        Head("Accepted, t", True),
        Head("Sent − accepted, of answered loads, t", True),
        Head("No receipt, t in loads", True),
        Head("Overdue", True),
    ]
    return table("Lorry loads by destination", heads, rows)


def overdue_rows(statement: SpoilStatement) -> Any:
    """Loads with no receipt after two working days, the oldest first."""
    late = statement.missing_receipts
    rows = [
        (
            record_link(line.entry_id, line.ticket),
            theme.day(line.gate_date),
            f"{line.days_waiting}",
            line.destination,
            theme.number(line.mass_t, decimals=2),
        )
        for line in late[:MOST_ROWS]
    ]
    heads = [
        Head("Ticket"),
        Head("Left"),
        Head("Days", True),
        Head("Sent to"),
        Head("Net, t", True),
    ]
    caption = f"No receipt after two working days{_of(len(rows), len(late))}"
    return table(caption, heads, rows)


def _of(shown: int, found: int) -> str:
    return "" if shown == found else f", the first {shown} of {found}"


# --- tickets -------------------------------------------------------------------------------------
def tickets_block(statement: SpoilStatement) -> html.Section:
    """Books of tickets, the numbers missing from them, and loads to look at."""
    kinds = Counter(finding.what for finding in statement.tickets)
    said = ", ".join(f"{what} {n}" for what, n in kinds.items())
    words = f"Loads to look at: {said}." if said else "No load of the period stands out."
    return block(
        "Tickets",
        issuer_rows(statement),
        gap_rows(statement),
        html.P(words, className="summary"),
        finding_rows(statement),
        chain_rows(statement),
    )


def issuer_rows(statement: SpoilStatement) -> Any:
    """From which number to which each issuer goes, and how many are missing between."""
    rows = [
        (
            f"{line.issuer} {line.book}".strip(),
            line.first_number,
            line.last_number,
            theme.number(line.tickets),
            mark(f"{line.missing} in {line.gaps}", "warning") if line.gaps else "0",
        )
        for line in statement.issuers
    ]
    heads = [
        Head("Issuer, book"),
        Head("From"),
        Head("To"),
        Head("Tickets", True),
        Head("Numbers missing, in gaps", True),
    ]
    return table("Tickets by issuer", heads, rows)


def gap_rows(statement: SpoilStatement) -> Any:
    """Numbers that no load carries, with the tickets before and after."""
    rows = [
        (
            f"{gap.issuer} {gap.missing_numbers}",
            f"{gap.missing}",
            f"{gap.after_number}, {theme.day(gap.after_day)}",
            f"{gap.before_number}, {theme.day(gap.before_day)}",
            record_link(gap.before_entry_id, "See the ticket after"),
        )
        for gap in statement.gaps
    ]
    heads = [Head("Missing"), Head("Numbers", True), Head("After"), Head("Before"), Head("Row")]
    caption = f"Gaps in the numbers{_of(len(rows), statement.gaps_found)}"
    return table(caption, heads, rows)


def finding_rows(statement: SpoilStatement) -> Any:
    """Overloads, impossible turn-rounds, part loads, loads not weighed, tares that stray."""
    found = statement.tickets
    rows = [
        (
            record_link(line.entry_id, line.ticket),
            theme.day(line.gate_date),
            line.registration or "no registration",
            mark(line.what, "breach" if line.what == "above the plate" else "warning"),
            line.sentence,
        )
        for line in found[:MOST_ROWS]
    ]
    heads = [Head("Ticket"), Head("Left"), Head("Registration"), Head("What"), Head("Why")]
    return table(f"Loads to look at{_of(len(rows), len(found))}", heads, rows)


def chain_rows(statement: SpoilStatement) -> Any:
    """Rejected loads and where they went then; the weight of each counts once."""
    rows = [
        (
            _linked(line.rejected_entry_id, line.rejected_ticket),
            theme.day(line.rejected_on),
            _linked(line.sent_on_entry_id, line.sent_on_ticket) or theme.NO_NUMBER,
            line.sent_on_to or theme.NO_NUMBER,
            theme.number(line.mass_t, decimals=2),
            mark(line.state, "done" if line.state == "sent on" else "warning"),
        )
        for line in statement.chains
    ]
    heads = [
        Head("Rejected ticket"),
        Head("On"),
        Head("Sent on as"),
        Head("To"),
        Head("Net, t", True),
        Head("State"),
    ]
    return table("Rejected loads", heads, rows)


def _linked(entry_id: str, words: str) -> Any:
    return record_link(entry_id, words) if entry_id else words


# --- belt ----------------------------------------------------------------------------------------
def belt_block(statement: SpoilStatement) -> html.Section:
    """What happened to the count of the belts, checks of their weighers, days without a reading."""
    events = [line for line in statement.readings if line.event != "reading"]
    words = (
        f"{len(statement.readings)} readings in the period. A reset, a swap or a rollover starts"
        " the count anew, and nothing is lost as long as it is recorded."
    )
    return block(
        "Belt",
        html.P(words, className="summary"),
        reading_rows("Resets, swaps and rollovers", events),
        check_rows(statement),
        unread_rows(statement),
        html.Details(
            [
                html.Summary(f"Every reading ({len(statement.readings)})"),
                reading_rows("Belt readings, newest first", list(statement.readings)[::-1]),
            ],
            className="rows",
        ),
    )


def reading_rows(caption: str, readings: list[ReadingLine]) -> Any:
    """Readings with what the belt carried since the one before."""
    rows = [
        (
            record_link(line.entry_id, theme.moment(line.read_at)),
            line.belt,
            f"{theme.day(line.work_date)}, {line.shift}",
            mark(line.event, "" if line.event == "reading" else "planned"),
            theme.number(line.totaliser_t, decimals=1),
            theme.number(line.run_t, decimals=1),
            theme.number(line.running_h, decimals=1),
            theme.number(line.kwh),
        )
        for line in readings[:MOST_ROWS]
    ]
    heads = [
        Head("Read"),
        Head("Belt"),
        Head("Work date, shift"),
        Head("What"),
        Head("Totaliser, t", True),
        Head("Carried since, t", True),
        Head("Ran, h", True),
        Head("kWh", True),
    ]
    return table(f"{caption}{_of(len(rows), len(readings))}", heads, rows)


def check_rows(statement: SpoilStatement) -> Any:
    """Zero and material checks with their error against what is allowed."""
    rows = [
        (
            record_link(line.entry_id, theme.moment(line.checked_at)),
            line.belt,
            line.method,
            theme.number(line.shown_t, decimals=2),
            theme.number(line.reference_t, decimals=2),
            theme.number(line.error_t, decimals=2),
            theme.number(line.error_percent, decimals=1),
            theme.number(line.allowed_t, decimals=2),
            mark(line.verdict, {"w": "done", "m": "warning"}.get(line.verdict[0], "")),
        )
        for line in statement.checks
    ]
    heads = [
        Head("Checked"),
        Head("Belt"),
        Head("Method"),
        Head("Shown, t", True),
        Head("Should be, t", True),
        Head("Error, t", True),
        Head("Error, %", True),
        Head("Allowed, t", True),
        Head("Verdict"),
    ]
    return table("Checks of the belt weigher", heads, rows)


def unread_rows(statement: SpoilStatement) -> Any:
    """Days on which belt ground was dug and no belt that carries it was read."""
    rows = [
        (
            theme.day(line.day),
            line.belt,
            line.stream,
            theme.number(line.dug_t),
            theme.number(line.lorries_t),
        )
        for line in statement.unread_days
    ]
    heads = [
        Head("Work date"),
        Head("Belt"),
        Head("Stream"),
        Head("Dug, t", True),
        Head("By lorry, t", True),
    ]
    return table("Dug, and the belt not read; if it stood, a reading shows it", heads, rows)
