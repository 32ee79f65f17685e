"""When formation is reached under two options: P20 to P80 as bars on one axis, with the target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.forecast_shapes import OptionFormation, WhatIfStatement

SIDES = ("A", "B")
ROW_PX, PART_PX = 44, 34
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
    first, last = _span(statement, [row.formation for row in rows], narrow)
    figure = go.Figure()
    for row in rows:
        _bar(figure, row, last)
    for down_px, name, formation in names:
        _name(figure, down_px, name)
        if formation.target:
            _target(figure, down_px, formation.target)
    figure.update_layout(
        template=theme.template(),
        width=width_px,
        height=height_px + 40,
        margin={"l": 28, "r": 8, "t": 8, "b": 32},
        xaxis={
            "type": "date",
            "range": [first.isoformat(), last.isoformat()],
            "showgrid": True,
            "gridcolor": theme.HAIRLINE,
            "tickformat": "%b %y" if narrow else "%b %Y",
            "nticks": 4 if narrow else 10,
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


def _span(
    statement: WhatIfStatement, formations: Sequence[OptionFormation], narrow: bool
) -> tuple[date, date]:
    """First and last date of the axis, with room for the words at the end of a bar."""
    days = [d for f in formations for d in (f.p20, f.p50, f.p80, f.target) if d]
    first = statement.basis.as_of
    last = max([*days, first + timedelta(days=14)])
    return min([*days, first]), last + (last - first) * (0.9 if narrow else 0.3)


def _bar(figure: go.Figure, row: _Row, end: date) -> None:
    f = row.formation
    late = bool(f.target and f.p80 and f.p80 > f.target)
    figure.add_annotation(
        x=0, xref="paper", xshift=-28, xanchor="left", y=row.down_px, showarrow=False,
        text=f"<b>{row.side}</b>", font={"size": 15, "color": theme.INK},
    )  # fmt: skip
    if f.p20 is None:
        _words(figure, end, row.down_px, "later than the calendar that was walked", "right")
        return
    colour = theme.GREY if row.side == "A" else theme.INK
    until = f.p80 or end
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
    if f.p80:
        words = f"P80 {theme.short_day(f.p80)}"
        if late:
            words = f"<span style='color:{theme.BREACH_TEXT}'>{words}, after the target</span>"
        _words(figure, f.p80, row.down_px, words)


def _words(figure: go.Figure, day: date, down_px: int, words: str, anchor: str = "left") -> None:
    figure.add_annotation(
        x=day.isoformat(), y=down_px, xanchor=anchor, xshift=8 if anchor == "left" else 0,
        showarrow=False, text=words, font={"size": 13, "color": theme.INK},
    )  # fmt: skip


def _name(figure: go.Figure, down_px: int, name: str) -> None:
    figure.add_annotation(
        x=0, xref="paper", xshift=-28, xanchor="left", y=down_px, showarrow=False,
        text=f"<b>{name}</b>", font={"size": 13, "color": theme.INK},
    )  # fmt: skip


def _target(figure: go.Figure, down_px: int, target: date) -> None:
    figure.add_shape(
        type="line", x0=target.isoformat(), x1=target.isoformat(), y0=down_px + 10,
        y1=down_px + PART_PX + 2 * ROW_PX - 24, line={"color": theme.PLANNED, "width": 2},
        layer="below",
    )  # fmt: skip
    figure.add_annotation(
        x=target.isoformat(), y=down_px + PART_PX + 2 * ROW_PX - 18, xanchor="center",
        showarrow=False, text=f"target {theme.short_day(target)}",
        font={"size": 12, "color": theme.PLANNED},
    )  # fmt: skip


def _numbers(row: _Row) -> str:
    f = row.formation
    chance = (
        ""
        if f.chance_of_target is None
        else f"<br>target {theme.short_day(f.target)}: {100.0 * f.chance_of_target:.0f} % by then"
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
