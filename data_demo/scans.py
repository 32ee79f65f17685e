"""What a surveyor's instrument sees of the box: four point files, with all that disturbs a scan.

Easting, northing and level are in the site grid and above the site datum [m].
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from random import Random

from data_demo.dig import Slice
from data_demo.floors import (
    BATTER_SLOPE,
    LEAST_STEP_M,
    BoxGround,
    Heap,
    ZoneFloor,
    box_ground,
    may_be_cut,
)
from data_demo.season import SURVEYS
from data_demo.site_tables import (
    BOX_CORNER_M,
    BOX_LENGTHS_M,
    BOX_WIDTH_M,
    GROUND_LEVEL_M,
    Row,
    outline,
)

Place = tuple[float, float]
Point = tuple[float, float, float]

WEST_M, SOUTH_M = BOX_CORNER_M
EAST_M, NORTH_M = WEST_M + sum(BOX_LENGTHS_M.values()), SOUTH_M + BOX_WIDTH_M

SCAN_SPACING_M, SCAN_NOISE_M = 0.75, 0.008
STATION_SPACING_M, STATION_NOISE_M = 1.9, 0.005
NEAREST_WALL_M, NEAREST_WALL_SHADED_M = 0.03, 0.15  # of floor points; the latter below a waler
WALL_NOISE_M = 0.015  # in plan; half the thickness within which points scatter about the face
PLANT_RADIUS_M, SHADOW_M, PERSON_RADIUS_M = 1.6, 7.0, 0.25


@dataclass(frozen=True, slots=True)
class Scene:
    """What stood on the floor of a scan, and where the scanner stood above it."""

    scanner: Place
    plant: tuple[Place, ...]
    people: tuple[Place, ...]
    heap: Heap
    echoes_below: tuple[Place, ...]


SCENES = {
    "SV2": Scene(
        scanner=(548.0, 231.5),
        plant=((511.0, 216.0), (588.0, 219.0)),
        people=((515.5, 221.0), (561.0, 212.0)),
        heap=Heap(507.5, 222.5),
        echoes_below=((541.3, 208.9), (607.2, 221.4)),
    ),
    "SV3": Scene(
        scanner=(537.0, 231.5),
        plant=((511.5, 217.0), (562.0, 218.0)),
        people=((531.0, 219.5), (566.5, 222.0)),
        heap=Heap(557.0, 223.0),
        echoes_below=((508.6, 224.7), (590.2, 211.3)),
    ),
    "SV4": Scene(
        scanner=(560.0, 231.5),
        plant=((537.0, 217.0),),
        people=((541.0, 222.5), (585.5, 218.0)),
        heap=Heap(583.0, 223.5),
        echoes_below=((513.9, 212.2), (569.4, 220.6)),
    ),
}


def _grid(rng: Random, spacing_m: float) -> Iterator[Place]:
    """Places all over the box, one near the middle of each cell of a grid."""
    columns = round((EAST_M - WEST_M) / spacing_m)
    rows = round((NORTH_M - SOUTH_M) / spacing_m)
    wide, high = (EAST_M - WEST_M) / columns, (NORTH_M - SOUTH_M) / rows
    for i in range(columns):
        for j in range(rows):
            yield (
                WEST_M + (i + 0.5 + rng.uniform(-0.48, 0.48)) * wide,
                SOUTH_M + (j + 0.5 + rng.uniform(-0.48, 0.48)) * high,
            )


def _wall_hides(east_m: float, north_m: float) -> bool:
    """Whether a place is too near the wall; every other ten metres a waler shades the foot."""
    away_m = min(east_m - WEST_M, EAST_M - east_m, north_m - SOUTH_M, NORTH_M - north_m)
    shaded = int((east_m - WEST_M) // 10.0) % 2 == 0
    return away_m < (NEAREST_WALL_SHADED_M if shaded else NEAREST_WALL_M)


def in_shadow(scene: Scene, east_m: float, north_m: float) -> bool:
    """Whether plant hides a place from the scanner, or stands on it."""
    for plant_east_m, plant_north_m in scene.plant:
        view_e, view_n = plant_east_m - scene.scanner[0], plant_north_m - scene.scanner[1]
        length = math.hypot(view_e, view_n)
        off_e, off_n = east_m - plant_east_m, north_m - plant_north_m
        behind_m = (off_e * view_e + off_n * view_n) / length
        beside_m = abs(off_e * view_n - off_n * view_e) / length
        if beside_m < PLANT_RADIUS_M and -PLANT_RADIUS_M < behind_m < SHADOW_M:
            return True
    return False


def _around(rng: Random, centre: Place, radius_m: float) -> Place:
    turn, away_m = rng.uniform(0.0, math.tau), radius_m * math.sqrt(rng.random())
    return centre[0] + away_m * math.cos(turn), centre[1] + away_m * math.sin(turn)


def _on_floor(rng: Random, ground: BoxGround, scene: Scene) -> list[Point]:
    return [
        (e, n, ground.level_m(e, n) + rng.gauss(0.0, SCAN_NOISE_M))
        for e, n in _grid(rng, SCAN_SPACING_M)
        if not _wall_hides(e, n) and not in_shadow(scene, e, n)
    ]


def _above_floor(rng: Random, ground: BoxGround, scene: Scene) -> list[Point]:
    """Plant and people, and echoes far above the floor or mirrored below it by water."""
    heights: list[tuple[Place, float]] = []
    for centre in scene.plant:
        heights += [
            (_around(rng, centre, PLANT_RADIUS_M), rng.uniform(2.0, 3.5)) for _ in range(48)
        ]
    for centre in scene.people:
        heights += [
            (_around(rng, centre, PERSON_RADIUS_M), rng.uniform(0.4, 1.8)) for _ in range(7)
        ]
    for _ in range(5):
        place = (rng.uniform(WEST_M + 1, EAST_M - 1), rng.uniform(SOUTH_M + 1, NORTH_M - 1))
        heights.append((place, rng.uniform(6.0, 25.0)))
    heights += [(place, -rng.uniform(0.6, 1.6)) for place in scene.echoes_below]
    return [(e, n, ground.level_m(e, n) + height) for (e, n), height in heights]


def _on_perimeter(along_m: float, out_m: float) -> Place:
    """A place beside the wall, so far along it from the south-west corner and so far out of it."""
    long_m, wide_m = EAST_M - WEST_M, NORTH_M - SOUTH_M
    if along_m < long_m:
        return WEST_M + along_m, SOUTH_M - out_m
    if along_m < long_m + wide_m:
        return EAST_M + out_m, SOUTH_M + along_m - long_m
    if along_m < 2.0 * long_m + wide_m:
        return EAST_M - (along_m - long_m - wide_m), NORTH_M + out_m
    return WEST_M - out_m, NORTH_M - (along_m - 2.0 * long_m - wide_m)


def _yard_level(east_m: float) -> float:
    """Level of the ground outside the wall, that of the zone beside it [m]."""
    beside = (zone for zone in BOX_LENGTHS_M if east_m <= outline(zone)[1][0])
    return GROUND_LEVEL_M[next(beside, "E")]


def _wall_and_yard(rng: Random, ground: BoxGround) -> list[Point]:
    """Points on the inner face of the wall, at any level, and on the yard beyond it."""
    points = []
    length_m = 2.0 * (EAST_M - WEST_M + NORTH_M - SOUTH_M)
    for _ in range(330):
        e, n = _on_perimeter(rng.uniform(0.0, length_m), rng.uniform(-WALL_NOISE_M, WALL_NOISE_M))
        inside = min(max(e, WEST_M), EAST_M), min(max(n, SOUTH_M), NORTH_M)
        points.append((e, n, rng.uniform(ground.level_m(*inside), _yard_level(e))))
    for _ in range(170):
        e, n = _on_perimeter(rng.uniform(0.0, length_m), rng.uniform(1.2, 5.0))
        points.append((e, n, _yard_level(e) + rng.gauss(0.0, 0.03)))
    return points


def scan_table(rng: Random, ground: BoxGround, scene: Scene) -> list[Row]:
    """Points of a thinned scan, some of them twice."""
    points = _on_floor(rng, ground, scene)
    points += _above_floor(rng, ground, scene)
    points += _wall_and_yard(rng, ground)
    points += rng.sample(points, 25)
    return [_row(*point) for point in points]


def _row(east_m: float, north_m: float, level_m: float) -> Row:
    return {
        "easting": f"{east_m:.3f}",
        "northing": f"{north_m:.3f}",
        "level": f"{level_m:.3f}",
    }


def _steps(floors: tuple[ZoneFloor, ...]) -> Iterator[tuple[str, float]]:
    """Code and easting of the lines at the top and foot of each step between zones."""
    for west, east in pairwise(floors):
        line_m = outline(east.own.zone)[0][0]
        rise_m = east.own.mean_m - west.own.mean_m
        if abs(rise_m) < LEAST_STEP_M:
            continue
        low, high, up = (west, east, 1.0) if rise_m > 0.0 else (east, west, -1.0)
        batter_m = abs(rise_m) / BATTER_SLOPE if may_be_cut(high.own, low.own) else 0.0
        yield "TOE", line_m + (0.03 if batter_m else -0.03) * up
        yield "CREST", line_m + max(0.03, batter_m) * up


def station_table(rng: Random, ground: BoxGround) -> list[Row]:
    """Points of a total station: the floor, and toe and crest of each step, by code."""
    unopened = {f.own.zone for f in ground.floors if not f.own.opened}
    places = [("", place) for place in _grid(rng, STATION_SPACING_M)]
    length_m = 2.0 * (EAST_M - WEST_M + NORTH_M - SOUTH_M)
    places += [
        ("", _on_perimeter(i * 3.0 + rng.uniform(0.2, 2.8), -rng.uniform(0.1, 0.25)))
        for i in range(int(length_m / 3.0))
    ]
    for code, east_m in _steps(ground.floors):
        places += [
            (code, (east_m, SOUTH_M + 0.2 + i * 1.48 + rng.uniform(-0.1, 0.1))) for i in range(21)
        ]
    rows = []
    for number, (code, (e, n)) in enumerate(places, start=1001):
        level_m = ground.level_m(e, n) + rng.gauss(0.0, STATION_NOISE_M)
        bare = "GROUND" if _zone_at(e) in unopened else "FL"
        rows.append({"point": str(number)} | _row(e, n, level_m) | {"code": code or bare})
    return rows


def _zone_at(east_m: float) -> str:
    return next(zone for zone in BOX_LENGTHS_M if east_m <= outline(zone)[1][0])


def survey_files_table() -> list[Row]:
    """Which file holds the points of which survey, and how it is to be read."""
    return [
        {
            "survey": name,
            "excavation": "box",
            "surveyed_at": at.isoformat(timespec="minutes"),
            "file": f"{name}.csv",
            "order": "ENZ" if name in SCENES else "PENZD",
            "filter_ground": "yes" if name in SCENES else "no",
            "method": "scan" if name in SCENES else "total station",
        }
        for name, at in SURVEYS
    ]


def point_tables(random: Callable[[str], Random], slices: list[Slice]) -> dict[str, list[Row]]:
    """The points of every survey, by name; each survey has a generator of its own."""
    tables = {}
    for name, at in SURVEYS:
        rng, scene = random(f"points {name}"), SCENES.get(name)
        ground = box_ground(rng, slices, at, scene.heap if scene else None)
        tables[name] = scan_table(rng, ground, scene) if scene else station_table(rng, ground)
    return tables
