"""Surfaces, points and breaklines from LandXML. A place there is northing, easting, elevation."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from tracker.errors import InputError
from tracker.recording.points.extras import survey_library
from tracker.recording.points.parsed import Floats, Parsed

_UNITS = {
    "meter": "m",
    "metre": "m",
    "foot": "ft",
    "ussurveyfoot": "us-ft",
    "millimeter": "mm",
    "centimeter": "cm",
}


def read_landxml(path: Path, surface: str = "") -> Parsed:
    """The one surface of a file with its triangles, or else its points and breaklines.

    Entities are refused, nothing is fetched. `surface` names one of several. Raises InputError.
    """
    etree = survey_library("lxml.etree", "LandXML")
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        huge_tree=True,
        remove_comments=True,
    )
    with path.open("rb") as file:
        head = file.read(1 << 16)
    _refuse_entities(path, head)
    try:
        tree = etree.parse(str(path), parser)
    except etree.XMLSyntaxError as error:
        raise InputError(
            f"{path.name} is no whole XML file ({error.msg}): it is damaged or cut off. Export it"
            " again.",
            field="file",
        ) from None
    if tree.docinfo.doctype or tree.docinfo.internalDTD is not None:
        _refuse_entities(path, b"<!DOCTYPE")
    root = tree.getroot()
    if _plain(root) != "LandXML":
        raise InputError(f"{path.name} is XML, but no LandXML.", field="file")
    parsed = Parsed(unit=_unit(root))
    _take_surface(path, parsed, _chosen(path, _all(root, "Surface"), surface))
    marks = [_numbers(path, p.text, 3) for p in _all(root, "CgPoint") if (p.text or "").strip()]
    if marks and not len(parsed.faces):
        parsed.points = np.concatenate([parsed.points, np.array(marks)[:, [1, 0, 2]]])
    if not len(parsed.points) and not len(parsed.faces):
        raise InputError(f"{path.name} holds neither a surface nor points.", field="file")
    return parsed


def _refuse_entities(path: Path, head: bytes) -> None:
    if b"<!DOCTYPE" in head or b"<!ENTITY" in head:
        raise InputError(
            f"{path.name} declares a document type or entities, which no survey needs and which can"
            " do harm. Export it again without.",
            field="file",
        )


def _plain(element: Any) -> str:
    return str(element.tag).rsplit("}", 1)[-1]


def _all(root: Any, name: str) -> list[Any]:
    return list(root.iter("{*}" + name))


def _unit(root: Any) -> str:
    for system in (*_all(root, "Metric"), *_all(root, "Imperial")):
        said = str(system.get("linearUnit", "")).lower()
        return _UNITS.get(said, said)
    return ""


def _chosen(path: Path, surfaces: list[Any], wanted: str) -> Any | None:
    if not surfaces:
        return None
    names = [str(s.get("name", "")) for s in surfaces]
    if wanted:
        if wanted not in names:
            raise InputError(
                f"{path.name} has no surface “{wanted}”; it has {', '.join(names)}.",
                field="surface",
            )
        return surfaces[names.index(wanted)]
    if len(surfaces) > 1:
        raise InputError(
            f"{path.name} holds {len(surfaces)} surfaces ({', '.join(names[:8])}): export the one"
            " that is meant.",
            field="surface",
        )
    return surfaces[0]


def _take_surface(path: Path, parsed: Parsed, surface: Any | None) -> None:
    if surface is None:
        return
    lines = [
        _line(path, p.text) for b in _all(surface, "Breakline") for p in b.iter("{*}PntList3D")
    ]
    loose = [
        _line(path, p.text)
        for group in _all(surface, "DataPoints")
        for p in group.iter("{*}PntList3D")
    ]
    faces = [f for f in _all(surface, "F") if f.get("i") != "1"]  # i="1": left out by its maker
    if not faces:
        parsed.breaklines = lines
        if loose:
            parsed.points = np.concatenate(loose)
        return
    places: dict[str, int] = {}
    rows: list[list[float]] = []
    for place in _all(surface, "P"):
        places[str(place.get("id"))] = len(rows)
        rows.append(_numbers(path, place.text, 3))
    corners = np.array(rows).reshape(-1, 3)[:, [1, 0, 2]]
    try:
        named = [[places[name] for name in (f.text or "").split()] for f in faces]
    except KeyError as error:
        raise InputError(
            f"{path.name}: a triangle names the point {error}, which is not there. Export again.",
            field="file",
        ) from None
    if any(len(face) != 3 for face in named):
        raise InputError(f"{path.name} has faces that are no triangles.", field="file")
    parsed.corners, parsed.faces = corners, np.array(named, dtype=np.int64)


def _numbers(path: Path, text: str | None, count: int) -> list[float]:
    try:
        values = [float(cell) for cell in (text or "").split()]
    except ValueError:
        values = []
    if len(values) < count or not np.all(np.isfinite(values)):
        raise InputError(
            f"{path.name}: the place “{(text or '').strip()[:60]}” is not {count} numbers"
            " (northing, easting, elevation). Export it again.",
            field="file",
        )
    return values[:count]


def _line(path: Path, text: str | None) -> Floats:
    cells = (text or "").split()
    if len(cells) % 3:
        raise InputError(f"{path.name} has a line whose numbers do not come in threes.")
    flat = _numbers(path, text, len(cells)) if cells else []
    return np.array(flat).reshape(-1, 3)[:, [1, 0, 2]]
