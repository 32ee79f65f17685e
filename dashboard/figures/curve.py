"""Planned and dug volume against time: the flat steps of the holds stay flat."""

from __future__ import annotations

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.lettering import spread
from tracker.statements.shapes import CurvePoint, ProgressStatement


def curve_figure(
    statement: ProgressStatement, excavation: str, width_px: int = theme.WIDE_PX
) -> go.Figure:
    """Planned (blue) and dug (green) bank volume of one excavation to the end of each day."""
    points = [p for p in statement.curve if p.excavation == excavation]
    if not points:
        return theme.empty_figure("No planned stages for this excavation yet.")
    narrow = width_px < theme.PHONE_PX
    dug = [p for p in points if p.dug_bank_m3 is not None]
    figure = go.Figure()
    _draw_line(figure, points, [p.planned_bank_m3 for p in points], theme.PLANNED, "planned")
    _draw_line(figure, dug, [p.dug_bank_m3 for p in dug], theme.DONE, "dug")
    high = max(max(p.planned_bank_m3, p.dug_bank_m3 or 0.0) for p in points) * 1.06 or 1.0
    height = 260 if narrow else 320
    figure.update_layout(
        template=theme.template(),
        width=width_px,
        height=height,
        margin={"l": 8 if narrow else 64, "r": 8 if narrow else 150, "t": 28, "b": 36},
        hovermode="x unified",
        yaxis={
            "range": [0, high],
            "title": {"text": "bank m³" if not narrow else ""},
            "tickformat": ",",
            "nticks": 6,
            "ticklabelposition": "inside top" if narrow else "outside",
        },
        xaxis={"tickformat": "%b\n%Y" if not narrow else "%b", "hoverformat": "%a %-d %b %Y"},
    )
    if dug:
        _draw_as_of(figure, dug[-1], narrow)
    _draw_names(figure, points, dug, high, height - 64, narrow)
    return figure


def curve_summary(statement: ProgressStatement, excavation: str) -> str:
    """The curve in one sentence."""
    dug = [p for p in statement.curve if p.excavation == excavation and p.dug_bank_m3 is not None]
    if not dug:
        return "No volumes yet."
    last = dug[-1]
    gap = (last.dug_bank_m3 or 0.0) - last.planned_bank_m3
    return (
        f"To {theme.day(last.day)}: {theme.number(last.dug_bank_m3)} m³ bank dug,"
        f" {theme.number(last.planned_bank_m3)} planned:"
        f" {theme.number(abs(gap), 'm³')} {'ahead of' if gap >= 0 else 'behind'} plan."
    )


def _draw_line(
    figure: go.Figure, points: list[CurvePoint], values: list, colour: str, name: str
) -> None:
    figure.add_scatter(
        x=[p.day for p in points],
        y=values,
        mode="lines",
        name=name,
        line={"color": colour, "width": 2.5, "dash": "solid" if name == "dug" else "5px,3px"},
        hovertemplate="%{y:,.0f} m³ bank",
    )


def _draw_as_of(figure: go.Figure, last: CurvePoint, narrow: bool) -> None:
    figure.add_vline(x=last.day, line={"color": theme.GREY, "width": 1, "dash": "dot"})
    figure.add_annotation(
        x=last.day,
        y=1,
        yref="paper",
        yanchor="bottom",
        text=theme.short_day(last.day) if narrow else theme.day(last.day),
        showarrow=False,
        font={"color": theme.GREY, "size": 12},
    )


def _draw_names(
    figure: go.Figure,
    points: list[CurvePoint],
    dug: list[CurvePoint],
    high: float,
    height_px: float,
    narrow: bool,
) -> None:
    """Each line is named beside its end, never in a legend; on a phone under the top corner."""
    ends = [("planned", points[-1].day, points[-1].planned_bank_m3, theme.PLANNED)]
    if dug:
        ends.append(("dug", dug[-1].day, dug[-1].dug_bank_m3 or 0.0, theme.DONE_TEXT))
    ends.sort(key=lambda end: -end[2])
    wanted = [height_px * (1 - value / high) for _, _, value, _ in ends]
    places = spread(wanted, 18, 0, height_px)
    for (name, _, value, colour), place in zip(ends, places, strict=True):
        figure.add_annotation(
            x=1,
            xref="paper",
            xanchor="right" if narrow else "left",
            xshift=0 if narrow else 8,
            y=1 - place / height_px,
            yref="paper",
            yshift=-14 if narrow else 0,
            text=f"<b>{name}</b> {theme.number(value, 'm³')}",
            showarrow=False,
            bgcolor=theme.PAPER,
            font={"color": colour, "size": 12},
        )
