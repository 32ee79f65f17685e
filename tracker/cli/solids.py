"""Volumes of solids on the command line: sections, contours, grids, pits, heaps."""

from __future__ import annotations

from typing import Annotated

import typer

from tracker.cli.answers import level, number, numbers, optional_number, plain, show, spoken
from tracker.errors import InputError

solids = typer.Typer(no_args_is_help=True, help="Volumes of cuts, pits and heaps.")

Text = str | None
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object, unrounded.")]
Areas = Annotated[str, typer.Option(metavar="A,B,C", help="Areas in order, m².")]
Spacing = Annotated[str, typer.Option(metavar="M", help="Distance between two areas.")]
Interval = Annotated[
    str, typer.Option("--interval", "--spacing", metavar="M", help="Contour interval.")
]
PointSpacing = Annotated[
    str, typer.Option("--spacing", metavar="M", help="Between points of a row.")
]
RowSpacing = Annotated[Text, typer.Option(metavar="M", help="Between rows, if not --spacing.")]
Depths = Annotated[
    Text, typer.Option(metavar="'A,B;C,D'", help="Depths to dig, m; rows separated by ;")
]
Levels = Annotated[
    Text, typer.Option(metavar="'A,B;C,D'", help="Levels of the ground, m; with --down-to.")
]
DownTo = Annotated[Text, typer.Option(metavar="M", help="Level to dig to.")]
BottomLength = Annotated[
    str, typer.Option("--bottom-length", "--length", metavar="M", help="Length of the bottom.")
]
BottomWidth = Annotated[
    str, typer.Option("--bottom-width", "--width", metavar="M", help="Width of the bottom.")
]
Depth = Annotated[str, typer.Option(metavar="M", help="Depth.")]
SideSlope = Annotated[
    str,
    typer.Option("--side-slope", "--slope", metavar="RATIO", help="Horizontal per vertical."),
]
Diameter = Annotated[Text, typer.Option(metavar="M", help="Diameter of the foot.")]
Width = Annotated[Text, typer.Option(metavar="M", help="Width of the foot.")]
Height = Annotated[Text, typer.Option(metavar="M", help="Height.")]
ReposeDeg = Annotated[Text, typer.Option(metavar="DEG", help="Angle of repose.")]
Volume = Annotated[Text, typer.Option(metavar="M3", help="Loose volume; with --repose-deg.")]
ToeToToe = Annotated[str, typer.Option("--length", metavar="M", help="Length from toe to toe.")]
HEAP_CAUTION = (
    "A heap near the wall loads it: keep to the limit of the temporary works coordinator."
)


@solids.command("end-area")
@spoken
def end_area(areas: Areas, spacing: Spacing, as_json: AsJson = False) -> None:
    """Volume from section areas by the mean of each two neighbours.

    Example: spoil solid end-area --areas 12.5,14,9.75 --spacing 20
    """
    from tracker.domain.solids import end_area_volume

    solid = end_area_volume(numbers("--areas", areas), number("--spacing", spacing))
    _show_solid(solid.volume_m3, solid.method, as_json)


@solids.command()
@spoken
def prismoidal(areas: Areas, spacing: Spacing, as_json: AsJson = False) -> None:
    """Volume from section areas by Simpson's rule; an even count ends with one end-area interval.

    Example: spoil solid prismoidal --areas 12.5,14,9.75 --spacing 20
    """
    from tracker.domain.solids import prismoidal_volume

    solid = prismoidal_volume(numbers("--areas", areas), number("--spacing", spacing))
    _show_solid(solid.volume_m3, solid.method, as_json)


@solids.command()
@spoken
def contours(
    areas: Areas,
    interval: Interval,
    as_json: AsJson = False,
) -> None:
    """Volume between contours: prismoidal for an odd count of areas, else end area. Shows both.

    Example: spoil solid contours --areas 2050,8400,16300 --interval 5
    """
    from tracker.domain.solids import contour_volume, end_area_volume, prismoidal_volume

    enclosed, step = numbers("--areas", areas), number("--interval", interval)
    solid = contour_volume(enclosed, step)
    end_area_m3 = end_area_volume(enclosed, step).volume_m3
    prismoidal_m3 = prismoidal_volume(enclosed, step).volume_m3 if len(enclosed) > 2 else None
    data = {
        "volume_m3": solid.volume_m3,
        "method": solid.method,
        "end_area_m3": end_area_m3,
        "prismoidal_m3": prismoidal_m3,
    }
    both = f"end area {plain(end_area_m3, 'm³')}, prismoidal {plain(prismoidal_m3, 'm³')}"
    show(data, as_json, [f"{plain(solid.volume_m3, 'm³')} ({solid.method})", both])


@solids.command()
@spoken
def grid(
    spacing: PointSpacing,
    depths: Depths = None,
    levels: Levels = None,
    down_to: DownTo = None,
    row_spacing: RowSpacing = None,
    as_json: AsJson = False,
) -> None:
    """Volume of a dig from a grid of depths, or of ground levels and the level to dig to.

    Example: spoil solid grid --depths '1.2,1.4;1.1,1.5' --spacing 10
    """
    from tracker.domain.solids import grid_volume

    if (depths is None) == (levels is None) or (levels is None) != (down_to is None):
        raise InputError("Give --depths, or --levels together with --down-to.")
    if levels is not None and down_to is not None:
        base_m = level("--down-to", down_to)
        rows = [[level("--levels", m) - base_m for m in row] for row in _cells(levels)]
    else:
        rows = [[number("--depths", m) for m in row] for row in _cells(depths or "")]
    along_m = number("--spacing", spacing)
    across_m = optional_number("--row-spacing", row_spacing)
    solid = grid_volume(rows, along_m, along_m if across_m is None else across_m)
    _show_solid(solid.volume_m3, solid.method, as_json)


@solids.command()
@spoken
def pit(
    bottom_length: BottomLength,
    bottom_width: BottomWidth,
    depth: Depth,
    side_slope: SideSlope = "0",
    as_json: AsJson = False,
) -> None:
    """Volume of a rectangular pit with four equal side slopes; nothing is said of their stability.

    Example: spoil solid pit --bottom-length 40 --bottom-width 30 --depth 5 --side-slope 2
    """
    from tracker.domain.solids import sloped_pit_volume

    solid = sloped_pit_volume(
        number("--bottom-length", bottom_length),
        number("--bottom-width", bottom_width),
        number("--depth", depth),
        number("--side-slope", side_slope),
    )
    _show_solid(solid.volume_m3, solid.method, as_json)


@solids.command()
@spoken
def cone(
    diameter: Diameter = None,
    height: Height = None,
    repose_deg: ReposeDeg = None,
    volume: Volume = None,
    as_json: AsJson = False,
) -> None:
    """A conical heap from two of diameter, height and repose, or from volume and repose.

    Example: spoil solid cone --diameter 12 --repose-deg 35
    """
    from tracker.domain import solids as domain

    sizes = (
        optional_number("--diameter", diameter),
        optional_number("--height", height),
        optional_number("--repose-deg", repose_deg),
    )
    loose = optional_number("--volume", volume)
    if loose is None:
        heap = domain.cone(*sizes)
    elif sizes[2] is not None and sizes[:2] == (None, None):
        heap = domain.cone_of_volume(loose, sizes[2])
    else:
        raise InputError("With --volume give --repose-deg and nothing else.")
    data = {
        "volume_m3": heap.volume_m3,
        "diameter_m": heap.width_m,
        "height_m": heap.height_m,
        "repose_deg": heap.repose_deg,
    }
    size = f"diameter {plain(heap.width_m, 'm')}, height {plain(heap.height_m, 'm')}"
    lines = [plain(heap.volume_m3, "m³ loose"), f"{size}, repose {heap.repose_deg:.1f}°"]
    show(data, as_json, [*lines, HEAP_CAUTION])


@solids.command()
@spoken
def windrow(
    length: ToeToToe,
    width: Width = None,
    height: Height = None,
    repose_deg: ReposeDeg = None,
    as_json: AsJson = False,
) -> None:
    """A long triangular heap with half-cone ends, from its length and two of width, height, repose.

    Example: spoil solid windrow --length 30 --width 8 --height 2.5
    """
    from tracker.domain import solids as domain

    heap = domain.windrow(
        number("--length", length),
        optional_number("--width", width),
        optional_number("--height", height),
        optional_number("--repose-deg", repose_deg),
    )
    data = {
        "volume_m3": heap.volume_m3,
        "width_m": heap.width_m,
        "height_m": heap.height_m,
        "repose_deg": heap.repose_deg,
    }
    size = f"width {plain(heap.width_m, 'm')}, height {plain(heap.height_m, 'm')}"
    lines = [plain(heap.volume_m3, "m³ loose"), f"{size}, repose {heap.repose_deg:.1f}°"]
    show(data, as_json, [*lines, HEAP_CAUTION])


def _cells(text: str) -> list[list[str]]:
    return [row.split(",") for row in text.strip("; ").split(";")]


def _show_solid(volume_m3: float, method: str, as_json: bool) -> None:
    data = {"volume_m3": volume_m3, "method": method}
    show(data, as_json, [f"{plain(volume_m3, 'm³')} ({method})"])
