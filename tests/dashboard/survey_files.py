"""Small invented files of points for the box of the demonstration site, made on the spot."""

from __future__ import annotations

# The dug level of each zone of the box a week after the last survey, west to east [m].
LEVELS = ((524, 84.83), (550, 86.4), (576, 90.62), (602, 90.75), (620, 94.2))


def level_at(easting_m: float) -> float:
    """The level of the zone an easting lies in."""
    return next(level for east, level in LEVELS if easting_m <= east)


def box_file(folder, name="SV5.csv", gap_m=(0.0, 0.0), low_m=0.0):
    """Points every 1.5 m over the box, but for a gap between two eastings; zone D lower by some."""
    rows = ["easting,northing,level"]
    for column in range(80):
        east = 500.75 + 1.5 * column
        if gap_m[0] < east < gap_m[1]:
            continue
        lower = low_m if 576 < east <= 602 else 0.0
        rows += [
            f"{east:.3f},{200.75 + 1.5 * row:.3f},{level_at(east) - lower:.3f}" for row in range(20)
        ]
    path = folder / name
    path.write_text("\n".join(rows) + "\n")
    return path
