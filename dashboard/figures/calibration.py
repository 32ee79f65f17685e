"""What the records imply period by period, beside what the set-up assumes."""

from __future__ import annotations

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.reconciliation_shapes import Calibration
from tracker.statements.reconciliation_words import COVER


def calibration_figure(line: Calibration, width_px: int = theme.WIDE_PX) -> go.Figure:
    """Each period with its 95 % interval; the implied value with its band; the assumed in blue."""
    if line.implied is None or line.low is None or line.high is None:
        return theme.empty_figure("Not enough periods for this chart yet; the sentence says why.")
    narrow = width_px < theme.PHONE_PX
    figure = go.Figure()
    figure.add_scatter(
        x=[point.period for point in line.points],
        y=[point.value for point in line.points],
        mode="markers",
        marker={"size": 7, "color": theme.SURVEYED},
        error_y={
            "type": "data",
            "array": [COVER * point.u_value for point in line.points],
            "color": theme.paler(theme.SURVEYED, 0.4),
            "thickness": 1.5,
            "width": 3,
        },
        hovertext=[
            f"<b>to {point.period}</b><br>{point.value:.3f} ± {COVER * point.u_value:.3f}"
            f" {line.unit}"
            for point in line.points
        ],
        hoverinfo="text",
    )
    low, high = _range(line)
    figure.update_layout(
        template=theme.template(),
        width=width_px,
        height=260 if narrow else 280,
        margin={"l": 56 if narrow else 64, "r": 8 if narrow else 150, "t": 40 if narrow else 12}
        | {"b": 40},
        yaxis={"range": [low, high], "title": {"text": "" if narrow else line.unit}, "nticks": 6},
        xaxis={"type": "date", "tickformat": "%b" if narrow else "%b %Y"},
    )
    _draw_values(figure, line, low, high, narrow)
    return figure


def _range(line: Calibration) -> tuple[float, float]:
    """Wide enough for both values and most of the surer points; wild ones may run out of it."""
    assert line.implied is not None
    assert line.low is not None
    assert line.high is not None
    surest = sorted(point.u_value for point in line.points)
    usual = COVER * surest[len(surest) // 3]
    ends = [line.assumed, line.implied - 2.0 * usual, line.implied + 2.0 * usual]
    ends += [line.low, line.high]
    room = 0.05 * (max(ends) - min(ends)) or 0.01
    return min(ends) - room, max(ends) + room


def _draw_values(
    figure: go.Figure, line: Calibration, low: float, high: float, narrow: bool
) -> None:
    figure.add_hrect(
        y0=line.low, y1=line.high, fillcolor=theme.paler(theme.INK, 0.85), line_width=0,
        layer="below",
    )  # fmt: skip
    figure.add_hline(y=line.implied, line={"color": theme.INK, "width": 2})
    figure.add_hline(y=line.assumed, line={"color": theme.PLANNED, "width": 2, "dash": "6px,4px"})
    names = [
        (f"<b>implied {line.implied:.3f}</b>", line.implied, theme.INK),
        (f"<b>assumed {line.assumed:.3f}</b>", line.assumed, theme.PLANNED),
    ]
    if narrow:
        words = "   ".join(f"<span style='color:{c}'>{w}</span>" for w, _, c in names)
        figure.add_annotation(
            x=0, y=1, xref="paper", yref="paper", xanchor="left", yanchor="bottom", yshift=8,
            text=f"{words} {line.unit}", showarrow=False, font={"size": 12},
        )  # fmt: skip
        return
    above, below = sorted(names, key=lambda name: -(name[1] or 0.0))
    near = abs((above[1] or 0.0) - (below[1] or 0.0)) < 0.09 * (high - low)
    for (words, at, colour), shift in ((above, 9 if near else 0), (below, -9 if near else 0)):
        figure.add_annotation(
            x=1, xref="paper", xanchor="left", xshift=8, y=at, yshift=shift, text=words,
            showarrow=False, font={"color": colour, "size": 13},
        )  # fmt: skip
