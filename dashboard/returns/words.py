"""What the dig return page says: the permitted level, and what an entry would mean."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import key_figures, mark
from tracker.errors import Problem
from tracker.recording.preview import Echo
from tracker.statements.levels import BREACH_RULE
from tracker.statements.shapes import RecordLine, ZoneLevel

# Columns as the form labels them: a message of the readers names the column of a file.
_LABELS = {
    "work_date": "work date",
    "bank_m3": "bank volume",
    "capacity_m3": "what each holds",
    "mass_t": "mass",
    "from_level_m": "start level",
    "to_level_m": "finish level",
    "lowest_level_m": "lowest level",
    "nil_reason": "reason for the nil shift",
}


def in_words(message: str) -> str:
    """A message with the names of columns in the words of the form.

    >>> in_words("A measured quantity needs bank_m3.")
    'A measured quantity needs bank volume.'
    """
    for column, label in _LABELS.items():
        message = message.replace(column, label)
    return message


def permit_panel(level: ZoneLevel, holds: Sequence[RecordLine], datum: str) -> html.Div:
    """The permitted level of a zone and its permit, said before any level is typed."""
    permit = permit_of(level, holds)
    lowest = (
        f"Lowest so far {theme.level(level.lowest_level_m, 'm')}, {theme.day(level.lowest_on)}."
        if level.lowest_level_m is not None
        else "No level reported yet."
    )
    stage = f"stage {level.stage} released" if level.stage else "no stage released"
    parts: list[Any] = [
        html.P(
            [
                "Permitted level ",
                html.Strong(theme.level(level.permitted_level_m, "m")),
                f" ({stage}{f', permit {permit}' if permit else ''}). Dig nothing below it.",
            ]
        ),
        html.P(lowest),
    ]
    if level.in_breach:
        below = theme.level(level.permitted_level_m - (level.lowest_level_m or 0.0), "m")
        words = f"{below} below permitted: stop and ask the temporary works coordinator."
        parts.append(html.P(mark(words, "breach")))
    governs = f"The permit on site governs, not this screen. {datum}"
    parts.append(html.P(governs, className="beside"))
    return html.Div(parts, className="permit")


def permit_of(level: ZoneLevel, holds: Sequence[RecordLine]) -> str:
    """Number of the permit that released the stage which may be dug; newest first in `holds`."""
    for line in holds:
        fields = dict(line.fields)
        if (fields.get("zone"), fields.get("hold")) == (level.zone, str(level.stage)):
            return fields.get("permit", "")
    return ""


def echo_parts(echo: Echo, problems: Sequence[Problem], refused: bool) -> list[Any]:
    """What the entry means in every unit, and every problem in words."""
    parts: list[Any] = [html.P(mark(in_words(p.message), meaning_of(p))) for p in problems]
    if echo.bank_m3 is not None:
        parts.append(key_figures(_units(echo)))
    parts += [html.P(words) for words in echo.sentences]
    words = "Not saved. Correct what is marked, then check again." if refused else "Not saved yet."
    parts.append(html.P(html.Strong(words)))
    return [html.Div(parts, className="echo", role="status")]


def is_breach(problem: Problem) -> bool:
    """Whether a warning is of a level below the permitted one."""
    return problem.rule == BREACH_RULE


def meaning_of(problem: Problem) -> str:
    """An error and a breach are said in vermilion, other warnings in orange."""
    return "breach" if problem.severity == "error" or is_breach(problem) else "warning"


def _units(echo: Echo) -> list[tuple[str, str, str]]:
    quantities = (
        ("Bank", echo.bank_m3, echo.u_bank_m3, "m³"),
        ("Loose", echo.loose_m3, echo.u_loose_m3, "m³"),
        ("Mass", echo.mass_t, echo.u_mass_t, "t"),
    )
    figures = [
        (name, theme.number(value, unit, 1), f"± {theme.number(u, unit, 1)}" if u else "as given")
        for name, value, u, unit in quantities
    ]
    loads = echo.loads or 0
    return [*figures, ("By lorry", f"{loads} loads", f"{2 * loads} movements")]
