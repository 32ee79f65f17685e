"""A survey as it is kept: its void table, with all that the uncertainty of any later volume needs.

Points and triangles are gone; any volume between two kept surveys, or from level ground, is a
subtraction of their tables, and so is its uncertainty.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from tracker.domain.surface.region import Floats, Region
from tracker.domain.surface.surface import Surface
from tracker.domain.surface.uncertainty import Accuracy, half_tables, random_u_m3
from tracker.domain.surface.void_table import VoidTable, flat_void_table, void_table


@dataclass(frozen=True, eq=False)
class ReducedSurvey:
    """A void table with the parts of its uncertainty.

    `half_void_m3` and `half_integral_m3` say what a random half of the points would give, minus
    what all give; there are no halves of level ground or of a surface that came as triangles.
    `lowest_m` is the place and level of the deepest measured point of each zone.
    """

    table: VoidTable
    accuracy: Accuracy
    random_u_m3: Floats  # [zone]
    wall_length_m: Floats  # [zone]
    half_void_m3: Floats  # [half, zone, level]
    half_integral_m3: Floats  # [half, zone]
    lowest_m: Floats  # [zone, 3]: easting, northing, level

    def only(self, zones: Iterable[str]) -> ReducedSurvey:
        """The rows of these zones. Raises UnknownName."""
        kept = list(zones)
        rows = [self.table.zone_index(zone) for zone in kept]
        return replace(
            self,
            table=self.table.only(kept),
            random_u_m3=self.random_u_m3[rows],
            wall_length_m=self.wall_length_m[rows],
            half_void_m3=self.half_void_m3[:, rows],
            half_integral_m3=self.half_integral_m3[:, rows],
            lowest_m=self.lowest_m[rows],
        )


def reduced_survey(
    surface: Surface,
    levels_m: Iterable[float],
    accuracy: Accuracy | None = None,
    estimate_interpolation: bool = True,
) -> ReducedSurvey:
    """Reduce a surface to what is kept of it."""
    settings = accuracy or Accuracy()
    table = void_table(surface, levels_m)
    halves = half_tables(surface, table.levels_m) if estimate_interpolation else []
    shape = (len(halves), *table.void_m3.shape)
    return ReducedSurvey(
        table=table,
        accuracy=settings,
        random_u_m3=random_u_m3(surface, settings.level_sigma_m),
        wall_length_m=surface.region.wall_length_m,
        half_void_m3=np.array([h.void_m3 - table.void_m3 for h in halves]).reshape(shape),
        half_integral_m3=np.array(
            [h.level_integral_m3 - table.level_integral_m3 for h in halves]
        ).reshape(shape[:2]),
        lowest_m=_lowest_places(surface),
    )


def _lowest_places(surface: Surface) -> Floats:
    """The deepest measured point of each zone; a zone without points has none (not a number)."""
    found = np.full((len(surface.region.zones), 3), np.nan)
    for zone in range(len(found)):
        points = surface.points_m[surface.point_zone == zone]
        if len(points):
            found[zone] = points[np.argmin(points[:, 2])]
    found[:, :2] += surface.region.origin_m
    return found


def level_ground(
    region: Region, level_m: float | Mapping[str, float], levels_m: Iterable[float]
) -> ReducedSurvey:
    """Flat ground of a stated level, taken as exact. Raises UnknownName for a zone without one."""
    table = flat_void_table(region, level_m, levels_m)
    zones, levels = table.void_m3.shape
    return ReducedSurvey(
        table=table,
        accuracy=Accuracy(0.0, 0.0, 0.0),
        random_u_m3=np.zeros(zones),
        wall_length_m=region.wall_length_m,
        half_void_m3=np.zeros((0, zones, levels)),
        half_integral_m3=np.zeros((0, zones)),
        lowest_m=np.column_stack([np.full((zones, 2), np.nan), table.lowest_m]),
    )


def at_levels(
    survey: ReducedSurvey, levels_m: Iterable[float]
) -> tuple[ReducedSurvey, list[float]]:
    """The survey at other levels, and those of them that lie between its own.

    Between two of its levels the void is the cubic that has its values and its slopes (the plan
    area below a level) at both: near, not exact. Nothing is added that was not surveyed.
    """
    table = survey.table
    wanted = np.unique(np.array(list(levels_m), dtype=np.float64))
    own = table.levels_m
    if np.array_equal(own, wanted):
        return survey, []
    void, below = _between(table, wanted)
    halves = np.array(
        [[np.interp(wanted, own, row) for row in half] for half in survey.half_void_m3]
    ).reshape(len(survey.half_void_m3), len(table.zones), len(wanted))
    moved = replace(table, levels_m=wanted, void_m3=void, area_below_m2=below)
    new = [float(level) for level in wanted if np.abs(own - level).min() > 5e-4]
    return replace(survey, table=moved, half_void_m3=halves), new


def _between(table: VoidTable, wanted: Floats) -> tuple[Floats, Floats]:
    from scipy.interpolate import CubicHermiteSpline

    void, below = [], []
    for row in range(len(table.zones)):
        spline = CubicHermiteSpline(table.levels_m, table.void_m3[row], table.area_below_m2[row])
        volume, area = spline(wanted), spline(wanted, 1)
        above, under = wanted > table.levels_m[-1], wanted < table.levels_m[0]
        rise = wanted[above] - table.levels_m[-1]
        volume[above] = table.void_m3[row, -1] + table.area_below_m2[row, -1] * rise
        area[above], volume[under], area[under] = table.area_below_m2[row, -1], 0.0, 0.0
        void.append(np.maximum(volume, 0.0))
        below.append(np.clip(area, 0.0, table.area_m2[row]))
    return np.array(void), np.array(below)


# --- as text -------------------------------------------------------------------------------------
_ARRAYS = ("random_u_m3", "wall_length_m", "half_void_m3", "half_integral_m3", "lowest_m")


def survey_text(survey: ReducedSurvey) -> str:
    """The survey as JSON text; read again it gives the same numbers to the last digit."""
    table = {
        name: value.tolist() if isinstance(value, np.ndarray) else list(value)
        for name, value in vars(survey.table).items()
    }
    rest = {name: getattr(survey, name).tolist() for name in _ARRAYS}
    return json.dumps({"table": table, "accuracy": asdict(survey.accuracy), **rest})


@lru_cache(maxsize=64)
def survey_from_text(text: str) -> ReducedSurvey:
    """The survey that a text holds."""
    data = json.loads(text)
    names = ("zones", "zone_keys")
    kept: dict[str, Any] = {
        name: tuple(value) if name in names else np.array(value, dtype=np.float64)
        for name, value in data["table"].items()
    }
    table = VoidTable(**kept)
    zones, levels = table.void_m3.shape
    halves = len(data["half_void_m3"])
    arrays = {name: np.array(data[name], dtype=np.float64) for name in _ARRAYS}
    arrays["half_void_m3"] = arrays["half_void_m3"].reshape(halves, zones, levels)
    arrays["half_integral_m3"] = arrays["half_integral_m3"].reshape(halves, zones)
    return ReducedSurvey(table=table, accuracy=Accuracy(**data["accuracy"]), **arrays)
