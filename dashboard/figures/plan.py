"""The plan of a surveyed surface: levels by colour, zones, deepest points, points left out.

North is up and the scale is true. Points that were not used are told apart by shape and by words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.deepest import DeepestPoint
from dashboard.figures.drawing import Drawing
from dashboard.figures.level_grid import NOWHERE, LevelGrid, level_grid, zone_edges
from dashboard.figures.plan_key import MARKS, draw_key, key_rows
from dashboard.figures.plan_labels import plan_labels
from dashboard.figures.plan_sheet import EDGE_PX, TOP_PX, PlanSheet
from dashboard.figures.sheet import TRIANGLE_HALF_PX, TRIANGLE_HIGH_PX

if TYPE_CHECKING:
    from tracker.domain.surface.picture import Picture

EVEN_M = 1.0  # a surface more level than this is not stretched over all colours


def plan_figure(
    picture: Picture,
    deepest: Sequence[DeepestPoint],
    left_out: Mapping[str, int],
    width_px: int = theme.WIDE_PX,
) -> go.Figure:
    """The plan of one survey; `left_out` counts all points left out by reason, drawn or not."""
    keys = key_rows(picture, deepest, left_out, width_px)
    sheet = PlanSheet.of(picture, width_px, key_lines=len(keys))
    grid = level_grid(picture)
    range_m = colour_range_m(grid)
    drawing = Drawing(sheet)
    drawing.traces.append(_levels(picture, grid, range_m))
    drawing.traces.append(_outlines(picture))
    drawing.traces += [
        _points(why, places, sheet.narrow) for why, places in picture.left_out_m.items()
    ]
    for point in deepest:
        apex = sheet.x_px(point.easting_m), sheet.y_px(point.northing_m)
        fill = theme.BREACH if point.in_breach else theme.INK
        drawing.triangle(apex, TRIANGLE_HALF_PX, TRIANGLE_HIGH_PX, fill)
    for label in plan_labels(sheet, picture, deepest):
        drawing.words(label)
    draw_key(drawing, sheet, keys, range_m)
    return drawing.figure(_layout(sheet))


def plan_summary(picture: Picture, deepest: Sequence[DeepestPoint]) -> str:
    """The plan in one sentence, for those who cannot see it."""
    low, high = level_grid(picture).range_m
    parts = [
        f"{p.zone} {theme.level(p.level_m)} (permitted {theme.level(p.permitted_level_m)}"
        f"{', BELOW PERMITTED' if p.in_breach else ''})"
        for p in deepest
    ]
    return (
        f"Surveyed from {theme.level(round(low, 2))} to {theme.level(round(high, 2), 'm')} above"
        f" site datum. Deepest point by zone: {'; '.join(parts)}. Drawn from a thinned surface;"
        " volumes are from all points used."
    )


def colour_range_m(grid: LevelGrid) -> tuple[float, float]:
    """The levels of the darkest and the palest colour."""
    low, high = grid.range_m
    if high - low >= EVEN_M:
        return low, high
    middle = (low + high) / 2
    return middle - EVEN_M / 2, middle + EVEN_M / 2


def colour_scale() -> list[tuple[float, str]]:
    """The colours of levels, the lowest first."""
    steps = len(theme.LEVELS) - 1
    return [(n / steps, colour) for n, colour in enumerate(reversed(theme.LEVELS))]


def _levels(picture: Picture, grid: LevelGrid, range_m: tuple[float, float]) -> dict[str, Any]:
    names = np.array([*picture.zones, ""])
    return {
        "type": "heatmap",
        "x": grid.easting_m,
        "y": grid.northing_m,
        "z": grid.level_m.astype(np.float32),
        "text": np.where(grid.zone == NOWHERE, "", names[grid.zone]).tolist(),
        "zmin": range_m[0],
        "zmax": range_m[1],
        "colorscale": colour_scale(),
        "showscale": False,
        "hoverongaps": False,
        "hovertemplate": "<b>Zone %{text}</b><br>surveyed %{z:.2f} m<br>E %{x:.1f}, N %{y:.1f}"
        "<extra></extra>",
    }


def _outlines(picture: Picture) -> dict[str, Any]:
    """All outlines as one line with gaps."""
    ends = picture.xyz_m[np.concatenate(zone_edges(picture)), :2]
    gaps = np.full((len(ends), 1, 2), np.nan)
    places = np.concatenate([ends, gaps], axis=1).reshape(-1, 2)
    return {
        "type": "scatter",
        "mode": "lines",
        "x": places[:, 0].astype(np.float32),
        "y": places[:, 1].astype(np.float32),
        "line": {"color": theme.INK, "width": 1.25},
        "hoverinfo": "skip",
        "cliponaxis": False,
    }


def _points(why: str, places: Any, narrow: bool) -> dict[str, Any]:
    symbol, words = MARKS.get(why, MARKS["other"])
    return {
        "type": "scatter",
        "mode": "markers",
        "x": places[:, 0].astype(np.float32),
        "y": places[:, 1].astype(np.float32),
        "customdata": places[:, 2].astype(np.float32),
        "marker": {
            "symbol": symbol,
            "size": 4 if narrow else 6,
            "color": theme.PAPER,
            "line": {"color": theme.INK, "width": 1},
        },
        "hovertemplate": f"left out: {words}<br>%{{customdata:.2f}} m<extra></extra>",
        "cliponaxis": False,
    }


def _layout(sheet: PlanSheet) -> dict[str, Any]:
    margin = {"l": EDGE_PX, "r": sheet.right_px, "t": TOP_PX, "b": sheet.bottom_px, "pad": 0}
    return {
        "template": theme.template(),
        "width": sheet.width_px,
        "height": sheet.height_px,
        "margin": margin,
        "xaxis": {"range": [sheet.west_m, sheet.east_m], "visible": False},
        "yaxis": {"range": [sheet.south_m, sheet.north_m], "visible": False},
        "hovermode": "closest",
    }
