"""The key below a plan: colours of levels, north, the bar of the scale, and every mark in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from dashboard import theme
from dashboard.figures.deepest import DeepestPoint
from dashboard.figures.drawing import Drawing, Label
from dashboard.figures.lettering import Box, text_box, text_width
from dashboard.figures.plan_sheet import EDGE_PX, PlanSheet

if TYPE_CHECKING:
    from tracker.domain.surface.picture import Picture

# The shape of the mark of points left out, and why they were, in words.
MARKS = {
    "not_a_number": ("square", "without a number"),
    "outside": ("square", "outside the outline"),
    "near_wall": ("circle", "close to the wall"),
    "above_ground": ("x", "above the ground: people, plant"),
    "below_ground": ("diamond", "below the ground: echoes"),
    "duplicate": ("square", "double"),
    "thinned": ("square", "thinned, one kept of each cell"),
    "other": ("square", "for another reason"),
}
RAMP_PX = 168
RAMP_HIGH_PX = 10
RAMP_PARTS = 24

Entry = tuple[str, str]


def key_rows(
    picture: Picture, deepest: Sequence[DeepestPoint], left_out: Mapping[str, int], width_px: int
) -> list[list[Entry]]:
    """(mark, words) in rows that fit the width."""
    entries = [("lowest", "Deepest point of a zone, m")] if deepest else []
    if any(point.in_breach for point in deepest):
        entries.append(("breach", "below permitted"))
    entries += [
        (why, left_out_words(why, left_out.get(why, len(places)), len(places)))
        for why, places in picture.left_out_m.items()
    ]
    rows: list[list[Entry]] = [[]]
    x = 0.0
    for mark, words in entries:
        wide = 18 + text_width(words, 12) + 16
        if rows[-1] and x + wide > width_px - EDGE_PX:
            rows.append([])
            x = 0.0
        rows[-1].append((mark, words))
        x += wide
    return rows


def left_out_words(why: str, count: int, drawn: int) -> str:
    """Why points were left out and how many, drawn or not.

    >>> left_out_words("near_wall", 170, 170), left_out_words("outside", 4200, 1000)
    ('Left out close to the wall: 170', 'Left out outside the outline: 4,200, 1,000 drawn')
    """
    _, words = MARKS.get(why, MARKS["other"])
    some = f", {theme.number(drawn)} drawn" if drawn < count else ""
    return f"Left out {words}: {theme.number(count)}{some}"


def draw_key(
    drawing: Drawing,
    sheet: PlanSheet,
    rows: Sequence[Sequence[Entry]],
    range_m: tuple[float, float],
) -> None:
    """The colour scale, north and the bar, then the marks."""
    _draw_ramp(drawing, sheet, range_m)
    _draw_north_and_bar(drawing, sheet)
    for row, entries in enumerate(rows, start=1):
        x, y = float(EDGE_PX), sheet.key_y_px(row)
        for mark, words in entries:
            _draw_mark(drawing, mark, x, y)
            drawing.words(Label.at_left(words, x + 18, y, 12, theme.GREY))
            x += 18 + text_width(words, 12) + 16


def _draw_ramp(drawing: Drawing, sheet: PlanSheet, range_m: tuple[float, float]) -> None:
    low, high = range_m
    top, left = sheet.ramp_y_px, EDGE_PX + 12
    colours = theme.level_colours(RAMP_PARTS)
    for n, colour in enumerate(reversed(colours)):
        x = left + n * RAMP_PX / RAMP_PARTS
        box = Box(x, top, x + RAMP_PX / RAMP_PARTS, top + RAMP_HIGH_PX)
        drawing.rectangle(box, colour, colour, 0.5)
    for tick in _ticks(low, high):
        x = left + RAMP_PX * (tick - low) / (high - low)
        drawing.line((x, top + RAMP_HIGH_PX), (x, top + RAMP_HIGH_PX + 4), theme.GREY)
        words = f"{tick:g}".replace("-", "−")
        box = text_box([words], 12, x, top + RAMP_HIGH_PX + 13)
        drawing.words(Label(words, box, 12, theme.GREY))
    words = "level, m above site datum"
    middle = top + RAMP_HIGH_PX / 2
    drawing.words(Label.at_left(words, left + RAMP_PX + 12, middle, 12, theme.GREY))


def _ticks(low_m: float, high_m: float) -> list[float]:
    """Round levels, three to six of them."""
    steps = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50)
    step = next((s for s in steps if (high_m - low_m) / s <= 5), steps[-1])
    first, last = math.ceil(low_m / step), math.floor(high_m / step)
    return [round(n * step, 3) for n in range(first, last + 1)]


def _draw_north_and_bar(drawing: Drawing, sheet: PlanSheet) -> None:
    y = sheet.key_y_px(0)
    x = EDGE_PX + 6.0
    drawing.line((x, y + 7), (x, y - 3), theme.INK, 1.25)
    drawing.arrowhead((x, y - 8), 4, 7, theme.INK)
    drawing.words(Label.at_left("North", x + 10, y, 12, theme.GREY))
    start, length = x + 62, sheet.bar_m * sheet.px_per_m
    drawing.line((start, y), (start + length, y), theme.INK, 1.5)
    for end in (start, start + length):
        drawing.line((end, y - 4), (end, y + 4), theme.INK, 1.25)
    words = f"{sheet.bar_m} m, true scale"
    drawing.words(Label.at_left(words, start + length + 8, y, 12, theme.GREY))


def _draw_mark(drawing: Drawing, mark: str, x: float, y: float) -> None:
    if mark in ("lowest", "breach"):
        fill = theme.BREACH if mark == "breach" else theme.INK
        drawing.triangle((x + 6, y + 5), 6, 10, fill)
        return
    symbol, _ = MARKS.get(mark, MARKS["other"])
    drawing.outline((x + 6, y), symbol)
