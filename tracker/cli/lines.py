"""Statements as lines of text, the most important sentence first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tracker.cli.answers import plain
from tracker.domain.surface.coverage import Coverage
from tracker.domain.surface.uncertainty import Uncertainty
from tracker.statements.shapes import (
    CarbonStatement,
    DayStatement,
    MovementsStatement,
    ProgressStatement,
)
from tracker.statements.survey_shapes import SurveyQuality, SurveyStatement, TakenSurvey


def statement_lines(statement: Any) -> list[str]:
    """A statement for reading: headline, table, basis, cautions."""
    body = _BODIES[type(statement)](statement)
    return [*body, "", *statement.basis.lines, *statement.basis.cautions]


def table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows under their headings, the first column to the left, the others to the right."""
    widths = [max(map(len, column)) for column in zip(headings, *rows, strict=True)]
    return [
        "  ".join(
            cell.ljust(width) if not place else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in (headings, *rows)
    ]


def _metres(level_m: float | None) -> str:
    return "–" if level_m is None else f"{level_m:.3f}"


def _day(s: DayStatement) -> list[str]:
    counts = {
        state: sum(x.state == state for x in s.shifts) for state in ("received", "nil", "missing")
    }
    cap = f" of {s.cap_day} allowed" if s.cap_day else ""
    rows = [
        [
            z.name,
            _metres(z.lowest_level_m),
            _metres(z.permitted_level_m),
            _metres(z.formation_level_m),
            "BREACH" if z.in_breach else "",
        ]
        for z in s.zones
    ]
    return [
        s.headline,
        *(f"BREACH {b.work_date} {b.sentence} [{b.about}]" for b in s.breaches),
        "",
        f"Returns of this day and the day before: {counts['received']} received,"
        f" {counts['nil']} nil, {counts['missing']} missing.",
        f"Dug on the day: {s.bank_m3:,.0f} m³ bank, {s.mass_t:,.0f} t. By belt {s.belt_t:,.0f} t,"
        f" by lorry {s.lorry_t:,.0f} t in {s.loads} loads; {s.movements} movements{cap}.",
        f"Other open exceptions: {len(s.exceptions)}.",
        *(f"  {x.work_date} {x.rule}: {x.sentence}" for x in s.exceptions[:10]),
        "",
        *table(["zone", "lowest m", "permitted m", "formation m", ""], rows),
    ]


def _progress(s: ProgressStatement) -> list[str]:
    return [
        s.headline,
        "",
        *_excavations(s),
        "",
        *_stages(s),
        "",
        *(f"Zone {z.zone}: {z.waits_for}" for z in s.zones if z.waits_for),
    ]


def _excavations(s: ProgressStatement) -> list[str]:
    heads = ["excavation", "dug net m³ ± u", "design m³", "share", "overdig m³"]
    heads += ["stages released / reached / all", "accepted / formation m²"]
    rows = [
        [
            e.name,
            f"{e.dug_net_m3:,.0f} ± {e.u_dug_m3:,.0f}",
            f"{e.design_bank_m3:,.0f}",
            f"{100 * e.dug_net_m3 / e.design_bank_m3:.1f} %",
            f"{e.overdig_m3:,.0f}",
            f"{e.stages_released} / {e.stages_reached} / {e.stages_total}",
            f"{e.accepted_m2:,.0f} / {e.formation_m2:,.0f}",
        ]
        for e in s.excavations
    ]
    return table(heads, rows)


def _stages(s: ProgressStatement) -> list[str]:
    rows = [
        [
            f"{x.zone} stage {x.stage}",
            _metres(x.design_level_m),
            x.status,
            "reached" if x.reached else "",
            f"{x.dug_bank_m3:,.0f}",
            f"{x.design_bank_m3:,.0f}",
            x.support,
        ]
        for z in s.zones
        for x in z.stages
    ]
    return table(["stage", "to m", "hold", "", "dug m³", "design m³", "then"], rows)


def _movements(s: MovementsStatement) -> list[str]:
    rows = [
        [
            line.label,
            f"{line.spoil_t:,.0f}",
            f"{line.belt_t:,.0f}",
            f"{line.loads:,}",
            f"{line.movements:,}",
            f"{line.baseline_movements:,.0f}",
            f"{line.avoided_movements:z,.0f}",
            f"{line.avoided_movements_low:z,.0f} to {line.avoided_movements_high:z,.0f}",
        ]
        for line in ((*s.lines, s.total) if s.grain != "total" else (s.total,))
    ]
    heads = ["period", "spoil t", "belt t", "loads", "moves", "baseline", "avoided", "range"]
    routes = [
        f"{r.name}: {r.mass_t:,.0f} t in {r.loads:,} loads to {r.destination}"
        + (f"; then {r.onward_road_legs}" if r.onward_road_legs else "")
        for r in s.routes
    ]
    return [s.claim, "", *table(heads, rows), "", *routes]


def _carbon(s: CarbonStatement) -> list[str]:
    def split(value: float | None) -> str:
        return "–" if value is None else f"{value:,.0f}"

    rows = [
        [
            f"{x.option}: {x.route} {x.leg} {x.mode}",
            f"{x.distance_km:g}",
            f"{x.mass_t:,.0f}",
            split(x.operation_kgco2e),
            split(x.supply_kgco2e),
            f"{x.total_kgco2e:,.0f}",
            f"{x.per_t_kgco2e:.3f}",
        ]
        for x in s.legs
    ]
    heads = ["leg", "km", "t", "operation kg", "supply kg", "total kg CO2e", "kg/t"]
    even = (
        []
        if s.break_even_t is None
        else [f"The conveyor's own carbon is paid back after {s.break_even_t:,.0f} t by belt."]
    )
    return [s.headline, *even, "", *table(heads, rows), "", *s.editions, s.attribution]


def _survey(s: SurveyStatement) -> list[str]:
    q, t = s.quality, s.total
    rejected = {left.reason: left.points for left in s.left_out}
    second = q.second_method_difference_percent
    u = Uncertainty(t.u_random_m3, t.u_level_m3, t.u_edge_m3, t.u_interpolation_m3)
    zones = [
        [
            z.name,
            z.covered,
            _metres(z.mean_level_m),
            _metres(z.lowest_level_m),
            _metres(z.permitted_level_m),
            f"{z.above_formation_m3:,.0f}",
            f"{z.below_formation_m3:,.0f}",
            "BREACH" if z.in_breach else "",
        ]
        for z in s.zones
    ]
    heads = ["zone", "covered", "mean m", "lowest m", "permitted m", "still to dig m³"]
    bands = [
        [
            b.zone,
            "ground" if b.from_level_m is None else _metres(b.from_level_m),
            "below" if b.to_level_m is None else _metres(b.to_level_m),
            f"{b.net_m3:,.1f}",
            f"{b.u_m3:,.1f}",
        ]
        for b in s.bands
    ]
    return [
        s.headline,
        *(f"{f.severity.capitalize()}: {f.message}" for f in s.findings),
        *([f"Accepted all the same: {s.reason}"] if s.reason else []),
        *s.notes,
        "",
        *check_lines(s),
        "",
        *table([*heads, "overdig m³", ""], zones),
        "",
        *table(["band", "from m", "to m", "net m³", "u m³"], bands),
        "",
        *coverage_lines(q, q.points_used, q.points_in, rejected, second),
        u_line(u),
        "",
        *survey_rows(s.surveys),
    ]


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


_BODIES: dict[type[Any], Any] = {
    DayStatement: _day,
    ProgressStatement: _progress,
    MovementsStatement: _movements,
    CarbonStatement: _carbon,
    SurveyStatement: _survey,
}
