"""The section: zones to scale along an excavation, level up the side, what is dug and what waits.

Read it as a drawing: dug is empty, ground still to dig is filled by stream, below formation is
paler, walls are grey, supports are filled when in and released and hollow while to come.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.lettering import text_width
from dashboard.figures.section_labels import Label, key_rows, right_labels, zone_labels
from dashboard.figures.sheet import TRIANGLE_HALF_PX, TRIANGLE_HIGH_PX, Sheet
from tracker.statements.shapes import (
    ExcavationProgress,
    ProgressStatement,
    StageProgress,
    ZoneProgress,
)


def section_figure(
    statement: ProgressStatement, excavation: str, width_px: int = theme.WIDE_PX
) -> go.Figure:
    """The section of one excavation, drawn for a sheet `width_px` wide."""
    zones = [z for z in statement.zones if z.excavation == excavation]
    if not zones:
        return theme.empty_figure("No zones are set up for this excavation yet.")
    kind = next(e for e in statement.excavations if e.excavation == excavation)
    names = dict(statement.stream_names)
    keys = key_rows(zones, names, kind.kind, width_px)
    sheet = Sheet.of(zones, width_px, key_lines=len(keys))
    figure = go.Figure(layout=_layout(sheet))
    _draw_ground(figure, sheet, zones, names)
    _draw_walls(figure, sheet)
    for zone in zones:
        _draw_zone(figure, sheet, zone, kind)
    _draw_surface(figure, sheet, zones)
    for label in (*right_labels(sheet, zones), *zone_labels(sheet, zones), *_scale(sheet)):
        _draw_label(figure, sheet, label)
    _draw_keys(figure, sheet, keys, names)
    return figure


def section_summary(statement: ProgressStatement, excavation: str) -> str:
    """The section in one sentence, for those who cannot see it."""
    zones = [z for z in statement.zones if z.excavation == excavation]
    parts = [
        f"zone {z.zone} at {theme.level(z.lowest_level_m, 'm')}, permitted"
        f" {theme.level(z.permitted_level_m, 'm')}{', below permitted' if z.in_breach else ''}"
        for z in zones
    ]
    if not parts:
        return "No zones are set up yet."
    return f"Lowest levels above the site datum: {'; '.join(parts)}."


def _layout(sheet: Sheet) -> go.Layout:
    ticks = sheet.level_ticks()
    return go.Layout(
        template=theme.template(),
        width=sheet.width_px,
        height=sheet.height_px,
        margin={
            "l": sheet.left_px,
            "r": sheet.right_px,
            "t": sheet.top_px,
            "b": sheet.bottom_px,
            "pad": 0,
        },
        xaxis={"range": [sheet.start_m, sheet.end_m], "visible": False, "fixedrange": True},
        yaxis={
            "range": [sheet.low_m, sheet.high_m],
            "fixedrange": True,
            "showgrid": False,
            "tickvals": ticks,
            "ticktext": [f"{t:g}" for t in ticks],
            "ticks": "outside",
            "ticklen": 6,
            "tickcolor": theme.PAPER,
            "title": {"text": "level, m above site datum", "standoff": 8}
            if not sheet.narrow
            else None,
        },
        bargap=0,
        barmode="overlay",
        hovermode="closest",
        clickmode="event",
    )


# --- ground --------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class _Slab:
    """A rectangle of ground in one zone [m above site datum]."""

    zone: ZoneProgress
    upper_m: float
    lower_m: float
    stream: str
    below_formation: bool


def _slabs(sheet: Sheet, zone: ZoneProgress) -> list[_Slab]:
    """The ground left in a zone, cut at the dug surface and at formation; the last runs on down."""
    bands = [(g.upper_level_m, g.lower_level_m, g.stream) for g in zone.ground]
    if bands:
        bands[-1] = (bands[-1][0], min(bands[-1][1], sheet.low_m), bands[-1][2])
    slabs = []
    for upper, lower, stream in bands:
        top = min(upper, zone.general_level_m)
        cut = max(lower, min(top, zone.formation_level_m))
        slabs.append(_Slab(zone, top, cut, stream, False))
        slabs.append(_Slab(zone, min(top, cut), max(lower, sheet.low_m), stream, True))
    return [s for s in slabs if s.upper_m - s.lower_m > 1e-6]


def _draw_ground(
    figure: go.Figure, sheet: Sheet, zones: list[ZoneProgress], names: dict[str, str]
) -> None:
    """Bars, so that a pointer anywhere in a zone shows its numbers and a click names the zone."""
    order = list(names)
    slabs = [slab for zone in zones for slab in _slabs(sheet, zone)]
    for stream in dict.fromkeys(slab.stream for slab in slabs):
        for below in (False, True):
            part = [s for s in slabs if s.stream == stream and s.below_formation == below]
            _draw_slabs(figure, part, _tint(order, stream, below), names.get(stream, stream))
    dug = [
        _Slab(z, z.ground_level_m, z.general_level_m, "", False)
        for z in zones
        if z.general_level_m < z.ground_level_m
    ]
    _draw_slabs(figure, dug, {"color": theme.PAPER}, "dug")


def _draw_slabs(figure: go.Figure, slabs: list[_Slab], marker: dict, what: str) -> None:
    if not slabs:
        return
    figure.add_bar(
        x=[(s.zone.along_from_m + s.zone.along_to_m) / 2 for s in slabs],
        width=[s.zone.along_to_m - s.zone.along_from_m for s in slabs],
        base=[s.lower_m for s in slabs],
        y=[s.upper_m - s.lower_m for s in slabs],
        marker={**marker, "line": {"width": 0}},
        customdata=[[s.zone.zone] for s in slabs],
        hovertext=[zone_numbers(s.zone, what, s.below_formation) for s in slabs],
        hoverinfo="text",
        showlegend=False,
    )


def _tint(order: list[str], stream: str, below_formation: bool) -> dict:
    place = order.index(stream) if stream in order else len(order)
    colour, hatch = theme.GROUND[place % len(theme.GROUND)]
    if below_formation:
        return {"color": theme.paler(colour)}
    pattern = {
        "shape": hatch,
        "fgcolor": theme.paler(theme.GREY, 0.35),
        "fgopacity": 0.5,
        "size": 7,
        "solidity": 0.12,
        "fillmode": "overlay",
    }
    return {"color": colour, "pattern": pattern} if hatch else {"color": colour}


def zone_numbers(zone: ZoneProgress, what: str = "", below_formation: bool = False) -> str:
    """The numbers of a zone as they stand beside the pointer."""
    ground = f"{what}, below formation" if below_formation else what
    lines = [
        f"<b>{zone.name}</b>" + (f" · {ground}" if ground else ""),
        f"lowest {theme.level(zone.lowest_level_m, 'm')}, {theme.day(zone.lowest_on)}",
        f"permitted {theme.level(zone.permitted_level_m, 'm')}",
        f"general {theme.level(zone.general_level_m, 'm')} ({zone.general_basis})",
        f"formation {theme.level(zone.formation_level_m, 'm')}",
        f"dug {theme.number(zone.dug_net_m3)} of {theme.number(zone.design_bank_m3, 'm³ bank')}",
    ]
    if zone.in_breach:
        lines.insert(1, "<b>Below permitted level: stop and ask</b>")
    return "<br>".join(lines)


# --- lines ---------------------------------------------------------------------------------------
def _line(figure: go.Figure, x0: float, y0: float, x1: float, y1: float, **line: object) -> None:
    figure.add_shape(type="line", x0=x0, y0=y0, x1=x1, y1=y1, line=line)


def _draw_walls(figure: go.Figure, sheet: Sheet) -> None:
    for x0, x1 in (
        (sheet.start_m, sheet.first_m),
        (sheet.last_m, sheet.end_m),
    ):
        figure.add_shape(
            type="rect",
            x0=x0,
            x1=x1,
            y0=sheet.low_m,
            y1=sheet.high_m,
            fillcolor=theme.WALL,
            line={"width": 0},
        )


def _draw_zone(
    figure: go.Figure, sheet: Sheet, zone: ZoneProgress, kind: ExcavationProgress
) -> None:
    start, end = zone.along_from_m, zone.along_to_m
    if start > sheet.first_m:
        _line(
            figure, start, zone.formation_level_m, start, sheet.high_m,
            color=theme.HAIRLINE, width=1, dash="dot",
        )  # fmt: skip
    for stage in zone.stages[:-1]:
        level = stage.design_level_m
        _line(figure, start, level, end, level, color=theme.GREY, width=1, dash="6px,4px")
        _draw_supports(figure, sheet, zone, stage, kind.kind)
    level = zone.formation_level_m
    _line(figure, start, level, end, level, color=theme.INK, width=2)
    inset = 3 / sheet.px_per_m_along
    permitted = zone.permitted_level_m
    _line(figure, start + inset, permitted, end - inset, permitted, color=theme.PLANNED, width=4)


def _draw_surface(figure: go.Figure, sheet: Sheet, zones: list[ZoneProgress]) -> None:
    """The outline of the general level, and the lowest point of each zone."""
    for zone in zones:
        level = zone.general_level_m
        _line(
            figure, zone.along_from_m, level, zone.along_to_m, level, color=theme.INK, width=1.25
        )
        _draw_lowest(figure, sheet, zone)
    for left, right in pairwise(zones):
        x = right.along_from_m
        _line(
            figure, x, left.general_level_m, x, right.general_level_m, color=theme.INK, width=1.25
        )


def _draw_lowest(figure: go.Figure, sheet: Sheet, zone: ZoneProgress) -> None:
    """A triangle whose point stands on the lowest level."""
    if zone.lowest_level_m is None:
        return
    half, high = TRIANGLE_HALF_PX, TRIANGLE_HIGH_PX
    figure.add_shape(
        type="path",
        path=f"M 0 0 L {half} {high} L {-half} {high} Z",
        xsizemode="pixel",
        ysizemode="pixel",
        xanchor=(zone.along_from_m + zone.along_to_m) / 2,
        yanchor=zone.lowest_level_m,
        fillcolor=theme.BREACH if zone.in_breach else theme.INK,
        line={"width": 1, "color": theme.PAPER},
    )


def _draw_supports(
    figure: go.Figure, sheet: Sheet, zone: ZoneProgress, stage: StageProgress, kind: str
) -> None:
    """Props end-on in a box; lining rings against the wall in a shaft."""
    fill = theme.INK if stage.support_released else theme.PAPER
    for left, top, right, bottom in sheet.supports(zone, stage.design_level_m, kind):
        figure.add_shape(
            type="rect",
            x0=sheet.along_m(left),
            x1=sheet.along_m(right),
            y0=sheet.level_m(bottom),
            y1=sheet.level_m(top),
            fillcolor=fill,
            line={"width": 1.25, "color": theme.INK},
        )


# --- words ---------------------------------------------------------------------------------------
def _draw_label(figure: go.Figure, sheet: Sheet, label: Label) -> None:
    x, y = label.box.centre
    figure.add_annotation(
        x=sheet.across(label.box.left if label.align == "left" else x),
        y=sheet.up(y),
        xref="paper",
        yref="paper",
        text=label.text,
        xanchor=label.align,
        yanchor="middle",
        align=label.align,
        showarrow=False,
        borderpad=0,
        bgcolor=theme.PAPER if label.on_paper else None,
        font={"size": label.size_px, "color": label.colour},
    )
    if label.leader:
        (x0, y0), (x1, y1) = label.leader
        figure.add_shape(
            type="line",
            xref="paper",
            yref="paper",
            x0=sheet.across(x0),
            y0=sheet.up(y0),
            x1=sheet.across(x1),
            y1=sheet.up(y1),
            line={"color": theme.GREY if label.align == "left" else label.colour, "width": 1},
        )


def _scale(sheet: Sheet) -> list[Label]:
    text = f"Vertical scale {sheet.exaggeration:g} : 1. Levels in m above site datum."
    return [Label.at_left(text, sheet.key_left_px, sheet.scale_y_px, 12, theme.GREY)]


def _draw_keys(
    figure: go.Figure, sheet: Sheet, keys: list[list[tuple[str, str]]], names: dict[str, str]
) -> None:
    """The key, in rows below the drawing: a mark, then what it means."""
    order = list(names)
    for row, entries in enumerate(keys):
        x, y = sheet.key_left_px, sheet.key_y_px(row)
        for mark, words in entries:
            _draw_mark(figure, sheet, mark, x, y, order)
            label = Label.at_left(words, x + 18, y, 12, theme.GREY)
            _draw_label(figure, sheet, label)
            x += 18 + text_width(words, 12) + 16


def _draw_mark(
    figure: go.Figure, sheet: Sheet, mark: str, x: float, y: float, order: list[str]
) -> None:
    def rect(half_height: float, fill: str, line: str) -> None:
        figure.add_shape(
            type="rect",
            xref="paper",
            yref="paper",
            x0=sheet.across(x),
            x1=sheet.across(x + 12),
            y0=sheet.up(y + half_height),
            y1=sheet.up(y - half_height),
            fillcolor=fill,
            line={"width": 1, "color": line},
        )

    if mark == "lowest":
        figure.add_shape(
            type="path",
            path="M 6 -5 L 12 5 L 0 5 Z",
            xref="paper",
            yref="paper",
            xsizemode="pixel",
            ysizemode="pixel",
            xanchor=sheet.across(x),
            yanchor=sheet.up(y),
            fillcolor=theme.INK,
            line={"width": 0},
        )
    elif mark == "permitted":
        rect(1.5, theme.PLANNED, theme.PLANNED)
    elif mark in ("in", "to come"):
        rect(5, theme.INK if mark == "in" else theme.PAPER, theme.INK)
    else:
        tint = _tint(order, mark.removeprefix("stream "), False)["color"]
        rect(5, tint, theme.WALL)
