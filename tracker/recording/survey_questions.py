"""What must be said of a file of points before it is read, and how the answers are checked."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

import shapely

from tracker.domain.site import Site
from tracker.domain.surface.ground_filter import GroundFilter
from tracker.domain.surface.region import Area, Floats, Region
from tracker.domain.surface.surface import Cleaning
from tracker.domain.surface.uncertainty import Accuracy
from tracker.errors import InputError, UnknownName
from tracker.ledger.store import Ledger
from tracker.recording.points.parsed import Progress
from tracker.recording.points.read import METRES, SurveyFile, read_survey
from tracker.recording.setups import Setup, setups_of

DATUMS = ("site", "national")


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyQuestions:
    """What must be said of a file of points before it is read. Lengths in metres.

    `surveyed_at` is local unless it has an offset. `datum` says what the levels of the file stand
    on; `datum_shift_m` is added to them besides. `boundary` is the ring of a survey of a part.
    `earlier` is the file that an earlier survey was recorded from: a survey of a part is laid over
    it, and the ring of a `control` patch, ground that nobody dug, tells whether both agree.
    """

    path: Path
    survey: str
    excavation: str
    surveyed_at: str
    method: str = "scan"
    order: str = ""
    unit: str = "m"
    datum: str = "site"
    datum_shift_m: float = 0.0
    thin_m: float | None = None
    filter_ground: bool = False
    original_ground: bool = False
    boundary: Floats | None = None
    control: Floats | None = None
    earlier: Path | None = None
    accuracy: Accuracy = field(default_factory=Accuracy)


def checked(ledger: Ledger, asked: SurveyQuestions, now: datetime) -> tuple[Setup, datetime]:
    """The set-up in force when the survey was made, and that moment."""
    setups = setups_of(ledger)
    surveyed_at = setups.latest.clock.moment(asked.surveyed_at).utc
    if surveyed_at > now:
        raise InputError(
            f"The survey of {asked.surveyed_at} lies in the future: correct its date and time.",
            field="surveyed_at",
        )
    setup = setups.on(setups.latest.clock.local(surveyed_at).date())
    setup.site.excavation(asked.excavation)
    for name, text in (("survey", asked.survey), ("method", asked.method)):
        if not text.strip():
            raise InputError(f"Give the {name}: it stays with the volume for good.", field=name)
    if asked.datum not in DATUMS:
        raise UnknownName("datum", asked.datum, DATUMS)
    if asked.unit not in METRES:
        raise UnknownName("unit", asked.unit, METRES)
    if asked.control is not None and asked.earlier is None:
        raise InputError(
            "A control patch compares two surveys: give the file of the earlier one as well.",
            field="earlier",
        )
    return setup, surveyed_at


def cleaning(asked: SurveyQuestions) -> Cleaning:
    """How the points are to be cleaned."""
    ground_filter = GroundFilter() if asked.filter_ground else None
    return Cleaning(asked.thin_m, ground_filter, asked.accuracy.level_sigma_m)


def file_asked(asked: SurveyQuestions, site: Site, part: Region, progress: Progress) -> SurveyFile:
    """The file, in metres above the site datum. Raises InputError."""
    shift_m = asked.datum_shift_m
    if asked.datum == "national":
        shift_m -= site.datum.offset_m
    return read_survey(
        asked.path, placed(part), asked.order, asked.unit, shift_m, progress=progress
    )


def placed(part: Region) -> Area:
    """The outline of a region in the grid of the site."""
    placed: Area = shapely.transform(part.outline, lambda xy: xy + part.origin_m)
    return placed
