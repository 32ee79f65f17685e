"""Lines, rectangles, triangles and words on a sheet, in pixels from its top left corner.

They are gathered as plain dictionaries and handed to the chart library once: added one by one,
each would be checked against all the others, and a section would take seconds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Protocol

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.lettering import LINE_HEIGHT, Box, text_width


class Paper(Protocol):
    """What is drawn on: pixels as shares of the plot, as words and marks outside it are placed."""

    def across(self, x_px: float) -> float:
        """Share of the plot's width."""

    def up(self, y_px: float) -> float:
        """Share of the plot's height, from its bottom."""


# Outlines of small marks [px] about their middle.
SYMBOLS = {
    "circle": "M 3 0 L 2 2 L 0 3 L -2 2 L -3 0 L -2 -2 L 0 -3 L 2 -2 Z",
    "x": "M 0 1.5 L 2 3.5 L 3.5 2 L 1.5 0 L 3.5 -2 L 2 -3.5 L 0 -1.5 L -2 -3.5 L -3.5 -2"
    " L -1.5 0 L -3.5 2 L -2 3.5 Z",
    "diamond": "M 0 4 L 4 0 L 0 -4 L -4 0 Z",
    "square": "M 3 3 L 3 -3 L -3 -3 L -3 3 Z",
}


@dataclass(frozen=True, slots=True)
class Label:
    """Some words, where they stand, and a leader to what they name."""

    text: str
    box: Box
    size_px: int
    colour: str
    align: str = "center"
    on_paper: bool = False
    leader: tuple[tuple[float, float], tuple[float, float]] | None = None

    @classmethod
    def at_left(cls, text: str, x: float, y: float, size_px: int, colour: str) -> Label:
        """One line of words that starts at a point."""
        half = size_px * LINE_HEIGHT / 2
        box = Box(x, y - half, x + text_width(text, size_px), y + half)
        return cls(text, box, size_px, colour, "left")


@dataclass(slots=True)
class Drawing:
    """What has been drawn on a sheet so far."""

    sheet: Paper
    traces: list[dict[str, Any]] = field(default_factory=list)
    shapes: list[dict[str, Any]] = field(default_factory=list)
    annotations: list[dict[str, Any]] = field(default_factory=list)

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        colour: str,
        width_px: float = 1,
        dash: str = "solid",
    ) -> None:
        """A line between two points."""
        self._shape("line", start, end, line={"color": colour, "width": width_px, "dash": dash})

    def rectangle(self, box: Box, fill: str, edge: str = "", edge_px: float = 0) -> None:
        """A filled rectangle, with an edge if one is asked for."""
        self._shape(
            "rect",
            (box.left, box.top),
            (box.right, box.bottom),
            fillcolor=fill,
            line={"color": edge or fill, "width": edge_px},
        )

    def triangle(
        self, point: tuple[float, float], half_px: float, high_px: float, fill: str
    ) -> None:
        """A triangle that stands on its point."""
        path = f"M 0 0 L {half_px} {high_px} L {-half_px} {high_px} Z"
        self._path(point, path, fill, theme.PAPER)

    def arrowhead(
        self, point: tuple[float, float], half_px: float, high_px: float, fill: str
    ) -> None:
        """A triangle with its point up."""
        self._path(point, f"M 0 0 L {half_px} {-high_px} L {-half_px} {-high_px} Z", fill, fill)

    def outline(self, middle: tuple[float, float], symbol: str) -> None:
        """A small mark on white as the chart library draws that symbol."""
        self._path(middle, SYMBOLS[symbol], theme.PAPER, theme.INK)

    def words(self, label: Label) -> None:
        """A label, and its leader if it has one."""
        x, y = label.box.centre
        self.annotations.append(
            {
                "x": self.sheet.across(label.box.left if label.align == "left" else x),
                "y": self.sheet.up(y),
                "xref": "paper",
                "yref": "paper",
                "text": label.text,
                "xanchor": label.align,
                "yanchor": "middle",
                "align": label.align,
                "showarrow": False,
                "borderpad": 3 if label.on_paper else 0,
                "bgcolor": theme.PAPER if label.on_paper else "rgba(0,0,0,0)",
                "font": {"size": label.size_px, "color": label.colour},
            }
        )
        if label.leader:
            self.line(*label.leader, theme.GREY if label.align == "left" else label.colour)

    def figure(self, layout: dict[str, Any]) -> go.Figure:
        """The finished figure."""
        drawn = {"shapes": self.shapes, "annotations": self.annotations}
        return go.Figure(data=self.traces, layout={**layout, **drawn})

    def _path(self, point: tuple[float, float], path: str, fill: str, edge: str) -> None:
        """A closed path in pixels about a point; up is positive."""
        self.shapes.append(
            {
                "type": "path",
                "path": path,
                "xref": "paper",
                "yref": "paper",
                "xsizemode": "pixel",
                "ysizemode": "pixel",
                "xanchor": self.sheet.across(point[0]),
                "yanchor": self.sheet.up(point[1]),
                "fillcolor": fill,
                "line": {"width": 1, "color": edge},
            }
        )

    def _shape(
        self, kind: str, start: tuple[float, float], end: tuple[float, float], **look: Any
    ) -> None:
        across, up = self.sheet.across, self.sheet.up
        self.shapes.append(
            {
                "type": kind,
                "xref": "paper",
                "yref": "paper",
                "x0": across(start[0]),
                "y0": up(start[1]),
                "x1": across(end[0]),
                "y1": up(end[1]),
                **look,
            }
        )
