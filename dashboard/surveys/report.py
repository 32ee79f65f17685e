"""What an examined survey says before it is accepted: coverage, gates, levels, volumes, plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dash import html

from dashboard import theme
from dashboard.components import Head, block, cautions, graph, key_figures, mark, matrix, table
from dashboard.desk import Desk
from dashboard.figures.deepest import DeepestPoint
from dashboard.figures.plan import plan_figure, plan_summary
from dashboard.figures.plan_key import MARKS
from dashboard.ids import SurveyRecord
from dashboard.surveys.shown import findings_list, plus_minus, quality_figures
from tracker.errors import Problem
from tracker.statements import day_statement
from tracker.statements.levels import BREACH_RULE
from tracker.statements.survey_shapes import GateFinding, SurveyQuality

if TYPE_CHECKING:
    from tracker.recording.surveys import Examined, ZoneFound


def report_parts(desk: Desk, examined: Examined, width_px: int) -> list[Any]:
    """Everything somebody should read first, the worst first."""
    day = desk.stated(day_statement, examined.surface.work_date)
    permitted_m = {zone.zone: zone.permitted_level_m for zone in day.zones}
    deepest = deepest_found(examined, permitted_m)
    report = examined.report
    findings = tuple(GateFinding(f.severity, f.what, f.message) for f in report.findings)
    return [
        html.H2(f"What {examined.surface.source} says", tabIndex=-1, className="report-heading"),
        html.Ul(
            [html.Li(mark(words, meaning)) for words, meaning in warnings(examined).items()],
            className="plain-list",
        ),
        findings_list(findings),
        html.Ul([html.Li(note) for note in report.notes], className="reading"),
        key_figures([*volume_figures(examined), *quality_figures(quality(examined))]),
        html.Div(
            [
                graph(
                    SurveyRecord.PLAN,
                    "Plan of the survey that is looked at",
                    plan_figure(examined.picture, deepest, report.rejected, width_px),
                ),
                html.P(plan_summary(examined.picture, deepest), className="summary"),
            ],
            className="chart-block",
        ),
        cautions(day.basis),
        block("Zones", zones_found(examined, permitted_m)),
        block("Points left out", left_out(report.rejected)),
    ]


def warnings(examined: Examined) -> dict[str, str]:
    """What is odd about the levels and how grave it is, breaches first; each thing said once."""
    worst_first = sorted(examined.problems, key=is_breach, reverse=True)
    return {p.message: "breach" if is_breach(p) else "warning" for p in worst_first}


def breaches(examined: Examined) -> list[str]:
    """The warnings of levels below the permitted one."""
    return [words for words, meaning in warnings(examined).items() if meaning == "breach"]


def is_breach(problem: Problem) -> bool:
    """Whether a warning is of a level below the permitted one."""
    return problem.rule == BREACH_RULE


def deepest_found(examined: Examined, permitted_m: dict[str, float]) -> list[DeepestPoint]:
    """The deepest point of each zone against what was permitted on that day."""
    return [
        DeepestPoint(
            zone.zone,
            *zone.lowest_place_m,
            zone.lowest_level_m,
            permitted_m[zone.zone],
            zone.lowest_level_m < permitted_m[zone.zone],
        )
        for zone in examined.zones
        if zone.zone in permitted_m
    ]


def quality(examined: Examined) -> SurveyQuality:
    """Coverage, points and second method as the statement will show them."""
    report, covered = examined.report, examined.report.coverage
    return SurveyQuality(
        covered.area_m2,
        covered.covered_percent,
        covered.wall_extrapolated_percent,
        covered.long_edge_percent,
        covered.largest_gap_m,
        covered.points_per_m2,
        report.points_in,
        report.points_used,
        report.second_method_difference_percent,
    )


def volume_figures(examined: Examined) -> list[tuple[str, str, str]]:
    """The volume of the zones covered whole, unless this is the ground that volumes start at."""
    totals = [zone.total for zone in examined.zones if zone.total is not None]
    if examined.surface.original_ground:
        return [("Original ground", "volumes start at it", "of the zones it covers whole")]
    if not totals:
        return [("Dug since the ground", "–", "no zone is covered whole")]
    total = sum(totals[1:], totals[0])
    return [
        (
            "Dug since the ground",
            plus_minus(total.net_m3, total.uncertainty.combined_m3, "m³ bank"),
            "± is twice the standard uncertainty, about 95 %",
        )
    ]


def zones_found(examined: Examined, permitted_m: dict[str, float]) -> Any:
    """Each zone: volume, deepest point, what was permitted there."""
    heads = [
        Head("Zone"),
        Head("Covered"),
        Head("Dug ± 2u, m³ bank", True),
        Head("Deepest point, m above site datum", True),
        Head("Permitted, m", True),
        Head("Breach"),
    ]
    rows = [zone_row(zone, permitted_m.get(zone.zone)) for zone in examined.zones]
    return table("By zone, as this file says", heads, rows)


def zone_row(zone: ZoneFound, permitted_m: float | None) -> tuple[Any, ...]:
    """One zone of an examined survey."""
    total = zone.total
    low = permitted_m is not None and zone.lowest_level_m < permitted_m
    below = theme.level(round((permitted_m or 0.0) - zone.lowest_level_m, 3), "m")
    return (
        zone.zone,
        "part" if total is None else "whole",
        "–" if total is None else plus_minus(total.net_m3, total.uncertainty.combined_m3),
        theme.level(zone.lowest_level_m),
        theme.level(permitted_m),
        mark(f"{below} below permitted: stop and ask", "breach") if low else "no",
    )


def left_out(rejected: dict[str, int]) -> Any:
    """Why points were not used, and how many."""
    rows = [
        [MARKS.get(why, MARKS["other"])[1].capitalize(), theme.number(count)]
        for why, count in rejected.items()
        if count
    ]
    return matrix("Points of the file that were not used", "Reason", ["Points"], rows)
