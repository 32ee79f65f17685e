"""A surveyed file examined, looked at, and only then recorded: surface, levels and their claim."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

import numpy as np

from tracker.domain.site import Site
from tracker.domain.surface.coverage import coverage, gate_findings, gates_of
from tracker.domain.surface.dig_region import excavation_region, reduction_levels
from tracker.domain.surface.grid_method import grid_surface
from tracker.domain.surface.net import Net
from tracker.domain.surface.picture import Picture, picture_of, picture_text
from tracker.domain.surface.reduced import ReducedSurvey, reduced_survey, survey_text
from tracker.domain.surface.report import SurveyReport
from tracker.domain.surface.site_survey import dug_by_stage, whole_zones
from tracker.domain.surface.surface import Surface
from tracker.errors import (
    DuplicateEntry,
    EntryNotFound,
    InputError,
    NotEnoughData,
    Problem,
)
from tracker.ledger.entries import Entry, SurveyCheck, SurveySurface, new_id
from tracker.ledger.store import Ledger
from tracker.ledger.surveys import Taken, ground_before, taken_surveys
from tracker.recording.columns import KINDS
from tracker.recording.entry import checked_row
from tracker.recording.fields import Fields
from tracker.recording.points.parsed import Progress, in_silence
from tracker.recording.points.read import SurveyFile, surface_from
from tracker.recording.refused import RowRefused
from tracker.recording.setups import Setup
from tracker.recording.survey_earlier import earlier_file, laid_over, with_control
from tracker.recording.survey_questions import (
    DATUMS,
    SurveyQuestions,
    checked,
    cleaning,
    file_asked,
)

__all__ = ["DATUMS", "Examined", "SurveyQuestions", "examine_survey", "record_survey"]


DATUM_HINT = (
    "Levels of this file fit no zone. Say what they stand on, the site or the national datum, and"
    " what is to be added to them."
)


@dataclass(frozen=True, slots=True)
class ZoneFound:
    """What a survey found in one zone; `dug` by stage only where it covers the zone whole."""

    zone: str
    dug: Mapping[int, Net] | None
    lowest_level_m: float
    lowest_place_m: tuple[float, float]  # easting, northing of that point

    @property
    def total(self) -> Net | None:
        """Net bank volume dug from the ground before, below formation included."""
        return None if self.dug is None else sum(self.dug.values(), Net())


@dataclass(frozen=True, slots=True)
class Examined:
    """A survey ready to be recorded, with the report that somebody should read first."""

    surface: SurveySurface
    levels: tuple[Entry, ...]
    check: SurveyCheck
    report: SurveyReport
    zones: tuple[ZoneFound, ...]
    problems: tuple[Problem, ...]  # warnings: breaches, levels below formation
    picture: Picture


def examine_survey(
    ledger: Ledger,
    asked: SurveyQuestions,
    *,
    now: datetime | None = None,
    progress: Progress = in_silence,
) -> Examined:
    """Read and reduce a file of points; nothing is recorded.

    Raises InputError, with every problem of its levels, for what cannot be a survey of this
    excavation; DuplicateEntry for a survey that is recorded already.
    """
    now = now or datetime.now(UTC)
    setup, surveyed_at = checked(ledger, asked, now)
    site = setup.site
    taken = taken_surveys(ledger, site, date.max)
    known = [survey for survey in taken if survey.entry.excavation == asked.excavation]
    whole = excavation_region(site, asked.excavation)
    part = whole if asked.boundary is None else whole.cut_to(asked.boundary)
    file = file_asked(asked, site, part, progress)
    _check_new(asked, file, known)
    surface = surface_from(file, part, cleaning(asked))
    levels = reduction_levels(site, asked.excavation)
    reduced = reduced_survey(surface, levels, asked.accuracy)
    base = ground_before(site, asked.excavation, known, surveyed_at)
    zones = _zones_found(site, asked.excavation, base, reduced)
    rows = _level_rows(ledger, asked, zones, now)
    report = _report(site, asked, surface, zones, file)
    earlier = None if asked.earlier is None else earlier_file(asked, site, known, progress)
    if earlier is not None and asked.control is not None:
        report = with_control(report, asked.control, earlier, file, gates_of(site))
    picture = picture_of(surface)
    entry = _surface_entry(asked, setup, surveyed_at, file, report, reduced, picture)
    if earlier is not None and asked.boundary is not None:
        entry = laid_over(entry, earlier, part, levels, asked.accuracy)
    return Examined(
        surface=entry,
        levels=tuple(row.entry for row in rows if row.entry),
        check=_claim(entry, site, zones),
        report=report,
        zones=zones,
        problems=tuple(p for row in rows for p in row.problems),
        picture=picture,
    )


def record_survey(ledger: Ledger, examined: Examined, *, by: str, reason: str = "") -> str:
    """Record a survey that was examined: surface, deepest points and claim, all or nothing.

    Gives the id of the surface. Raises InputError for a red gate without a reason, DuplicateEntry.
    """
    if examined.report.is_red and not reason.strip():
        red = [f.message for f in examined.report.findings if f.severity == "red"]
        raise InputError(
            f"A gate is red: {' '.join(red)} Say why this survey is accepted all the same, or"
            " survey again.",
            field="reason",
        )
    surface = replace(examined.surface, note=reason.strip())
    ledger.append([surface, *examined.levels, examined.check], by=by)
    return surface.entry_id


def state_limits(
    ledger: Ledger,
    excavation: str,
    survey: str,
    *,
    amber_percent: float | None,
    red_percent: float | None,
    reason: str,
    by: str,
) -> str:
    """State other limits for a survey's check against the returns; None keeps the old one.

    Gives the id of the check. Raises EntryNotFound if none stands, InputError without a reason or
    for limits the wrong way round.
    """
    where = {"excavation": excavation, "survey": survey}
    standing = ledger.current("survey_checks", where=where)
    if not standing:
        raise EntryNotFound(f"The check of survey {survey} was withdrawn, or never recorded.")
    old: SurveyCheck = standing[0]
    amber = old.amber_permille if amber_percent is None else round(amber_percent * 10)
    red = old.red_permille if red_percent is None else round(red_percent * 10)
    if not 0 < amber <= red:
        raise InputError(
            f"Amber {amber / 10:g} % and red {red / 10:g} % do not go together: amber must be more"
            " than 0 and not above red.",
            field="red",
        )
    new = replace(old, entry_id=new_id(), amber_permille=amber, red_permille=red)
    return ledger.supersede(old.entry_id, new, reason=reason, by=by).entry_id


def _check_new(asked: SurveyQuestions, file: SurveyFile, known: Sequence[Taken]) -> None:
    for survey in known:
        entry = survey.entry
        if entry.survey == asked.survey.strip():
            raise DuplicateEntry(
                f"Survey {entry.survey} of {entry.excavation} is recorded already (file"
                f" {entry.source}). Give this one another name, or withdraw that one first.",
            )
        if entry.sha256 == file.sha256:
            raise DuplicateEntry(
                f"{asked.path.name} is the file of survey {entry.survey} already. Send the new"
                " file, or withdraw that survey first."
            )


# --- what was found ------------------------------------------------------------------------------
def _zones_found(
    site: Site, excavation: str, base: Mapping[str, ReducedSurvey], survey: ReducedSurvey
) -> tuple[ZoneFound, ...]:
    whole = whole_zones(site, excavation, survey)
    return tuple(
        ZoneFound(
            zone,
            dug_by_stage(site, zone, base[zone], survey) if zone in whole else None,
            round(float(lowest_m[2]), 3),
            (float(lowest_m[0]), float(lowest_m[1])),
        )
        for zone, lowest_m in zip(survey.table.zones, survey.lowest_m, strict=True)
        if np.isfinite(lowest_m[2])
    )


def _level_rows(
    ledger: Ledger, asked: SurveyQuestions, zones: Sequence[ZoneFound], now: datetime
) -> list[Fields]:
    """The deepest point of each zone as a record like any other, checked like any other."""
    rows = []
    for zone in zones:
        total = zone.total
        fields = {
            "survey": asked.survey.strip(),
            "surveyed_at": asked.surveyed_at,
            "zone": zone.zone,
            "lowest_level_m": f"{zone.lowest_level_m:.3f}",
            "dug_bank_m3": "" if total is None or total.net_m3 < 0 else f"{total.net_m3:.3f}",
            "method": asked.method.strip(),
        }
        rows.append(checked_row(ledger, KINDS["surveys"], fields, now=now))
    refused = [p for row in rows for p in row.problems if p.severity == "error"]
    off = [p for p in refused if p.field == "lowest_level_m"]
    if off:  # then volumes are wrong as well, and say nothing new
        raise RowRefused([Problem(asked.path.name, 0, "datum", asked.datum, DATUM_HINT), *off])
    if refused:
        raise RowRefused(refused)
    return rows


def _report(
    site: Site,
    asked: SurveyQuestions,
    surface: Surface,
    zones: Sequence[ZoneFound],
    file: SurveyFile,
) -> SurveyReport:
    total = sum((zone.total for zone in zones if zone.total is not None), Net())
    covered, second = coverage(surface), _second_method(surface, total.net_m3)
    share = None  # of original ground nothing is dug yet
    if total.net_m3 and not asked.original_ground:
        share = 100.0 * total.uncertainty.combined_m3 / abs(total.net_m3)
    return SurveyReport(
        points_in=surface.points_in,
        points_used=surface.points_used,
        rejected=surface.rejected,
        coverage=covered,
        second_method_difference_percent=second,
        findings=tuple(gate_findings(covered, second, share, gates_of(site))),
        notes=(*surface.region.notes, *file.notes, *surface.warnings),
    )


def _second_method(surface: Surface, net_m3: float) -> float | None:
    """How far the grid lies from the triangles, in percent of the volume dug.

    Of a metre's depth at least: where little is dug yet, millimetres would be many percent.
    """
    try:
        grid_m3 = grid_surface(surface).level_integral_m3()
    except NotEnoughData:
        return None
    corner_levels = surface.xyz_m[surface.triangles, 2]
    integral_m3 = float(surface.area_m2 @ corner_levels.mean(axis=1))
    return 100.0 * (integral_m3 - grid_m3) / max(abs(net_m3), surface.region.area_m2)


def _surface_entry(
    asked: SurveyQuestions,
    setup: Setup,
    surveyed_at: datetime,
    file: SurveyFile,
    report: SurveyReport,
    reduced: ReducedSurvey,
    picture: Picture,
) -> SurveySurface:
    return SurveySurface(
        source=asked.path.name,
        survey=asked.survey.strip(),
        excavation=asked.excavation,
        surveyed_at=surveyed_at,
        work_date=setup.work_date_of(surveyed_at),
        sha256=file.sha256,
        column_order=file.order,
        unit=file.unit,
        datum_shift_mm=round(file.datum_shift_m * 1000),
        method=asked.method.strip(),
        points_in=report.points_in,
        points_used=report.points_used,
        void_table=survey_text(reduced),
        report=report.text(),
        picture=picture_text(picture),
        original_ground=asked.original_ground,
        filtered=asked.filter_ground,
        thin_mm=None if asked.thin_m is None else round(asked.thin_m * 1000),
    )


def _claim(entry: SurveySurface, site: Site, zones: Sequence[ZoneFound]) -> SurveyCheck:
    """What the survey says was dug, by zone and stage, for the returns to be held against."""
    gates = gates_of(site)
    lines = [
        [zone.zone, stage, round(net.net_m3 * 1000), round(net.uncertainty.combined_m3 * 1000)]
        for zone in zones
        for stage, net in (zone.dug or {}).items()
    ]
    return SurveyCheck(
        survey=entry.survey,
        excavation=entry.excavation,
        surveyed_at=entry.surveyed_at,
        work_date=entry.work_date,
        amber_permille=round(gates.returns_amber_percent * 10),
        red_permille=round(gates.returns_red_percent * 10),
        lines=json.dumps(lines),
    )
