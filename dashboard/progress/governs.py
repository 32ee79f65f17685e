"""What governs: the key of the strip, its days as rows, and the shares of the forecast."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import Head, chart_note, long_table, matrix, table
from dashboard.figures.governs import causes_of, governed_days, governs_summary, letter
from tracker.statements.capacity_shapes import CapacityStatement, LimitLine, MeasuredLine
from tracker.statements.forecast_shapes import ForecastStatement, GovernsLine

LOOKS = {"dig", "hold", "turn", "stop", "uncoded", "calendar"}  # all others have one colour
LEAST = 0.005  # a smaller share is not shown


def governs_note(statement: CapacityStatement, excavation: str) -> list[Any]:
    """What the letters mean, the strip in a sentence, its rows and what was measured."""
    days = governed_days(statement, excavation)
    if not days:
        return [html.P(governs_summary(statement, excavation), className="summary")]
    rows = html.Div([day_rows(statement, excavation), limit_rows(statement.limits)])
    note = chart_note(governs_summary(statement, excavation), rows)
    return [letters(causes_of(days)), *note, measured_rows(statement.measured)]


def letters(causes: dict[str, str]) -> html.Ul:
    """The letters of the strip with their words; pale cells are expected."""
    marks = [
        html.Li([html.B(letter(cause), className=f"cell {look_of(cause)}"), words])
        for cause, words in causes.items()
    ]
    return html.Ul([*marks, html.Li("pale in a frame: expected")], className="letters")


def look_of(cause: str) -> str:
    """The style of a letter."""
    return f"cell-{cause}" if cause in LOOKS else "cell-out"


def day_rows(statement: CapacityStatement, excavation: str) -> Any:
    """The strip as rows, one a day."""
    rows = [
        (
            theme.day(day.work_date),
            f"{day.words}{' (expected)' if day.expected else ''}",
            theme.number(day.hours, decimals=1),
            theme.number(day.dug_bank_m3),
            theme.number(day.dig_bank_m3),
            theme.number(day.least_bank_m3),
        )
        for day in governed_days(statement, excavation)
    ]
    heads = ("Work date", "Governs", "Hours", "Dug", "Digging gives", "Least way out takes")
    return long_table("What governs by day; volumes in m³ bank", heads, rows)


def limit_rows(limits: Sequence[LimitLine]) -> Any:
    """The ways out on the last day of which they are known, each with how it is reckoned."""
    if not limits:
        return html.P(
            "The set-up states no belt, hoist, fleet, gate or receiver.", className="empty"
        )
    last = max(line.work_date for line in limits)
    rows = [
        (
            " ".join(x for x in (line.name, line.about) if x),
            theme.number(line.bank_m3),
            theme.number(line.hours, decimals=1),
            line.how,
        )
        for line in limits
        if line.work_date == last
    ]
    heads = [Head("Way out"), Head("Takes, m³ bank", True), Head("Hours", True), Head("How")]
    return table(f"What the ways out can take on {theme.day(last)}", heads, rows)


def measured_rows(measured: Sequence[MeasuredLine]) -> Any:
    """What was measured beside what was modelled or planned."""
    if not measured:
        return None
    lines = [html.Li(f"{line.sentence} Used: {line.used}.") for line in measured]
    return html.Details(
        [html.Summary("Measured beside modelled"), html.Ul(lines, className="reading")],
        className="rows",
    )


def shares(forecast: ForecastStatement, excavation: str) -> Any:
    """Which share of the shifts ahead each cause governs, by zone."""
    own = [line for line in forecast.governs if line.excavation == excavation]
    if not own:
        return None
    zones = sorted({line.zone for line in own if line.zone})
    ordered = sorted(causes_by_share(own).items(), key=lambda one: -one[1])
    found = {(line.zone, line.cause): line.share for line in own}
    words = {line.cause: line.words for line in sorted(own, key=lambda x: not x.zone)}
    rows = [
        (words[cause], *(percent(found.get((zone, cause))) for zone in ("", *zones)))
        for cause, _share in ordered
        if any(found.get((zone, cause), 0.0) >= LEAST for zone in ("", *zones))
    ]
    caption = "Of the shifts ahead in which ground is left, governed by"
    return matrix(caption, "Cause", ["All", *zones], rows)


def causes_by_share(lines: Sequence[GovernsLine]) -> dict[str, float]:
    """Cause -> its share in the whole excavation, nothing where it is only in a zone."""
    out = dict.fromkeys((line.cause for line in lines), 0.0)
    return out | {line.cause: line.share for line in lines if not line.zone}


def percent(share: float | None) -> str:
    """A share in percent that no line breaks; a stroke where it governs nothing."""
    if not share or share < LEAST:
        return theme.NO_NUMBER
    return theme.percent(100.0 * share).replace(" ", "\u00a0")
