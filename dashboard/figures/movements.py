"""Lorry movements made and avoided by period, against the frozen baseline."""

from __future__ import annotations

import math
from typing import Any

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.lettering import text_width
from tracker.statements.shapes import MovementsStatement, PeriodLine

WHISKER_PX = 12  # a bar narrower than this carries no whiskers: its range stands in the rows


def movements_figure(statement: MovementsStatement, width_px: int = theme.WIDE_PX) -> go.Figure:
    """Bars of movements made, topped by those avoided; a blue mark at the baseline."""
    lines = statement.lines
    if not lines:
        return theme.empty_figure("No spoil has left the site in this period.")
    narrow = width_px < theme.PHONE_PX
    left, right = (44, 12) if narrow else (64, 12)
    bar_px = (width_px - left - right) / len(lines)
    with_range = bar_px >= WHISKER_PX
    figure = go.Figure(data=_bars(lines, with_range))
    figure.update_layout(
        template=theme.template(),
        barmode="stack",
        shapes=_baseline_marks(lines),
        annotations=[_names(narrow, with_range)],
        width=width_px,
        height=300 if narrow else 340,
        margin={"l": left, "r": right, "t": 52 if narrow else 36, "b": 32},
        yaxis={"tickformat": ",", "title": {"text": "" if narrow else "movements"}},
        xaxis={"range": [-0.5, len(lines) - 0.5], "zeroline": False}
        | _ticks(_labels(statement), bar_px),
    )
    return figure


def _bars(lines: tuple[PeriodLine, ...], with_range: bool) -> list[go.Bar]:
    """Movements made, then avoided on top of them."""
    places = list(range(len(lines)))
    told = {"hovertext": [period_numbers(line) for line in lines], "hoverinfo": "text"}
    made = go.Bar(x=places, y=[n.movements for n in lines], marker={"color": theme.INK}, **told)
    avoided = go.Bar(
        x=places,
        y=[max(0.0, line.avoided_movements) for line in lines],
        marker={"color": theme.paler(theme.DONE, 0.45)},
        error_y=_range(lines) if with_range else None,
        **told,
    )
    return [made, avoided]


def _labels(statement: MovementsStatement) -> list[str]:
    """Short names of the periods: a month as it is, else the day on which it starts."""
    if statement.grain in ("day", "week"):
        return [theme.short_day(line.starts)[:-5] for line in statement.lines]
    return [line.label for line in statement.lines]


def _ticks(labels: list[str], bar_px: float) -> dict[str, Any]:
    """As many of the labels as stand beside one another without touching."""
    widest = max(text_width(label, 12) for label in labels) + 14
    step = math.ceil(widest / bar_px)
    places = list(range(0, len(labels), step))
    return {"tickvals": places, "ticktext": [labels[n] for n in places], "tickangle": 0}


def movements_summary(statement: MovementsStatement) -> str:
    """The bars in one sentence."""
    total = statement.total
    return (
        f"From {theme.day(statement.since)} to {theme.day(statement.until)}:"
        f" {theme.number(total.movements)} movements made,"
        f" {theme.number(total.baseline_movements)} in the frozen baseline for the same tonnes."
    )


def period_numbers(line: PeriodLine) -> str:
    """The numbers of a period as they stand beside the pointer."""
    return "<br>".join(
        (
            f"<b>{line.label}</b>",
            f"made {theme.number(line.movements)} movements ({theme.number(line.loads)} loads)",
            f"baseline {theme.number(line.baseline_movements)} movements",
            f"avoided {theme.number(line.avoided_movements)},"
            f" range {theme.number(line.avoided_movements_low)} to"
            f" {theme.number(line.avoided_movements_high)}",
            f"belt {theme.number(line.belt_t, 't')}, lorry {theme.number(line.lorry_t, 't')}",
        )
    )


def _range(lines: tuple[PeriodLine, ...]) -> dict:
    """Whiskers over the avoided part; none where nothing was avoided."""
    shown = [line if line.avoided_movements > 0 else None for line in lines]
    return {
        "type": "data",
        "symmetric": False,
        "array": [s and s.avoided_movements_high - s.avoided_movements for s in shown],
        "arrayminus": [s and s.avoided_movements - s.avoided_movements_low for s in shown],
        "color": theme.DONE_TEXT,
        "thickness": 1.25,
        "width": 4,
    }


def _baseline_marks(lines: tuple[PeriodLine, ...]) -> list[dict[str, Any]]:
    """A line across each bar at its baseline; handed over together, since one by one takes long."""
    return [
        {
            "type": "line",
            "x0": place - 0.45,
            "x1": place + 0.45,
            "y0": line.baseline_movements,
            "y1": line.baseline_movements,
            "line": {"color": theme.PLANNED, "width": 2.5},
        }
        for place, line in enumerate(lines)
    ]


def _names(narrow: bool, with_range: bool) -> dict[str, Any]:
    """What the colours mean, over the chart."""
    ranged = ", with range" if with_range else ""
    words = (
        f"<b>made</b>   <span style='color:{theme.DONE_TEXT}'><b>avoided</b>{ranged}</span>"
        f"{'<br>' if narrow else '   '}"
        f"<span style='color:{theme.PLANNED}'><b>baseline</b>, frozen</span>"
    )
    return {
        "x": 0,
        "y": 1,
        "xref": "paper",
        "yref": "paper",
        "xanchor": "left",
        "yanchor": "bottom",
        "yshift": 6,
        "align": "left",
        "text": words,
        "showarrow": False,
    }
