"""The section: zones to scale along an excavation, level up the side, what is dug and what waits.

Read it as a drawing: dug is empty, ground still to dig is filled by stream, below formation is
paler, walls are grey, supports are filled when in and released and hollow while to come.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.drawing import Drawing, Label
from dashboard.figures.lettering import Box, text_width
from dashboard.figures.profile import profile_traces, surveys_shown
from dashboard.figures.section_labels import key_rows, right_labels, zone_labels
from dashboard.figures.sheet import TRIANGLE_HALF_PX, TRIANGLE_HIGH_PX, WALL_PX, Sheet
from tracker.statements.shapes import ProgressStatement, ZoneProgress


def section_figure(
    statement: ProgressStatement, excavation: str, width_px: int = theme.WIDE_PX
) -> go.Figure:
    """The section of one excavation, drawn for a sheet `width_px` wide."""
    zones = [z for z in statement.zones if z.excavation == excavation]
    if not zones:
        return theme.empty_figure("No zones are set up for this excavation yet.")
    kind = next(e.kind for e in statement.excavations if e.excavation == excavation)
    names = dict(statement.stream_names)
    keys = key_rows(zones, names, kind, width_px)
    sheet = Sheet.of(zones, width_px, key_lines=len(keys))
    drawing = Drawing(sheet)
    drawing.traces += _ground(sheet, zones, names)
    _draw_walls(drawing)
    for zone in zones:
        _draw_levels(drawing, zone)
        _draw_supports(drawing, zone, kind)
    _draw_surface(drawing, zones)
    drawing.traces += profile_traces(zones)
    for label in (*right_labels(sheet, zones), *zone_labels(sheet, zones, kind)):
        drawing.words(label)
    _draw_key(drawing, keys, list(names))
    return drawing.figure(_layout(sheet))


def section_summary(statement: ProgressStatement, excavation: str) -> str:
    """The section in one sentence, for those who cannot see it."""
    parts = [
        f"{z.name} {theme.level(z.lowest_level_m)} (permitted {theme.level(z.permitted_level_m)}"
        f"{', BELOW PERMITTED' if z.in_breach else ''})"
        for z in statement.zones
        if z.excavation == excavation
    ]
    if not parts:
        return "No zones are set up yet."
    zones = [z for z in statement.zones if z.excavation == excavation]
    surveyed = [f"{name} of {theme.day(on)}" for name, on in surveys_shown(zones)]
    profile = (
        f" Surveyed profile: {' and '.join(surveyed)}, the mean across the width in a band from"
        " lowest to highest."
        if surveyed
        else ""
    )
    return f"Lowest levels, m above site datum: {'; '.join(parts)}.{profile}"


def _layout(sheet: Sheet) -> dict[str, Any]:
    ticks = sheet.level_ticks()
    margin = {
        "l": sheet.left_px,
        "r": sheet.right_px,
        "t": sheet.top_px,
        "b": sheet.bottom_px,
        "pad": 0,
    }
    return {
        "template": theme.template(),
        "width": sheet.width_px,
        "height": sheet.height_px,
        "margin": margin,
        "xaxis": {"range": [sheet.start_m, sheet.end_m], "visible": False},
        "yaxis": {
            "range": [sheet.low_m, sheet.high_m],
            "showgrid": False,
            "tickvals": ticks,
            "ticktext": [f"{t:g}" for t in ticks],
            "title": {"text": "" if sheet.narrow else "level, m above site datum", "standoff": 8},
        },
        "bargap": 0,
        "barmode": "overlay",
        "hovermode": "closest",
        "clickmode": "event",
    }


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


def _ground(
    sheet: Sheet, zones: Sequence[ZoneProgress], names: dict[str, str]
) -> list[dict[str, Any]]:
    """Bars, so that a pointer anywhere in a zone shows its numbers and a click names the zone."""
    order = list(names)
    slabs = [slab for zone in zones for slab in _slabs(sheet, zone)]
    kinds = dict.fromkeys((s.stream, s.below_formation) for s in slabs)
    traces = [
        _bars(
            [s for s in slabs if (s.stream, s.below_formation) == (stream, below)],
            _tint(order, stream, below),
            names.get(stream, stream) + (", below formation" if below else ""),
        )
        for stream, below in kinds
    ]
    dug = [
        _Slab(z, z.ground_level_m, z.general_level_m, "", False)
        for z in zones
        if z.general_level_m < z.ground_level_m
    ]
    return [*traces, _bars(dug, {"color": theme.PAPER}, "dug")]


def _bars(slabs: Sequence[_Slab], marker: dict[str, Any], what: str) -> dict[str, Any]:
    return {
        "type": "bar",
        "x": [(s.zone.along_from_m + s.zone.along_to_m) / 2 for s in slabs],
        "width": [s.zone.along_to_m - s.zone.along_from_m for s in slabs],
        "base": [s.lower_m for s in slabs],
        "y": [s.upper_m - s.lower_m for s in slabs],
        "marker": {**marker, "line": {"width": 0}},
        "customdata": [[s.zone.zone] for s in slabs],
        "hovertext": [zone_numbers(s.zone, what) for s in slabs],
        "hoverinfo": "text",
    }


def _tint(order: list[str], stream: str, below_formation: bool) -> dict[str, Any]:
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


def zone_numbers(zone: ZoneProgress, what: str) -> str:
    """The numbers of a zone as they stand beside the pointer."""
    lines = [
        f"<b>{zone.name}</b> · {what}",
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
def _draw_walls(drawing: Drawing) -> None:
    sheet = drawing.sheet
    bottom = sheet.top_px + sheet.plot_height_px
    for left in (sheet.x_px(sheet.start_m), sheet.x_px(sheet.last_m)):
        drawing.rectangle(Box(left, sheet.top_px, left + WALL_PX, bottom), theme.WALL)


def _draw_levels(drawing: Drawing, zone: ZoneProgress) -> None:
    """The edge of a zone, its design dig levels, its formation, and what is permitted."""
    sheet = drawing.sheet
    left, right = sheet.x_px(zone.along_from_m), sheet.x_px(zone.along_to_m)
    formation = sheet.y_px(zone.formation_level_m)
    if zone.along_from_m > sheet.first_m:
        drawing.line((left, sheet.top_px), (left, formation), theme.HAIRLINE, 1, "2px,3px")
    for stage in zone.stages[:-1]:
        y = sheet.y_px(stage.design_level_m)
        drawing.line((left, y), (right, y), theme.GREY, 1, "6px,4px")
    ground = sheet.y_px(zone.ground_level_m)
    drawing.line((left, ground), (right, ground), theme.WALL, 1.5)
    drawing.line((left, formation), (right, formation), theme.INK, 2)
    y = sheet.y_px(zone.permitted_level_m)
    drawing.line((left + 3, y), (right - 3, y), theme.PLANNED, 4)


def _draw_supports(drawing: Drawing, zone: ZoneProgress, kind: str) -> None:
    """Props end-on in a box; lining rings against the wall in a shaft."""
    for stage in zone.stages[:-1]:
        fill = theme.INK if stage.support_released else theme.PAPER
        for box in drawing.sheet.supports(zone, stage.design_level_m, kind):
            drawing.rectangle(box, fill, theme.INK, 1.25)


def _draw_surface(drawing: Drawing, zones: Sequence[ZoneProgress]) -> None:
    """The outline of the general level, and the lowest point of each zone on its triangle."""
    sheet = drawing.sheet
    for zone in zones:
        y = sheet.y_px(zone.general_level_m)
        left, right = sheet.x_px(zone.along_from_m), sheet.x_px(zone.along_to_m)
        drawing.line((left, y), (right, y), theme.INK, 1.25)
        if zone.lowest_level_m is not None:
            point = ((left + right) / 2, sheet.y_px(zone.lowest_level_m))
            fill = theme.BREACH if zone.in_breach else theme.INK
            drawing.triangle(point, TRIANGLE_HALF_PX, TRIANGLE_HIGH_PX, fill)
    for before, after in pairwise(zones):
        x = sheet.x_px(after.along_from_m)
        ends = (x, sheet.y_px(before.general_level_m)), (x, sheet.y_px(after.general_level_m))
        drawing.line(*ends, theme.INK, 1.25)


# --- the key -------------------------------------------------------------------------------------
def _draw_key(drawing: Drawing, keys: list[list[tuple[str, str]]], order: list[str]) -> None:
    """The key in rows below the drawing, a mark and what it means; then the scale."""
    sheet = drawing.sheet
    for row, entries in enumerate(keys):
        x, y = sheet.key_left_px, sheet.key_y_px(row)
        for mark, words in entries:
            _draw_mark(drawing, mark, x, y, order)
            drawing.words(Label.at_left(words, x + 18, y, 12, theme.GREY))
            x += 18 + text_width(words, 12) + 16
    scale = f"Vertical scale {sheet.exaggeration:g} : 1. Levels in m above site datum."
    drawing.words(Label.at_left(scale, sheet.key_left_px, sheet.scale_y_px, 12, theme.GREY))


def _draw_mark(drawing: Drawing, mark: str, x: float, y: float, order: list[str]) -> None:
    box = Box(x, y - 5, x + 12, y + 5)
    if mark == "surveyed":
        drawing.rectangle(box, theme.paler(theme.SURVEYED, 0.7))
        drawing.line((x, y), (x + 12, y), theme.SURVEYED, 1.5)
    elif mark == "general":
        drawing.line((x, y), (x + 12, y), theme.INK, 1.25)
    elif mark == "lowest":
        drawing.triangle((x + 6, y + 5), 6, 10, theme.INK)
    elif mark == "permitted":
        drawing.rectangle(Box(x, y - 2, x + 12, y + 2), theme.PLANNED)
    elif mark in ("in", "to come"):
        drawing.rectangle(box, theme.INK if mark == "in" else theme.PAPER, theme.INK, 1)
    else:
        tint = _tint(order, mark.removeprefix("stream "), False)["color"]
        drawing.rectangle(box, tint, theme.WALL, 1)
