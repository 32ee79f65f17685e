"""The sheet a plan is drawn on: north up, one scale both ways, rows of a key below."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from dashboard import theme
from dashboard.figures.level_grid import extent_m
from dashboard.figures.sheet import KEY_LINE_PX

if TYPE_CHECKING:
    from tracker.domain.surface.picture import Picture

EDGE_PX = 4
TOP_PX = 14  # so that the mark of a point on the north edge stands on the sheet
BARS_M = (1, 2, 5, 10, 20, 50, 100, 200, 500)
RAMP_ROW_PX = 40


@dataclass(frozen=True, slots=True)
class PlanSheet:
    """One scale; pixels count from the top left corner of the figure, metres in the site grid."""

    width_px: int
    narrow: bool
    west_m: float
    south_m: float
    east_m: float
    north_m: float
    px_per_m: float
    key_lines: int

    @classmethod
    def of(cls, picture: Picture, width_px: int, *, key_lines: int) -> PlanSheet:
        """The sheet on which the picture fits in `width_px`, as tall as reads well."""
        (west, south), (east, north) = (corner.tolist() for corner in extent_m(picture))
        narrow = width_px < theme.PHONE_PX
        tallest = 340 if narrow else 430
        per_m = min((width_px - 2 * EDGE_PX) / (east - west), tallest / (north - south))
        return cls(width_px, narrow, west, south, east, north, per_m, key_lines)

    @property
    def plot_width_px(self) -> float:
        """Width of the drawing."""
        return (self.east_m - self.west_m) * self.px_per_m

    @property
    def plot_height_px(self) -> float:
        """Height of the drawing."""
        return (self.north_m - self.south_m) * self.px_per_m

    @property
    def right_px(self) -> float:
        """What the drawing leaves beside it."""
        return self.width_px - EDGE_PX - self.plot_width_px

    @property
    def bottom_px(self) -> float:
        """Room for the colour scale, the bar and the key."""
        return 16 + RAMP_ROW_PX + KEY_LINE_PX * (self.key_lines + 1)

    @property
    def height_px(self) -> float:
        """The whole figure."""
        return TOP_PX + self.plot_height_px + self.bottom_px

    def x_px(self, easting_m: float) -> float:
        """Pixels from the left edge."""
        return EDGE_PX + (easting_m - self.west_m) * self.px_per_m

    def y_px(self, northing_m: float) -> float:
        """Pixels from the top edge."""
        return TOP_PX + (self.north_m - northing_m) * self.px_per_m

    def across(self, x_px: float) -> float:
        """Share of the plot's width, as words and marks outside it are placed."""
        return (x_px - EDGE_PX) / self.plot_width_px

    def up(self, y_px: float) -> float:
        """Share of the plot's height, from its bottom."""
        return 1 - (y_px - TOP_PX) / self.plot_height_px

    @property
    def ramp_y_px(self) -> float:
        """Top of the colour scale."""
        return TOP_PX + self.plot_height_px + 16

    def key_y_px(self, row: int) -> float:
        """Middle of a row of the key."""
        return self.ramp_y_px + RAMP_ROW_PX + KEY_LINE_PX * row + 8

    @property
    def bar_m(self) -> int:
        """The longest round length that a scale bar of 120 px holds."""
        fitting = [length for length in BARS_M if length * self.px_per_m <= 120]
        return fitting[-1] if fitting else BARS_M[0]
