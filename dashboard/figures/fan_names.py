"""The names of the lines of the fan: beside their ends, on a phone in rows over the chart."""

from __future__ import annotations

from typing import TYPE_CHECKING

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.lettering import spread, text_width
from tracker.statements.forecast_shapes import PlanVersion

if TYPE_CHECKING:
    from dashboard.figures.fan import Drawn

SIZE_PX, ROW_PX = 12, 17
LEAST_PX, MOST_PX = 136, 236  # of a name in the margin
Name = tuple[str, str, float, str]  # in bold, after it, value at its end, colour


def names(parts: Drawn) -> list[Name]:
    """Every line by name, the highest end first."""
    found: list[Name] = []
    for version, points in reversed(parts.plans):
        ends = points[-1].planned_bank_m3 if points else 0.0
        colour = theme.PLANNED if version.current else theme.GREY
        word = "planned" if version.current else "earlier"
        found.append(
            (word, f"{version.plan}, to {theme.short_day(version.finishes)}", ends, colour)
        )
    if parts.dug:
        value = parts.dug[-1].dug_bank_m3 or 0.0
        found.append(("dug", theme.number(value, "m³"), value, theme.DONE_TEXT))
    if parts.ahead:
        ends = parts.ahead[-1].middle_bank_m3
        found.append(("ahead", "P20 to P80", ends, theme.DONE_TEXT))
    return sorted(found, key=lambda one: -one[2])


def _plan_name(word: str, version: PlanVersion) -> str:
    """The name of a plan with its last day, as far as there is room for it."""
    to = f"to {theme.short_day(version.finishes)}"
    for text in (f"{version.plan}, {to}", version.plan):
        if text_width(f"{word} {text}", SIZE_PX) <= MOST_PX:
            return text
    return to


def right_px(parts: Drawn) -> int:
    """How wide the margin beside the chart is, for the longest name or a date."""
    widest = max(text_width(f"{bold} {rest}", SIZE_PX) for bold, rest, _, _ in names(parts))
    return int(max(LEAST_PX, widest)) + 16


def draw_names(figure: go.Figure, parts: Drawn, width_px: int, plot_px: float) -> None:
    """Each line is named in its colour, never in a legend."""
    if width_px < theme.PHONE_PX:
        _draw_above(figure, parts, width_px - 16)
        return
    span_m3 = parts.high_m3 - parts.least_m3
    found = names(parts)
    wanted = [plot_px * (parts.high_m3 - value) / span_m3 for _, _, value, _ in found]
    places = spread(wanted, 18, 0, plot_px)
    for (bold, rest, _value, colour), place in zip(found, places, strict=True):
        figure.add_annotation(
            x=1,
            xref="paper",
            xanchor="left",
            xshift=8,
            y=parts.high_m3 - span_m3 * place / plot_px,
            yref="y",
            text=f"<b>{bold}</b> {rest}",
            showarrow=False,
            font={"color": colour, "size": SIZE_PX},
        )


def names_height_px(parts: Drawn, width_px: float) -> float:
    """How high the rows over the chart stand on a phone."""
    return ROW_PX * len(_rows(parts, width_px))


def _rows(parts: Drawn, width_px: float) -> list[list[Name]]:
    """The names in rows that fit the width."""
    rows: list[list[Name]] = [[]]
    used = 0.0
    for name in names(parts):
        wide = text_width(f"{name[0]} {name[1]}", SIZE_PX) + 14
        if rows[-1] and used + wide > width_px:
            rows.append([])
            used = 0.0
        rows[-1].append(name)
        used += wide
    return rows


def _draw_above(figure: go.Figure, parts: Drawn, width_px: float) -> None:
    lines = [
        "   ".join(
            f"<span style='color:{colour}'><b>{bold}</b> {rest}</span>"
            for bold, rest, _value, colour in row
        )
        for row in _rows(parts, width_px)
    ]
    figure.add_annotation(
        x=0,
        xref="paper",
        xanchor="left",
        xshift=-48,
        y=1,
        yref="paper",
        yanchor="bottom",
        yshift=34,
        align="left",
        text="<br>".join(lines),
        showarrow=False,
        font={"size": SIZE_PX},
    )
