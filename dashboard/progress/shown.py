"""What the records say of today: figures, stages and levels of Progress, in words and tables."""

from __future__ import annotations

from datetime import date
from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import (
    Head,
    basis_block,
    cautions,
    chart_note,
    key_figures,
    long_table,
    mark,
    table,
)
from dashboard.figures.bands import bands_figure, bands_summary
from dashboard.figures.section import section_figure, section_summary
from tracker.statements.shapes import (
    ExcavationProgress,
    ProgressStatement,
    StageProgress,
    ZoneProgress,
)

ALL_ZONES = "all zones"


def shown(statement: ProgressStatement, excavation: str, width_px: int) -> dict[str, Any]:
    """Every part of the page for one statement and excavation."""
    return {
        "headline": headline(statement, excavation),
        "figures": [
            figures(e, rests_on(statement, excavation))
            for e in statement.excavations
            if e.excavation == excavation
        ],
        "section": section_figure(statement, excavation, width_px),
        "section_note": chart_note(
            section_summary(statement, excavation), levels_rows(statement, excavation)
        ),
        "cautions": cautions(statement.basis),
        "bands": bands_figure(statement, excavation, width_px),
        "bands_note": chart_note(
            bands_summary(statement, excavation), bands_rows(statement, excavation)
        ),
        "basis": basis_block(statement.basis),
    }


def headline(statement: ProgressStatement, excavation: str) -> Any:
    """The most important thing of an excavation first; in vermilion if it is a breach."""
    breach = any(z.in_breach for z in statement.zones if z.excavation == excavation)
    said = next((e.headline for e in statement.excavations if e.excavation == excavation), "")
    return mark(said, "breach") if breach else said


def rests_on(statement: ProgressStatement, excavation: str) -> str:
    """What the volume dug stands on: the last surveys, and the returns after them."""
    zones = [z for z in statement.zones if z.excavation == excavation]
    surveys = dict.fromkeys((z.survey, z.surveyed_on) for z in zones if z.survey)
    if not surveys:
        return "by returns alone, ± of the conversion factors only"
    named = " and ".join(f"{name} of {theme.short_day(on)}" for name, on in surveys)
    since_m3 = sum(z.since_survey_m3 or 0.0 for z in zones)
    alone = [z.zone for z in zones if not z.survey]
    rest = f"; zone {', '.join(alone)} by returns alone" if alone else ""
    return f"by survey {named}, then {theme.number(since_m3, 'm³')} by returns{rest}"


def figures(part: ExcavationProgress, resting: str) -> html.Dl:
    """The three progress figures, never one; overdig apart."""
    volume = theme.number(part.design_bank_m3, "m³ bank")
    dug = theme.percent(theme.share(part.dug_net_m3, part.design_bank_m3))
    accepted = theme.percent(theme.share(part.accepted_m2, part.formation_m2))
    return key_figures(
        [
            (
                "Volume dug",
                f"{theme.number(part.dug_net_m3)} of {volume}",
                f"{dug}, ± {theme.number(2.0 * part.u_dug_m3, 'm³')} (twice the standard"
                f" uncertainty): {resting}",
            ),
            (
                "Stages",
                f"{part.stages_released} released, {part.stages_reached} reached",
                f"of {part.stages_total} by zone",
            ),
            (
                "Formation accepted",
                f"{theme.number(part.accepted_m2)} of {theme.number(part.formation_m2, 'm²')}",
                accepted,
            ),
            (
                "Overdig below formation",
                theme.number(part.overdig_m3, "m³ bank"),
                "not in the volume dug; by stage, see the table",
            ),
            ("Formation wanted by", theme.day(part.target_formation), "target of the set-up"),
        ]
    )


def zone_rows(statement: ProgressStatement, excavation: str, zone: str) -> list[Any]:
    """The stages of a zone, or of all zones, and what the zone waits for."""
    zones = [
        z for z in statement.zones if z.excavation == excavation and zone in (ALL_ZONES, z.zone)
    ]
    waits = [html.Li(f"{z.name}: {z.waits_for}") for z in zones if z.waits_for]
    today = statement.basis.as_of
    rows = [stage_row(z, s, today) for z in zones for s in z.stages]
    heads = [
        Head("Zone"),
        Head("Stage"),
        Head("From, m", True),
        Head("Design dig level, m", True),
        Head("Then"),
        Head("Hold point"),
        Head("Reached"),
        Head("Planned to finish"),
        Head("Dug, m³ bank", True),
        Head("Design, m³ bank", True),
    ]
    return [
        html.Ul(waits, className="waits"),
        table("Stages, levels above site datum", heads, rows),
    ]


def stage_row(zone: ZoneProgress, stage: StageProgress, today: date) -> tuple[Any, ...]:
    """One stage as a row; late if its planned finish has passed and it is not reached."""
    late_days = (today - stage.planned_finish).days
    waiting = mark(f"not yet, {late_days} days late", "warning") if late_days > 0 else "not yet"
    decided = f" {theme.short_day(stage.decided_on)}" if stage.decided_on else ""
    meaning = {"released": "planned", "suspended": "warning"}.get(stage.status, "")
    reached = theme.short_day(stage.reached_on) if stage.reached_on else "yes"
    return (
        zone.name,
        str(stage.stage),
        theme.level(stage.top_level_m),
        theme.level(stage.design_level_m),
        stage.support,
        mark(f"{stage.status}{decided}", meaning),
        mark(reached, "done") if stage.reached else waiting,
        theme.short_day(stage.planned_finish),
        theme.number(stage.dug_bank_m3),
        theme.number(stage.design_bank_m3),
    )


def levels_rows(statement: ProgressStatement, excavation: str) -> Any:
    """The levels of the section as rows."""
    rows = [
        (
            z.name,
            theme.level(z.lowest_level_m),
            theme.day(z.lowest_on),
            theme.level(z.permitted_level_m),
            mark("below permitted", "breach") if z.in_breach else "no",
            f"{theme.level(z.general_level_m)} ({z.general_basis})",
            theme.level(z.formation_level_m),
            theme.number(z.dug_net_m3),
        )
        for z in statement.zones
        if z.excavation == excavation
    ]
    heads = [
        Head("Zone"),
        Head("Lowest, m", True),
        Head("On"),
        Head("Permitted, m", True),
        Head("Breach"),
        Head("General level, m", True),
        Head("Formation, m", True),
        Head("Dug, m³ bank", True),
    ]
    return table("Levels by zone, above site datum", heads, rows)


def bands_rows(statement: ProgressStatement, excavation: str) -> Any:
    """The level bands as rows."""
    rows = [
        (
            f"{b.zone}, {theme.level(b.upper_level_m)} to {theme.level(b.lower_level_m)}",
            theme.number(b.design_bank_m3),
            theme.number(b.dug_bank_m3),
        )
        for b in statement.bands
        if b.excavation == excavation
    ]
    heads = ("Zone and levels, m above site datum", "Design, m³ bank", "Dug, m³ bank")
    return long_table("Level bands", heads, rows)
