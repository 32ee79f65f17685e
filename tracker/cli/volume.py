"""The volume between two surveys, or down from a level, without a ledger."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from tracker.cli.answers import level, number, plain, show, spoken
from tracker.cli.bars import reading_bar, working_bar
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.domain.surface.region import Floats, Region
    from tracker.domain.surface.report import MeasuredVolume
    from tracker.domain.surface.surface import Cleaning, Surface

CAUTION = (
    "Levels are as surveyed; the permit on site and the temporary works coordinator govern. The"
    " volume is net bank m³, without bulking."
)

After = Annotated[
    Path,
    typer.Option(metavar="POINTS", help="Later survey: .csv, .txt, .las, .laz, .xml, .dxf."),
]
Before = Annotated[Path | None, typer.Option(metavar="POINTS", help="Earlier survey.")]
FromLevel = Annotated[str | None, typer.Option(metavar="L", help="Or flat ground: its level, m.")]
Outline = Annotated[
    Path, typer.Option(metavar="RING", help="Wall line, m: a CSV of corners E,N, or a DXF.")
]
Order = Annotated[str, typer.Option(help="Columns of a text file: ENZ, NEZ, XYZ, PENZD, PNEZD.")]
Levels = Annotated[
    str | None, typer.Option(metavar="L1,L2,...", help="Levels between bands; else whole metres.")
]
Zones = Annotated[
    Path | None, typer.Option(metavar="GEOJSON", help="Polygons with a property “zone”.")
]
Control = Annotated[
    Path | None,
    typer.Option(metavar="RING", help="Ground that nobody dug: both surveys must agree there."),
]
Thin = Annotated[str | None, typer.Option(metavar="M", help="One median point a cell this wide.")]
FilterGround = Annotated[
    bool,
    typer.Option(
        "--filter-ground", help="Reject people, plant, spikes; it can eat berms and narrow heaps."
    ),
]
Unit = Annotated[str, typer.Option("--unit", help="Unit of the points: m, ft or us-ft.")]
Shift = Annotated[str, typer.Option("--datum-shift", metavar="M", help="Added to every level.")]
Sigma = Annotated[str, typer.Option("--u-point", metavar="M", help="Of one point's level.")]
DatumU = Annotated[str, typer.Option("--u-datum", metavar="M", help="Of the whole survey's level.")]
WallU = Annotated[str, typer.Option("--u-wall", metavar="M", help="Of the wall line's place.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object, unrounded.")]


def add_to(app: typer.Typer) -> None:
    """Add the command to the command line."""
    app.command(
        epilog="Example: spoil volume --after may.csv --order ENZ --from-level 4.2 --outline"
        f" wall.csv --levels 4,0,-4,-8.5. {CAUTION}"
    )(volume)


@spoken
def volume(
    after: After,
    outline: Outline,
    before: Before = None,
    from_level: FromLevel = None,
    order: Order = "",
    levels: Levels = None,
    zones: Zones = None,
    control: Control = None,
    thin: Thin = None,
    filter_ground: FilterGround = False,
    unit: Unit = "m",
    datum_shift: Shift = "0",
    u_point: Sigma = "0.01",
    u_datum: DatumU = "0.01",
    u_wall: WallU = "0.01",
    as_json: AsJson = False,
) -> None:
    """Net bank volume dug inside an outline, by zone and level band, with its uncertainty.

    For a survey of a part give the boundary of that part as the outline: both surveys are cut to
    it. Uncertainties are standard ones, in metres. Coverage is that of the less well covered
    survey; points are counted over both.
    """
    from tracker.domain.surface.report import measured_volume
    from tracker.domain.surface.uncertainty import Accuracy

    _check_given(before, from_level, control)
    flat_m = level("--from-level", from_level) if from_level is not None else 0.0
    cut_m = [level("--levels", part) for part in levels.split(",")] if levels else None
    sigma_m = number("--u-point", u_point)
    accuracy = Accuracy(sigma_m, number("--u-datum", u_datum), number("--u-wall", u_wall))
    how = _How(order, unit, level("--datum-shift", datum_shift))
    cleaning = _cleaning(thin, filter_ground, sigma_m)
    where = _region(outline, zones)
    later, points = _surface(after, where, how, cleaning)
    earlier: Surface | float = flat_m
    if before is not None:
        earlier, earlier_points = _surface(before, where, how, cleaning)
        if control is not None:
            _check_control(control, earlier_points, points)
    surfaces = [later] if isinstance(earlier, float) else [earlier, later]
    with working_bar("Estimating", sum(s.points_used for s in surfaces)):
        answer = measured_volume(later, earlier, cut_m, accuracy)
    _say(_notes(where, surfaces, answer))
    show(_data(answer, surfaces), as_json, _lines(answer, surfaces))


def _check_given(before: Path | None, from_level: str | None, control: Path | None) -> None:
    if (before is None) == (from_level is None):
        raise InputError("Give --before, or --from-level, and not both.")
    if control is not None and before is None:
        raise InputError("--control compares two surveys: give --before.", field="--control")


def _say(notes: Iterable[str]) -> None:
    """Notes go to stderr, so that the answer on stdout stays one object."""
    for note in notes:
        typer.echo(note, err=True)


@dataclass(frozen=True, slots=True)
class _How:
    order: str
    unit: str
    datum_shift_m: float


def _cleaning(thin: str | None, filter_ground: bool, sigma_m: float) -> Cleaning:
    from tracker.domain.surface.ground_filter import GroundFilter
    from tracker.domain.surface.surface import Cleaning

    return Cleaning(thin_cell_m(thin), GroundFilter() if filter_ground else None, sigma_m)


def thin_cell_m(thin: str | None) -> float | None:
    """The width of the cells that --thin asks for [m]. Raises InputError that names the option."""
    thin_m = None if thin is None else number("--thin", thin)
    if thin_m is not None and thin_m < 0.001:
        raise InputError(f"--thin is {thin}; a cell is 0.001 m wide at least.", field="--thin")
    return thin_m


def _region(outline: Path, zones: Path | None) -> Region:
    from tracker.domain.surface.region import region
    from tracker.recording.points.areas import read_outline, read_zones

    return region(read_outline(outline), read_zones(zones) if zones else None)


def _check_control(control: Path, earlier: Floats, later: Floats) -> None:
    """Say on stderr what the surveys differ by where nothing was dug."""
    from tracker.domain.surface.control_patch import control_patch_check
    from tracker.domain.surface.region import region
    from tracker.recording.points.areas import read_outline

    patch = region(read_outline(control))
    found = control_patch_check(patch.local(earlier), patch.local(later), patch.outline)
    typer.echo(
        f"Control patch: the later survey lies {found.difference_m:+.3f} m from the earlier"
        f" (median of {found.cells} cells).",
        err=True,
    )
    if found.finding is not None:
        typer.echo(f"{found.finding.severity.capitalize()}: {found.finding.message}", err=True)


def _surface(path: Path, where: Region, how: _How, cleaning: Cleaning) -> tuple[Surface, Floats]:
    """The surface inside the region, and all places of the file."""
    import shapely

    from tracker.recording.points.read import read_survey, surface_from

    placed = shapely.transform(where.outline, lambda xy: xy + where.origin_m)
    with reading_bar(path) as progress:
        survey = read_survey(
            path, placed, how.order, how.unit, how.datum_shift_m, progress=progress
        )
    _say(survey.notes)
    with working_bar(f"Joining {path.name}", len(survey.points_m)):
        return surface_from(survey, where, cleaning), survey.places_m


def _notes(where: Region, surfaces: list[Surface], answer: MeasuredVolume) -> list[str]:
    warnings = [warning for surface in surfaces for warning in surface.warnings]
    gates = [f"{f.severity.capitalize()}: {f.message}" for f in answer.findings]
    return [*where.notes, *warnings, *gates]


def _rejected(surfaces: list[Surface]) -> dict[str, int]:
    reasons = surfaces[0].rejected
    return {reason: sum(s.rejected.get(reason, 0) for s in surfaces) for reason in reasons}


def _data(answer: MeasuredVolume, surfaces: list[Surface]) -> dict[str, Any]:
    u, covered = answer.uncertainty, answer.coverage
    return {
        "net_m3": answer.net_m3,
        "bands": [
            {
                "zone": band.zone,
                "from_level_m": band.from_level_m,
                "to_level_m": band.to_level_m,
                "net_m3": band.net_m3,
                "u_m3": part.combined_m3,
            }
            for band, part in answer.bands
        ],
        "area_m2": covered.area_m2,
        "covered_percent": covered.covered_percent,
        "wall_extrapolated_percent": covered.wall_extrapolated_percent,
        "long_edge_percent": covered.long_edge_percent,
        "points_in": sum(s.points_in for s in surfaces),
        "points_used": sum(s.points_used for s in surfaces),
        "rejected": _rejected(surfaces),
        "second_method_difference_percent": answer.second_method_difference_percent,
        "u_random_m3": u.random_m3,
        "u_level_m3": u.level_m3,
        "u_edge_m3": u.edge_m3,
        "u_interpolation_m3": u.interpolation_m3,
        "u_combined_m3": u.combined_m3,
    }


def _lines(answer: MeasuredVolume, surfaces: list[Surface]) -> list[str]:
    from tracker.cli.survey_lines import coverage_lines, u_line

    u = answer.uncertainty
    rejected = _rejected(surfaces)
    used, of = sum(s.points_used for s in surfaces), sum(s.points_in for s in surfaces)
    return [
        f"Net {plain(answer.net_m3, 'm³ bank')} ± {plain(u.expanded_m3, 'm³')} (twice the standard"
        " uncertainty)",
        *(
            f"  {b.zone}  {b.from_level_m:.3f} to {b.to_level_m:.3f} m:"
            f" {plain(b.net_m3, 'm³')}, standard uncertainty {plain(part.combined_m3, 'm³')}"
            for b, part in answer.bands
        ),
        *coverage_lines(
            answer.coverage, used, of, rejected, answer.second_method_difference_percent
        ),
        u_line(u),
        CAUTION,
    ]
