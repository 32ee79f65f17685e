"""Lorry movements made and avoided by period, against the frozen baseline."""

from __future__ import annotations

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.shapes import MovementsStatement, PeriodLine


def movements_figure(statement: MovementsStatement, width_px: int = theme.WIDE_PX) -> go.Figure:
    """Bars of movements made, topped by those avoided; a blue mark at the baseline."""
    lines = statement.lines
    if not lines:
        return theme.empty_figure("No spoil has left the site in this period.")
    narrow = width_px < theme.PHONE_PX
    labels = [line.label for line in lines]
    figure = go.Figure()
    figure.add_bar(
        x=labels,
        y=[line.movements for line in lines],
        marker={"color": theme.INK},
        hovertext=[period_numbers(line) for line in lines],
        hoverinfo="text",
    )
    figure.add_bar(
        x=labels,
        y=[max(0.0, line.avoided_movements) for line in lines],
        marker={"color": theme.paler(theme.DONE, 0.45)},
        error_y=_range(lines),
        hovertext=[period_numbers(line) for line in lines],
        hoverinfo="text",
    )
    _draw_baseline(figure, lines)
    figure.update_layout(
        template=theme.template(),
        barmode="stack",
        width=width_px,
        height=300 if narrow else 340,
        margin={"l": 44 if narrow else 64, "r": 8, "t": 52 if narrow else 36, "b": 32},
        yaxis={"tickformat": ",", "title": {"text": "" if narrow else "movements"}},
        xaxis={"type": "category", "nticks": 5 if narrow else 16, "tickangle": 0},
    )
    _draw_names(figure, narrow)
    return figure


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


def _draw_baseline(figure: go.Figure, lines: tuple[PeriodLine, ...]) -> None:
    for place, line in enumerate(lines):
        figure.add_shape(
            type="line",
            x0=place - 0.45,
            x1=place + 0.45,
            y0=line.baseline_movements,
            y1=line.baseline_movements,
            line={"color": theme.PLANNED, "width": 2.5},
        )


def _draw_names(figure: go.Figure, narrow: bool) -> None:
    words = (
        f"<b>made</b>   <span style='color:{theme.DONE_TEXT}'><b>avoided</b>, with range</span>"
        f"{'<br>' if narrow else '   '}"
        f"<span style='color:{theme.PLANNED}'><b>baseline</b>, frozen</span>"
    )
    figure.add_annotation(
        x=0,
        y=1,
        xref="paper",
        yref="paper",
        xanchor="left",
        yanchor="bottom",
        yshift=6,
        align="left",
        text=words,
        showarrow=False,
    )
