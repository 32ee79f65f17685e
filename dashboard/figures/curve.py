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
    _draw_surveys(figure, dug)
    high = _highest(points) * 1.06 or 1.0
    left, right, top, height = (56, 8, 48, 260) if narrow else (64, 150, 28, 320)
    figure.update_layout(
        template=theme.template(),
        width=width_px,
        height=height,
        margin={"l": left, "r": right, "t": top, "b": 36},
        hovermode="x unified",
        yaxis={
            "range": [0, high],
            "title": {"text": "bank m³" if not narrow else ""},
            "tickformat": ",",
            "nticks": 6,
        },
        xaxis={"tickformat": "%b\n%Y" if not narrow else "%b", "hoverformat": "%a %-d %b %Y"},
    )
    if dug:
        _draw_as_of(figure, dug[-1], narrow)
    ends = _ends(points, dug)
    if narrow:
        _draw_names_above(figure, ends)
    else:
        _draw_names_beside(figure, ends, high, height - 64)
    return figure


def _highest(points: list[CurvePoint]) -> float:
    return max(max(p.planned_bank_m3, p.dug_bank_m3 or 0.0) for p in points)


def curve_summary(statement: ProgressStatement, excavation: str) -> str:
    """The curve in one sentence."""
    dug = [p for p in statement.curve if p.excavation == excavation and p.dug_bank_m3 is not None]
    if not dug:
        return "No volumes yet."
    last = dug[-1]
    steps = f" {_steps(dug)}" if any(p.survey for p in dug) else ""
    gap = (last.dug_bank_m3 or 0.0) - last.planned_bank_m3
    return (
        f"To {theme.day(last.day)}: {theme.number(last.dug_bank_m3)} m³ bank dug,"
        f" {theme.number(last.planned_bank_m3)} planned:"
        f" {theme.number(abs(gap), 'm³')} {'ahead of' if gap >= 0 else 'behind'} plan.{steps}"
    )


def _steps(dug: list[CurvePoint]) -> str:
    """What the surveys do to the curve; their bars may be smaller than their marks."""
    surveys = [p for p in dug if p.survey]
    most_m3 = max(2.0 * (p.u_dug_m3 or 0.0) for p in surveys)
    return (
        f"The dug curve steps to what each survey found ({', '.join(p.survey for p in surveys)};"
        f" ± at most {theme.number(most_m3, 'm³')}, twice the standard uncertainty); returns"
        " carry it in between."
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


def _draw_surveys(figure: go.Figure, dug: list[CurvePoint]) -> None:
    """What each survey found, with twice its standard uncertainty either way."""
    surveys = [p for p in dug if p.survey]
    if not surveys:
        return
    twice_u = [2.0 * (p.u_dug_m3 or 0.0) for p in surveys]
    figure.add_scatter(
        x=[p.day for p in surveys],
        y=[p.dug_bank_m3 for p in surveys],
        mode="markers+text",
        name="survey",
        text=[p.survey for p in surveys],
        textposition="bottom right",
        textfont={"color": theme.SURVEYED, "size": 12},
        marker={
            "symbol": "diamond",
            "size": 9,
            "color": theme.SURVEYED,
            "line": {"color": theme.PAPER, "width": 1},
        },
        error_y={"type": "data", "array": twice_u, "color": theme.SURVEYED, "thickness": 1.5},
        customdata=[[p.survey, twice] for p, twice in zip(surveys, twice_u, strict=True)],
        hovertemplate="%{customdata[0]}, ± %{customdata[1]:,.0f} m³",
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


def _ends(points: list[CurvePoint], dug: list[CurvePoint]) -> list[tuple[str, float, str]]:
    """(name, last value, colour) of each line, the higher first."""
    ends = [("planned", points[-1].planned_bank_m3, theme.PLANNED)]
    if dug:
        ends.append(("dug", dug[-1].dug_bank_m3 or 0.0, theme.DONE_TEXT))
    return sorted(ends, key=lambda end: -end[1])


def _draw_names_beside(
    figure: go.Figure, ends: list[tuple[str, float, str]], high: float, height_px: float
) -> None:
    """Each line is named beside its end, never in a legend."""
    wanted = [height_px * (1 - value / high) for _, value, _ in ends]
    places = spread(wanted, 18, 0, height_px)
    for (name, value, colour), place in zip(ends, places, strict=True):
        figure.add_annotation(
            x=1,
            xref="paper",
            xanchor="left",
            xshift=8,
            y=1 - place / height_px,
            yref="paper",
            text=f"<b>{name}</b> {theme.number(value, 'm³')}",
            showarrow=False,
            font={"color": colour, "size": 12},
        )


def _draw_names_above(figure: go.Figure, ends: list[tuple[str, float, str]]) -> None:
    """On a phone both names stand in one row over the chart."""
    words = (
        f"<span style='color:{colour}'><b>{name}</b> {theme.number(value, 'm³')}</span>"
        for name, value, colour in ends
    )
    figure.add_annotation(
        x=0,
        xref="paper",
        xanchor="left",
        y=1,
        yref="paper",
        yanchor="bottom",
        yshift=20,
        text="    ".join(words),
        showarrow=False,
        font={"size": 12},
    )
