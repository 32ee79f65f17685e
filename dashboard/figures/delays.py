"""Lost ground by cause: bars from the most to the least, and what they come to together."""

from __future__ import annotations

from collections.abc import Sequence

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.lettering import text_width
from tracker.statements.capacity_shapes import DelayLine, DelayStatement

NOTHING = "No coded delay in this period."
ROW_PX, NARROW_ROW_PX = 44, 52
CUMULATED = theme.GREY


def delays_figure(statement: DelayStatement, width_px: int = theme.WIDE_PX) -> go.Figure:
    """One bar a cause in bank m³; beside it the share of all, up to and with this cause."""
    lines = statement.lines
    if not lines:
        return theme.empty_figure(NOTHING, 96)
    narrow = width_px < theme.PHONE_PX
    figure = go.Figure(data=_bars(lines, 0.3 if narrow else 0.46))
    _draw_cumulated(figure, lines)
    most = max(line.lost_bank_m3 for line in lines) or 1.0
    panel = {"showgrid": True, "nticks": 4}
    figure.update_layout(
        template=theme.template(),
        width=min(width_px, 1080),
        height=(NARROW_ROW_PX if narrow else ROW_PX) * len(lines) + 76,
        margin={"l": 8 if narrow else _left_px(lines), "r": 12 if narrow else 16, "t": 28, "b": 44},
        xaxis=panel
        | {"range": [0, most * 1.02], "tickformat": ",", "title": {"text": "bank m³"}}
        | {"domain": [0, 0.66 if narrow else 0.64]},
        xaxis2={"range": [0, 160 if narrow else 130], "tickvals": [0, 100], "showgrid": True}
        | {"showticklabels": False, "anchor": "y", "domain": [0.72 if narrow else 0.78, 1]},
        yaxis={
            "range": [len(lines) - 0.5, -0.8 if narrow else -0.5],
            "tickvals": list(range(len(lines))),
            "ticktext": [f"{line.name}<br>{_owner(line)}" for line in lines],
            "showticklabels": not narrow,
            "tickfont": {"color": theme.INK, "size": 12},
            "showgrid": False,
        },
    )
    _draw_words(figure, lines, narrow)
    return figure


def _bars(lines: Sequence[DelayLine], width: float) -> go.Bar:
    return go.Bar(
        x=[line.lost_bank_m3 for line in lines],
        y=list(range(len(lines))),
        orientation="h",
        width=width,
        marker={"color": [theme.WARNING if x.governing else theme.WALL for x in lines]},
        customdata=[[line.cause] for line in lines],
        hovertext=[line_numbers(line) for line in lines],
        hoverinfo="text",
    )


def _left_px(lines: Sequence[DelayLine]) -> int:
    """How wide the names and owners of the causes are."""
    words = [text for line in lines for text in (line.name, line.owner)]
    return int(max(text_width(text, 12) for text in words)) + 12


def _owner(line: DelayLine) -> str:
    return f"<span style='color:{theme.GREY}'>{owner_words(line.owner)}</span>"


def owner_words(owner: str) -> str:
    """Whose matter a cause is by the set-up; some are nobody's.

    >>> owner_words("haulier"), owner_words("")
    ('haulier', 'nobody')
    """
    return owner or "nobody"


def _draw_cumulated(figure: go.Figure, lines: Sequence[DelayLine]) -> None:
    """The share of all causes so far, from the top down."""
    figure.add_scatter(
        x=[100.0 * line.cumulative_share for line in lines],
        y=list(range(len(lines))),
        xaxis="x2",
        mode="lines+markers+text",
        text=[f"  {theme.percent(100.0 * line.cumulative_share)}" for line in lines],
        textposition="middle right",
        textfont={"color": theme.INK, "size": 12},
        cliponaxis=False,
        line={"color": CUMULATED, "width": 1.5},
        marker={"size": 7, "color": CUMULATED},
        customdata=[[line.cause] for line in lines],
        hovertext=[line_numbers(line) for line in lines],
        hoverinfo="text",
    )


def _draw_words(figure: go.Figure, lines: Sequence[DelayLine], narrow: bool) -> None:
    """Over the panels what they show; beside each bar its volume, on a phone over it."""
    titles = (("lost", 0), ("in all" if narrow else "with all above it", 0.72 if narrow else 0.78))
    look = {"showarrow": False, "xanchor": "left", "xref": "paper"}
    for words, x in titles:
        figure.add_annotation(
            look
            | {"x": x, "y": 1, "yref": "paper", "yanchor": "bottom", "yshift": 4, "text": words}
            | {"font": {"color": theme.GREY, "size": 12}}
        )
    most = max(line.lost_bank_m3 for line in lines) or 1.0
    for row, line in enumerate(lines):
        volume = f"<b>{theme.number(line.lost_bank_m3, 'm³')}</b>"
        volume += ", leads" if line.governing else ""
        inside = line.lost_bank_m3 > 0.6 * most
        place = {"xref": "x", "x": line.lost_bank_m3, "xshift": -6 if inside else 6}
        place |= {"xanchor": "right" if inside else "left", "text": volume}
        if narrow:
            place = {"x": 0, "yshift": 20, "text": f"{line.name}: {volume}"}
        figure.add_annotation(look | {"y": row, "font": {"color": theme.INK, "size": 12}} | place)


def line_numbers(line: DelayLine) -> str:
    """The numbers of a bar as they stand beside the pointer."""
    return "<br>".join(
        (
            f"<b>{line.name}</b>, {owner_words(line.owner)}",
            f"{theme.number(line.lost_bank_m3, 'm³ bank')} not dug",
            f"{theme.number(line.minutes, 'min')} in {line.shifts} shifts of a zone",
            f"{theme.percent(100.0 * line.share)} of all,"
            f" {theme.percent(100.0 * line.cumulative_share)} with all above it",
        )
    )


def delays_summary(statement: DelayStatement) -> str:
    """The bars in one sentence, with who owns most of it."""
    if not statement.lines:
        return NOTHING
    owners = sorted(statement.owners, key=lambda one: -one.lost_bank_m3)
    said = ", ".join(
        f"{owner_words(one.owner)} {theme.percent(100.0 * one.share)}" for one in owners[:3]
    )
    total_m3 = sum(line.lost_bank_m3 for line in statement.lines)
    return (
        f"{theme.number(total_m3, 'm³ bank')} not dug in {len(statement.lines)} coded causes from"
        f" {theme.day(statement.since)} to {theme.day(statement.until)}. By owner: {said}."
    )
