"""How well points cover a region, and the gates that a volume passes before anyone relies on it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tracker.domain.site import Site
from tracker.domain.surface.surface import Surface

LONG_SIDE = 5.0  # times the mean spacing of the points
NEVER_LONG_M = 0.5  # a dense scan is not full of gaps because it stops a hand short of the wall


@dataclass(frozen=True, slots=True)
class Coverage:
    """What stands beside a volume: shares of the plan area [%], gap [m], density.

    `covered_percent` is in triangles none of whose sides is long. A side is long when it is more
    than five times the mean point spacing and more than half a metre; `long_edge_percent` is in
    triangles that have one. `wall_extrapolated_percent` is in triangles that touch a vertex whose
    level was not measured.
    """

    area_m2: float
    covered_percent: float
    wall_extrapolated_percent: float
    long_edge_percent: float
    largest_gap_m: float
    points_per_m2: float


def coverage(surface: Surface, long_side: float = LONG_SIDE) -> Coverage:
    """The coverage of a surface."""
    area, side = surface.area_m2, surface.longest_side_m
    region_m2 = surface.region.area_m2
    long = side > max(long_side * surface.spacing_m, NEVER_LONG_M)
    guessed = ~surface.measured[surface.triangles].all(axis=1)
    return Coverage(
        area_m2=region_m2,
        covered_percent=min(100.0, 100.0 * float(area[~long].sum()) / region_m2),
        wall_extrapolated_percent=100.0 * float(area[guessed].sum()) / region_m2,
        long_edge_percent=100.0 * float(area[long].sum()) / region_m2,
        largest_gap_m=float(side.max()),
        points_per_m2=surface.points_used / region_m2,
    )


@dataclass(frozen=True, slots=True)
class Gates:
    """Limits beyond which a volume is marked (project settings; common practice, no source)."""

    covered_amber_percent: float = 98.0
    covered_red_percent: float = 90.0
    wall_amber_percent: float = 10.0
    wall_red_percent: float = 25.0
    long_edge_amber_percent: float = 2.0
    long_edge_red_percent: float = 10.0
    second_method_amber_percent: float = 1.0
    second_method_red_percent: float = 3.0
    uncertainty_amber_percent: float = 3.0
    uncertainty_red_percent: float = 10.0
    control_amber_m: float = 0.02
    control_red_m: float = 0.05
    returns_amber_percent: float = 3.0
    returns_red_percent: float = 6.0


def gates_of(site: Site) -> Gates:
    """The gates of a site: the usual ones, but for those that its set-up states."""
    stated = {}
    for row in site.gates:
        unit = "m" if row.gate == "control" else "percent"
        stated[f"{row.gate}_amber_{unit}"], stated[f"{row.gate}_red_{unit}"] = row.amber, row.red
    return replace(Gates(), **stated)


@dataclass(frozen=True, slots=True)
class Finding:
    """A gate that was not passed: amber asks for a look, red for a better survey."""

    severity: str  # amber | red
    what: str
    message: str


def gate_findings(
    covered: Coverage,
    second_method_percent: float | None,
    uncertainty_percent: float | None,
    gates: Gates | None = None,
) -> list[Finding]:
    """The gates that a volume does not pass, in words."""
    g = gates or Gates()
    measured = [
        ("covered", 100.0 - covered.covered_percent, 100.0 - g.covered_amber_percent,
         100.0 - g.covered_red_percent, "% of the area has no points near: survey the gaps"),
        ("wall", covered.wall_extrapolated_percent, g.wall_amber_percent, g.wall_red_percent,
         "% of the area is extrapolated to the wall: measure closer to it"),
        ("long sides", covered.long_edge_percent, g.long_edge_amber_percent,
         g.long_edge_red_percent, "% of the area is bridged by long triangles: fill the shadows"),
        ("second method", second_method_percent, g.second_method_amber_percent,
         g.second_method_red_percent, "% between the two methods: look for holes and stray points"),
        ("uncertainty", uncertainty_percent, g.uncertainty_amber_percent,
         g.uncertainty_red_percent, "% standard uncertainty: too much to settle a payment by"),
    ]  # fmt: skip
    found = [
        _finding(what, value, amber, red, text)
        for what, value, amber, red, text in measured
        if value is not None
    ]
    return [finding for finding in found if finding]


def _finding(what: str, value: float, amber: float, red: float, text: str) -> Finding | None:
    if abs(value) <= amber or not np.isfinite(value):
        return None
    severity = "red" if abs(value) > red else "amber"
    return Finding(severity, what, f"{value:.2f} {text}.")
