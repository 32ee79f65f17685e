"""Levels as reported: on the right datum, the right way up, in metres, and above formation."""

from __future__ import annotations

from tracker.domain.site import Zone
from tracker.recording.fields import Fields

METRES_PER_FOOT = 0.3048  # by definition (international foot)
# Common practice, no source: a berm or crust above ground level, a sump below formation.
ABOVE_GROUND_M = 1.0
BELOW_FORMATION_M = 3.0


def read_level(row: Fields, column: str, zone: Zone | None) -> int | None:
    """A level of a zone [mm above site datum], refused where the zone cannot have it."""
    level_mm = row.thousandths(column, negative=True)
    if level_mm is None or zone is None:
        return level_mm
    level_m = level_mm / 1000
    formation_m = row.setup.formation_m[zone.zone]
    highest_m = zone.ground_level_m + ABOVE_GROUND_M
    lowest_m = formation_m - BELOW_FORMATION_M
    if not lowest_m <= level_m <= highest_m:
        row.wrong(
            column,
            f"{level_m:g} m is no level of zone {zone.zone}, whose ground lies at"
            f" {zone.ground_level_m:g} m and formation at {formation_m:g} m above site datum."
            f" {_guess(row, level_m, lowest_m, highest_m)}",
        )
        return None
    if level_m < formation_m and column != "from_level_m":
        row.warn(
            column,
            f"{level_m:g} m is {formation_m - level_m:.3f} m below the formation of zone"
            f" {zone.zone} at {formation_m:g} m. If it is a slip, correct it; if not, tell the"
            " temporary works coordinator.",
        )
    return level_mm


def _guess(row: Fields, level_m: float, lowest_m: float, highest_m: float) -> str:
    datum = row.setup.site.datum
    guesses = (
        (level_m - datum.offset_m, f"It looks like a level above {datum.national_name}"),
        (-level_m, "It looks like a slip of the sign"),
        (level_m * METRES_PER_FOOT, "It looks like feet"),
        (level_m - 100.0, "It looks like a datum 100 m too high"),
        (level_m + 100.0, "It looks like a datum 100 m too low"),
        (level_m / 1000.0, "It looks like millimetres"),
    )
    for meant_m, said in guesses:
        if lowest_m <= meant_m <= highest_m:
            return f"{said}: write {round(meant_m, 3):g}."
    return "Correct the level."
