"""The words on a plan: names of zones and levels of deepest points, none over another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from dashboard import theme
from dashboard.figures.deepest import DeepestPoint
from dashboard.figures.drawing import Label
from dashboard.figures.lettering import Box, free_place, text_box
from dashboard.figures.plan_sheet import TOP_PX, PlanSheet
from dashboard.figures.sheet import TRIANGLE_HALF_PX, TRIANGLE_HIGH_PX

if TYPE_CHECKING:
    from tracker.domain.surface.picture import Picture

PAPER_PX = 3  # paper around each label


def plan_labels(sheet: PlanSheet, picture: Picture, deepest: Sequence[DeepestPoint]) -> list[Label]:
    """Breaches first, then the other deepest levels, then names. What has no room is left out."""
    taken = [_triangle(sheet, point) for point in deepest]
    labels: list[Label] = []
    for point in sorted(deepest, key=lambda p: not p.in_breach):
        _keep(_level(sheet, point, taken), labels, taken)
    for zone, name in enumerate(picture.zones):
        _keep(_name(sheet, picture, zone, name, taken), labels, taken)
    return labels


def _keep(label: Label | None, labels: list[Label], taken: list[Box]) -> None:
    if label is not None:
        labels.append(label)
        taken.append(label.box)


def _triangle(sheet: PlanSheet, point: DeepestPoint) -> Box:
    x, y = sheet.x_px(point.easting_m), sheet.y_px(point.northing_m)
    return Box(x - TRIANGLE_HALF_PX, y - TRIANGLE_HIGH_PX, x + TRIANGLE_HALF_PX, y)


def _level(sheet: PlanSheet, point: DeepestPoint, taken: Sequence[Box]) -> Label | None:
    size = 11 if sheet.narrow else 12
    for lines in _level_words(point):
        own = text_box(lines, size, 0, 0, PAPER_PX)
        ways = _around(_triangle(sheet, point), own)
        box = free_place(ways, taken, _inside(sheet))
        if box is not None:
            text = "<br>".join((f"<b>{lines[0]}</b>", *lines[1:]))
            colour = theme.BREACH_TEXT if point.in_breach else theme.INK
            return Label(text, box, size, colour, on_paper=True)
    return None


def _level_words(point: DeepestPoint) -> list[list[str]]:
    """The lines of the label, from the fullest to the shortest."""
    level = theme.level(point.level_m)
    if not point.in_breach:
        return [[f"{point.zone} {level}"], [level]]
    below = theme.level(round(point.permitted_level_m - point.level_m, 3), "m")
    first = f"{point.zone}: {level}"
    return [[first, f"{below} below permitted"], [first, f"{below} below", "permitted"], [level]]


def _around(mark: Box, label: Box) -> Iterator[Box]:
    """Where the label may stand about its mark, nearest first."""
    half_wide, half_high = label.right, label.bottom
    x, y = mark.centre
    for away in range(1, 90, 6):
        beside, over = half_wide + TRIANGLE_HALF_PX + away, half_high + TRIANGLE_HIGH_PX / 2 + away
        for dx, dy in ((0, -over), (0, over), (beside, 0), (-beside, 0)):
            yield label.moved(x + dx, y + dy)


def _name(
    sheet: PlanSheet, picture: Picture, zone: int, name: str, taken: Sequence[Box]
) -> Label | None:
    corners = picture.xyz_m[picture.triangles[picture.zone == zone], :2].reshape(-1, 2)
    if not len(corners):
        return None
    (west, south), (east, north) = corners.min(axis=0), corners.max(axis=0)
    label = text_box([name], 13, 0, 0, PAPER_PX)
    left, right = sheet.x_px(west) + label.right + 5, sheet.x_px(east) - label.right - 5
    top, bottom = sheet.y_px(north) + label.bottom + 5, sheet.y_px(south) - label.bottom - 5
    ways = [(x, y) for y in (top, bottom) for x in np.linspace(left, right, 5)]
    box = free_place((label.moved(x, y) for x, y in ways), taken, _inside(sheet))
    return None if box is None else Label(f"<b>{name}</b>", box, 13, theme.INK, on_paper=True)


def _inside(sheet: PlanSheet) -> Box:
    """The drawing, with a little of the sheet around it."""
    return Box(0, 0, sheet.width_px, TOP_PX + sheet.plot_height_px + 4)
