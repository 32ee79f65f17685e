"""Survey: what was measured, how well, and whether the returns agree with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, datetime
from itertools import pairwise
from math import isfinite
from typing import TYPE_CHECKING

from tracker.domain.levels import breach
from tracker.domain.surface.net import Net, ground_dug, nets_dug
from tracker.domain.surface.reduced import survey_from_text
from tracker.domain.surface.report import SurveyReport, report_from_text
from tracker.domain.surface.volumes import ABOVE, BELOW, to_formation
from tracker.domain.survey_check import BELOW_FORMATION, RETURN_U, CheckLine
from tracker.errors import InputError, NotEnoughData, UnknownName
from tracker.ledger.surveys import Taken
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.levels import Standing, standings
from tracker.statements.survey_against_returns import Compared, claimed_otherwise, compared
from tracker.statements.survey_shapes import (
    GateFinding,
    LeftOut,
    SurveyedBand,
    SurveyedTotal,
    SurveyedVolume,
    SurveyedZone,
    SurveyQuality,
    SurveyStatement,
    TakenSurvey,
)
from tracker.statements.surveyed import taken_to
from tracker.statements.words import date_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads


def survey_statement(
    ledger: LedgerReads,
    as_of: date,
    *,
    excavation: str = "",
    survey: str = "",
    since: str = "",
    known_at: datetime | None = None,
) -> SurveyStatement:
    """A survey of an excavation: the last one to a date, or that of a name.

    Volumes are from the ground before digging, or since an earlier survey. Raises NotEnoughData if
    there is no survey yet, UnknownName, InputError for surveys the wrong way round.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        name = excavation or frame.site.excavations[0].excavation
        title = frame.site.excavation(name).name
        taken = _taken_of(frame, name)
        if not taken:
            raise NotEnoughData(
                f"No survey of {title} is recorded to {date_words(as_of)}. Record one with `spoil"
                " survey import`, or on the Survey page."
            )
        chosen = _chosen(taken, survey) if survey else taken[-1]
        earlier = _earlier(taken, since, chosen) if since else None
        found = compared(frame, taken, chosen, earlier)
        return _stated(frame, title, taken, found, since)


def survey_list(
    ledger: LedgerReads,
    as_of: date,
    *,
    excavation: str = "",
    known_at: datetime | None = None,
) -> tuple[TakenSurvey, ...]:
    """The surveys of an excavation (empty: of every one) to a date, newest first.

    Raises UnknownName for the excavation.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        known = [e.excavation for e in frame.site.excavations]
        names = [frame.site.excavation(excavation).excavation] if excavation else known
        found = []
        for name in names:
            taken = _taken_of(frame, name)
            found += [_in_list(frame, taken, one) for one in taken]
        return tuple(sorted(found, key=lambda one: one.surveyed_at, reverse=True))


def _taken_of(frame: Frame, excavation: str) -> list[Taken]:
    return [one for one in taken_to(frame) if one.entry.excavation == excavation]


def _chosen(taken: Sequence[Taken], name: str) -> Taken:
    known = {one.entry.survey: one for one in taken}
    if name not in known:
        raise UnknownName("survey", name, known)
    return known[name]


def _earlier(taken: Sequence[Taken], name: str, later: Taken) -> Taken:
    found = _chosen(taken, name)
    if found.entry.surveyed_at >= later.entry.surveyed_at:
        raise InputError(
            f"Survey {name} was not made before {later.entry.survey}: give an earlier one.",
            field="since",
        )
    return found


def _stated(
    frame: Frame, title: str, taken: Sequence[Taken], found: Compared, since: str
) -> SurveyStatement:
    entry = found.survey.entry
    report = report_from_text(entry.report)
    zones = _zones(frame, found.survey)
    total = _total(found)
    parts = _inside_boundary(found.survey)
    return SurveyStatement(
        basis=basis(frame, frame.site.first_date, quality=_quality(found)),
        headline=_headline(title, found, total, zones, since),
        excavation=entry.excavation,
        survey=entry.survey,
        entry_id=entry.entry_id,
        since=since,
        surveyed_at=entry.surveyed_at,
        column_order=entry.column_order,
        unit=entry.unit,
        datum_shift_m=entry.datum_shift_mm / 1000.0,
        thin_m=None if entry.thin_mm is None else entry.thin_mm / 1000.0,
        filtered=entry.filtered,
        reason=entry.note,
        part_of=entry.laid_over,
        amber_percent=None if found.check is None else found.check.amber_permille / 10.0,
        red_percent=None if found.check is None else found.check.red_permille / 10.0,
        total=total,
        quality=_survey_quality(report),
        findings=tuple(GateFinding(f.severity, f.what, f.message) for f in report.findings),
        left_out=tuple(LeftOut(why, n) for why, n in report.rejected.items() if n),
        notes=(*report.notes, *_part_notes(found.survey, parts)),
        zones=zones,
        volumes=tuple(_volume(frame, found, line) for line in found.lines),
        bands=(*_bands(frame, found), *parts),
        surveys=tuple(_in_list(frame, taken, one) for one in reversed(taken)),
    )


def _total(found: Compared) -> SurveyedTotal:
    net, line = found.net, found.total
    u = net.uncertainty
    return SurveyedTotal(
        net_m3=net.net_m3,
        u_random_m3=u.random_m3,
        u_level_m3=u.level_m3,
        u_edge_m3=u.edge_m3,
        u_interpolation_m3=u.interpolation_m3,
        u_combined_m3=u.combined_m3,
        returned_m3=line.returned_m3,
        u_returned_m3=line.u_returned_m3,
        difference_m3=line.difference_m3,
        percent=line.percent,
        verdict=line.verdict,
        severity=found.severity(line),
    )


def _survey_quality(report: SurveyReport) -> SurveyQuality:
    return SurveyQuality(
        **asdict(report.coverage),
        points_in=report.points_in,
        points_used=report.points_used,
        second_method_difference_percent=report.second_method_difference_percent,
    )


def _quality(found: Compared) -> list[str]:
    lines = claimed_otherwise(found)
    shares = ", ".join(f"{basis} {100.0 * u:g} %" for basis, u in RETURN_U.items())
    lines.append(
        f"Standard uncertainty of returns by basis (common practice, no source): {shares}; beside"
        " it that of the conversion factors. A difference counts from twice both together."
    )
    if found.check is None:
        lines.append("The check of this survey was withdrawn: no limit is held against it.")
    if found.survey.between:
        levels = ", ".join(f"{level:.3f}" for level in found.survey.between)
        lines.append(f"Not reduced at {levels} m: volumes there are near. Record its file anew.")
    return lines


def _zones(frame: Frame, survey: Taken) -> tuple[SurveyedZone, ...]:
    stands = {s.zone.zone: s for s in standings(frame)}
    table = survey.reduced.table
    return tuple(
        _zone(frame, survey, stands[name], row)
        for row, name in enumerate(table.zones)
        if name in stands
    )


def _zone(frame: Frame, survey: Taken, standing: Standing, row: int) -> SurveyedZone:
    name, table = standing.zone.zone, survey.reduced.table
    formation_m = frame.site.formation_level_m(name)
    (left,) = to_formation(table, {name: formation_m})
    easting_m, northing_m, level_m = survey.reduced.lowest_m[row]
    lowest_m = round(float(level_m), 3)
    known = isfinite(lowest_m)  # where a point was measured at all
    return SurveyedZone(
        zone=name,
        name=standing.zone.name,
        covered="whole" if name in survey.whole else "part",
        mean_level_m=float(table.level_integral_m3[row] / table.area_m2[row]),
        lowest_level_m=lowest_m if known else None,
        lowest_place_m=(float(easting_m), float(northing_m)) if known else None,
        permitted_level_m=standing.permitted_level_m,
        formation_level_m=formation_m,
        in_breach=known and breach(name, lowest_m, standing.permitted_level_m) is not None,
        above_formation_m3=left.above_m3,
        below_formation_m3=left.below_m3,
        below_formation_m2=left.below_m2,
    )


def _volume(frame: Frame, found: Compared, line: CheckLine) -> SurveyedVolume:
    stages = frame.site.stages_of(line.zone)
    from_m, to_m = None, None
    if line.stage == BELOW_FORMATION:
        from_m = stages[-1].design_level_m
    elif line.stage is not None:
        levels = {s.stage: s.design_level_m for s in stages}
        to_m = levels.get(line.stage)
        above = [level for number, level in levels.items() if number < line.stage]
        from_m = above[-1] if above else None
    return SurveyedVolume(
        zone=line.zone,
        stage=line.stage,
        from_level_m=from_m,
        to_level_m=to_m,
        surveyed_m3=line.surveyed_m3,
        u_surveyed_m3=line.u_surveyed_m3,
        returned_m3=line.returned_m3,
        u_returned_m3=line.u_returned_m3,
        difference_m3=line.difference_m3,
        percent=line.percent,
        verdict=line.verdict,
        severity=found.severity(line),
    )


def _bands(frame: Frame, found: Compared) -> list[SurveyedBand]:
    edges = (ABOVE, *reversed(found.survey.reduced.table.levels_m.tolist()), BELOW)
    bands = []
    for zone, before in found.before.items():
        nets = ground_dug(before, found.survey.reduced, frame.site.zone(zone), edges)
        bands += _banded(zone, edges, nets)
    return bands


def _banded(zone: str, edges: Sequence[float], nets: Sequence[Net]) -> list[SurveyedBand]:
    """The bands in which something was dug or filled, to a twentieth of a cubic metre."""
    return [
        SurveyedBand(
            zone,
            None if upper == ABOVE else upper,
            None if lower == BELOW else lower,
            net.net_m3,
            net.uncertainty.combined_m3,
        )
        for net, (upper, lower) in zip(nets, pairwise(edges), strict=True)
        if abs(net.net_m3) > 0.05
    ]


def _inside_boundary(survey: Taken) -> list[SurveyedBand]:
    """What a survey of a part changed inside its boundary, in zones it does not cover whole."""
    if not survey.entry.earlier_table:
        return []
    earlier = survey_from_text(survey.entry.earlier_table)
    later = survey_from_text(survey.entry.void_table)
    edges = (ABOVE, *reversed(later.table.levels_m.tolist()), BELOW)
    return [
        band
        for zone in later.table.zones
        if zone not in survey.whole
        for band in _banded(zone, edges, nets_dug(earlier, later, zone, edges))
    ]


def _part_notes(survey: Taken, parts: Sequence[SurveyedBand]) -> list[str]:
    partly = [zone for zone in survey.reduced.table.zones if zone not in survey.whole]
    if not partly:
        return []
    notes = [
        f"Covers only a part of zone {', '.join(partly)}: progress of"
        f" {'these zones' if len(partly) > 1 else 'this zone'} rests on the survey before."
    ]
    for zone in dict.fromkeys(band.zone for band in parts):
        net_m3 = sum(band.net_m3 for band in parts if band.zone == zone)
        notes.append(
            f"Inside its boundary {net_m3:,.1f} m³ were dug in zone {zone} since"
            f" {survey.entry.laid_over}."
        )
    return notes


def _in_list(frame: Frame, taken: Sequence[Taken], survey: Taken) -> TakenSurvey:
    entry, report = survey.entry, report_from_text(survey.entry.report)
    found = compared(frame, taken, survey)
    gates = {finding.severity for finding in report.findings}
    return TakenSurvey(
        survey=entry.survey,
        entry_id=entry.entry_id,
        excavation=entry.excavation,
        surveyed_at=entry.surveyed_at,
        work_date=entry.work_date,
        file=entry.source,
        sha256=entry.sha256,
        method=entry.method,
        original_ground=entry.original_ground,
        points_in=entry.points_in,
        points_used=entry.points_used,
        zones=", ".join(survey.whole),
        dug_m3=found.net.net_m3,
        u_dug_m3=found.net.uncertainty.combined_m3,
        covered_percent=report.coverage.covered_percent,
        second_method_difference_percent=report.second_method_difference_percent,
        gate="red" if "red" in gates else "amber" if gates else "",
        difference_percent=None if entry.original_ground else found.total.percent,
        verdict="" if entry.original_ground else found.total.verdict,
    )


def _headline(
    title: str,
    found: Compared,
    total: SurveyedTotal,
    zones: Sequence[SurveyedZone],
    since: str,
) -> str:
    entry = found.survey.entry
    low = [zone.zone for zone in zones if zone.in_breach]
    warning = (
        f"Surveyed below the permitted level in zone {', '.join(low)}: stop and ask the temporary"
        " works coordinator. "
        if low
        else ""
    )
    what = f"Survey {entry.survey} of {title}, {date_words(entry.work_date)}"
    if entry.original_ground:
        return f"{warning}{what}: the ground before digging, from which volumes are counted."
    if not found.nets:
        return f"{warning}{what}: covers no zone whole, see what changed inside its boundary."
    start = f"since {since}" if since else "since the ground"
    return (
        f"{warning}{what}: {total.net_m3:,.0f} ± {2.0 * total.u_combined_m3:,.0f} m³ bank dug"
        f" {start}. The returns say {total.returned_m3:,.0f} m³{_percent_words(total)}:"
        f" {'they ' if total.verdict.startswith('agree') else ''}{total.verdict}."
    )


def _percent_words(total: SurveyedTotal) -> str:
    return "" if total.percent is None else f" ({total.percent:+.1f} %)"
