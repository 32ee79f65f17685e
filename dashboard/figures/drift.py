"""Whether a belt weigher has changed: two sums that rise where it leaves the surveys."""

from __future__ import annotations

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.reconciliation_shapes import BeltDrift


def drift_figure(drift: BeltDrift, width_px: int = theme.WIDE_PX) -> go.Figure:
    """The sum of what is too high upwards, of what is too low downwards; alarm at the limits."""
    if not drift.points:
        return theme.empty_figure("Not enough periods for this chart yet; the sentence says why.")
    narrow = width_px < theme.PHONE_PX
    days = [point.period for point in drift.points]
    figure = go.Figure()
    for values, name, colour in (
        ([point.upper for point in drift.points], "reads high", theme.INK),
        ([-point.lower for point in drift.points], "reads low", theme.WALL),
    ):
        figure.add_scatter(
            x=days,
            y=values,
            mode="lines+markers",
            line={"color": colour, "width": 2, "shape": "linear"},
            marker={"size": 6, "color": colour},
            hovertext=[
                f"<b>to {point.period}</b><br>{name}: {abs(value):.1f} of {drift.limit:g}<br>"
                f"belt against survey {100 * point.ratio:+.1f} ± {196 * point.u_ratio:.1f} %"
                for point, value in zip(drift.points, values, strict=True)
            ],
            hoverinfo="text",
        )
    most = max([drift.limit, *(max(p.upper, p.lower) for p in drift.points)]) * 1.25
    figure.update_layout(
        template=theme.template(),
        width=width_px,
        height=280 if narrow else 300,
        margin={"l": 44 if narrow else 64, "r": 16, "t": 16, "b": 40},
        yaxis={
            "range": [-most, most],
            "title": {"text": "" if narrow else "sum, standard deviations"},
            "nticks": 5,
        },
        xaxis={"type": "date", "tickformat": "%b" if narrow else "%-d %b %Y"},
    )
    _draw_limits(figure, drift)
    _draw_alarm(figure, drift)
    return figure


def _draw_limits(figure: go.Figure, drift: BeltDrift) -> None:
    for side, words in ((1, "alarm: reads high"), (-1, "alarm: reads low")):
        at = side * drift.limit
        figure.add_hline(y=at, line={"color": theme.WARNING, "width": 1.5, "dash": "6px,4px"})
        figure.add_annotation(
            x=0,
            xref="paper",
            xanchor="left",
            y=at,
            yanchor="bottom" if side > 0 else "top",
            text=words,
            showarrow=False,
            font={"color": theme.GREY, "size": 12},
        )


def _draw_alarm(figure: go.Figure, drift: BeltDrift) -> None:
    if not drift.alarm:
        return
    point = next(one for one in drift.points if one.period == drift.alarm)
    value = point.upper if drift.reads == "high" else -point.lower
    figure.add_scatter(
        x=[point.period],
        y=[value],
        mode="markers",
        marker={"symbol": "diamond", "size": 14, "color": theme.BREACH},
        hoverinfo="skip",
    )
    figure.add_annotation(
        x=point.period,
        y=value,
        yshift=14 if drift.reads == "high" else -14,
        yanchor="bottom" if drift.reads == "high" else "top",
        xanchor="right",
        text=f"<b>first alarm</b>, since about {drift.since}",
        showarrow=False,
        font={"color": theme.BREACH_TEXT, "size": 12},
    )
