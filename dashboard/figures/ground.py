"""The surveyed surface in 3D under the design dig levels of its zones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.level_grid import extent_m
from dashboard.figures.plan import colour_scale
from dashboard.figures.sheet import SCALES

if TYPE_CHECKING:
    from tracker.domain.surface.picture import Picture

UPRIGHT = 0.4  # height of the drawing over its longer side, about
NO_WEBGL = (
    "This browser cannot draw in 3D: it has no WebGL, or it is switched off. The plan shows the"
    " same surface."
)


@dataclass(frozen=True, slots=True)
class DigLevel:
    """A design dig level of one zone [m above site datum] on the zone's outline in the grid [m]."""

    zone: str
    stage: int
    level_m: float
    is_formation: bool
    outline: tuple[tuple[float, float], ...]


def ground_figure(
    picture: Picture, levels: Sequence[DigLevel], width_px: int = theme.WIDE_PX
) -> go.Figure:
    """The surface by colour of level, design dig levels as blue outlines, formation in ink."""
    narrow = width_px < theme.PHONE_PX
    figure = go.Figure()
    figure.add_trace(_surface(picture, narrow))
    for formation, colour, width in ((False, theme.PLANNED, 2), (True, theme.INK, 4)):
        some = [level for level in levels if level.is_formation == formation]
        if some:
            figure.add_trace(_outlines(some, colour, width))
    figure.add_trace(_names(picture, levels, narrow))
    figure.update_layout(
        template=theme.template(),
        width=width_px,
        height=340 if narrow else 500,
        margin={"l": 0, "r": 0, "t": 0, "b": 0},
        scene=_scene(picture, levels, narrow),
    )
    return figure


def ground_summary(picture: Picture, levels: Sequence[DigLevel]) -> str:
    """How to read the drawing."""
    scale = exaggeration(picture, levels)
    said = (
        "Heights are true to the plan." if scale == 1 else f"Heights are drawn {scale:g} times up."
    )
    return (
        f"{said} Blue outlines are the design dig levels of each zone, the dark one is formation;"
        " levels in m above site datum. Seen from the south-west; drag to turn. Thinned for the"
        " screen: never measure from it."
    )


def exaggeration(picture: Picture, levels: Sequence[DigLevel]) -> float:
    """How many times heights are stretched, a round number of at least 1."""
    west_south, east_north = extent_m(picture)
    low, high = _heights(picture, levels)
    wanted = UPRIGHT * float((east_north - west_south).max()) / (high - low)
    return max([scale for scale in SCALES if scale <= wanted], default=1)


def _heights(picture: Picture, levels: Sequence[DigLevel]) -> tuple[float, float]:
    known = [*(level.level_m for level in levels)]
    low, high = picture.xyz_m[:, 2].min(), picture.xyz_m[:, 2].max()
    low, high = min([float(low), *known]), max([float(high), *known])
    return low, max(high, low + 1.0)


def _surface(picture: Picture, narrow: bool) -> dict[str, Any]:
    x, y, z = picture.xyz_m.astype(np.float32).T
    i, j, k = picture.triangles.astype(np.int32).T
    return {
        "type": "mesh3d",
        "x": x, "y": y, "z": z, "i": i, "j": j, "k": k,
        "intensity": z,
        "colorscale": colour_scale(),
        # No shading: a shaded colour would be read as another level of the key.
        "lighting": {"ambient": 1.0, "diffuse": 0.0, "specular": 0.0, "fresnel": 0.0},
        "colorbar": {
            "orientation": "h",
            "thickness": 10,
            "lenmode": "pixels",
            "len": 200 if narrow else 240,
            "x": 0,
            "xanchor": "left",
            "y": 0,
            "yanchor": "bottom",
            "ypad": 8,
            "title": {
                "text": "level, m above site datum",
                "side": "top",
                "font": {"size": 12, "color": theme.GREY},
            },
            "tickfont": {"size": 12, "color": theme.GREY},
            "outlinewidth": 0,
        },
        "hovertemplate": "surveyed %{z:.2f} m<br>E %{x:.1f}, N %{y:.1f}<extra></extra>",
    }  # fmt: skip


def _outlines(levels: Sequence[DigLevel], colour: str, width: float) -> dict[str, Any]:
    """Rings as one line with gaps."""
    x: list[float | None] = []
    y: list[float | None] = []
    z: list[float | None] = []
    for level in levels:
        ring = (*level.outline, level.outline[0])
        x += [*(place[0] for place in ring), None]
        y += [*(place[1] for place in ring), None]
        z += [*([level.level_m] * len(ring)), None]
    return {
        "type": "scatter3d",
        "mode": "lines",
        "x": x,
        "y": y,
        "z": z,
        "line": {"color": colour, "width": width},
        "hoverinfo": "skip",
    }


def _names(picture: Picture, levels: Sequence[DigLevel], narrow: bool) -> dict[str, Any]:
    """Levels at the corner that stands leftmost, the north-west one; and which side is north."""
    (west, south), (east, north) = (corner.tolist() for corner in extent_m(picture))
    first = min((level.outline for level in levels), key=_leftmost, default=())
    named = [level for level in levels if level.outline == first]
    corner = min(first, key=lambda place: place[0] - place[1], default=(west, north))
    _, high = _heights(picture, levels)
    return {
        "type": "scatter3d",
        "mode": "text",
        "x": [*([corner[0]] * len(named)), (west + east) / 2],
        "y": [*([corner[1]] * len(named)), north + 0.12 * (north - south)],
        "z": [*(level.level_m for level in named), high],
        "text": [*(_name(level, narrow) for level in named), "north side"],
        "textposition": "middle left",
        "textfont": {"size": 12, "color": theme.INK},
        "hoverinfo": "skip",
    }


def _name(level: DigLevel, narrow: bool) -> str:
    name = "Formation" if level.is_formation else f"Stage {level.stage}"
    return theme.level(level.level_m) if narrow else f"{name} {theme.level(level.level_m)}"


def _leftmost(outline: Sequence[tuple[float, float]]) -> float:
    return min(place[0] - place[1] for place in outline)


def _scene(picture: Picture, levels: Sequence[DigLevel], narrow: bool) -> dict[str, Any]:
    west_south, east_north = extent_m(picture)
    low, high = _heights(picture, levels)
    spans = [*(east_north - west_south).tolist(), (high - low) * exaggeration(picture, levels)]
    longest, size = max(spans), 1.75 if narrow else 3.2
    hidden = {"visible": False, "showspikes": False}
    return {
        "dragmode": "turntable",
        "xaxis": hidden,
        "yaxis": hidden,
        "zaxis": hidden,
        "aspectmode": "manual",
        "aspectratio": {
            axis: size * span / longest for axis, span in zip("xyz", spans, strict=True)
        },
        "camera": {
            "eye": {"x": -0.7, "y": -1.4, "z": 0.9},
            "center": {"x": -0.08 if narrow else 0.0, "y": 0.0, "z": -0.05},
            "projection": {"type": "orthographic"},
        },
    }
