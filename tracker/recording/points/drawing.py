"""Points, breaklines and outlines from DXF drawings."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from tracker.errors import InputError
from tracker.recording.points.extras import survey_library
from tracker.recording.points.parsed import Parsed

_UNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 21: "us-ft"}  # $INSUNITS
_FLAT_M = 0.005  # arcs are drawn as chords that leave them by no more


def read_drawing(path: Path) -> Parsed:
    """Points of the model; 3D polylines as breaklines; closed flat polylines as outlines.

    Raises InputError for a file that is damaged or holds none of these.
    """
    ezdxf = survey_library("ezdxf", "DXF")
    try:
        drawing = ezdxf.readfile(path)
        parsed = _taken(drawing)
    except Exception as error:  # damaged drawings make the library fail in many ways
        why = (str(error).splitlines() or [type(error).__name__])[0][:120]
        raise InputError(
            f"{path.name} cannot be read as DXF ({why}): it is damaged or no DXF. Export it again.",
            field="file",
        ) from None
    if not (len(parsed.points) or parsed.breaklines or parsed.outlines):
        raise InputError(
            f"{path.name} holds no points, 3D polylines or closed polylines in its model. Blocks"
            " are not read: explode them first.",
            field="file",
        )
    return parsed


def _taken(drawing: Any) -> Parsed:
    parsed = Parsed(unit=_UNITS.get(int(drawing.header.get("$INSUNITS", 0)), ""))
    model = drawing.modelspace()
    places = [tuple(e.dxf.location) for e in model.query("POINT")]
    parsed.points = np.array(places, dtype=np.float64).reshape(-1, 3)
    for line in model.query("POLYLINE"):
        if line.is_3d_polyline:
            xyz = [tuple(v.dxf.location) for v in line.vertices]
            if line.is_closed and xyz:
                xyz.append(xyz[0])
            parsed.breaklines.append(np.array(xyz, dtype=np.float64).reshape(-1, 3))
        elif line.is_2d_polyline and line.is_closed:
            parsed.outlines.append(_flattened(line))
    parsed.outlines += [_flattened(e) for e in model.query("LWPOLYLINE") if e.closed]
    return parsed


def _flattened(entity: Any) -> Any:
    path = survey_library("ezdxf.path", "DXF").make_path(entity)
    return np.array([(v.x, v.y) for v in path.flattening(_FLAT_M)], dtype=np.float64)
