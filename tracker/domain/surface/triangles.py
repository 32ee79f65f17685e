"""Constrained Delaunay triangulation inside a polygon, behind one function."""

from __future__ import annotations

from typing import Any

import numpy as np
import pythoncdt as cdt
import shapely
from numpy.typing import NDArray

from tracker.domain.surface.region import Area, Floats
from tracker.errors import InputError

_SUPER = 3  # corners of the triangle that the library draws round everything


def triangles_inside(
    xy_m: Floats, edges: NDArray[np.uint32], polygon: Area, on_ring: int
) -> NDArray[np.int32]:
    """Corners of the triangles that fill the polygon, as indices into `xy_m`.

    The first `on_ring` places are on the rings of the polygon, all others inside it; `edges` must
    hold every ring. No edge is crossed by a triangle. Raises InputError where edges cross.
    """
    # the library's hints know buffers only from Python 3.12 on
    vertices: Any = np.ascontiguousarray(xy_m)
    constraints: Any = np.ascontiguousarray(edges)
    net = cdt.Triangulation(
        cdt.VertexInsertionOrder.AUTO, cdt.IntersectingConstraintEdges.NOT_ALLOWED, 0.0
    )
    try:
        net.insert_vertices(vertices)
        net.insert_edges(constraints)
    except RuntimeError as error:
        why = str(error).splitlines()[0]
        raise InputError(
            f"The lines and points cannot be joined to triangles ({why}): look for breaklines that"
            " cross each other or the outline."
        ) from None
    raw = net.triangles_array(copy=False)["vertices"]
    a, b, c = (raw[:, corner].astype(np.int32) for corner in range(3))
    # outside the polygon and in its holes all corners are on a ring; tested by place, not by
    # depth, since a closed breakline is no hole
    last = on_ring + _SUPER
    kept = (a >= _SUPER) & (b >= _SUPER) & (c >= _SUPER)
    doubtful = np.flatnonzero(kept & (a < last) & (b < last) & (c < last))
    corners = np.column_stack([a[doubtful], b[doubtful], c[doubtful]]) - _SUPER
    middle = xy_m[corners].mean(axis=1)
    shapely.prepare(polygon)
    kept[doubtful] = shapely.contains_xy(polygon, middle[:, 0], middle[:, 1])
    # columns are whole in memory: they are what is read later
    found = np.stack([a[kept], b[kept], c[kept]])
    found -= _SUPER
    return found.T
