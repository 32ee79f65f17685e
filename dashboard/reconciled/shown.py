"""The words and tables of a reconciliation: who does not fit, what is implied, what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from urllib.parse import urlencode

from dash import dcc, html

from dashboard import theme
from dashboard.components import (
    Head,
    block,
    key_figures,
    long_table,
    mark,
    record_link,
    table,
)
from dashboard.figures.reconciliation import BANK, MASS, half_of, shown_bars, value_of
from tracker.statements.reconciliation_shapes import (
    ALL,
    BeltDrift,
    MissingLine,
    PeriodLine,
    Proposal,
    ReconciliationStatement,
)
from tracker.statements.reconciliation_words import COVER

MOST_MISFITS = 40


def unbroken(words: str) -> str:
    """Words in which a number keeps its unit beside it.

    >>> unbroken("0.3 % of 5 m³").count("\u00a0")
    2
    """
    return words.replace(" %", "\u00a0%").replace(" m³", "\u00a0m³").replace("± ", "±\u00a0")


def headline(statement: ReconciliationStatement) -> Any:
    """The answer, marked where the figures do not agree."""
    meaning = "done" if statement.verdict == "agree" else "warning"
    return mark(unbroken(statement.headline), meaning)


def suspect(statement: ReconciliationStatement) -> Any:
    """Who fits least, or what would have been seen; always with what cannot be told apart."""
    if not statement.suspect_words:
        return None
    said = unbroken(statement.suspect_words)
    return html.P(mark(said, "warning") if statement.suspect else said)


def how_sure(statement: ReconciliationStatement) -> list[Any]:
    """The test of all statements together, and what is in none of the figures."""
    words = [statement.probability_words, statement.after_words]
    return [html.P(unbroken(said)) for said in words if said]


def figures(statement: ReconciliationStatement) -> Any:
    """The adjusted figures with their intervals."""
    best = {bar.bar: bar for bar in shown_bars(statement, ALL)}.get("adjusted")
    if best is None:
        return None
    density = best.mass_t / best.bank_m3 if best.bank_m3 else None
    return key_figures(
        [
            ("All together", theme.number(best.bank_m3, "m³ bank"), _within(best, BANK)),
            ("The same ground", theme.number(best.mass_t, "t"), _within(best, MASS)),
            ("Mean density", theme.number(density, "t/m³", 3), "moist, all streams"),
            (
                "Periods",
                theme.number(statement.periods_reconciled),
                f"from survey to survey, to {theme.short_day(statement.until)}",
            ),
            (
                "Loads without receipt",
                theme.number(statement.unmatched_count),
                theme.number(statement.unmatched_t, "t"),
            ),
        ]
    )


def _within(bar: Any, unit: str) -> str:
    return f"± {theme.number(half_of(bar, unit))}, in 95 cases of 100"


def bar_rows(statement: ReconciliationStatement) -> Any:
    """Every bar of every stream as a row, with what it is made of."""
    names = dict(statement.streams)
    rows = []
    for stream in (ALL, *names):
        for bar in shown_bars(statement, stream):
            made_of = ", ".join(f"{p.part} {theme.number(p.mass_t, 't')}" for p in bar.parts)
            cells = [
                f"{theme.number(value_of(bar, unit))} ± {theme.number(half_of(bar, unit))}"
                for unit in (BANK, MASS)
            ]
            whose = names.get(stream, "All streams")
            note = made_of or "–"
            if bar.missing:
                note += f" (lacks {bar.missing})"
            rows.append((whose, bar.name, *cells, note))
    heads = [
        Head("Stream"),
        Head("Who says"),
        Head("m³ bank, ± 95 %", True),
        Head("t, ± 95 %", True),
        Head("Made of"),
    ]
    return table("What each party says of all ground dug", heads, rows)


def seen_rows(statement: ReconciliationStatement) -> Any:
    """What error of each source would have been seen, and for whose it might be taken."""
    rows = [
        (
            one.name[0].upper() + one.name[1:],
            "nothing checks it"
            if one.smallest_percent is None
            else theme.percent(one.smallest_percent, 1),
            ", ".join(one.taken_for) or "none",
        )
        for one in statement.seen
    ]
    heads = [Head("Source"), Head("Smallest lasting error seen", True), Head("Not told from")]
    return table("What would be named nine times in ten", heads, rows)


def fit(statement: ReconciliationStatement) -> Any:
    """Why the figures could not be brought together, or the periods and what could be seen."""
    if not statement.periods:
        return None
    newest = list(reversed(statement.periods))
    volumes = [_volumes_row(line) for line in newest]
    ways = [_ways_row(line) for line in newest]
    return block(
        "From survey to survey",
        html.Details(
            [
                html.Summary(f"{len(newest)} rows, newest first"),
                long_table(
                    "Bank m³ to the count of the heaps: by survey, by returns, all together ± 95 %",
                    ("Period to, stream", "Survey", "Returns", "All together"),
                    volumes,
                ),
                long_table(
                    "What left, t, and heaps, loose m³",
                    ("Period to, stream", "Belt", "Lorries", "Re-used", "Heaps"),
                    ways,
                ),
            ],
            className="rows",
        ),
        html.Details(
            [html.Summary("What error would have been seen"), seen_rows(statement)],
            className="rows",
        ),
    )


def _volumes_row(line: PeriodLine) -> tuple[str, ...]:
    best = theme.NO_NUMBER
    if line.adjusted_m3 is not None and line.u_adjusted_m3 is not None:
        half = theme.number(COVER * line.u_adjusted_m3)
        best = f"{theme.number(line.adjusted_m3)} ± {half}"
    amounts = (theme.number(line.to_count_m3), theme.number(line.returned_m3), best)
    return (f"{line.period} {line.stream}", *amounts)


def _ways_row(line: PeriodLine) -> tuple[str, ...]:
    amounts = (line.belt_t, line.lorry_t, line.reused_t, line.stock_m3)
    return (f"{line.period} {line.stream}", *(theme.number(amount) for amount in amounts))


# --- implied -------------------------------------------------------------------------------------
def implied_rows(statement: ReconciliationStatement) -> list[Any]:
    """Implied beside assumed, and the rows of the set-up that a person may adopt."""
    rows = [
        (
            f"{line.name}: {line.quantity}",
            f"{theme.number(line.assumed, decimals=3)} {line.unit}",
            theme.number(line.implied, decimals=3),
            f"{theme.number(line.low, decimals=3)} to {theme.number(line.high, decimals=3)}"
            if line.implied is not None
            else theme.NO_NUMBER,
            theme.number(line.periods) if line.implied is not None else theme.NO_NUMBER,
            _verdict(line),
        )
        for line in statement.calibrations
    ]
    heads = [
        Head("What"),
        Head("Assumed", True),
        Head("Implied", True),
        Head("In 95 cases of 100", True),
        Head("Periods", True),
        Head("So"),
    ]
    parts: list[Any] = [table("Implied by the records, beside the set-up", heads, rows)]
    if statement.proposals:
        parts.append(
            html.Details(
                [
                    html.Summary("Rows to copy into the set-up, if a person adopts them"),
                    *(_proposal(one) for one in statement.proposals),
                ],
                className="rows",
            )
        )
    return parts


def _verdict(line: Any) -> Any:
    if line.missing:
        return line.missing
    if not line.agrees:
        return mark("differs: consider a revision of the set-up", "warning")
    if line.low <= line.assumed <= line.high:
        return mark("agrees", "done")
    return "differs, within what is assumed of it"


def _proposal(one: Proposal) -> html.Div:
    return html.Div(
        [
            html.H3(f"{one.table}: {one.of}"),
            html.P(one.sentence),
            html.Pre(f"{one.heading}\n{one.row}", className="copy-text", tabIndex=0),
        ],
        className="proposal",
    )


# --- drift and misfits ---------------------------------------------------------------------------
def drift_rows(drifts: Sequence[BeltDrift]) -> Any:
    """Every step of every drift chart."""
    rows = [
        (
            f"{drift.belt}, {drift.stream}, to {point.period}",
            f"{100 * point.ratio:+.1f} ± {100 * COVER * point.u_ratio:.1f} %".replace("-", "−"),
            theme.number(point.upper, decimals=1),
            theme.number(point.lower, decimals=1),
        )
        for drift in drifts
        for point in drift.points
    ]
    heads = ("Belt, stream, period", "Belt against survey", "Sum high", "Sum low")
    return long_table("The sums period by period, alarm above the limit", heads, rows)


def misfit_rows(statement: ReconciliationStatement) -> Any:
    """The statements furthest from what all say together."""
    far = sorted(statement.residuals, key=lambda one: -abs(one.standardised))[:MOST_MISFITS]
    rows = [
        (
            f"{one.name}, {one.stream}, to {one.period}",
            theme.number(one.stated, one.unit, 3 if "/" in one.unit else 0),
            theme.number(one.adjusted, decimals=3 if "/" in one.unit else 0),
            theme.number(one.standardised, decimals=1),
        )
        for one in far
    ]
    heads = ("Statement", "Stated", "All together", "Standard deviations")
    return long_table(f"The {len(rows)} furthest off", heads, rows)


# --- missing -------------------------------------------------------------------------------------
def missing(statement: ReconciliationStatement) -> list[Any]:
    """What the records lack, each with the way to its rows; then loads without receipts."""
    rows = [
        (
            line.what,
            line.sentence,
            theme.number(line.count),
            theme.number(line.mass_t, "t"),
            dcc.Link("Search", href=records_address(line), className="link") if line.kind else "",
        )
        for line in statement.missing
    ]
    heads = [Head("What"), Head("Which"), Head("Number", True), Head("Mass", True), Head("Records")]
    return [table("Missing or unmatched", heads, rows), _unmatched(statement)]


def records_address(line: MissingLine) -> str:
    """Where the records of a gap are searched."""
    asked = {
        "kind": line.kind,
        "since": line.since.isoformat() if line.since else "",
        "until": line.until.isoformat() if line.until else "",
        "text": line.text,
    }
    return f"/records?{urlencode({name: text for name, text in asked.items() if text})}"


def _unmatched(statement: ReconciliationStatement) -> Any:
    if not statement.unmatched:
        return html.P("Every load has its receipt.", className="empty")
    rows = [
        (
            theme.short_day(one.gate_date),
            one.ticket,
            one.stream,
            one.destination,
            theme.number(one.mass_t, "t", 2),
            record_link(one.entry_id),
        )
        for one in statement.unmatched
    ]
    heads = [
        Head("Left on", short=True),
        Head("Ticket"),
        Head("Stream"),
        Head("To"),
        Head("Mass", True),
        Head("Row", short=True),
    ]
    count, listed = statement.unmatched_count, len(rows)
    caption = f"Loads without a receipt: {count}, {theme.number(statement.unmatched_t, 't')}"
    caption += "" if listed == count else f"; the newest {listed}"
    return html.Details([html.Summary(caption), table(caption, heads, rows)], className="rows")
