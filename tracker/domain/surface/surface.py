"""A surveyed surface: triangles inside the wall line, each in exactly one zone.

Each zone is triangulated by itself, with its own points and its own ring. So a vertical step along
a zone line stays a step, and no triangle reaches across.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from tracker.domain.surface.breaklines import checked_breaklines, line_edges, lines_within
from tracker.domain.surface.cleaning import (
    SAME_PLACE_M,
    cell_medians,
    clear_of_ring,
    collinear,
)
from tracker.domain.surface.ground_filter import GroundFilter, off_ground
from tracker.domain.surface.region import Area, Floats, Region, plan_points
from tracker.domain.surface.triangles import triangles_inside
from tracker.domain.surface.wall_line import Ring, closed_ring
from tracker.errors import InputError, NotEnoughData

REASONS = (
    "not_a_number",
    "outside",
    "near_wall",
    "above_ground",
    "below_ground",
    "duplicate",
    "thinned",
)


@dataclass(frozen=True, slots=True)
class Cleaning:
    """What is done to points before they are joined; nothing but duplicates unless asked."""

    thin_m: float | None = None
    ground_filter: GroundFilter | None = None
    level_sigma_m: float = 0.01  # duplicates further apart than three of these are reported


@dataclass(frozen=True, eq=False)
class Surface:
    """Triangles over a region, with what is needed to judge them. Places about the origin.

    `measured` is false for ring vertices whose level is an extrapolation: `derived` lists them,
    `sources` and `weights` say from which vertices they were taken, in which shares. `points_m` are
    the places that were measured, those not `free` being vertices of breaklines.
    """

    region: Region
    xyz_m: Floats
    triangles: NDArray[np.int32]
    zone: NDArray[np.int16]
    measured: NDArray[np.bool_]
    spacing_m: float
    points_in: int
    points_used: int
    rejected: dict[str, int]
    sources: NDArray[np.intp] = field(default_factory=lambda: np.empty((0, 0), dtype=np.intp))
    weights: Floats = field(default_factory=lambda: np.empty((0, 0)))
    derived: NDArray[np.intp] = field(default_factory=lambda: np.empty(0, dtype=np.intp))
    points_m: Floats = field(default_factory=lambda: np.empty((0, 3)))
    point_zone: NDArray[np.int16] = field(default_factory=lambda: np.empty(0, dtype=np.int16))
    free: NDArray[np.bool_] = field(default_factory=lambda: np.empty(0, dtype=np.bool_))
    lines_m: tuple[Floats, ...] = ()
    left_out_m: dict[str, Floats] = field(default_factory=dict)  # points by their reason
    warnings: tuple[str, ...] = ()

    @property
    def corner_levels_m(self) -> tuple[Floats, Floats, Floats]:
        """Level at each of the three corners of every triangle [m]."""
        level = np.ascontiguousarray(self.xyz_m[:, 2])
        return tuple(level[self.triangles[:, corner]] for corner in range(3))  # type: ignore[return-value]

    @property
    def area_m2(self) -> Floats:
        """Plan area of every triangle [m²]."""
        x, y = np.ascontiguousarray(self.xyz_m[:, 0]), np.ascontiguousarray(self.xyz_m[:, 1])
        a, b, c = (self.triangles[:, corner] for corner in range(3))
        west, south = x[a], y[a]
        one, other = x[b], x[c]  # worked on in place: these arrays are large
        one -= west
        other -= west
        one *= y[c] - south
        other *= y[b] - south
        one -= other
        np.abs(one, out=one)
        one /= 2.0
        return one

    @property
    def longest_side_m(self) -> Floats:
        """Longest side of every triangle in plan [m]."""
        corners = [self.xyz_m[self.triangles[:, corner], :2] for corner in range(3)]
        sides = [np.hypot(*(corners[i] - corners[i - 1]).T) for i in range(3)]
        return np.asarray(np.maximum.reduce(sides))


@dataclass(frozen=True, eq=False)
class _Cleaned:
    by_zone: list[Floats]
    rejected: dict[str, int]
    left_out_m: dict[str, Floats]
    warnings: tuple[str, ...]


def surveyed_surface(
    points_m: Floats,
    region: Region,
    breaklines_m: Sequence[Floats] = (),
    cleaning: Cleaning | None = None,
) -> Surface:
    """The surface through the points inside a region, closed at the wall line.

    Points are easting, northing, level in the grid of the outline [m]. Every point is used or
    counted under one reason of REASONS. Raises InputError if none lies inside, or if all of them
    lie on one line, NotEnoughData if a zone has fewer than three.
    """
    options = cleaning or Cleaning()
    lines = checked_breaklines(breaklines_m, region.origin_m)
    cleaned = _cleaned(region.local(points_m), region, options, bool(lines))
    return replace(
        joined_surface(cleaned.by_zone, region, lines),
        points_in=len(points_m),
        rejected=cleaned.rejected,
        left_out_m=cleaned.left_out_m,
        warnings=cleaned.warnings,
    )


def _cleaned(points: Floats, region: Region, options: Cleaning, has_lines: bool) -> _Cleaned:
    rejected = dict.fromkeys(REASONS, 0)
    finite = np.isfinite(points).all(axis=1)
    rejected["not_a_number"] = int((~finite).sum())
    usable = points if finite.all() else points[finite]
    split = [clear_of_ring(usable, polygon) for polygon in region.polygons]
    clear = [inside for inside, _ in split]
    rejected["near_wall"] = sum(len(strip) for _, strip in split)
    rejected["outside"] = len(usable) - rejected["near_wall"] - sum(len(p) for p in clear)
    if not has_lines:
        _check_enough(clear, usable, region)
    left_out = {"near_wall": np.concatenate([strip for _, strip in split])}
    if options.ground_filter is not None:
        clear = _filtered(clear, options.ground_filter, left_out)
        rejected |= {reason: len(points) for reason, points in left_out.items()}
    warnings: list[str] = []
    for zone, inside in enumerate(clear):
        if len(inside):
            clear[zone] = _grouped(inside, options, rejected, warnings)
    return _Cleaned(clear, rejected, left_out, tuple(warnings))


def _filtered(
    zones: list[Floats], settings: GroundFilter, left_out: dict[str, Floats]
) -> list[Floats]:
    """By zone, so that a step along a zone line is no rejected point."""
    nothing = np.empty((0, 3))
    kept, high, low = [], [nothing], [nothing]
    for points in zones:
        if len(points):
            above, below = off_ground(points, settings)
            high.append(points[above])
            low.append(points[below])
            points = points[~(above | below)]
        kept.append(points)
    left_out["above_ground"], left_out["below_ground"] = np.concatenate(high), np.concatenate(low)
    return kept


def _grouped(
    points: Floats, options: Cleaning, rejected: dict[str, int], warnings: list[str]
) -> Floats:
    single, spread = cell_medians(points, SAME_PLACE_M)
    rejected["duplicate"] += len(points) - len(single)
    apart = int((spread > 3.0 * options.level_sigma_m).sum())
    if apart:
        warnings.append(
            f"{apart:,} place{'s' if apart > 1 else ''} measured more than once, with levels up to"
            f" {spread.max():.3f} m apart: the median was taken. Check for two surfaces in it."
        )
    if options.thin_m is None:
        return single
    thin, _ = cell_medians(single, options.thin_m)
    rejected["thinned"] += len(single) - len(thin)
    return thin


def _check_enough(zones: list[Floats], points: Floats, region: Region) -> None:
    inside = sum(len(zone) for zone in zones)
    if inside == 0:
        raise InputError(_all_outside(points, region), field="points")
    for points_m, name in zip(zones, region.zones, strict=True):
        where = f"zone {name}" if len(zones) > 1 else "the outline"
        if len(points_m) < 3:
            raise NotEnoughData(
                f"Only {len(points_m)} of {len(points):,} points lie inside {where}, clear of its"
                " edge: a surface needs three at least. Give the outline of what was surveyed."
            )
        if collinear(points_m):
            raise InputError(
                f"The {len(points_m):,} points inside {where} lie on one line: they give no"
                " surface. Check the column order.",
                field="points",
            )


def _all_outside(points: Floats, region: Region) -> str:
    if not len(points):
        return "The file has no points."
    east, north = region.origin_m
    low, high = points[:, :2].min(axis=0), points[:, :2].max(axis=0)
    west, south, far_east, far_north = region.outline.bounds
    return (
        f"None of {len(points):,} points lies inside the outline, clear of its edge. Points: E"
        f" {low[0] + east:,.1f} to {high[0] + east:,.1f}, N {low[1] + north:,.1f} to"
        f" {high[1] + north:,.1f}; outline: E {west + east:,.1f} to {far_east + east:,.1f}, N"
        f" {south + north:,.1f} to {far_north + north:,.1f}. Check the column order, the unit and"
        " the grid of both."
    )


def joined_surface(by_zone: Sequence[Floats], region: Region, lines: Sequence[Floats]) -> Surface:
    """The surface through points that are clean already, zone by zone, about the origin.

    Raises NotEnoughData where a zone has too few.
    """
    known = sum(len(points) for points in (*by_zone, *lines))
    spacing = float(np.sqrt(region.area_m2 / max(known, 1)))
    parts = [
        _zone_surface(points, polygon, list(lines), spacing, name)
        for points, polygon, name in zip(by_zone, region.polygons, region.zones, strict=True)
    ]
    return replace(
        _joined(parts, region, spacing),
        points_used=sum(len(points) for points in by_zone),
        points_in=sum(len(points) for points in by_zone),
        lines_m=tuple(lines),
    )


@dataclass(frozen=True, eq=False)
class _Part:
    known_m: Floats  # measured places: points, then vertices of breaklines
    points: int
    xyz_m: Floats
    triangles: NDArray[np.int32]
    ring: Ring
    first_point: int
    by_points: bool  # no breakline took part in the levels of the ring


def _zone_surface(
    points: Floats, polygon: Area, lines: list[Floats], spacing: float, name: str
) -> _Part:
    inside = lines_within(lines, polygon, spacing)
    known = np.concatenate([points, *inside]) if inside else points
    if len(known) < 3 or collinear(known):
        raise NotEnoughData(
            f"Zone {name} has too few points and breaklines for a surface: three are needed, not"
            " on one line."
        )
    ring = closed_ring(polygon, spacing, known, inside)
    own, edges = line_edges(inside, ring.xy_m, polygon, len(ring.xy_m))
    free = _off_lines(points, own)
    first_point = len(ring.xy_m) + len(own)
    xyz = np.concatenate([np.column_stack([ring.xy_m, ring.level_m]), own, free])
    every_edge = np.concatenate([ring.edges, edges])
    corners = triangles_inside(xyz[:, :2], every_edge, polygon, len(ring.xy_m))
    return _Part(known, len(points), xyz, corners, ring, first_point, by_points=not inside)


def _off_lines(points: Floats, own: Floats) -> Floats:
    """Points that do not stand on a vertex of a breakline, whose level wins."""
    if not len(own) or not len(points):
        return points
    tree = shapely.STRtree(plan_points(own[:, :2]))
    at, _ = tree.query(plan_points(points[:, :2]), predicate="dwithin", distance=SAME_PLACE_M)
    return np.delete(points, at, axis=0)


def _joined(parts: list[_Part], region: Region, spacing: float) -> Surface:
    starts = np.cumsum([0, *(len(part.xyz_m) for part in parts)])
    measured = np.ones(int(starts[-1]), dtype=bool)
    derived, sources, weights = [], [], []
    for part, start in zip(parts, starts, strict=False):
        ring = part.ring
        guessed = np.flatnonzero(~ring.measured)
        measured[start + guessed] = False
        if part.by_points:
            derived.append(start + guessed)
            sources.append(start + part.first_point + ring.sources[guessed])
            weights.append(ring.weights[guessed])
    whole = len({rows.shape[1] for rows in sources}) == 1
    return Surface(
        region=region,
        xyz_m=np.concatenate([part.xyz_m for part in parts]),
        triangles=np.concatenate(
            [part.triangles + np.int32(start) for part, start in zip(parts, starts, strict=False)]
        ),
        zone=np.repeat(
            np.arange(len(parts), dtype=np.int16), [len(part.triangles) for part in parts]
        ),
        measured=measured,
        spacing_m=spacing,
        points_in=0,
        points_used=0,
        rejected={},
        sources=np.concatenate(sources) if whole else np.empty((0, 0), dtype=np.intp),
        weights=np.concatenate(weights) if whole else np.empty((0, 0)),
        derived=np.concatenate(derived) if whole else np.empty(0, dtype=np.intp),
        points_m=np.concatenate([part.known_m for part in parts]),
        point_zone=np.repeat(
            np.arange(len(parts), dtype=np.int16), [len(part.known_m) for part in parts]
        ),
        free=np.concatenate([np.arange(len(p.known_m)) < p.points for p in parts]),
    )
