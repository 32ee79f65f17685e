"""Statements as lines of text, the most important sentence first."""

from __future__ import annotations

from typing import Any

from tracker.cli.answers import metres, table
from tracker.cli.capacity_lines import capacity_lines
from tracker.cli.delay_lines import delay_lines, hold_lines
from tracker.cli.forecast_lines import forecast_lines
from tracker.cli.gate_lines import gate_lines
from tracker.cli.reconciliation_lines import reconciliation_lines
from tracker.cli.spoil_lines import balance_lines, spoil_lines
from tracker.cli.survey_lines import survey_lines
from tracker.statements.balance_shapes import BalanceStatement
from tracker.statements.capacity_shapes import CapacityStatement, DelayStatement, HoldStatement
from tracker.statements.exception_shapes import ExceptionsStatement
from tracker.statements.forecast_shapes import ForecastStatement
from tracker.statements.gate_shapes import GateStatement
from tracker.statements.reconciliation_shapes import ReconciliationStatement
from tracker.statements.shapes import (
    CarbonStatement,
    DayStatement,
    MovementsStatement,
    ProgressStatement,
)
from tracker.statements.spoil_shapes import SpoilStatement
from tracker.statements.survey_shapes import SurveyStatement


def statement_lines(statement: Any) -> list[str]:
    """A statement for reading: headline, table, basis, cautions."""
    body = _BODIES[type(statement)](statement)
    return [*body, "", *statement.basis.lines, *statement.basis.cautions]


def _day(s: DayStatement) -> list[str]:
    counts = {
        state: sum(x.state == state for x in s.shifts) for state in ("received", "nil", "missing")
    }
    passed = s.movements + s.other_movements
    cap = f" of {s.cap_day} allowed" if s.cap_day else ""
    other = f", {s.other_movements} of them other traffic" if s.other_movements else ""
    booked = f"; {s.booked_movements} more booked" if s.booked_movements else ""
    rows = [
        [
            z.name,
            metres(z.lowest_level_m),
            metres(z.permitted_level_m),
            metres(z.formation_level_m),
            "BREACH" if z.in_breach else "",
        ]
        for z in s.zones
    ]
    return [
        s.headline,
        *(f"BREACH {b.work_date} {b.sentence} [{b.about}]" for b in s.breaches),
        *(f"{'OVER ITS LIMIT ' if t.over else ''}{t.sentence}" for t in s.formation),
        "",
        f"Returns of this day and the day before: {counts['received']} received,"
        f" {counts['nil']} nil, {counts['missing']} missing.",
        f"Dug on the day: {s.bank_m3:,.0f} m³ bank, {s.mass_t:,.0f} t. By belt {s.belt_t:,.0f} t,"
        f" by lorry {s.lorry_t:,.0f} t in {s.loads} loads; {passed} movements{cap}{other}{booked}.",
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
            metres(x.design_level_m),
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


def _exceptions(s: ExceptionsStatement) -> list[str]:
    rows = [[x.rule, x.severity, f"{x.count:,}", str(x.oldest), x.closes] for x in s.rules]
    lines = [
        f"{x.severity.upper()} {x.work_date} {x.rule}: {x.sentence} [{x.about}]" for x in s.lines
    ]
    return [s.headline, "", *table(["rule", "", "open", "since", "closed by"], rows), "", *lines]


_BODIES: dict[type[Any], Any] = {
    DayStatement: _day,
    ExceptionsStatement: _exceptions,
    ProgressStatement: _progress,
    MovementsStatement: _movements,
    CarbonStatement: _carbon,
    ForecastStatement: forecast_lines,
    GateStatement: gate_lines,
    CapacityStatement: capacity_lines,
    DelayStatement: delay_lines,
    HoldStatement: hold_lines,
    SurveyStatement: survey_lines,
    BalanceStatement: balance_lines,
    SpoilStatement: spoil_lines,
    ReconciliationStatement: reconciliation_lines,
}
