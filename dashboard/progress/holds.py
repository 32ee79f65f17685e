"""Hold points: what waits, runs or is late, what the forecast assumes, and the formation timer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from dash import dcc, html

from dashboard import theme
from dashboard.components import Head, mark, table
from dashboard.forms.fields import DECISIONS
from tracker.recording.columns import KINDS
from tracker.statements.capacity_shapes import FormationTimer, HoldLine, HoldStatement
from tracker.statements.forecast_shapes import AssumedLine, ForecastStatement
from tracker.statements.words import span_words

GOVERN = (
    "The permit on site and the temporary works coordinator govern, not this list. What is recorded"
    " here releases nothing."
)
ASSUMED = (
    "Nobody has released these yet: the forecast takes each as released by its own date, and no"
    " stage below may be dug on that ground."
)
HOLD_HEADS = [
    Head("Hold point"),
    Head("Status"),
    Head("Needs"),
    Head("Permit"),
    Head("Stage above dug out"),
    Head("Runs, of planned days", True),
]


def decision_links(path: str) -> list[dcc.Link]:
    """The ways to the forms of decisions and steps, and to all that was recorded of them."""
    forms = [
        dcc.Link(f"Record a {one}", href=f"{path}?record={kind}", className="button")
        for kind, one in DECISIONS.items()
    ]
    searches = [
        dcc.Link(f"Search {KINDS[kind].title.lower()}", href=_search(kind), className="link")
        for kind in DECISIONS
    ]
    return [*forms, *searches]


def _search(kind: str) -> str:
    return f"/records?kind={KINDS[kind].ledger_kind}"


def hold_parts(statement: HoldStatement, excavation: str) -> list[Any]:
    """The hold points that need somebody first, all of them behind a disclosure."""
    own = [line for line in statement.holds if line.excavation == excavation]
    waiting = sorted((line for line in own if needs_somebody(line)), key=lambda x: -x.late_days)
    every = html.Details(
        [html.Summary(f"All {len(own)} hold points"), holds_table("All hold points", own)],
        className="rows",
    )
    return [holds_table("Hold points that wait, run or are late", waiting), every]


def needs_somebody(line: HoldLine) -> bool:
    """Whether a hold runs, late or not, or was suspended."""
    return line.running or line.status == "suspended"


def holds_table(caption: str, lines: Sequence[HoldLine]) -> Any:
    """Hold points as rows."""
    return table(caption, HOLD_HEADS, [hold_row(line) for line in lines])


def hold_row(line: HoldLine) -> tuple[Any, ...]:
    """One hold point; late in words and in orange."""
    meaning = {"released": "planned", "suspended": "warning"}.get(line.status, "")
    decided = f", {when(line.decided_at)}" if line.decided_at else ""
    stage = "formation" if line.hold == "formation" else f"stage {line.hold}"
    needs = [line.above, line.condition, line.given_condition and f"given: {line.given_condition}"]
    return (
        f"{line.zone}, {stage}",
        mark(f"{line.standing}{decided}", meaning),
        "; ".join(part for part in needs if part),
        line.permit or theme.NO_NUMBER,
        theme.short_day(line.dug_out_on),
        days_of(line),
    )


def days_of(line: HoldLine) -> Any:
    """The days a hold took or has run so far, against the plan."""
    if line.days is None:
        return f"{line.planned_days} planned" if line.planned_days else theme.NO_NUMBER
    words = f"{bare_length(line.days)} of {line.planned_days}"
    if line.late_days > 0:
        return mark(f"{words}, {bare_length(line.late_days)} late", "warning")
    return f"{words}{' so far' if line.running else ''}"


def bare_length(days: float) -> str:
    """Days as a number; hours with their unit where it is under a day.

    >>> bare_length(14.0), bare_length(0.75)
    ('14', '18 h')
    """
    return span_words(days) if 0.0 < days < 1.0 else theme.number(days)


# --- assumed releases ----------------------------------------------------------------------------
def assumed_parts(forecast: ForecastStatement, excavation: str) -> Any:
    """The releases that the forecast assumes, each with its dates."""
    own = [line for line in forecast.releases if line.excavation == excavation]
    if not own:
        return None
    heads = [
        Head("Hold point"),
        Head("Needs"),
        Head("P20: one in five by"),
        Head("P50: one in two by"),
        Head("P80: four in five by"),
    ]
    rows = [assumed_row(line) for line in own]
    return html.Div([html.P(ASSUMED), table("Releases that the forecast assumes", heads, rows)])


def assumed_row(line: AssumedLine) -> tuple[Any, ...]:
    """One assumed release; overdue in words and in orange."""
    name = f"{line.zone}, stage {line.stage}"
    return (
        mark(f"{name}, overdue", "warning") if line.overdue else name,
        "; ".join(part for part in (line.support, line.condition) if part),
        theme.short_day(line.needed_p20),
        theme.short_day(line.needed_p50),
        theme.short_day(line.needed_p80),
    )


# --- the formation timer -------------------------------------------------------------------------
def timer_parts(timers: Sequence[FormationTimer], excavation: str) -> Any:
    """Formation of each zone: reached, inspected, blinded, and how long it lies open."""
    own = [timer for timer in timers if timer.excavation == excavation]
    begun = [timer for timer in own if has_begun(timer)]
    rest = [timer.name for timer in own if not has_begun(timer)]
    heads = [
        Head("Zone"),
        Head("Reached"),
        Head("Inspected, m²"),
        Head("Blinded, m²"),
        Head("Open, m²", True),
        Head("Open for, of the limit"),
        Head("Blind by"),
    ]
    rows = [timer_row(timer) for timer in begun]
    later = html.P(f"Not reached yet: {', '.join(rest)}.", className="beside") if rest else None
    return html.Div([table("Formation, which softens while it lies open", heads, rows), later])


def has_begun(timer: FormationTimer) -> bool:
    """Whether a formation is reached, or has had a step without that being recorded."""
    return bool(timer.reached_at or timer.inspected_m2 or timer.blinded_m2)


def timer_row(timer: FormationTimer) -> tuple[Any, ...]:
    """One zone; over its limit in words and in vermilion."""
    whole = theme.number(timer.formation_m2)
    return (
        timer.name,
        reached_words(timer),
        step_words(timer.inspected_m2, whole, timer.inspected_at),
        step_words(timer.blinded_m2, whole, timer.blinded_at),
        theme.number(timer.exposed_m2),
        open_words(timer),
        when(timer.blind_by) or theme.NO_NUMBER,
    )


def reached_words(timer: FormationTimer) -> str:
    """Since when formation is reached: by its level, and by the record of its last layer."""
    level = f"by level since {when(timer.level_at)}" if timer.level_at else ""
    trimmed = f"last layer trimmed {when(timer.trimmed_at)} as recorded" if timer.trimmed_at else ""
    return "; ".join(part for part in (level, trimmed) if part) or "not yet"


def step_words(area_m2: float, whole: str, at: str) -> str:
    """How much of a formation has had one step, and when it last had."""
    if not area_m2:
        return theme.NO_NUMBER
    return f"{theme.number(area_m2)} of {whole}" + (f", {when(at)}" if at else "")


def when(local: str) -> str:
    """A local moment as people here write it; nothing stays nothing.

    >>> when("2026-10-07 15:40"), when("")
    ('7 Oct 2026 15:40', '')
    """
    return f"{theme.short_day(date.fromisoformat(local[:10]))}{local[10:]}" if local else ""


def open_words(timer: FormationTimer) -> Any:
    """The hours that formation has lain open, against the limit of the project."""
    if timer.exposed_h is None:
        return theme.NO_NUMBER
    limit = "no limit set" if timer.limit_h is None else f"of {theme.number(timer.limit_h, 'h')}"
    words = f"{theme.number(timer.exposed_h, 'h', 1)} {limit}"
    return mark(f"{words}: over", "breach") if timer.over else words
