"""When formation is reached under two options: P20 to P80 as bars on one axis, with the target."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.forecast_shapes import OptionFormation, WhatIfStatement
from tracker.statements.forecast_words import chance_words

SIDES = ("A", "B")
ROW_PX, PART_PX = 40, 44
BAR_PX = {"A": 8, "B": 14}  # B is the thicker one, so that the letters are not all that tells them
NOTHING = "No ground is left to dig: there is nothing to compare."


@dataclass(frozen=True, slots=True)
class _Row:
    """One bar: how far down it stands [px], whose it is."""

    down_px: int
    side: str
    formation: OptionFormation


def ranges_figure(statement: WhatIfStatement, width_px: int = theme.WIDE_PX) -> go.Figure:
    """A bar an option from P20 to P80, a dot at P50, the target as a line across both."""
    rows, names, height_px = _laid(statement)
    if not rows:
        return theme.empty_figure(NOTHING)
    narrow = width_px < theme.PHONE_PX
    axis = _axis(statement, [row.formation for row in rows])
    figure = go.Figure()
    for down_px, name, formation in names:
        _name(figure, down_px, name)
        if formation.target:
            _target(figure, axis, down_px, formation.target)
    for row in rows:
        _bar(figure, axis, row)
    figure.update_layout(
        template=theme.template(),
        width=width_px,
        height=height_px + 40,
        margin={"l": 28, "r": 8, "t": 8, "b": 32},
        xaxis={
            "type": "date",
            "range": [axis.first.isoformat(), axis.last.isoformat()],
            "showgrid": True,
            "tickformat": "%b %Y",
            "tick0": "2000-01-01",
            "dtick": f"M{axis.months_apart(3 if narrow else 10)}",
        },
        yaxis={"range": [height_px, 0], "visible": False},
    )
    return figure


def _laid(
    statement: WhatIfStatement,
) -> tuple[list[_Row], list[tuple[int, str, OptionFormation]], int]:
    rows, names, down_px = [], [], 0
    a, b = statement.options
    for pair in zip(a.formation, b.formation, strict=True):
        names.append((down_px + 12, pair[0].name, pair[0]))
        for n, (side, formation) in enumerate(zip(SIDES, pair, strict=True)):
            rows.append(_Row(down_px + PART_PX + 14 + n * ROW_PX, side, formation))
        down_px += PART_PX + 2 * ROW_PX
    return rows, names, down_px


@dataclass(frozen=True, slots=True)
class _Axis:
    """The dates across the figure."""

    first: date
    last: date

    def part(self, day: date) -> float:
        """How far along a day is [-]."""
        return (day - self.first).days / max((self.last - self.first).days, 1)

    def months_apart(self, most: int) -> int:
        """Months between two ticks where so many fit at most."""
        return max(1, math.ceil((self.last - self.first).days / 30.4 / most))


def _axis(statement: WhatIfStatement, formations: Sequence[OptionFormation]) -> _Axis:
    days = [d for f in formations for d in (f.p20, f.p50, f.p80, f.target) if d]
    first = min([*days, statement.basis.as_of])
    last = max([*days, statement.basis.as_of + timedelta(days=56)])
    return _Axis(first - (last - first) * 0.02, last + (last - first) * 0.04)


def _bar(figure: go.Figure, axis: _Axis, row: _Row) -> None:
    f, colour = row.formation, theme.GREY if row.side == "A" else theme.INK
    _name(figure, row.down_px, row.side)
    if f.p20 is None:
        _words(figure, axis.last, row.down_px, "later than the calendar that was walked", "right")
        return
    until = f.p80 or axis.last
    figure.add_scatter(
        x=[f.p20.isoformat(), until.isoformat()], y=[row.down_px] * 2, mode="lines",
        line={"color": colour, "width": BAR_PX[row.side]}, hovertext=_numbers(row),
        hoverinfo="text",
    )  # fmt: skip
    if f.p50:
        figure.add_scatter(
            x=[f.p50.isoformat()], y=[row.down_px], mode="markers", hovertext=_numbers(row),
            hoverinfo="text",
            marker={"size": 9, "color": theme.PAPER, "line": {"color": colour, "width": 2}},
        )  # fmt: skip
    words = f"P80 {theme.short_day(f.p80)}" if f.p80 else "P80 later than the calendar"
    if f.p80 is None or (f.target and f.p80 > f.target):
        late = ", after the target" if f.target and f.p80 else ""
        words = f"<span style='color:{theme.BREACH_TEXT}'>{words}{late}</span>"
    right = axis.part(until) < 0.5  # there is more room on the right of the bar
    _words(figure, until if right else f.p20, row.down_px, words, "left" if right else "right")


def _words(figure: go.Figure, day: date, down_px: int, words: str, anchor: str) -> None:
    figure.add_annotation(
        x=day.isoformat(), y=down_px, xanchor=anchor, xshift=8 if anchor == "left" else -8,
        showarrow=False, text=words, font={"size": 13, "color": theme.INK}, bgcolor=theme.PAPER,
        borderpad=1,
    )  # fmt: skip


def _name(figure: go.Figure, down_px: int, name: str) -> None:
    figure.add_annotation(
        x=0, xref="paper", xshift=-28, xanchor="left", y=down_px, showarrow=False,
        text=f"<b>{name}</b>", font={"size": 13, "color": theme.INK}, bgcolor=theme.PAPER,
        borderpad=1,
    )  # fmt: skip


def _target(figure: go.Figure, axis: _Axis, down_px: int, target: date) -> None:
    at = axis.part(target)
    figure.add_shape(
        type="line", x0=target.isoformat(), x1=target.isoformat(), y0=down_px + 10,
        y1=down_px + PART_PX + 2 * ROW_PX - 24, line={"color": theme.PLANNED, "width": 2},
        layer="below",
    )  # fmt: skip
    anchor = "left" if at < 0.25 else "right" if at > 0.75 else "center"
    figure.add_annotation(
        x=target.isoformat(), y=down_px + PART_PX + 2 * ROW_PX - 18, xanchor=anchor,
        showarrow=False, text=f"target {theme.short_day(target)}",
        font={"size": 12, "color": theme.PLANNED},
    )  # fmt: skip


def _numbers(row: _Row) -> str:
    f = row.formation
    chance = (
        ""
        if f.chance_of_target is None
        else f"<br>target {theme.short_day(f.target)}: {chance_words(f.chance_of_target)} by then"
    )
    return (
        f"<b>{row.side}</b>, {f.name}<br>P20 {theme.short_day(f.p20)}, P50"
        f" {theme.short_day(f.p50)}, P80 {theme.short_day(f.p80)}{chance}"
    )


def ranges_summary(statement: WhatIfStatement) -> str:
    """The bars in one sentence."""
    said = []
    for a, b in zip(statement.options[0].formation, statement.options[1].formation, strict=True):
        said.append(
            f"{a.name}: formation by {theme.short_day(a.p80)} in A and by {theme.short_day(b.p80)}"
            " in B, at four chances in five."
        )
    return " ".join(said) or NOTHING
