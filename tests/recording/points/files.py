"""Invented survey files, written by the libraries that other programs use, or as plain text."""

from __future__ import annotations

import numpy as np
import shapely

EAST, NORTH = 530_000.0, 180_000.0
OUTLINE = shapely.box(EAST, NORTH, EAST + 60, NORTH + 40)


def floor_points(count=400, seed=1):
    """Points of a floor at about -7 m in national coordinates."""
    chance = np.random.default_rng(seed)
    x, y = chance.uniform(0.5, 59.5, count), chance.uniform(0.5, 39.5, count)
    return np.column_stack([EAST + x, NORTH + y, -7.0 + 0.01 * x])


def rows_text(points, order="ENZ", separator=",", number="{:.3f}"):
    """Lines of text in a column order."""
    lines = []
    for k, (east, north, level) in enumerate(points, 1):
        cells = {"P": f"P{k}", "E": number.format(east), "N": number.format(north),
                 "Z": number.format(level), "D": "floor, wet"}  # fmt: skip
        lines.append(separator.join(cells[column] for column in order))
    return "\n".join(lines) + "\n"


def landxml(points, faces=(), unit='<Metric linearUnit="meter"/>', head="", extra=""):
    """A LandXML file of one surface; a place is northing, easting, elevation."""
    places = "".join(
        f'<P id="{k}">{n:.4f} {e:.4f} {z:.4f}</P>' for k, (e, n, z) in enumerate(points, 1)
    )
    corners = "".join(f"<F>{a + 1} {b + 1} {c + 1}</F>" for a, b, c in faces)
    return (
        f'<?xml version="1.0"?>{head}<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2">'
        f'<Units>{unit}</Units><Surfaces><Surface name="floor"><Definition surfType="TIN">'
        f"<Pnts>{places}</Pnts><Faces>{corners}</Faces></Definition>{extra}</Surface></Surfaces>"
        "</LandXML>"
    )
