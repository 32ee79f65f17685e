"""The charts of a reconciliation by what is chosen, each with its sentence."""

from __future__ import annotations

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.calibration import calibration_figure
from dashboard.figures.drift import drift_figure
from dashboard.figures.misfits import misfits_figure, misfits_summary
from dashboard.figures.reconciliation import bars_figure, bars_summary
from dashboard.reconciled.shown import unbroken
from tracker.statements.reconciliation_shapes import (
    ALL,
    BeltDrift,
    Calibration,
    ReconciliationStatement,
)

NO_BELT = "No belt ran between two surveys."
NO_GROUND = "No ground was dug between two surveys."
Chart = tuple[go.Figure, str]  # with its sentence


def bars(statement: ReconciliationStatement, stream: str, unit: str, width_px: int) -> Chart:
    """What each party says of a stream, or of all."""
    figure = bars_figure(statement, stream, unit, width_px)
    return figure, unbroken(bars_summary(statement, stream, unit))


def misfits(statement: ReconciliationStatement, stream: str, width_px: int) -> Chart:
    """Where the statements of a stream do not fit."""
    figure = misfits_figure(statement, stream, width_px)
    return figure, unbroken(misfits_summary(statement, stream))


def implied(statement: ReconciliationStatement, chosen: str | None, width_px: int) -> Chart:
    """What the records imply of the chosen quantity, else of the one that tells most."""
    found = {line_id(line): line for line in statement.calibrations}
    line = found.get(chosen or "") or found.get(first_telling(statement)[0] or "")
    if line is None:
        return theme.empty_figure(NO_GROUND), NO_GROUND
    return calibration_figure(line, width_px), unbroken(line.sentence)


def drift(statement: ReconciliationStatement, chosen: str | None, width_px: int) -> Chart:
    """Whether the chosen belt has changed, else the one that tells most."""
    found = {belt_id(one): one for one in statement.drifts}
    one = found.get(chosen or "") or found.get(first_telling(statement)[1] or "")
    if one is None:
        return theme.empty_figure(NO_BELT), NO_BELT
    return drift_figure(one, width_px), unbroken(one.sentence)


def line_id(line: Calibration) -> str:
    """The choice that stands for a calibration."""
    return f"{line.quantity}|{line.of}"


def belt_id(drift: BeltDrift) -> str:
    """The choice that stands for a belt and a stream."""
    return f"{drift.belt}|{drift.stream}"


def choices(statement: ReconciliationStatement) -> dict[str, list[dict[str, str]]]:
    """What may be chosen: streams, implied quantities, belts."""
    return {
        "streams": [
            {"value": ALL, "label": "All streams"},
            *({"value": stream, "label": name} for stream, name in statement.streams),
        ],
        "implied": [
            {"value": line_id(line), "label": f"{line.name}: {line.quantity}"}
            for line in statement.calibrations
        ],
        "belts": [{"value": belt_id(drift), "label": drift.name} for drift in statement.drifts],
    }


def first_telling(statement: ReconciliationStatement) -> tuple[str | None, str | None]:
    """The calibration and the belt to show first: one that says something, if there is one."""
    lines = sorted(
        statement.calibrations,
        key=lambda x: (bool(x.missing), x.agrees, x.unit != "t/m³", -x.periods),
    )
    belts = sorted(statement.drifts, key=lambda one: (bool(one.missing), -len(one.points)))
    return (line_id(lines[0]) if lines else None, belt_id(belts[0]) if belts else None)
