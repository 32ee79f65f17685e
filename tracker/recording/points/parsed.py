"""What every reader of points gives, before unit and datum are applied."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Progress = Callable[[int, int], None]  # done, of how many


@dataclass(eq=False)
class Parsed:
    """Points as easting, northing, level in the unit of the file; lines, outlines, triangles.

    `faces` index `corners`. `unit` is what the file itself says, or empty.
    """

    points: Floats = field(default_factory=lambda: np.empty((0, 3)))
    breaklines: list[Floats] = field(default_factory=list)
    outlines: list[Floats] = field(default_factory=list)
    corners: Floats = field(default_factory=lambda: np.empty((0, 3)))
    faces: NDArray[np.int64] = field(default_factory=lambda: np.empty((0, 3), dtype=np.int64))
    unit: str = ""
    notes: list[str] = field(default_factory=list)


def in_silence(_done: int, _of: int) -> None:
    """Progress that nobody watches."""
