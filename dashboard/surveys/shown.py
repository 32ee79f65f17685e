"""What the Survey page shows of a survey statement: figures, comparison, quality, the list."""

from __future__ import annotations

from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import (
    Head,
    block,
    key_figures,
    long_table,
    mark,
    matrix,
    record_link,
    table,
)
from dashboard.figures.plan_key import MARKS
from tracker.statements.survey_shapes import (
    GateFinding,
    LeftOut,
    SurveyedTotal,
    SurveyedVolume,
    SurveyQuality,
    SurveyStatement,
    TakenSurvey,
)

HASH_SHOWN = 12  # characters
MEANINGS = {"red": "breach", "amber": "warning", "": "done"}


def headline(statement: SurveyStatement) -> Any:
    """The statement in one sentence; in vermilion if a surveyed point is below permitted."""
    low = any(zone.in_breach for zone in statement.zones)
    return mark(statement.headline, "breach") if low else statement.headline


def plus_minus(value_m3: float, u_m3: float, unit: str = "") -> str:
    """A volume with twice its standard uncertainty.

    >>> plus_minus(49909.9, 55.1, "m³ bank")
    '49,910 ± 110 m³ bank'
    """
    return f"{theme.number(value_m3)} ± {theme.number(2.0 * u_m3, unit)}"


def signed(value: float | None, unit: str, decimals: int = 0) -> str:
    """A number with its sign, plus or minus.

    >>> signed(0.29, "%", 1), signed(-79.2, "m³"), signed(0.0, "%", 1), signed(None, "%")
    ('+0.3 %', '−79 m³', '0.0 %', '–')
    """
    text = theme.number(value, unit, decimals)
    above = value is not None and value > 0 and any(c in "123456789" for c in text)
    return f"+{text}" if above else text


def figures(statement: SurveyStatement) -> html.Dl:
    """The volume and what it is held against, never without its uncertainty."""
    total, quality = statement.total, statement.quality
    since = f"since {statement.since}" if statement.since else "since the ground"
    covered_all = all(zone.covered == "whole" for zone in statement.zones)
    zones = "" if covered_all else ", of the zones covered whole"
    return key_figures(
        [
            (
                f"Dug {since}",
                plus_minus(total.net_m3, total.u_combined_m3, "m³ bank"),
                f"to {theme.day(statement.surveyed_at.date())}{zones}; ± is twice the standard"
                " uncertainty, about 95 %",
            ),
            (
                "Returns say",
                plus_minus(total.returned_m3, total.u_returned_m3, "m³ bank"),
                f"{signed(total.difference_m3, 'm³')} ({signed(total.percent, '%', 1)}):"
                f" {total.verdict}",
            ),
            *quality_figures(quality),
            (
                "Still to dig to formation",
                theme.number(sum(z.above_formation_m3 for z in statement.zones), "m³ bank"),
                f"{theme.number(sum(z.below_formation_m3 for z in statement.zones), 'm³')} dug"
                " below formation",
            ),
        ]
    )


def quality_figures(quality: SurveyQuality) -> list[tuple[str, str, str]]:
    """Coverage, second method and points, as key figures."""
    return [
        (
            "Covered",
            theme.percent(quality.covered_percent, 1),
            f"of {theme.number(quality.area_m2, 'm²')};"
            f" {theme.percent(quality.wall_extrapolated_percent, 1)} extrapolated to the wall,"
            f" {theme.percent(quality.long_edge_percent, 1)} in long triangles, largest gap"
            f" {theme.number(quality.largest_gap_m, 'm', 1)}",
        ),
        (
            "Second method",
            f"{signed(quality.second_method_difference_percent, '%', 2)} apart"
            if quality.second_method_difference_percent is not None
            else "not computed",
            "volume on an independent grid against that of the triangles",
        ),
        (
            "Points used",
            f"{theme.number(quality.points_used)} of {theme.number(quality.points_in)}",
            f"{theme.number(quality.points_per_m2, decimals=1)} a m²",
        ),
    ]


def answers(statement: SurveyStatement, surveys_link: Any) -> list[Any]:
    """Everything below the key figures."""
    return [
        block("Survey against returns", comparison_rows(statement)),
        block("Gates", findings_list(statement.findings), reason_words(statement)),
        html.Div(
            [
                block("Uncertainty by part", uncertainty_rows(statement.total)),
                block("Points left out", left_out_rows(statement.left_out)),
            ],
            className="side-by-side",
        ),
        block("How it was read", reading_list(statement)),
        block("Volume by level band", bands_rows(statement)),
        block("All surveys", surveys_rows(statement, surveys_link)),
    ]


def comparison_rows(statement: SurveyStatement) -> Any:
    """Zone by zone, with the stages that do not agree; every stage behind a disclosure."""
    names = {zone.zone: zone.name for zone in statement.zones}
    first = [line for line in statement.volumes if line.stage is None or line.severity]
    stages = [line for line in statement.volumes if line.stage is not None]
    if not first:
        return html.P("No zone is covered whole, so none is compared.", className="empty")
    return html.Div(
        [
            comparison_table("Zones, and stages beyond a limit: net bank volume", names, first),
            html.Details(
                [
                    html.Summary(f"Every stage ({len(stages)})"),
                    stages_table(stages),
                ],
                className="rows",
            ),
        ]
    )


def comparison_table(caption: str, names: dict[str, str], lines: list[SurveyedVolume]) -> Any:
    """Surveyed, returned, how far apart, and what that means."""
    rows = [comparison_row(names, line) for line in lines]
    heads = [
        Head("Zone and stage"),
        Head("Surveyed ± 2u, m³", True),
        Head("Returned ± 2u, m³", True),
        Head("Returned − surveyed, m³", True),
        Head("Apart, %", True),
        Head("Verdict"),
    ]
    return table(caption, heads, rows)


def stages_table(stages: list[SurveyedVolume]) -> Any:
    """Every stage as plain text: a component a cell would keep the browser busy."""
    rows = [
        (
            stage_words(line),
            plus_minus(line.surveyed_m3, line.u_surveyed_m3),
            plus_minus(line.returned_m3, line.u_returned_m3),
            signed(line.percent, "", 1),
        )
        for line in stages
    ]
    heads = ("Stage", "Surveyed ± 2u, m³", "Returned ± 2u, m³", "Apart, %")
    return long_table("Every stage: net bank volume, returned against surveyed", heads, rows)


def comparison_row(names: dict[str, str], line: SurveyedVolume) -> tuple[Any, ...]:
    """One line; the whole zone in bold, its stages below it."""
    return (
        html.Strong(names.get(line.zone, line.zone)) if line.stage is None else stage_words(line),
        plus_minus(line.surveyed_m3, line.u_surveyed_m3),
        plus_minus(line.returned_m3, line.u_returned_m3),
        signed(line.difference_m3, ""),
        signed(line.percent, "", 1),
        mark(line.verdict, verdict_meaning(line)),
    )


def verdict_meaning(line: SurveyedVolume) -> str:
    """Red and amber by the limits of the check; a difference within them is not called done."""
    agreed = line.verdict.startswith("agree")
    return MEANINGS[line.severity] if line.severity or agreed else ""


def stage_words(line: SurveyedVolume) -> str:
    """The stage of a line and the levels between which it lies."""
    if line.stage == 0:
        return f"{line.zone}, below formation {theme.level(line.from_level_m)}"
    upper = "ground" if line.from_level_m is None else theme.level(line.from_level_m)
    return f"{line.zone}, stage {line.stage}: {upper} to {theme.level(line.to_level_m)}"


def findings_list(findings: tuple[GateFinding, ...]) -> html.Ul | html.P:
    """The gates that a survey does not pass, the worst first."""
    if not findings:
        return html.P(mark("Every gate is passed.", "done"))
    ordered = sorted(findings, key=lambda finding: finding.severity != "red")
    return html.Ul(
        [
            html.Li(mark(f"{f.severity.capitalize()}: {f.message}", MEANINGS[f.severity]))
            for f in ordered
        ],
        className="plain-list",
    )


def reason_words(statement: SurveyStatement) -> html.P | None:
    """Why a survey was accepted with a red gate."""
    return html.P(f"Accepted because: {statement.reason}") if statement.reason else None


def left_out_rows(left_out: tuple[LeftOut, ...]) -> Any:
    """Why points were not used, and how many."""
    rows = [
        [MARKS.get(one.reason, MARKS["other"])[1].capitalize(), theme.number(one.points)]
        for one in left_out
    ]
    return matrix("Points of the file that were not used", "Reason", ["Points"], rows)


def uncertainty_rows(total: SurveyedTotal) -> Any:
    """Standard uncertainty by part, combined, and doubled."""
    parts = [
        ("Single points, independent of each other", total.u_random_m3),
        ("Level of the whole survey (datum)", total.u_level_m3),
        ("Place of the wall line", total.u_edge_m3),
        ("Ground between the points", total.u_interpolation_m3),
        ("Combined (root of the sum of squares)", total.u_combined_m3),
        ("Twice that, as stated with ±", 2.0 * total.u_combined_m3),
    ]
    rows = [[name, theme.number(value, decimals=1)] for name, value in parts]
    return matrix("Standard uncertainty of the volume dug", "Part", ["u, m³ bank"], rows)


def reading_list(statement: SurveyStatement) -> html.Ul:
    """How the file was read: what a second surveyor needs to get the same surface."""
    order = f"columns {statement.column_order}, " if statement.column_order else ""
    thin = theme.number(statement.thin_m, "m", 2) if statement.thin_m else ""
    lines = [
        f"Surveyed {theme.moment(statement.surveyed_at)}: {order}unit {statement.unit},"
        f" {theme.number(statement.datum_shift_m, 'm', 3)} added to levels.",
        f"Thinned to one point a cell of {thin}." if thin else "Not thinned.",
        "Ground filter on: people and plant taken out; see the points left out."
        if statement.filtered
        else "Ground filter off: whatever was measured is taken as ground.",
        f"Laid over {statement.part_of}, inside its own boundary." if statement.part_of else "",
        *statement.notes,
    ]
    return html.Ul([html.Li(line) for line in lines if line], className="reading")


def bands_rows(statement: SurveyStatement) -> html.Details:
    """Net volume between the levels at which the survey was reduced, behind a disclosure."""
    rows = [
        (
            f"{band.zone}, {_edge(band.from_level_m, 'ground')}"
            f" to {_edge(band.to_level_m, 'as deep as dug')}",
            theme.number(band.net_m3, decimals=1),
            theme.number(2.0 * band.u_m3, decimals=1),
        )
        for band in statement.bands
    ]
    heads = ("Zone and levels, m above site datum", "Net dug, m³ bank", "± 2u, m³")
    return html.Details(
        [html.Summary("Bands"), long_table("Net bank volume by level band", heads, rows)],
        className="rows",
    )


def _edge(level_m: float | None, words: str) -> str:
    return words if level_m is None else theme.level(level_m)


def surveys_rows(statement: SurveyStatement, surveys_link: Any) -> Any:
    """Every survey of the excavation, newest first."""
    rows = [survey_row(one, surveys_link) for one in statement.surveys]
    heads = [
        Head("Survey"),
        Head("Day"),
        Head("File, SHA-256"),
        Head("Points used", True),
        Head("Dug ± 2u, m³ bank", True),
        Head("Covered, %", True),
        Head("Gates"),
        Head("Returns"),
        Head("Record", short=True),
    ]
    return table(f"{len(rows)} recorded, newest first", heads, rows)


def survey_row(one: TakenSurvey, surveys_link: Any) -> tuple[Any, ...]:
    """One survey; its hash is short here, whole beside the pointer and in its record."""
    gates = {"red": "red", "amber": "amber", "": "passed"}[one.gate]
    dug = "ground before digging" if one.original_ground else plus_minus(one.dug_m3, one.u_dug_m3)
    verdict = f"{signed(one.difference_percent, '%', 1)}: {one.verdict}" if one.verdict else "–"
    return (
        surveys_link(one),
        theme.day(one.work_date),
        html.Span(
            [f"{one.file} ", html.Code(f"{one.sha256[:HASH_SHOWN]}…", title=one.sha256)],
        ),
        f"{theme.number(one.points_used)} of {theme.number(one.points_in)}",
        dug,
        theme.number(one.covered_percent, decimals=1),
        mark(gates, MEANINGS[one.gate]),
        verdict,
        record_link(one.entry_id, "Its record"),
    )
