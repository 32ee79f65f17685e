"""Surveys as lines of text: the sentence first, then volumes, what stands beside them, the list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracker.cli.answers import metres, plain, table
from tracker.domain.surface.coverage import Coverage
from tracker.domain.surface.uncertainty import Uncertainty
from tracker.statements.survey_shapes import SurveyQuality, SurveyStatement, TakenSurvey


def survey_lines(s: SurveyStatement) -> list[str]:
    """The statement of a survey for reading."""
    q, t = s.quality, s.total
    rejected = {left.reason: left.points for left in s.left_out}
    u = Uncertainty(t.u_random_m3, t.u_level_m3, t.u_edge_m3, t.u_interpolation_m3)
    return [
        s.headline,
        *(f"{f.severity.capitalize()}: {f.message}" for f in s.findings),
        *([f"Accepted all the same: {s.reason}"] if s.reason else []),
        *s.notes,
        "",
        *check_lines(s),
        "",
        *_zones(s),
        "",
        *_bands(s),
        "",
        *coverage_lines(
            q, q.points_used, q.points_in, rejected, q.second_method_difference_percent
        ),
        u_line(u),
        "",
        *survey_rows(s.surveys),
    ]


def _zones(s: SurveyStatement) -> list[str]:
    rows = [
        [
            z.name,
            z.covered,
            metres(z.mean_level_m),
            metres(z.lowest_level_m),
            metres(z.permitted_level_m),
            f"{z.above_formation_m3:,.0f}",
            f"{z.below_formation_m3:,.0f}",
            "BREACH" if z.in_breach else "",
        ]
        for z in s.zones
    ]
    heads = ["zone", "covered", "mean m", "lowest m", "permitted m", "still to dig m³"]
    return table([*heads, "overdig m³", ""], rows)


def _bands(s: SurveyStatement) -> list[str]:
    rows = [
        [
            b.zone,
            "ground" if b.from_level_m is None else metres(b.from_level_m),
            "below" if b.to_level_m is None else metres(b.to_level_m),
            f"{b.net_m3:,.1f}",
            f"{b.u_m3:,.1f}",
        ]
        for b in s.bands
    ]
    return table(["band", "from m", "to m", "net m³", "u m³"], rows)


def check_lines(s: SurveyStatement) -> list[str]:
    """Surveyed against returned volumes by zone and stage."""
    rows = [
        [
            v.zone if v.stage is None else f"{v.zone} {_stage_words(v.stage)}",
            f"{v.surveyed_m3:,.0f} ± {2 * v.u_surveyed_m3:,.0f}",
            f"{v.returned_m3:,.0f} ± {2 * v.u_returned_m3:,.0f}",
            f"{v.difference_m3:+,.0f}",
            "" if v.percent is None else f"{v.percent:+.1f} %",
            f"{v.severity.upper()} {v.verdict}".strip(),
        ]
        for v in s.volumes
    ]
    heads = ["zone, stage", "surveyed m³ ± 2u", "returned m³ ± 2u", "difference m³", "", ""]
    limits = (
        "No limits are stated."
        if s.red_percent is None
        else f"Limits: amber {s.amber_percent:g} %, red {s.red_percent:g} % of the surveyed volume."
    )
    return [*table(heads, rows), limits]


def _stage_words(stage: int) -> str:
    return f"stage {stage}" if stage else "below formation"


def survey_rows(surveys: Sequence[TakenSurvey]) -> list[str]:
    """Surveys in a list, newest first."""
    rows = [
        [
            f"{one.excavation} {one.survey}",
            f"{one.work_date}",
            one.file,
            f"{one.points_used:,} of {one.points_in:,}",
            f"{one.covered_percent:.1f} %",
            "original ground"
            if one.original_ground
            else f"{one.dug_m3:,.0f} ± {2 * one.u_dug_m3:,.0f}",
            one.verdict,
            one.gate,
        ]
        for one in surveys
    ]
    heads = ["survey", "of", "file", "points", "covered", "dug m³ ± 2u", "returns", "gate"]
    return table(heads, rows)


def coverage_lines(
    covered: Coverage | SurveyQuality,
    used: int,
    of: int,
    rejected: Mapping[str, int],
    second_percent: float | None,
) -> list[str]:
    """How well points cover an area, which were left out, and what the second method says."""
    left_out = [f"{n:,} {why.replace('_', ' ')}" for why, n in rejected.items() if n]
    return [
        f"Area {plain(covered.area_m2, 'm²')}: {covered.covered_percent:.1f} % covered,"
        f" {covered.wall_extrapolated_percent:.1f} % extrapolated to the wall,"
        f" {covered.long_edge_percent:.1f} % under long triangles; longest side"
        f" {covered.largest_gap_m:.2f} m, {covered.points_per_m2:.2f} points/m²",
        f"Points used: {used:,} of {of:,}; left out: {', '.join(left_out) or 'none'}",
        "Second method (grid): "
        + ("not possible" if second_percent is None else f"{second_percent:+.3f} %"),
    ]


def u_line(u: Uncertainty) -> str:
    """The standard uncertainty of a volume by part."""
    return (
        f"Standard uncertainty: points {plain(u.random_m3, 'm³')}, level"
        f" {plain(u.level_m3, 'm³')}, wall line {plain(u.edge_m3, 'm³')}, interpolation"
        f" {plain(u.interpolation_m3, 'm³')}; combined {plain(u.combined_m3, 'm³')}"
    )
