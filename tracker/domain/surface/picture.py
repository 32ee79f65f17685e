"""A surface thinned for the screen: light enough to draw and to keep, never to measure by."""

from __future__ import annotations

import base64
import json
import zlib
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tracker.domain.surface.cleaning import cell_medians
from tracker.domain.surface.region import Floats
from tracker.domain.surface.surface import Surface, joined_surface

MOST_POINTS = 4_000
MOST_LEFT_OUT = 1_000  # of each reason
_SEED = 20261125  # any number: the same file gives the same picture


@dataclass(frozen=True, eq=False)
class Picture:
    """Triangles in the site grid [m], the zone of each, and points left out by reason."""

    zones: tuple[str, ...]
    xyz_m: Floats  # [vertex, 3]
    triangles: NDArray[np.int64]  # [triangle, 3]
    zone: NDArray[np.int64]  # [triangle], an index of `zones`
    left_out_m: dict[str, Floats]


def picture_of(surface: Surface, most_points: int = MOST_POINTS) -> Picture:
    """A surface through one median point a cell, cells as wide as leaves `most_points` of them.

    A surface that came as triangles is drawn as it is.
    """
    thin = surface
    if len(surface.free) and len(surface.points_m) > most_points:
        cell_m = float(np.sqrt(surface.region.area_m2 / most_points))
        zones = range(len(surface.region.zones))
        by_zone = [surface.points_m[surface.point_zone == zone] for zone in zones]
        thinned = [cell_medians(points, cell_m)[0] for points in by_zone if len(points)]
        thin = joined_surface(thinned, surface.region, ())
    used, corners = np.unique(thin.triangles, return_inverse=True)
    moved = np.array([*surface.region.origin_m, 0.0])
    chance = np.random.default_rng(_SEED)
    left_out = {
        reason: chance.permutation(points)[:MOST_LEFT_OUT] + moved
        for reason, points in surface.left_out_m.items()
        if len(points)
    }
    return Picture(
        zones=surface.region.zones,
        xyz_m=thin.xyz_m[used] + moved,
        triangles=corners.reshape(-1, 3).astype(np.int64),
        zone=thin.zone.astype(np.int64),
        left_out_m=left_out,
    )


def picture_text(picture: Picture) -> str:
    """The picture as text, to the millimetre."""
    data = {
        "zones": picture.zones,
        "xyz_mm": _millimetres(picture.xyz_m),
        "triangles": picture.triangles.tolist(),
        "zone": picture.zone.tolist(),
        "left_out_mm": {why: _millimetres(points) for why, points in picture.left_out_m.items()},
    }
    packed = zlib.compress(json.dumps(data, separators=(",", ":")).encode(), 9)
    return base64.b64encode(packed).decode()


def _millimetres(points_m: Floats) -> list[list[int]]:
    whole: list[list[int]] = np.round(points_m * 1000.0).astype(np.int64).tolist()
    return whole


@lru_cache(maxsize=16)
def picture_from_text(text: str) -> Picture:
    """The picture that a text holds."""
    data = json.loads(zlib.decompress(base64.b64decode(text)))
    return Picture(
        zones=tuple(data["zones"]),
        xyz_m=_metres(data["xyz_mm"]),
        triangles=np.array(data["triangles"], dtype=np.int64).reshape(-1, 3),
        zone=np.array(data["zone"], dtype=np.int64),
        left_out_m={why: _metres(points) for why, points in data["left_out_mm"].items()},
    )


def _metres(points_mm: list[list[int]]) -> Floats:
    return np.array(points_mm, dtype=np.float64).reshape(-1, 3) / 1000.0
