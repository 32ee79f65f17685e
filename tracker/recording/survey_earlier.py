"""The file of an earlier survey beside a new one: a part laid over it, a control patch held to it.

The ledger keeps no points, so the earlier file is read again, in the way it was read then.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tracker.domain.site import Site
from tracker.domain.surface.control_patch import control_patch_check
from tracker.domain.surface.coverage import Gates
from tracker.domain.surface.dig_region import excavation_region
from tracker.domain.surface.ground_filter import GroundFilter
from tracker.domain.surface.reduced import reduced_survey, survey_text
from tracker.domain.surface.region import Floats, Region, region
from tracker.domain.surface.report import SurveyReport
from tracker.domain.surface.surface import Cleaning
from tracker.domain.surface.uncertainty import Accuracy
from tracker.errors import InputError, NotEnoughData
from tracker.ledger.entries import SurveySurface
from tracker.ledger.surveys import Taken
from tracker.recording.points.parsed import Progress
from tracker.recording.points.read import SurveyFile, hash_of, read_survey, surface_from
from tracker.recording.survey_questions import SurveyQuestions, placed


@dataclass(frozen=True, slots=True)
class EarlierFile:
    """A recorded survey with the points of its file."""

    entry: SurveySurface
    file: SurveyFile


def earlier_file(
    asked: SurveyQuestions, site: Site, known: Sequence[Taken], progress: Progress
) -> EarlierFile:
    """The recorded survey that a file belongs to, by its hash, and its points.

    Raises InputError for the file of no recorded survey.
    """
    path = asked.earlier
    assert path is not None, "asked for only where it is given"
    if not path.is_file():
        raise InputError(f"There is no file {path}.", field="earlier")
    told = hash_of(path)
    entries = [survey.entry for survey in known if survey.entry.sha256 == told]
    if not entries:
        recorded = ", ".join(f"{s.entry.survey} ({s.entry.source})" for s in known) or "none"
        raise InputError(
            f"{path.name} is not the file that a survey of {asked.excavation} was recorded from."
            f" Recorded: {recorded}.",
            field="earlier",
        )
    entry = entries[0]
    outline = placed(excavation_region(site, asked.excavation))
    shift_m = entry.datum_shift_mm / 1000.0
    file = read_survey(path, outline, entry.column_order, entry.unit, shift_m, progress=progress)
    return EarlierFile(entry, file)


def laid_over(
    entry: SurveySurface,
    earlier: EarlierFile,
    part: Region,
    levels_m: Floats,
    accuracy: Accuracy,
) -> SurveySurface:
    """The entry of a survey of a part, with the earlier one cut to the same boundary."""
    before = earlier.entry
    thin_m = None if before.thin_mm is None else before.thin_mm / 1000.0
    cleaning = Cleaning(thin_m, GroundFilter() if before.filtered else None)
    surface = surface_from(earlier.file, part, cleaning)
    text = survey_text(reduced_survey(surface, levels_m, accuracy))
    return replace(entry, laid_over=before.survey, earlier_table=text)


def with_control(
    report: SurveyReport, ring: Floats, earlier: EarlierFile, file: SurveyFile, gates: Gates
) -> SurveyReport:
    """The report with what both surveys say of ground that nobody dug.

    Raises NotEnoughData if one of them hardly measured it.
    """
    patch = region([ring])
    try:
        found = control_patch_check(
            patch.local(earlier.file.places_m),
            patch.local(file.places_m),
            patch.outline,
            gates=gates,
        )
    except NotEnoughData as error:
        raise InputError(str(error), field="control") from None
    said = (
        f"Control patch: this survey lies {found.difference_m:+.3f} m from {earlier.entry.survey}"
        f" (median of {found.cells} cells, spread {found.spread_m:.3f} m)."
    )
    findings = report.findings if found.finding is None else (*report.findings, found.finding)
    return replace(report, notes=(*report.notes, said), findings=findings)
