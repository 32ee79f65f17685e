"""Planned and dug volume against time and the fan ahead, over the dates that it comes to.

The planned curve keeps the flat steps of its holds; the fan is dug by four walks in five at its
lower edge and by one in five at its upper one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.fan_names import draw_names, names_height_px, right_px
from dashboard.figures.lanes import (
    AHEAD,
    LANE_PX,
    NARROW_LANE_PX,
    draw_lanes,
    lane_name,
    lanes,
    lanes_words,
)
from tracker.statements.forecast_shapes import (
    DateLine,
    FanPoint,
    ForecastStatement,
    PlanPoint,
    PlanVersion,
)
from tracker.statements.shapes import CurvePoint, ProgressStatement

NOTHING = "No planned stages for this excavation yet."
PLOT_PX, NARROW_PLOT_PX = 280, 210


@dataclass(frozen=True, slots=True)
class Drawn:
    """What one excavation's chart is drawn from."""

    dug: list[CurvePoint]
    plans: list[tuple[PlanVersion, list[PlanPoint]]]  # the current one last
    ahead: list[FanPoint]
    lanes: list[DateLine]
    zone: str
    target: date | None
    since: date | None  # from when on it is drawn; None: from the start

    @property
    def days(self) -> list[date]:
        """Every day that must be on the chart."""
        plans = [day for version, _ in self.plans for day in (version.starts, version.finishes)]
        ahead = [p.day for p in (*self.dug[:1], *self.dug[-1:], *self.ahead[-1:])]
        marks = [d for x in self.lanes for d in (x.p80, x.planned_finish) if d]
        every = [*plans, *ahead, *marks, *([self.target] if self.target else [])]
        since = self.since
        return every if since is None else [since, *(day for day in every if day > since)]

    @property
    def most_m3(self) -> float:
        """The highest of all lines."""
        planned = [points[-1].planned_bank_m3 for _, points in self.plans if points]
        ahead = [p.high_bank_m3 for p in self.ahead[-1:]]
        return max([*planned, *ahead, *(p.dug_bank_m3 or 0.0 for p in self.dug)]) or 1.0

    @property
    def high_m3(self) -> float:
        """Where the axis of volume ends."""
        return self.most_m3 + 0.04 * (self.most_m3 - self.least_m3)

    @property
    def least_m3(self) -> float:
        """Where the axis of volume begins: nought, or below all that is drawn of a part."""
        if self.since is None:
            return 0.0
        dug = [p.dug_bank_m3 or 0.0 for p in self.dug if p.day >= self.since]
        current = [points for version, points in self.plans if version.current]
        planned = [p.planned_bank_m3 for p in (*current, [])[0] if p.day >= self.since]
        least = min([*dug, *planned], default=0.0)
        return max(0.0, least - 0.06 * (self.most_m3 - least))


def drawn(
    progress: ProgressStatement,
    forecast: ForecastStatement,
    excavation: str,
    zone: str = "",
    since: date | None = None,
) -> Drawn:
    """The parts of one excavation; the fan begins at what is dug."""
    dug = [p for p in progress.curve if p.excavation == excavation and p.dug_bank_m3 is not None]
    versions = [version for version in forecast.plans if version.excavation == excavation]
    plans = [
        (v, [p for p in forecast.planned if (p.plan, p.excavation) == (v.plan, excavation)])
        for v in sorted(versions, key=lambda v: (v.current, v.frozen_on))
    ]
    ahead = [point for point in forecast.fan if point.excavation == excavation]
    if ahead and dug and dug[-1].day <= ahead[0].day:
        ahead.insert(0, FanPoint(excavation, dug[-1].day, *3 * (dug[-1].dug_bank_m3 or 0.0,)))
    targets = {e.excavation: e.target_formation for e in progress.excavations}
    shown = lanes(forecast.dates, excavation, zone)
    return Drawn(dug, plans, ahead, shown, zone, targets.get(excavation), since)


def fan_figure(
    progress: ProgressStatement,
    forecast: ForecastStatement,
    excavation: str,
    zone: str = "",
    width_px: int = theme.WIDE_PX,
    since: date | None = None,
) -> go.Figure:
    """The volumes above, the dates below; without a forecast the volumes alone."""
    parts = drawn(progress, forecast, excavation, zone, since)
    if not parts.plans and not parts.dug:
        return theme.empty_figure(NOTHING)
    narrow = width_px < theme.PHONE_PX
    figure = go.Figure()
    _draw_ahead(figure, parts)
    _draw_plans(figure, parts)
    _draw_dug(figure, parts)
    _draw_surveys(figure, parts.dug)
    top_px = names_height_px(parts, width_px - 16) + 40 if narrow else 40
    _set_out(figure, parts, width_px, top_px)
    ends = _range(parts)[1]
    _draw_moments(figure, parts, width_px)
    draw_names(figure, parts, width_px, NARROW_PLOT_PX if narrow else PLOT_PX)
    if parts.lanes:
        draw_lanes(figure, parts.lanes, zone, ends, narrow)
    return figure


# --- how it is set out ---------------------------------------------------------------------------
def _range(parts: Drawn) -> tuple[date, date]:
    first, last = min(parts.days), max(parts.days)
    room = timedelta(days=max(2, (last - first).days // 60))
    return first, last + room


def _months_apart(parts: Drawn, narrow: bool) -> int:
    """The months from one tick to the next, so that their names never touch."""
    first, last = _range(parts)
    months = (last - first).days / 30.4
    return next((m for m in (1, 2, 3, 6) if months / m <= (8 if narrow else 18)), 12)


def _set_out(figure: go.Figure, parts: Drawn, width_px: int, top_px: float) -> None:
    """Axes with the volumes above and the lanes below, over one stretch of time."""
    narrow = width_px < theme.PHONE_PX
    plot_px, lane_px = (NARROW_PLOT_PX, NARROW_LANE_PX) if narrow else (PLOT_PX, LANE_PX)
    key_px = (48 if narrow else 40) if parts.lanes else 0
    lanes_px = lane_px * len(parts.lanes)
    inside_px = plot_px + key_px + lanes_px
    time = {"type": "date", "range": list(_range(parts)), "showgrid": True}
    time |= {"dtick": f"M{_months_apart(parts, narrow)}", "hoverformat": "%a %-d %b %Y"}
    time |= {"tickformat": "%b" if narrow else "%b\n%Y"}
    low = lanes_px / inside_px
    figure.update_layout(
        template=theme.template(),
        width=width_px,
        height=inside_px + top_px + 40,
        margin={
            "l": 56 if narrow else 124,
            "r": 8 if narrow else right_px(parts),
            "t": top_px,
            "b": 40,
        },
        hovermode="closest",
        yaxis={
            "range": [parts.least_m3, parts.high_m3],
            "domain": [1 - plot_px / inside_px, 1],
            "title": {"text": "" if narrow else "bank m³"},
            "tickformat": ",",
            "nticks": 6,
        },
        xaxis=time | {"showticklabels": not parts.lanes, "anchor": "y"},
    )
    if parts.lanes:
        _set_out_lanes(figure, parts, time, low, narrow)


def _set_out_lanes(
    figure: go.Figure, parts: Drawn, time: dict[str, Any], low: float, narrow: bool
) -> None:
    count = len(parts.lanes)
    names = [lane_name(line, parts.zone) for line in parts.lanes]
    figure.update_layout(
        xaxis2=time | {"anchor": "y2"},
        yaxis2={
            "range": [count - 0.5, -0.78 if narrow else -0.5],
            "domain": [0, low],
            "anchor": "x2",
            "tickvals": list(range(count)),
            "ticktext": names,
            "showticklabels": not narrow,
            "tickfont": {"color": theme.INK, "size": 12},
            "showgrid": False,
        },
    )
    over = {"yref": "paper", "y": low, "yanchor": "bottom", "yshift": 4, "showarrow": False}
    over |= {"xref": "paper", "xanchor": "left", "align": "left", "font": {"size": 12}}
    key = over | {"x": 0, "text": lanes_words(parts.zone, narrow), "bgcolor": theme.PAPER}
    figure.add_annotation(key | {"borderpad": 0})
    if not narrow:
        figure.add_annotation(over | {"x": 1, "xshift": 8, "text": "four in five by"})


# --- the lines -----------------------------------------------------------------------------------
def _line(
    figure: go.Figure, days: Sequence[date], values: Sequence[Any], name: str, line: dict[str, Any]
) -> None:
    figure.add_scatter(
        x=days,
        y=values,
        mode="lines",
        name=name,
        line=line,
        hovertemplate=f"%{{x}}<br>{name} %{{y:,.0f}} m³ bank<extra></extra>",
    )


def _draw_ahead(figure: go.Figure, parts: Drawn) -> None:
    """The band from P20 to P80 with its middle line."""
    days = [point.day for point in parts.ahead]
    if not days:
        return
    edge: dict[str, Any] = {"mode": "lines", "line": {"width": 0}, "hoverinfo": "skip"}
    figure.add_scatter(x=days, y=[p.low_bank_m3 for p in parts.ahead], name="low", **edge)
    figure.add_scatter(
        x=days,
        y=[p.high_bank_m3 for p in parts.ahead],
        name="high",
        fill="tonexty",
        fillcolor=AHEAD,
        **edge,
    )
    middle = [p.middle_bank_m3 for p in parts.ahead]
    _line(figure, days, middle, "ahead, P50", {"color": theme.DONE, "width": 2, "dash": "2px,2px"})


def _draw_plans(figure: go.Figure, parts: Drawn) -> None:
    """The current plan in blue; earlier ones thin, grey and dashed."""
    for version, points in parts.plans:
        look = {"color": theme.PLANNED, "width": 2.5}
        if not version.current:
            look = {"color": theme.WALL, "width": 1.25, "dash": "6px,4px"}
        days = [point.day for point in points]
        _line(figure, days, [p.planned_bank_m3 for p in points], f"plan {version.plan}", look)


def _draw_dug(figure: go.Figure, parts: Drawn) -> None:
    days = [point.day for point in parts.dug]
    look = {"color": theme.DONE, "width": 3}
    _line(figure, days, [p.dug_bank_m3 for p in parts.dug], "dug", look)


def _draw_surveys(figure: go.Figure, dug: Sequence[CurvePoint]) -> None:
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
        hovertemplate="%{x}<br>%{customdata[0]}: %{y:,.0f} ± %{customdata[1]:,.0f} m³"
        "<extra></extra>",
    )


# --- the moments ---------------------------------------------------------------------------------
def _draw_moments(figure: go.Figure, parts: Drawn, width_px: int) -> None:
    """The as-of date and the target, down the whole chart, named over it in two rows."""
    moments = []
    if parts.dug:
        moments.append((parts.dug[-1].day, "to", {"color": theme.GREY, "width": 1, "dash": "dot"}))
    if parts.target:
        moments.append((parts.target, "target", {"color": theme.INK, "width": 1.5}))
    first, last = _range(parts)
    for row, (day, word, line) in enumerate(moments):
        figure.add_shape(
            type="line", x0=day, x1=day, y0=0, y1=1, yref="paper", line=line, layer="between"
        )
        share = (day - first) / (last - first)
        figure.add_annotation(
            x=day,
            y=1,
            yref="paper",
            yanchor="bottom",
            yshift=1 + 16 * row,
            xanchor="left" if share < 0.15 else "right" if share > 0.85 else "center",
            text=f"{word} {theme.short_day(day)}",
            showarrow=False,
            font={"color": line["color"], "size": 12},
        )


# --- in words ------------------------------------------------------------------------------------
def fan_summary(
    progress: ProgressStatement, forecast: ForecastStatement, excavation: str, zone: str = ""
) -> str:
    """The chart in one sentence, and what the surveys do to it."""
    parts = drawn(progress, forecast, excavation, zone)
    if not parts.dug:
        return "No volumes yet."
    last = parts.dug[-1]
    said = f"To {theme.day(last.day)}: {theme.number(last.dug_bank_m3)} m³ bank dug"
    planned_m3 = planned_on(parts, last.day)
    if planned_m3 is not None:
        gap = (last.dug_bank_m3 or 0.0) - planned_m3
        side = "ahead of" if gap >= 0 else "behind"
        said += f", {theme.number(planned_m3)} planned: {theme.number(abs(gap), 'm³')} {side} plan"
    if parts.ahead:
        said += "; in the band ahead, one walk in five is above and one below"
    return f"{said}.{_steps(parts.dug)}"


def planned_on(parts: Drawn, day: date) -> float | None:
    """What the current plan has dug by the end of a day."""
    current = [points for version, points in parts.plans if version.current]
    before = [p.planned_bank_m3 for p in (current[0] if current else ()) if p.day <= day]
    return before[-1] if before else (0.0 if current else None)


def _steps(dug: Sequence[CurvePoint]) -> str:
    """What the surveys do to the dug line; their bars may be smaller than their marks."""
    surveys = [p for p in dug if p.survey]
    if not surveys:
        return ""
    most_m3 = max(2.0 * (p.u_dug_m3 or 0.0) for p in surveys)
    return (
        f" The dug line steps to what each survey found ({', '.join(p.survey for p in surveys)};"
        f" ± at most {theme.number(most_m3, 'm³')}, twice the standard uncertainty); returns"
        " carry it in between."
    )
