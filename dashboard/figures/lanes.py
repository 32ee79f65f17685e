"""The dates ahead, a lane each: a bar from one to four chances in five, the even chance, the plan.

The lanes stand under the fan on the same axis of time; each has a row of its own, so that no two
labels can touch.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.forecast_shapes import DateLine
from tracker.statements.forecast_words import chance_words

BEYOND = "later than was walked"
AHEAD = theme.paler(theme.DONE, 0.72)  # the tone of what is forecast
LANE_PX, NARROW_LANE_PX = 28, 44


def lanes(dates: Sequence[DateLine], excavation: str, zone: str = "") -> list[DateLine]:
    """The formation of each zone; of a chosen zone its stages."""
    own = [line for line in dates if line.excavation == excavation and line.zone]
    if not zone:
        return [line for line in own if line.stage is None]
    stages = [line for line in own if line.zone == zone and line.stage is not None]
    return stages or [line for line in own if line.zone == zone]


def lane_name(line: DateLine, zone: str = "") -> str:
    """A zone, or a stage of the chosen zone with the level it is dug to."""
    if not zone or line.stage is None:
        return line.name
    return f"Stage {line.stage} to {theme.level(line.design_level_m, 'm')}"


def lanes_words(zone: str, narrow: bool) -> str:
    """What the marks of the lanes mean, in two lines on a phone."""
    of_what = "Stages of the zone" if zone else "Formation by zone"
    span = f"<span style='color:{theme.DONE_TEXT}'>P20 to <b>P80</b>, line at P50</span>"
    planned = f"<span style='color:{theme.PLANNED}'>◆ planned</span>"
    return f"<b>{of_what}</b>{'<br>' if narrow else ':  '}{span}   {planned}"


def draw_lanes(
    figure: go.Figure, lines: Sequence[DateLine], zone: str, ends: date, narrow: bool
) -> None:
    """One lane a line on the lower axes, up to the last day of the chart."""
    half = 0.17 if narrow else 0.26
    for row, line in enumerate(lines):
        _draw_span(figure, row, line, ends, half)
    _draw_points(figure, lines, zone)
    for row, line in enumerate(lines):
        figure.add_annotation(_label(row, line, zone, half) if narrow else _date_beside(row, line))


def _draw_span(figure: go.Figure, row: int, line: DateLine, ends: date, half: float) -> None:
    """The bar from P20 to P80 and the line at P50; open to the right where P80 is beyond."""
    look: dict[str, Any] = {"xref": "x2", "yref": "y2", "y0": row - half, "y1": row + half}
    if line.p20:
        span = {"x0": line.p20, "x1": line.p80 or ends, "fillcolor": AHEAD, "line": {"width": 0}}
        figure.add_shape(type="rect", layer="below", **look, **span)
    if line.p50:
        ink = {"color": theme.DONE_TEXT, "width": 2.5}
        figure.add_shape(type="line", x0=line.p50, x1=line.p50, line=ink, **look)


def _draw_points(figure: go.Figure, lines: Sequence[DateLine], zone: str) -> None:
    """The planned dates as blue marks, and what the pointer is told over a bar."""
    told = [line_numbers(line, zone) for line in lines]
    for dates, marker in (
        ([line.p50 or line.p20 for line in lines], {"opacity": 0, "size": 22}),
        (
            [line.planned_finish for line in lines],
            {"symbol": "diamond", "size": 10, "color": theme.PLANNED},
        ),
    ):
        figure.add_scatter(
            x=dates,
            y=list(range(len(lines))),
            xaxis="x2",
            yaxis="y2",
            mode="markers",
            marker=marker,
            customdata=[[line.zone] for line in lines],
            hovertext=told,
            hoverinfo="text",
        )


def line_numbers(line: DateLine, zone: str = "") -> str:
    """The numbers of a lane as they stand beside the pointer."""
    words = [f"<b>{lane_name(line, zone)}</b>"]
    words += [f"{name} {theme.day(at)}" for name, at in spans(line)]
    if line.planned_finish:
        words.append(f"planned {theme.day(line.planned_finish)}{chance(line.chance_of_plan)}")
    words.append(f"{theme.number(line.remaining_bank_m3, 'm³ bank')} left")
    return "<br>".join(words)


def spans(line: DateLine) -> tuple[tuple[str, date | None], ...]:
    """The three dates with their names."""
    return ("P20", line.p20), ("P50", line.p50), ("P80", line.p80)


def chance(share: float | None) -> str:
    """A chance in words that follow a date; nothing where none was worked out.

    >>> chance(0.314), chance(None)
    (', chance 31 %', '')
    """
    return "" if share is None else f", chance {chance_words(share)}"


def _date_beside(row: int, line: DateLine) -> dict[str, Any]:
    """The P80 date in the margin at the right of its lane."""
    return {
        "x": 1,
        "xref": "paper",
        "xanchor": "left",
        "xshift": 8,
        "y": row,
        "yref": "y2",
        "text": f"<b>{theme.short_day(line.p80) if line.p80 else BEYOND}</b>",
        "showarrow": False,
        "font": {"color": theme.DONE_TEXT, "size": 12},
    }


def _label(row: int, line: DateLine, zone: str, half: float) -> dict[str, Any]:
    """On a phone the name and the P80 date over the bar."""
    by = f"by <b>{theme.short_day(line.p80)}</b>" if line.p80 else f"<b>{BEYOND}</b>"
    return {
        "x": 0,
        "xref": "paper",
        "xanchor": "left",
        "y": row - half,
        "yref": "y2",
        "yanchor": "bottom",
        "text": f"{lane_name(line, zone)}: {by}",
        "showarrow": False,
        "font": {"color": theme.INK, "size": 12},
        "bgcolor": theme.PAPER,
        "borderpad": 0,
    }
