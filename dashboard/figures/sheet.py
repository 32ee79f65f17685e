"""The sheet a section is drawn on: from metres along and levels to pixels, at a round scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from dashboard import theme
from dashboard.figures.lettering import Box
from tracker.statements.shapes import ZoneProgress

SCALES = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20)  # vertical to horizontal
WALL_PX = 12
BELOW_FORMATION = 0.16  # of the depth to formation, shown below it
ABOVE_GROUND = 0.03  # of the same, so that a line at ground level shows whole
KEY_LINE_PX = 20
TRIANGLE_HALF_PX, TRIANGLE_HIGH_PX = 7, 11


@dataclass(frozen=True, slots=True)
class Sheet:
    """One scale along, one up the side; pixels count from the top left corner of the figure."""

    width_px: int
    narrow: bool
    first_m: float  # inside face of the left wall
    last_m: float
    high_m: float
    low_m: float
    px_per_m_along: float
    exaggeration: float
    key_lines: int

    @classmethod
    def of(cls, zones: Sequence[ZoneProgress], width_px: int, *, key_lines: int) -> Sheet:
        """The sheet on which these zones fit in `width_px`, as tall as reads well."""
        first = min(z.along_from_m for z in zones)
        last = max(z.along_to_m for z in zones)
        ground = max(z.ground_level_m for z in zones)
        formation = min(z.formation_level_m for z in zones)
        high = ground + ABOVE_GROUND * (ground - formation)
        low = formation - BELOW_FORMATION * (ground - formation)
        narrow = width_px < theme.PHONE_PX
        tallest = 340 if narrow else 430
        left, right = _sides(narrow)
        per_m = (width_px - left - right - 2 * WALL_PX) / (last - first)
        per_m = min(per_m, tallest / (high - low))
        fits = [s for s in SCALES if per_m * s * (high - low) <= tallest]
        return cls(
            width_px, narrow, first, last, high, low, per_m, fits[-1] if fits else 1, key_lines
        )

    # --- the frame -------------------------------------------------------------------------------
    @property
    def left_px(self) -> int:
        """Room for the axis."""
        return _sides(self.narrow)[0]

    @property
    def plot_width_px(self) -> float:
        """Width between the outer faces of the walls."""
        return (self.last_m - self.first_m) * self.px_per_m_along + 2 * WALL_PX

    @property
    def right_px(self) -> float:
        """Room for the labels, and whatever the drawing leaves."""
        return self.width_px - self.left_px - self.plot_width_px

    @property
    def top_px(self) -> int:
        """Room for the names of the zones and their permitted levels."""
        return 52

    @property
    def plot_height_px(self) -> float:
        """Height of the drawing."""
        return (self.high_m - self.low_m) * self.px_per_m_up

    @property
    def bottom_px(self) -> int:
        """Room for the key and the scale."""
        return 24 + KEY_LINE_PX * (self.key_lines + 1)

    @property
    def height_px(self) -> float:
        """The whole figure."""
        return self.top_px + self.plot_height_px + self.bottom_px

    @property
    def px_per_m_up(self) -> float:
        """Pixels of one metre of level."""
        return self.px_per_m_along * self.exaggeration

    @property
    def start_m(self) -> float:
        """Outer face of the left wall."""
        return self.first_m - WALL_PX / self.px_per_m_along

    @property
    def end_m(self) -> float:
        """Outer face of the right wall."""
        return self.last_m + WALL_PX / self.px_per_m_along

    # --- metres and pixels -----------------------------------------------------------------------
    def x_px(self, along_m: float) -> float:
        """Pixels from the left edge."""
        return self.left_px + (along_m - self.start_m) * self.px_per_m_along

    def y_px(self, level_m: float) -> float:
        """Pixels from the top edge."""
        return self.top_px + (self.high_m - level_m) * self.px_per_m_up

    def along_m(self, x_px: float) -> float:
        """The other way round."""
        return self.start_m + (x_px - self.left_px) / self.px_per_m_along

    def level_m(self, y_px: float) -> float:
        """The other way round."""
        return self.high_m - (y_px - self.top_px) / self.px_per_m_up

    def across(self, x_px: float) -> float:
        """Share of the plot's width, as words and marks outside it are placed."""
        return (x_px - self.left_px) / self.plot_width_px

    def up(self, y_px: float) -> float:
        """Share of the plot's height, from its bottom."""
        return 1 - (y_px - self.top_px) / self.plot_height_px

    # --- what stands where -----------------------------------------------------------------------
    def level_ticks(self) -> list[float]:
        """Round levels for the axis, at least 45 px apart; none on a narrow sheet."""
        if self.narrow:
            return []
        step = next(s for s in (1, 2, 5, 10, 20, 50) if s * self.px_per_m_up >= 45)
        first, last = math.ceil(self.low_m / step), math.floor(self.high_m / step)
        return [float(n * step) for n in range(first, last + 1)]

    def supports(self, zone: ZoneProgress, level_m: float, kind: str) -> list[Box]:
        """Boxes of the supports just above a design dig level."""
        left, right = self.x_px(zone.along_from_m), self.x_px(zone.along_to_m)
        y = self.y_px(level_m) - 4
        if kind == "shaft":
            return [Box(left, y - 14, left + 8, y), Box(right - 8, y - 14, right, y)]
        size = 7 if self.narrow else 9
        shares = (0.2, 0.8) if right - left < 120 else (0.1, 0.3, 0.7, 0.9)
        middles = [left + (right - left) * share for share in shares]
        return [Box(m - size / 2, y - size, m + size / 2, y) for m in middles]

    @property
    def key_left_px(self) -> float:
        """Where the key starts."""
        return 4 if self.narrow else self.left_px

    def key_y_px(self, row: int) -> float:
        """Middle of a row of the key."""
        return self.top_px + self.plot_height_px + 26 + KEY_LINE_PX * row

    @property
    def scale_y_px(self) -> float:
        """Middle of the line that states the scale."""
        return self.key_y_px(self.key_lines)


def _sides(narrow: bool) -> tuple[int, int]:
    """Room left and right of the drawing [px]."""
    return (4, 78) if narrow else (56, 196)
