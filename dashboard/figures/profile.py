"""The surveyed profile on a section: mean level along each zone, lowest to highest across it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from typing import Any

from dashboard import theme
from dashboard.figures.lettering import Box
from dashboard.figures.sheet import Sheet
from tracker.statements.shapes import ProfilePoint, ZoneProgress

LINE_HALF_PX = 1.0


def surveys_shown(zones: Sequence[ZoneProgress]) -> list[tuple[str, date]]:
    """(survey, its day) of each profile on the section, the first zone's first."""
    named = ((z.survey, z.surveyed_on) for z in zones if z.profile and z.surveyed_on)
    return list(dict.fromkeys(named))


def profile_traces(zones: Sequence[ZoneProgress]) -> list[dict[str, Any]]:
    """A pale band from the lowest to the highest level across each zone, and the mean in it."""
    shown = [zone for zone in zones if zone.profile]
    return [_band(shown), _mean(shown)] if shown else []


def profile_boxes(sheet: Sheet, zone: ZoneProgress) -> list[Box]:
    """What the profile covers of the sheet, so that no label stands on it."""
    half = _step_m(zone) / 2
    return [
        Box(
            sheet.x_px(point.along_m - half),
            sheet.y_px(point.high_level_m) - LINE_HALF_PX,
            sheet.x_px(point.along_m + half),
            sheet.y_px(point.low_level_m) + LINE_HALF_PX,
        )
        for point in zone.profile
    ]


def _step_m(zone: ZoneProgress) -> float:
    points = zone.profile
    if len(points) < 2:
        return zone.along_to_m - zone.along_from_m
    return min(after.along_m - before.along_m for before, after in pairwise(points))


def _band(zones: Sequence[ZoneProgress]) -> dict[str, Any]:
    along: list[float | None] = []
    level: list[float | None] = []
    for zone in zones:
        points = _to_the_edges(zone)
        along += [x for x, _ in points] + [x for x, _ in reversed(points)] + [None]
        level += [p.high_level_m for _, p in points]
        level += [p.low_level_m for _, p in reversed(points)] + [None]
    return {
        "type": "scatter",
        "mode": "lines",
        "x": along,
        "y": level,
        "fill": "toself",
        "fillcolor": theme.SURVEYED,
        "opacity": 0.28,
        "line": {"width": 0},
        "hoverinfo": "skip",
    }


def _mean(zones: Sequence[ZoneProgress]) -> dict[str, Any]:
    along: list[float | None] = []
    level: list[float | None] = []
    said: list[str] = []
    named: list[list[str]] = []
    for zone in zones:
        points = _to_the_edges(zone)
        along += [x for x, _ in points] + [None]
        level += [p.mean_level_m for _, p in points] + [None]
        said += [profile_numbers(zone, p) for _, p in points] + [""]
        named += [[zone.zone]] * (len(points) + 1)
    return {
        "type": "scatter",
        "mode": "lines",
        "x": along,
        "y": level,
        "line": {"color": theme.SURVEYED, "width": 1.75},
        "customdata": named,
        "hovertext": said,
        "hoverinfo": "text",
    }


def _to_the_edges(zone: ZoneProgress) -> list[tuple[float, ProfilePoint]]:
    """The points in order, the first and last also at the edges of the zone."""
    points = zone.profile
    edges = (zone.along_from_m, points[0]), (zone.along_to_m, points[-1])
    return [edges[0], *((p.along_m, p) for p in points), edges[1]]


def profile_numbers(zone: ZoneProgress, point: ProfilePoint) -> str:
    """The surveyed numbers at one place as they stand beside the pointer."""
    return (
        f"<b>{zone.name}</b> · survey {zone.survey}, {theme.day(zone.surveyed_on)}"
        f"<br>{theme.number(point.along_m, 'm', 1)} along, across the width:"
        f"<br>mean {theme.level(round(point.mean_level_m, 2), 'm')}"
        f"<br>lowest {theme.level(point.low_level_m, 'm')}"
        f"<br>highest {theme.level(point.high_level_m, 'm')}"
        f"<br>general {theme.level(round(zone.general_level_m, 2), 'm')} ({zone.general_basis})"
    )
