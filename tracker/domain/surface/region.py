"""Where a volume is counted: the wall line, holes in it (columns, piles), and the zones inside.

All geometry is kept about a local origin, so that national coordinates lose no digits: Qhull and
others drop points silently at a grid reference of half a million metres.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from tracker.errors import InputError

Floats = NDArray[np.float64]
Ring = Sequence[Sequence[float]] | Floats
Area: TypeAlias = shapely.Polygon | shapely.MultiPolygon

WHOLE = "all"  # the one zone of a region without zones
REST = "outside zones"  # what the zones leave of the outline
SLIVER_M2 = 0.01  # overlaps and remainders below this are rounding of the coordinates
GRID_M = 1e-6  # corners made by cutting lie on it, so that no spike of no width is left
LARGEST_AREA_M2 = 1e8


@dataclass(frozen=True, eq=False)
class Region:
    """Zones that do not overlap and together fill the outline, in metres about `origin_m`."""

    origin_m: tuple[float, float]
    outline: Area
    zones: tuple[str, ...]
    polygons: tuple[Area, ...]
    notes: tuple[str, ...] = ()

    @property
    def area_m2(self) -> float:
        """Plan area [m²]."""
        return float(sum(polygon.area for polygon in self.polygons))

    @property
    def zone_area_m2(self) -> Floats:
        """Plan area of each zone [m²]."""
        return np.array([polygon.area for polygon in self.polygons])

    @property
    def wall_length_m(self) -> Floats:
        """Length of each zone's edge that lies on the wall line or round a hole [m]."""
        wall = self.outline.boundary.buffer(0.005)
        return np.array([polygon.boundary.intersection(wall).length for polygon in self.polygons])

    @cached_property
    def zone_keys(self) -> tuple[str, ...]:
        """For each zone: the same for the same name in the same place, to a millimetre."""
        return tuple(
            self._key(name, polygon)
            for name, polygon in zip(self.zones, self.polygons, strict=True)
        )

    def _key(self, name: str, polygon: Area) -> str:
        placed = shapely.transform(polygon, lambda xy: xy + np.array(self.origin_m))
        told = hashlib.sha256(name.encode())
        told.update(shapely.to_wkb(shapely.set_precision(placed, 1e-3).normalize()))
        return told.hexdigest()[:16]

    def local(self, points_m: Floats) -> Floats:
        """Points about the origin, as a new array; levels are left as they are."""
        moved = np.array(points_m, dtype=np.float64)
        moved[:, 0] -= self.origin_m[0]
        moved[:, 1] -= self.origin_m[1]
        return moved

    def cut_to(self, boundary: Ring) -> Region:
        """The part of this region inside the boundary of a partial survey.

        Raises InputError if they do not overlap.
        """
        cutter = _moved(_polygon([boundary], "The boundary of the survey"), self.origin_m)
        pairs = [
            (name, _areal(shapely.intersection(polygon, cutter, grid_size=GRID_M)))
            for name, polygon in zip(self.zones, self.polygons, strict=True)
        ]
        kept = [(name, polygon) for name, polygon in pairs if polygon.area > SLIVER_M2]
        if not kept:
            raise InputError(
                "The boundary of the survey lies outside the outline: check its coordinates.",
                field="boundary",
            )
        names, polygons = zip(*kept, strict=True)
        outline = _areal(shapely.intersection(self.outline, cutter, grid_size=GRID_M))
        return Region(self.origin_m, outline, names, polygons, self.notes)


def region(rings: Sequence[Ring] | Area, zones: Mapping[str, Any] | None = None) -> Region:
    """The region inside the first ring, without the holes that the other rings are; or an area.

    `zones` maps a name to a list of rings of that zone, or to a polygon. A zone is cut to the
    outline; what the zones leave is the zone “outside zones”. Raises InputError for rings that
    cross themselves and for zones that overlap.
    """
    placed: Area = rings if isinstance(rings, Area) else _polygon(rings, "The outline")
    if placed.area > LARGEST_AREA_M2:
        raise InputError(
            f"The outline covers {placed.area:,.0f} m²: give it in metres.", field="outline"
        )
    west, south, _, _ = placed.bounds
    origin = (float(np.floor(west)), float(np.floor(south)))
    outline = _moved(placed, origin)
    if not zones:
        return Region(origin, outline, (WHOLE,), (outline,))
    notes: list[str] = []
    names: list[str] = []
    polygons: list[Any] = []
    for name, given in zones.items():
        what = f"Zone {name}"
        whole: Area = given if isinstance(given, Area) else _polygon(given, what)
        _check_valid(whole, what)
        inside = _areal(shapely.intersection(_moved(whole, origin), outline, grid_size=GRID_M))
        if inside.area <= SLIVER_M2:
            raise InputError(f"{what} lies outside the outline.", field="zones")
        if whole.area - inside.area > SLIVER_M2:
            beyond = whole.area - inside.area
            notes.append(f"{what} reaches {beyond:,.2f} m² beyond the outline; that was cut off.")
        names.append(name)
        polygons.append(inside)
    _check_apart(names, polygons)
    rest = _areal(
        shapely.difference(outline, shapely.union_all(polygons, grid_size=GRID_M), grid_size=GRID_M)
    )
    if rest.area > SLIVER_M2:
        notes.append(f"The zones leave {rest.area:,.2f} m² of the outline; see “{REST}”.")
        names.append(REST)
        polygons.append(rest)
    return Region(origin, outline, tuple(names), tuple(polygons), tuple(notes))


def plan_points(xy_m: Floats) -> NDArray[np.object_]:
    """Places as points of the geometry library."""
    return np.atleast_1d(np.asarray(shapely.points(xy_m), dtype=np.object_))


def _polygon(rings: Sequence[Ring], what: str) -> shapely.Polygon:
    if not rings:
        raise InputError(f"{what} has no points.", field="outline")
    checked = [_ring(ring, what) for ring in rings]
    polygon = shapely.Polygon(checked[0], checked[1:])
    _check_valid(polygon, what)
    return polygon


def _ring(ring: Ring, what: str) -> Floats:
    try:
        xy = np.array([[float(p[0]), float(p[1])] for p in ring])
    except (TypeError, ValueError, IndexError):
        raise InputError(f"{what} has a corner that is no pair of numbers.") from None
    if not np.all(np.isfinite(xy)):
        raise InputError(f"{what} has a corner that is no number.", field="outline")
    if len(np.unique(xy, axis=0)) < 3:
        raise InputError(f"{what} has fewer than three different corners.", field="outline")
    return xy


def _check_valid(polygon: Area, what: str) -> None:
    if not shapely.is_valid(polygon) or polygon.area <= SLIVER_M2:
        why = shapely.is_valid_reason(polygon)
        reason = "has no area" if why == "Valid Geometry" else f"is no clean ring ({why})"
        raise InputError(f"{what} {reason}: put its corners in order around it.", field="outline")


def _check_apart(names: Sequence[str], polygons: Sequence[Any]) -> None:
    for later, polygon in enumerate(polygons):
        for earlier in range(later):
            shared_m2 = polygon.intersection(polygons[earlier]).area
            if shared_m2 > SLIVER_M2:
                raise InputError(
                    f"Zones {names[earlier]} and {names[later]} overlap by {shared_m2:,.2f} m²:"
                    " a cubic metre may be counted once only. Redraw them along one line.",
                    field="zones",
                )


def _moved(polygon: Any, origin: tuple[float, float]) -> Any:
    return shapely.transform(polygon, lambda xy: xy - np.array(origin))


def _areal(geometry: Any) -> Any:
    """The parts of a geometry that have an area, without lines and points of touching edges."""
    parts = [
        part
        for part in shapely.get_parts(shapely.get_parts(geometry))
        if part.geom_type == "Polygon" and part.area > 1e-6
    ]
    return shapely.union_all(parts) if parts else shapely.Polygon()
