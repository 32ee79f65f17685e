"""A file of surveyed points as metres in the site's grid: format, order, unit and datum stated."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tracker.domain.surface.cleaning import inside_share
from tracker.domain.surface.faces import surface_of_faces
from tracker.domain.surface.region import Area, Region
from tracker.domain.surface.surface import Cleaning, Surface, surveyed_surface
from tracker.errors import InputError
from tracker.recording.points.cloud import read_cloud
from tracker.recording.points.drawing import read_drawing
from tracker.recording.points.landxml import read_landxml
from tracker.recording.points.parsed import Floats, Parsed, Progress, in_silence
from tracker.recording.points.text import (
    SWAPPED,
    Layout,
    layout_of,
    order_named,
    orders_possible,
    read_text,
)

METRES = {
    "m": 1.0,
    "ft": 0.3048,  # international foot, by definition
    "us-ft": 1200.0 / 3937.0,  # US survey foot, by definition
    "mm": 0.001,
    "cm": 0.01,
    "in": 0.0254,
}
_SAMPLE = 20_000  # lines read to propose an order
_FAR_LEVEL_M = 9_000.0
_MOSTLY = 0.5


@dataclass(frozen=True, eq=False)
class SurveyFile:
    """What a file holds, in metres, with how it was read. `sha256` is of the file's bytes."""

    file: str
    sha256: str
    order: str  # of the columns of a text file, or empty
    unit: str
    datum_shift_m: float
    points_m: Floats
    breaklines_m: list[Floats]
    corners_m: Floats
    faces: np.ndarray[tuple[int, ...], np.dtype[np.int64]]
    notes: tuple[str, ...]

    @property
    def places_m(self) -> Floats:
        """All measured places."""
        return np.concatenate([self.points_m, self.corners_m, *self.breaklines_m])


@dataclass(frozen=True, slots=True)
class Proposal:
    """A column order that a file allows, and the share of its first points inside the outline."""

    order: str
    inside: float


def read_survey(
    path: Path,
    outline: Area | None = None,
    order: str = "",
    unit: str = "m",
    datum_shift_m: float = 0.0,
    progress: Progress = in_silence,
) -> SurveyFile:
    """Read a CSV, TXT, LAS, LAZ, LandXML or DXF file.

    `unit` is that of the file, places and levels alike; `datum_shift_m` is added to every level.
    `outline`, in the grid of the file, lets a wrong order or unit be told. Without `order` the
    likeliest that fits the outline is taken, and a note says so. Raises InputError.
    """
    if unit not in METRES:
        raise InputError(f"Unit “{unit}” is not known. Give one of {', '.join(METRES)}.")
    if not path.is_file():
        raise InputError(f"There is no file {path}.", field="file")
    notes: list[str] = []
    kind = path.suffix.lower()
    if kind in _READERS or kind in (".las", ".laz"):
        parsed = read_cloud(path, progress) if kind in (".las", ".laz") else _READERS[kind](path)
        told, order = hash_of(path), ""
    else:
        layout = layout_of(path)
        told = layout.sha256
        order = order_named(order) if order else _proposed(path, layout, outline, unit, notes)
        parsed = read_text(path, order, layout, progress)
    if parsed.unit and parsed.unit != unit:
        raise InputError(
            f"{path.name} says that its unit is {parsed.unit}, not {unit}. State the unit"
            f" {parsed.unit}, or mend the file.",
            field="unit",
        )
    survey = _in_metres(path, parsed, told, order, unit, datum_shift_m, notes)
    _check_levels(survey)
    if outline is not None:
        _check_place(survey, outline)
    return survey


_READERS = {".xml": read_landxml, ".landxml": read_landxml, ".dxf": read_drawing}


def proposed_orders(path: Path, layout: Layout, outline: Area, unit: str = "m") -> list[Proposal]:
    """Every order that the file allows, with the share of its first points inside the outline."""
    found = []
    for order in orders_possible(layout):
        try:
            first = read_text(path, order, layout, most=_SAMPLE).points * METRES[unit]
        except InputError:
            continue
        found.append(Proposal(order, inside_share(first, outline)))
    return found


def _proposed(path: Path, layout: Layout, outline: Area | None, unit: str, notes: list[str]) -> str:
    orders = orders_possible(layout)
    if outline is None:
        raise InputError(
            f"State the order of the columns of {path.name}, such as {orders[0]}.", field="order"
        )
    fits = proposed_orders(path, layout, outline, unit)
    if not fits:
        read_text(path, orders[0], layout, most=_SAMPLE)  # says which line is wrong
        raise InputError(f"State the order of the columns of {path.name}.", field="order")
    shares = ", ".join(f"{fit.order} {100.0 * fit.inside:.1f} %" for fit in fits)
    best = max(fits, key=lambda fit: fit.inside)
    first = next((fit for fit in fits if fit.inside >= 0.9 * best.inside), fits[0])
    if first is not fits[0]:
        raise InputError(
            f"The column order of {path.name} is not {fits[0].order} as it seemed: points inside"
            f" the outline by order: {shares}. If {first.order} is meant, state it.",
            field="order",
        )
    notes.append(
        f"Column order of {path.name} taken as {first.order}; inside the outline by order:"
        f" {shares}. State the order to be sure."
    )
    return first.order


def _in_metres(
    path: Path, parsed: Parsed, told: str, order: str, unit: str, shift_m: float, notes: list[str]
) -> SurveyFile:
    scale = METRES[unit]

    def moved(places: Floats) -> Floats:
        metres = places if scale == 1.0 else places * scale
        if shift_m:
            metres = metres + np.array([0.0, 0.0, shift_m])
        return metres

    return SurveyFile(
        file=path.name,
        sha256=told,
        order=order,
        unit=unit,
        datum_shift_m=shift_m,
        points_m=moved(parsed.points),
        breaklines_m=[moved(line) for line in parsed.breaklines],
        corners_m=moved(parsed.corners),
        faces=parsed.faces,
        notes=(*notes, *parsed.notes),
    )


def _check_levels(survey: SurveyFile) -> None:
    places = survey.places_m
    if not len(places):
        raise InputError(f"{survey.file} has no points.", field="file")
    if not np.all(np.isfinite(places)):
        raise InputError(f"{survey.file} has points without a place or level. Delete them.")
    low, high = places[:, 2].min(), places[:, 2].max()
    if max(-low, high) > _FAR_LEVEL_M:
        raise InputError(
            f"Levels in {survey.file} run from {low:,.1f} to {high:,.1f} m, which is no ground."
            " Check the column order and the unit.",
            field="order",
        )


def _check_place(survey: SurveyFile, outline: Area) -> None:
    """Refuse points that mostly lie outside, if another order or unit would put them inside."""
    places = survey.places_m[:: max(1, len(survey.places_m) // _SAMPLE)]
    inside = inside_share(places, outline)
    if inside >= _MOSTLY:
        return
    others = [("with easting and northing swapped", places[:, [1, 0, 2]], "order")]
    given = METRES[survey.unit]
    others += [
        (f"read in {unit}", places * (scale / given), "unit")
        for unit, scale in METRES.items()
        if unit != survey.unit
    ]
    for how, moved, field in others:
        share = inside_share(moved, outline)
        if share >= max(_MOSTLY, 1.5 * inside):
            hint = f" (order {SWAPPED[survey.order]})" if survey.order and field == "order" else ""
            raise InputError(
                f"Only {100.0 * inside:.1f} % of the points of {survey.file} lie inside the"
                f" outline; {how} it would be {100.0 * share:.1f} %{hint}. State the {field}.",
                field=field,
            )


def hash_of(path: Path) -> str:
    """The SHA-256 of a file's bytes, as hexadecimal text."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def surface_from(survey: SurveyFile, region: Region, cleaning: Cleaning | None = None) -> Surface:
    """The surface of a file inside a region: its own triangles if it has some."""
    if len(survey.faces):
        return surface_of_faces(survey.corners_m, survey.faces, region)
    lines: Sequence[Floats] = survey.breaklines_m
    return surveyed_surface(survey.points_m, region, lines, cleaning)
