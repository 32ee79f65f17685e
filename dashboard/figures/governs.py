"""What governed each day and what is expected to: a strip of days, told by colour and by letter."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.capacity_shapes import CapacityStatement, GovernedDay

NOTHING = "No day of this excavation has been worked yet."
# Cause -> its letter. Ground that waits to go out is told by one colour and five letters; causes
# that returns code are no words of the programme and share a letter.
LETTERS = {
    "dig": "D",
    "hold": "H",
    "turn": "T",
    "hoist": "U",
    "belt": "B",
    "lorries": "L",
    "gate": "G",
    "receiver": "R",
    "stop": "S",
    "uncoded": "N",
    "calendar": "·",
}
COLOURS = {
    "dig": theme.paler(theme.DONE, 0.35),
    "hold": theme.PLANNED,
    "turn": theme.WALL,
    "stop": theme.GREY,
    "uncoded": "#d7dce1",
    "calendar": "#eef0f2",
}
HELD_UP = theme.WARNING  # a way out that takes no more, or a coded delay
CODED = "X"
MOST_ACROSS, CELL_PX = 63, 18  # nine weeks, since the first may have begun before its Monday
ROW_PX = 52
MOST_NAMED = 3


def letter(cause: str) -> str:
    """The letter of a cause.

    >>> letter("belt"), letter("excavator down")
    ('B', 'X')
    """
    return LETTERS.get(cause, CODED)


def governed_days(statement: CapacityStatement, excavation: str) -> list[GovernedDay]:
    """The days of an excavation in their order."""
    own = [day for day in statement.days if day.excavation == excavation]
    return sorted(own, key=lambda day: day.work_date)


def governs_figure(
    statement: CapacityStatement, excavation: str, width_px: int = theme.WIDE_PX
) -> go.Figure:
    """A cell a day, Mondays dated, in as many rows of whole weeks as the width needs."""
    days = governed_days(statement, excavation)
    if not days:
        return theme.empty_figure(NOTHING, 96)
    across = days_across(width_px)
    weeks = _by_row(days, across)
    figure = go.Figure()
    for row, cells in enumerate(weeks):
        _draw_row(figure, row, cells)
    figure.update_layout(
        template=theme.template(),
        width=width_px,
        height=ROW_PX * len(weeks) + 12,
        margin={"l": 0, "r": 4, "t": 4, "b": 8},
        annotations=_dates(weeks),
        shapes=_as_of(weeks, statement.basis.as_of),
        xaxis={"visible": False, "range": [-0.1, across + 0.1]},
        yaxis={"visible": False, "range": [len(weeks), 0]},
        barmode="overlay",
    )
    return figure


def days_across(width_px: int) -> int:
    """How many days stand in a row: whole weeks, nine at most, two on a phone."""
    return max(14, min(MOST_ACROSS, width_px // CELL_PX // 7 * 7))


def _by_row(days: Sequence[GovernedDay], across: int) -> list[list[tuple[int, GovernedDay]]]:
    """(column, day) by row; the first row begins with the Monday before the first day."""
    before = days[0].work_date.weekday()
    placed = [((d.work_date - days[0].work_date).days + before, d) for d in days]
    rows = range(placed[-1][0] // across + 1)
    return [[(n % across, day) for n, day in placed if n // across == row] for row in rows]


def _draw_row(figure: go.Figure, row: int, cells: Sequence[tuple[int, GovernedDay]]) -> None:
    """The cells of a row: full what was, pale and framed what is expected."""
    fills = [_fill(day) for _, day in cells]
    figure.add_bar(
        x=[column + 0.5 for column, _ in cells],
        y=[0.5] * len(cells),
        base=[row + 0.42] * len(cells),
        width=0.9,
        marker={
            "color": [fill for fill, _ in fills],
            "line": {"color": [_colour(d.governs) for _, d in cells], "width": 1.5},
        },
        text=[letter(day.governs) for _, day in cells],
        textposition="inside",
        insidetextanchor="middle",
        textangle=0,
        insidetextfont={"size": 12, "color": [ink for _, ink in fills]},
        constraintext="none",
        hovertext=[day_numbers(day) for _, day in cells],
        hoverinfo="text",
    )


def _colour(cause: str) -> str:
    return COLOURS.get(cause, HELD_UP)


def _fill(day: GovernedDay) -> tuple[str, str]:
    """The tone of a cell and the ink on it."""
    colour = _colour(day.governs)
    if day.expected:
        return theme.paler(colour, 0.8), theme.INK
    return colour, theme.PAPER if day.governs in ("hold", "stop") else theme.INK


def _dates(weeks: Sequence[Sequence[tuple[int, GovernedDay]]]) -> list[dict[str, Any]]:
    """The date of each Monday over its cell."""
    look = {"showarrow": False, "xanchor": "left", "yanchor": "bottom", "yref": "y", "xref": "x"}
    look |= {"font": {"color": theme.GREY, "size": 12}}
    return [
        look | {"x": column, "y": row + 0.42, "text": f"{d.work_date.day} {d.work_date:%b}"}
        for row, cells in enumerate(weeks)
        for column, d in cells
        if d.work_date.weekday() == 0
    ]


def _as_of(weeks: Sequence[Sequence[tuple[int, GovernedDay]]], as_of: date) -> list[dict[str, Any]]:
    """A line after the last day of the past."""
    return [
        {
            "type": "line",
            "x0": column + 1,
            "x1": column + 1,
            "y0": row + 0.36,
            "y1": row + 0.98,
            "line": {"color": theme.INK, "width": 2},
        }
        for row, cells in enumerate(weeks)
        for column, day in cells
        if day.work_date == as_of
    ]


def day_numbers(day: GovernedDay) -> str:
    """The numbers of a day as they stand beside the pointer."""
    lines = [f"<b>{theme.day(day.work_date)}</b>: {day.words}"]
    if day.dug_bank_m3 is not None:
        lines.append(f"dug {theme.number(day.dug_bank_m3, 'm³ bank')}")
    lines.append(f"{theme.number(day.hours, 'h', 1)} of shifts; digging could give")
    lines[-1] += f" {theme.number(day.dig_bank_m3, 'm³')}"
    if day.least_bank_m3 is not None:
        shared = " of all zones together" if day.shared else ""
        lines.append(f"the least way out takes {theme.number(day.least_bank_m3, 'm³')}{shared}")
    return "<br>".join(lines)


def causes_of(days: Sequence[GovernedDay]) -> dict[str, str]:
    """Cause -> its words, of what occurs, in the order of the letters."""
    found = {day.governs: day.words for day in days}
    order = [*LETTERS, *(cause for cause in found if cause not in LETTERS)]
    return {cause: found[cause] for cause in order if cause in found}


def governs_summary(statement: CapacityStatement, excavation: str) -> str:
    """The strip in one sentence."""
    days = governed_days(statement, excavation)
    if not days:
        return NOTHING
    past = [day for day in days if not day.expected]
    ahead = [day for day in days if day.expected]
    parts = (("So far", past), ("expected", ahead))
    return "; ".join(f"{words}: {_most(part)}" for words, part in parts if part) + "."


def _most(days: Sequence[GovernedDay]) -> str:
    """What governed, by days, the most first."""
    counts: dict[str, int] = {}
    for day in days:
        counts[day.words] = counts.get(day.words, 0) + 1
    ordered = sorted(counts.items(), key=lambda one: -one[1])[:MOST_NAMED]
    said = [f"{words} {count} day{'' if count == 1 else 's'}" for words, count in ordered]
    rest = len(days) - sum(count for _, count in ordered)
    return ", ".join([*said, f"others {rest}"] if rest else said)
