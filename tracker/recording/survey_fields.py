"""The answers of a form, as text, turned into the questions of a survey."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from tracker.domain.surface.region import Floats
from tracker.domain.surface.uncertainty import Accuracy
from tracker.domain.written import decimal_number
from tracker.errors import InputError
from tracker.recording.points.areas import read_outline
from tracker.recording.survey_questions import SurveyQuestions

WORDS = {
    "datum_shift_m": "Datum shift",
    "thin_m": "Thin to one point a cell",
    "u_point_m": "Standard uncertainty of a point",
    "u_datum_m": "Standard uncertainty of the datum",
    "u_wall_m": "Standard uncertainty of the wall line",
}


def questions_of(fields: Mapping[str, str], files: Mapping[str, Path]) -> SurveyQuestions:
    """The questions that the fields of a form answer, with the files `points`, `boundary`,
    `control` and `earlier` where they are given.

    Raises InputError for the first field that is wrong or missing.
    """
    if "points" not in files:
        raise InputError("Choose the file of points first.", field="points")
    for name, words in (("survey_date", "the day"), ("survey_time", "the local time")):
        if not fields[name].strip():
            raise InputError(f"Give {words} of the survey.", field=name)
    u_point_m, u_datum_m, u_wall_m = (_least(fields, f"u_{part}_m") for part in _PARTS)
    return SurveyQuestions(
        path=files["points"],
        survey=fields["survey"],
        excavation=fields["excavation"],
        surveyed_at=f"{fields['survey_date'].strip()}T{fields['survey_time'].strip()}",
        method=fields["method"],
        order=fields["order"],
        unit=fields["unit"],
        datum=fields["datum"],
        datum_shift_m=_number(fields, "datum_shift_m"),
        thin_m=_cell_m(fields),
        filter_ground=fields["filter_ground"] == "yes",
        original_ground=fields["original_ground"] == "yes",
        boundary=_ring(files, "boundary"),
        control=_ring(files, "control"),
        earlier=files.get("earlier"),
        accuracy=Accuracy(u_point_m, u_datum_m, u_wall_m),
    )


_PARTS = ("point", "datum", "wall")


def _number(fields: Mapping[str, str], name: str) -> float:
    try:
        return decimal_number(fields[name])
    except InputError as error:
        raise InputError(f"{WORDS[name]}: {error}", field=name) from None


def _least(fields: Mapping[str, str], name: str) -> float:
    value = _number(fields, name)
    if value < 0.0:
        raise InputError(f"{WORDS[name]} is {value:g} m; it must be 0 or more.", field=name)
    return value


def _cell_m(fields: Mapping[str, str]) -> float | None:
    if not fields["thin_m"].strip():
        return None
    value = _number(fields, "thin_m")
    if value < 0.001:
        raise InputError(
            f"{WORDS['thin_m']} of {value:g} m: a cell is 0.001 m wide at least. Leave it empty to"
            " use every point.",
            field="thin_m",
        )
    return value


def _ring(files: Mapping[str, Path], kind: str) -> Floats | None:
    if kind not in files:
        return None
    rings = read_outline(files[kind])
    if len(rings) > 1:
        raise InputError(f"{files[kind].name} has {len(rings)} rings; one is wanted.", field=kind)
    return rings[0]
