"""Points of flat floors whose volumes anybody can work out: zones of 10 m x 10 m in a row."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

ZONE_M = 10.0
SPACING_M = 0.5


def floor_points(levels_m: Sequence[float | None], east_m: float = 0.0) -> np.ndarray:
    """Points every half metre on flat floors, one zone after the other eastwards; None: no points.

    They keep a quarter of a metre off every edge, as surveys do.
    """
    places = np.arange(SPACING_M / 2, ZONE_M, SPACING_M)
    east, north = (grid.ravel() for grid in np.meshgrid(places, places))
    return np.concatenate(
        [
            np.column_stack([east_m + number * ZONE_M + east, north, np.full(len(east), level)])
            for number, level in enumerate(levels_m)
            if level is not None
        ]
    )


def write_points(path: Path, points: np.ndarray) -> Path:
    """Points as a text file of easting, northing, level."""
    lines = [f"{east:.3f},{north:.3f},{level:.3f}" for east, north, level in points]
    path.write_text("\n".join(lines) + "\n")
    return path
