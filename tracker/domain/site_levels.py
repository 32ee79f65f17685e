"""Checks of a set-up's levels and outlines: stages, bands of ground, areas, zones in plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

from tracker.domain.site_rows import Row, Rows, given, wrong
from tracker.errors import Problem


def stage_problems(rows: Rows) -> Iterator[Problem]:
    """Stages that do not count from 1 or do not go down from the ground."""
    for zone in rows["zones"]:
        own = [r for r in rows["stages"] if r["zone"] == zone["zone"] and given(r, "stage")]
        own.sort(key=lambda row: row["stage"])
        numbers = [row["stage"] for row in own]
        if own and numbers != list(range(1, len(own) + 1)) and len(set(numbers)) == len(own):
            yield wrong(
                "stages",
                own[0],
                "stage",
                f"Stages of zone {zone['zone']} are {', '.join(map(str, numbers))}; they must count"
                f" 1 to {len(own)} from the top without a gap.",
            )
        levels = [(zone, "ground level", zone["ground_level_m"])]
        levels += [(r, f"stage {r['stage']}", r["design_level_m"]) for r in own]
        for (_, upper, above), (row, lower, below) in pairwise(levels):
            if above is not None and below is not None and below >= above:
                yield wrong(
                    "stages",
                    row,
                    "design_level_m",
                    f"{lower} of zone {zone['zone']} lies at {below:.3f} m, not below {upper} at"
                    f" {above:.3f} m. Levels go down from stage to stage.",
                )
    for row in rows["stages"]:
        start, finish = row["planned_start"], row["planned_finish"]
        if start and finish and finish < start:
            yield wrong(
                "stages",
                row,
                "planned_finish",
                f"The stage is planned to finish before it starts on {start}.",
            )
        if given(row, "hold_days") and row["hold_days"] < 0:
            yield wrong("stages", row, "hold_days", "Hold days cannot be negative.")


def ground_problems(rows: Rows) -> Iterator[Problem]:
    """Bands of ground that stand on their head, overlap or leave a gap."""
    for row in rows["ground"]:
        if _upside_down(row):
            yield wrong(
                "ground",
                row,
                "lower_level_m",
                f"The band ends at {row['lower_level_m']:.3f} m, not below its top at"
                f" {row['upper_level_m']:.3f} m. Swap them or correct the sign.",
            )
    for zone in rows["zones"]:
        bands = [r for r in rows["ground"] if r["zone"] == zone["zone"]]
        stages = [r["design_level_m"] for r in rows["stages"] if r["zone"] == zone["zone"]]
        complete = all(given(r, "upper_level_m", "lower_level_m") for r in bands)
        if bands and stages and complete and None not in stages and given(zone, "ground_level_m"):
            yield from _band_gaps(zone, bands, min(stages))


def _band_gaps(zone: Row, bands: list[Row], formation_m: float) -> Iterator[Problem]:
    bands = sorted(bands, key=lambda row: -row["upper_level_m"])
    name = zone["zone"]
    if _mm(bands[0]["upper_level_m"]) < _mm(zone["ground_level_m"]):
        yield wrong(
            "ground",
            bands[0],
            "upper_level_m",
            f"Ground of zone {name} begins at {bands[0]['upper_level_m']:.3f} m; ground level is"
            f" {zone['ground_level_m']:.3f} m. Say what lies between.",
        )
    for upper, lower in pairwise(bands):
        bottom, top = _mm(upper["lower_level_m"]), _mm(lower["upper_level_m"])
        if bottom != top:
            what = (
                "overlaps the band above by" if top > bottom else "leaves a gap below the band of"
            )
            yield wrong(
                "ground",
                lower,
                "upper_level_m",
                f"The band of {lower['stream']} in zone {name} {what}"
                f" {abs(top - bottom) / 1000:.3f} m (row {upper['row']} ends at"
                f" {bottom / 1000:.3f} m). Make the levels meet.",
            )
    if _mm(bands[-1]["lower_level_m"]) > _mm(formation_m):
        yield wrong(
            "ground",
            bands[-1],
            "lower_level_m",
            f"Ground of zone {name} ends at {bands[-1]['lower_level_m']:.3f} m, above formation at"
            f" {formation_m:.3f} m. Say what lies between.",
        )


def area_problems(rows: Rows) -> Iterator[Problem]:
    """Plan areas and deductions that cannot be."""
    for row in rows["deductions"]:
        if _upside_down(row):
            yield wrong("deductions", row, "lower_level_m", "The bottom must be below the top.")
    for zone in rows["zones"]:
        own = [r for r in rows["areas"] if r["zone"] == zone["zone"] and given(r, "level_m")]
        if own and len(own) < 2:
            yield wrong(
                "areas",
                own[0],
                "level_m",
                f"Zone {zone['zone']} needs an area at two levels or more.",
            )


def _mm(level_m: float) -> int:
    return round(level_m * 1000)


def _upside_down(row: Row) -> bool:
    both = given(row, "upper_level_m", "lower_level_m")
    return both and bool(row["upper_level_m"] <= row["lower_level_m"])


def outline_problems(zones: Sequence[Row]) -> list[Problem]:
    """Outlines that are no polygon, cross themselves, or lie over another zone's."""
    from shapely import Polygon
    from shapely.validation import explain_validity

    found: list[Problem] = []
    shapes = []
    for row in zones:
        corners = row["outline"]
        if corners is None:
            continue
        if len(set(corners)) < 3:
            found.append(wrong("zones", row, "outline", "An outline has three corners or more."))
            continue
        shape = Polygon(corners)
        if not shape.is_valid:
            found.append(
                wrong(
                    "zones",
                    row,
                    "outline",
                    f"The outline crosses itself ({explain_validity(shape)}). Give the corners in"
                    " order round the zone.",
                )
            )
            continue
        shapes.append((row, shape))
    for (a, shape_a), (b, shape_b) in combinations(shapes, 2):
        shared_m2 = shape_a.intersection(shape_b).area
        if shared_m2 > 0.01:
            found.append(
                wrong(
                    "zones",
                    b,
                    "outline",
                    f"Zone {b['zone']} lies over zone {a['zone']} by {shared_m2:.2f} m². Make the"
                    " outlines meet without covering each other.",
                )
            )
    return found
