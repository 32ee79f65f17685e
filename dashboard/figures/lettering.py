"""How wide a label is and where it may stand: drawing-sheet lettering in pixels.

Charts place text by their own rules and let it overlap. A section may not: here every label is
a box in pixels (x to the right, y downwards), and a box is moved until it overlaps nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

# Advance widths of Inter semibold, printable ASCII from the space on [1/1000 em], read from the
# packaged font; figures are taken tabular. Semibold is the wider cut, so plain text fits as well.
_ADVANCES = (
    252, 321, 523, 660, 660, 1004, 663, 326, 373, 373, 540, 673, 319, 465, 319, 379,
    660, 660, 660, 660, 660, 660, 660, 660, 660, 660, 319, 329, 673, 673, 673, 543,
    999, 728, 659, 737, 722, 605, 588, 749, 746, 277, 580, 703, 565, 922, 759, 769,
    645, 773, 652, 650, 660, 736, 728, 1020, 720, 713, 652, 373, 379, 373, 481, 469,
    351, 574, 624, 583, 624, 591, 389, 625, 612, 262, 262, 569, 262, 900, 612, 609,
    624, 624, 397, 549, 353, 612, 587, 839, 569, 588, 566, 455, 359, 455, 673,
)  # fmt: skip
_OTHER = 680
LINE_HEIGHT = 1.3  # of the font size, as the chart library sets it


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the sheet [px], y downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Box) -> bool:
        """Whether the two share any area."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def moved(self, dx: float, dy: float) -> Box:
        """The same box elsewhere."""
        return Box(self.left + dx, self.top + dy, self.right + dx, self.bottom + dy)

    @property
    def centre(self) -> tuple[float, float]:
        """Its middle."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2


def text_width(text: str, size_px: float) -> float:
    """Width of one line of lettering [px].

    >>> text_width("90.60", 10)
    29.59
    """
    codes = (ord(c) - 32 for c in text)
    per_mille = sum(_ADVANCES[c] if 0 <= c < len(_ADVANCES) else _OTHER for c in codes)
    return per_mille * size_px / 1000


def text_box(lines: Sequence[str], size_px: float, x: float, y: float, around_px: float = 0) -> Box:
    """The box of some lines of text centred on a point, with some room around them."""
    half_width = max(text_width(line, size_px) for line in lines) / 2 + around_px + 1
    half_height = len(lines) * size_px * LINE_HEIGHT / 2 + around_px
    return Box(x - half_width, y - half_height, x + half_width, y + half_height)


def wrapped(text: str, size_px: float, width_px: float) -> list[str]:
    """The text in lines no wider than `width_px`, broken between words."""
    lines: list[str] = []
    for word in text.split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(joined, size_px) <= width_px:
            lines[-1] = joined
        else:
            lines.append(word)
    return lines


def free_place(boxes: Iterable[Box], taken: Iterable[Box], sheet: Box) -> Box | None:
    """The first of the boxes that overlaps nothing on the sheet; None where all do.

    Each is first pushed sideways into the sheet.
    """
    obstacles = list(taken)
    for box in boxes:
        dx = max(0.0, sheet.left - box.left) - max(0.0, box.right - sheet.right)
        placed = box.moved(dx, 0)
        inside = sheet.top <= placed.top and placed.bottom <= sheet.bottom
        if inside and not any(placed.overlaps(other) for other in obstacles):
            return placed
    return None


def spread(wanted: Sequence[float], gap: float, top: float, bottom: float) -> list[float]:
    """Places in the order of `wanted`, at least `gap` apart, as near to it as that allows.

    >>> spread([10, 12, 40], 10, 0, 100)
    [6.0, 16.0, 40.0]
    """
    groups: list[list[float]] = []
    for place in wanted:
        groups.append([place])
        while len(groups) > 1 and _first(groups[-1], gap) < _last(groups[-2], gap) + gap:
            groups[-2:] = [groups[-2] + groups[-1]]
    places = [_first(g, gap) + gap * n for g in groups for n in range(len(g))]
    return _within(places, gap, top, bottom)


def _first(group: Sequence[float], gap: float) -> float:
    return sum(group) / len(group) - gap * (len(group) - 1) / 2


def _last(group: Sequence[float], gap: float) -> float:
    return sum(group) / len(group) + gap * (len(group) - 1) / 2


def _within(places: list[float], gap: float, top: float, bottom: float) -> list[float]:
    """The places pushed back inside [top, bottom], bottom first."""
    kept = [max(top + gap * n, p) for n, p in enumerate(places)]
    kept = [min(bottom - gap * n, p) for n, p in enumerate(reversed(kept))][::-1]
    return [float(p) for p in kept] if _apart(kept, gap) else places


def _apart(places: Sequence[float], gap: float) -> bool:
    return all(b - a >= gap - 1e-6 for a, b in pairwise(places))
