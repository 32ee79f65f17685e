"""To formation: when, by whom it is governed, against which plan; or why no date is given."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from dash import dcc, html

from dashboard import theme
from dashboard.components import Head, chart_note, long_table, mark, notice, table
from dashboard.figures.ahead import days_words
from dashboard.figures.fan import Drawn, drawn, fan_summary
from dashboard.figures.lanes import BEYOND, lanes
from tracker.statements.forecast_shapes import (
    BacktestLine,
    DateLine,
    EarnedLine,
    ForecastStatement,
    PlanVersion,
)
from tracker.statements.forecast_words import chance_words
from tracker.statements.shapes import ProgressStatement, ZoneProgress

WHAT_IF = "/what-if"
SUNDAY = 6
REACHED = "reached"


# --- the answer ----------------------------------------------------------------------------------
def answer(forecast: ForecastStatement, excavation: str, zone: str = "") -> Any:
    """When formation is reached and what governs, in a sentence; or why that cannot be said."""
    if forecast.refused:
        words = "No date is given. The plan and the days ahead or behind still stand, below."
        return notice(forecast.refused, html.P(words), meaning="warning")
    line = formation_line(forecast, excavation, zone)
    if line is None:
        what = "this zone" if zone else "this excavation"
        return html.P(mark(f"Formation of {what} is reached.", "done"), className="answer")
    needed = [] if zone else [n.sentence for n in forecast.needed if n.excavation == excavation]
    return html.Div([html.P(line.sentence, className="answer"), *map(html.P, needed)])


def formation_line(forecast: ForecastStatement, excavation: str, zone: str) -> DateLine | None:
    """The line of the formation of a zone, or of the whole excavation."""
    own = (x for x in forecast.dates if (x.excavation, x.zone) == (excavation, zone))
    return next((line for line in own if line.stage is None), None)


# --- the dates -----------------------------------------------------------------------------------
DATE_HEADS = (
    Head("P20", short=True),
    Head("P50", short=True),
    Head("P80", short=True),
    Head("Planned", short=True),
    Head("Chance of plan", True),
    Head("Chance of target", True),
    Head("Governs"),
)


def dates_table(
    forecast: ForecastStatement, progress: ProgressStatement, excavation: str, zone: str = ""
) -> Any:
    """The formation of the whole and of each zone; of a chosen zone its stages."""
    if forecast.refused:
        return None
    if zone:
        own = lanes(forecast.dates, excavation, zone)
        rows = [date_row(stage_name(line), line, governs(forecast, line)) for line in own]
        heads = [Head("Stage, level above datum"), *DATE_HEADS]
        return table("Dates by which each stage of the zone is dug", heads, rows)
    whole = formation_line(forecast, excavation, "")
    rows = []
    if whole:
        rows.append(date_row(html.Strong(whole.name), whole, governs(forecast, whole)))
    for one in (z for z in progress.zones if z.excavation == excavation):
        line = formation_line(forecast, excavation, one.zone)
        said = governs(forecast, line) if line else ""
        rows.append(date_row(one.name, line, said) if line else reached_row(one))
    heads = [Head("Formation of"), *DATE_HEADS]
    caption = "Dates of formation: P80 is held by four of five walks through the calendar"
    return table(caption, heads, rows)


def date_row(name: Any, line: DateLine, governed_by: str) -> tuple[Any, ...]:
    """One line of dates with its chances."""
    return (
        name,
        by(line.p20),
        by(line.p50),
        html.Strong(by(line.p80)),
        theme.short_day(line.planned_finish),
        chance(line.chance_of_plan),
        chance(line.chance_of_target),
        governed_by,
    )


def reached_row(zone: ZoneProgress) -> tuple[Any, ...]:
    """A zone at its formation, which no forecast speaks of."""
    days = [stage.reached_on for stage in zone.stages if stage.reached_on]
    on = f"{REACHED} {theme.short_day(max(days))}" if days else REACHED
    finish = max((stage.planned_finish for stage in zone.stages), default=None)
    return (zone.name, None, None, mark(on, "done"), theme.short_day(finish), None, None, None)


def stage_name(line: DateLine) -> str:
    """A stage with its level; without one the formation."""
    if line.stage is None:
        return "Formation"
    return f"{line.stage} to {theme.level(line.design_level_m, 'm')}"


def by(day: date | None) -> str:
    """A date of a forecast; none where it lies after the calendar that was walked."""
    return theme.short_day(day) if day else BEYOND


def chance(share: float | None) -> str | None:
    """A chance in percent; nothing where none applies."""
    return None if share is None else chance_words(share)


def governs(forecast: ForecastStatement, line: DateLine) -> str:
    """What governs most of the shifts to a date, in the words of its own zone."""
    own = [
        g for g in forecast.governs if (g.excavation, g.cause) == (line.excavation, line.governs)
    ]
    said = {g.zone: g.words for g in own}
    return said.get(line.zone) or said.get("") or line.governs


# --- how earlier dates held ----------------------------------------------------------------------
def held_parts(forecast: ForecastStatement) -> list[Any]:
    """How the P80 dates of earlier forecasts held on this site, with every one of them."""
    short = forecast.earlier_stretch is not None and forecast.earlier_stretch > 1.0
    said = mark(forecast.earlier_sentence, "warning") if short else forecast.earlier_sentence
    rows = [
        (
            f"{theme.day(line.made_on)}: {held_place(line)}",
            by(line.p20),
            by(line.p80),
            theme.day(line.reached_on) if line.reached_on else "not yet",
            "held" if line.held else "late",
        )
        for line in forecast.earlier
    ]
    heads = ("Forecast on", "P20", "P80", "Dug out", "P80")
    table_ = long_table("Dates of earlier forecasts that have passed", heads, rows)
    return chart_note(said, table_) if rows else [html.P(said, className="summary")]


def held_place(line: BacktestLine) -> str:
    """What an earlier date was of."""
    return line.excavation or f"zone {line.zone}, stage {line.stage}"


# --- behind the chart ----------------------------------------------------------------------------
def fan_note(
    progress: ProgressStatement, forecast: ForecastStatement, excavation: str, zone: str = ""
) -> list[Any]:
    """The sentence of the chart, its rows, and what the dates rest on."""
    said = fan_summary(progress, forecast, excavation, zone)
    parts = drawn(progress, forecast, excavation, zone)
    rows = html.Div([volume_rows(parts), plan_lines(forecast.plans, excavation)])
    more = None if forecast.refused else rests_on(forecast, progress, excavation)
    change = dcc.Link("What would change this?", href=WHAT_IF, className="link")
    note = chart_note(said, rows)
    return [*note, more, html.P(change, className="no-print")]


def volume_rows(parts: Drawn) -> Any:
    """The lines as rows, one a week, one at each survey and at the ends."""
    dug = {p.day: p for p in parts.dug}
    ahead = {p.day: p for p in parts.ahead}
    current = [points for version, points in parts.plans if version.current]
    planned = {p.day: p.planned_bank_m3 for p in (current[0] if current else ())}
    days = sorted({*dug, *ahead, *planned})
    kept = [
        d for d in days if d.weekday() == SUNDAY or d == days[-1] or (d in dug and dug[d].survey)
    ]
    rows = []
    for day in kept:
        point, fan = dug.get(day), ahead.get(day)
        rows.append(
            (
                survey_day(point) if point else theme.day(day),
                theme.number(planned.get(day)),
                theme.number(point.dug_bank_m3 if point else None),
                theme.number(fan.low_bank_m3 if fan else None),
                theme.number(fan.middle_bank_m3 if fan else None),
                theme.number(fan.high_bank_m3 if fan else None),
            )
        )
    heads = ("To the end of", "Planned", "Dug", "4 in 5", "Even", "1 in 5")
    return long_table("Volumes by week, m³ bank; ahead with the chance of as much", heads, rows)


def survey_day(point: Any) -> str:
    """The day of a row; on that of a survey its name, with twice its standard uncertainty."""
    if not point.survey:
        return theme.day(point.day)
    twice_m3 = 2.0 * (point.u_dug_m3 or 0.0)
    return f"{theme.day(point.day)}: survey {point.survey}, ± {theme.number(twice_m3, 'm³')}"


def plan_lines(plans: Sequence[PlanVersion], excavation: str) -> Any:
    """Every plan with its dates, the current one named, and what it leaves out."""
    own = [plan for plan in plans if plan.excavation == excavation]
    if not own:
        return html.P("No plan is frozen and the set-up gives no dates.", className="empty")
    rows = [
        (
            f"{plan.plan} (current)" if plan.current else plan.plan,
            theme.short_day(plan.frozen_on),
            theme.short_day(plan.starts),
            theme.short_day(plan.finishes),
            " ".join(x for x in (plan.reference, plan.missing) if x),
        )
        for plan in own
    ]
    heads = [Head("Plan"), Head("Frozen"), Head("Starts"), Head("Finishes"), Head("Reference")]
    return table("Plans", heads, rows)


def rests_on(
    forecast: ForecastStatement, progress: ProgressStatement, excavation: str
) -> html.Details:
    """What the dates were walked with: rates, causes left out, releases assumed."""
    rows = [
        (
            rate.group,
            theme.number(rate.bank_m3_per_shift),
            theme.number(rate.shifts),
            "those of all stages: too few of its own" if rate.borrowed else "its own",
        )
        for rate in forecast.rates
    ]
    heads = [Head("Stages"), Head("m³ bank a shift", True), Head("Shifts", True), Head("Of")]
    left_out = ", ".join(forecast.left_out) or "none"
    assumed = sum(line.excavation == excavation for line in forecast.releases)
    lines = [
        f"{theme.number(forecast.walks)} walks of the ground that is left, through the calendar.",
        f"Causes left out of the record by choice: {left_out}.",
        f"Hold points taken as released at a date of their own: {assumed}; see Hold points.",
        *(line for line in forecast.basis.lines if line not in progress.basis.lines),
    ]
    return html.Details(
        [
            html.Summary("What these dates rest on"),
            html.Ul([html.Li(line) for line in lines], className="reading"),
            table("Rates of the record", heads, rows),
        ],
        className="rows",
    )


# --- ahead or behind -----------------------------------------------------------------------------
def earned_rows(earned: Sequence[EarnedLine], excavation: str) -> Any:
    """The earned schedule of every plan, the current one first."""
    own = sorted(
        (line for line in earned if line.excavation == excavation), key=lambda x: not x.current
    )
    rows = [
        (
            html.Strong(line.name) if not line.zone else line.name,
            f"{line.plan} (current)" if line.current else line.plan,
            days_words(line.ahead_days),
            theme.number(line.earned_days, decimals=1),
            theme.number(line.actual_days),
            theme.number(line.spi_t, decimals=2),
            theme.number(line.earned_bank_m3),
            theme.number(line.planned_bank_m3),
        )
        for line in own
    ]
    heads = [
        Head("Of"),
        Head("Plan"),
        Head("Working days"),
        Head("Earned, days", True),
        Head("Worked, days", True),
        Head("Earned over worked", True),
        Head("Earned, m³ bank", True),
        Head("Planned by now, m³ bank", True),
    ]
    return table("Earned schedule: dug net design volume in the time of the plan", heads, rows)
