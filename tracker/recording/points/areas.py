"""Outlines from CSV or DXF, and zones from GeoJSON, in the grid of the points."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from tracker.errors import InputError
from tracker.recording.points.drawing import read_drawing
from tracker.recording.points.parsed import Floats


def read_outline(path: Path) -> list[Floats]:
    """Rings of an outline: the wall line first, then holes.

    CSV: a corner a line, easting then northing; a blank line ends a ring. DXF: closed polylines.
    Raises InputError.
    """
    if path.suffix.lower() == ".dxf":
        rings = read_drawing(path).outlines
        if not rings:
            raise InputError(f"{path.name} has no closed polyline for an outline.", field="outline")
        return sorted(rings, key=lambda ring: -shapely.Polygon(ring).area)
    text = text_of(path)
    found: list[Floats] = []
    corners: list[tuple[float, float]] = []
    for number, line in enumerate(text.splitlines(), 1):
        if line.lstrip().startswith("#"):
            continue
        cells = [cell.strip().strip('"') for cell in line.replace(";", ",").split(",")]
        if len(cells) == 1:
            cells = line.split()
        if not any(cells):
            if corners:
                found.append(np.array(corners))
            corners = []
            continue
        corner = _corner(cells)
        if corner is not None:
            corners.append(corner)
        elif corners or found or _holds_number(cells):
            raise InputError(
                f"{path.name}, line {number}: “{line[:60]}” is no easting and northing. Write"
                " them as 1234.5,6789.0.",
                field="outline",
            )
    if corners:
        found.append(np.array(corners))
    if not found:
        raise InputError(f"{path.name} has no corners: give a corner a line.", field="outline")
    return found


def read_zones(path: Path) -> dict[str, Any]:
    """Zones by name from the polygons of a GeoJSON feature collection.

    The name is the property `zone` or `name`. Raises InputError.
    """
    try:
        data = json.loads(text_of(path))
    except (ValueError, RecursionError) as error:
        raise InputError(f"{path.name} is no GeoJSON ({error}).", field="zones") from None
    features = data.get("features") if isinstance(data, dict) else None
    if not isinstance(features, list) or not features:
        raise InputError(f"{path.name} has no features: give a collection of polygons.")
    zones: dict[str, Any] = {}
    for number, feature in enumerate(features, 1):
        name, shape = _zone(path, number, feature)
        if name in zones:
            raise InputError(f"{path.name}: zone {name} is drawn twice. Merge the two.")
        zones[name] = shape
    return zones


def _zone(path: Path, number: int, feature: Any) -> tuple[str, Any]:
    try:
        told = feature.get("properties") or {}
        name = told.get("zone", told.get("name", feature.get("id")))
        shape = shapely.force_2d(shapely.from_geojson(json.dumps(feature["geometry"])))
    except (AttributeError, KeyError, TypeError, shapely.GEOSException):
        raise InputError(
            f"{path.name}, feature {number} has no geometry that can be read."
        ) from None
    if name in (None, ""):
        raise InputError(f"{path.name}, feature {number} has no property “zone” or “name”.")
    if shape.geom_type not in ("Polygon", "MultiPolygon"):
        raise InputError(f"{path.name}: zone {name} is a {shape.geom_type}; draw a polygon.")
    return str(name), shape


def text_of(path: Path) -> str:
    """The text of a small file, whatever its encoding. Raises InputError if it is not there."""
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror}).", field="file") from None
    for encoding in ("utf-8-sig", "utf-16", "cp1252"):
        try:
            if encoding != "utf-16" or raw.startswith((b"\xff\xfe", b"\xfe\xff")):
                return raw.decode(encoding)
        except UnicodeDecodeError:
            continue
    return raw.decode("latin-1")


def _corner(cells: list[str]) -> tuple[float, float] | None:
    if len(cells) not in (2, 3):
        return None
    try:
        east, north = float(cells[0]), float(cells[1])
    except ValueError:
        return None
    return (east, north) if np.isfinite(east) and np.isfinite(north) else None


def _holds_number(cells: list[str]) -> bool:
    return any(any(c.isdigit() for c in cell) for cell in cells)
