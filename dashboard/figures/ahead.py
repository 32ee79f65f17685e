"""Days ahead of the plan or behind it: a bar for each zone from the line of the plan."""

from __future__ import annotations

from collections.abc import Sequence

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.lettering import text_width
from tracker.statements.forecast_shapes import EarnedLine

NOTHING = "No plan to hold the digging against yet."
ROW_PX, NARROW_ROW_PX = 34, 46
ON_PLAN = 0.05  # of a day: less is none


def earned_lines(earned: Sequence[EarnedLine], excavation: str) -> list[EarnedLine]:
    """The lines of the current plan, the whole excavation first."""
    own = [line for line in earned if line.current and line.excavation == excavation]
    return sorted(own, key=lambda line: bool(line.zone))


def days_words(ahead_days: float) -> str:
    """Working days ahead or behind, in words.

    >>> days_words(-6.2), days_words(1.0), days_words(0.01)
    ('6.2 days behind', '1.0 days ahead', 'on plan')
    """
    if abs(ahead_days) < ON_PLAN:
        return "on plan"
    return f"{abs(ahead_days):.1f} days {'ahead' if ahead_days > 0 else 'behind'}"


def ahead_figure(
    earned: Sequence[EarnedLine], excavation: str, width_px: int = theme.WIDE_PX
) -> go.Figure:
    """To the right of the line what is ahead, to the left what is behind, in working days."""
    lines = earned_lines(earned, excavation)
    if not lines:
        return theme.empty_figure(NOTHING, 96)
    narrow = width_px < theme.PHONE_PX
    rows = list(range(len(lines)))
    figure = go.Figure(data=_bars(lines, 0.34 if narrow else 0.5))
    most = max(1.0, *(abs(line.ahead_days) for line in lines)) * 1.06
    row_px = NARROW_ROW_PX if narrow else ROW_PX
    figure.update_layout(
        template=theme.template(),
        width=min(width_px, 900),
        height=row_px * len(lines) + 72,
        margin={"l": 8 if narrow else _left_px(lines), "r": 8 if narrow else 150, "t": 28, "b": 44},
        xaxis={
            "range": [-most, most],
            "showgrid": True,
            "nticks": 5 if narrow else 9,
            "title": {"text": "working days by earned schedule"},
        },
        yaxis={
            "range": [len(lines) - 0.5, -0.75 if narrow else -0.5],
            "tickvals": rows,
            "ticktext": [f"<b>{line.name}</b>" if not line.zone else line.name for line in lines],
            "showticklabels": not narrow,
            "tickfont": {"color": theme.INK, "size": 13},
            "showgrid": False,
        },
    )
    figure.add_vline(x=0, line={"color": theme.PLANNED, "width": 2})
    _draw_words(figure, lines, narrow)
    return figure


def _bars(lines: Sequence[EarnedLine], width: float) -> go.Bar:
    return go.Bar(
        x=[line.ahead_days for line in lines],
        y=list(range(len(lines))),
        orientation="h",
        width=width,
        marker={"color": [_colour(line.ahead_days) for line in lines]},
        customdata=[[line.zone] for line in lines],
        hovertext=[line_numbers(line) for line in lines],
        hoverinfo="text",
    )


def _left_px(lines: Sequence[EarnedLine]) -> int:
    return int(max(text_width(line.name, 13) for line in lines)) + 14


def _colour(ahead_days: float) -> str:
    return theme.DONE if ahead_days > 0 else theme.WARNING


def _draw_words(figure: go.Figure, lines: Sequence[EarnedLine], narrow: bool) -> None:
    """What the sides mean over the chart, and the days beside each bar, on a phone over it."""
    for side, words in ((-1, "← behind"), (1, "ahead →")):
        figure.add_annotation(
            x=0.5 + 0.012 * side,
            xref="paper",
            xanchor="left" if side > 0 else "right",
            y=1,
            yref="paper",
            yanchor="bottom",
            yshift=4,
            text=words,
            showarrow=False,
            font={"color": theme.GREY, "size": 12},
        )
    look = {"xref": "paper", "xanchor": "left", "showarrow": False}
    for row, line in enumerate(lines):
        days = days_words(line.ahead_days)
        if narrow:
            text, place = f"{line.name}: <b>{days}</b>", {"x": 0, "yshift": 19}
        else:
            text, place = f"<b>{days}</b>", {"x": 1, "xshift": 8}
        font = {"color": theme.INK, "size": 12 if narrow else 13}
        figure.add_annotation(look | place | {"y": row, "text": text, "font": font})


def line_numbers(line: EarnedLine) -> str:
    """The numbers of a bar as they stand beside the pointer."""
    return "<br>".join(
        (
            f"<b>{line.name}</b>",
            days_words(line.ahead_days),
            f"day {theme.number(line.earned_days, decimals=1)} of the plan earned,"
            f" {line.actual_days} worked",
            f"{theme.number(line.earned_bank_m3)} of {theme.number(line.planned_bank_m3)} m³ bank"
            " planned by now",
        )
    )


def ahead_summary(earned: Sequence[EarnedLine], excavation: str) -> str:
    """The bars in one sentence: that of the whole, and the zone that is furthest behind."""
    lines = earned_lines(earned, excavation)
    if not lines:
        return NOTHING
    zones = [line for line in lines if line.zone]
    said = "" if lines[0].zone else lines[0].sentence
    last = min(zones, key=lambda line: line.ahead_days) if len(zones) > 1 else None
    if last is not None and last.ahead_days < -ON_PLAN:
        said += f" Furthest behind: {last.name}, {days_words(last.ahead_days)}."
    return said.strip() or lines[0].sentence
