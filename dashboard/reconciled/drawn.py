"""Every chart of a reconciliation with its sentence, for every choice: choosing asks nobody."""

from __future__ import annotations

import json
from typing import Any

import plotly.graph_objects as go

from dashboard.figures.calibration import calibration_figure
from dashboard.figures.drift import drift_figure
from dashboard.figures.misfits import misfits_figure, misfits_summary
from dashboard.figures.reconciliation import BANK, MASS, bars_figure, bars_summary
from dashboard.reconciled.shown import unbroken
from tracker.statements.reconciliation_shapes import (
    ALL,
    BeltDrift,
    Calibration,
    ReconciliationStatement,
)

NOTHING = "nothing"
Drawn = dict[str, dict[str, dict[str, Any]]]


def drawn(statement: ReconciliationStatement, width_px: int) -> Drawn:
    """The charts by group and choice."""
    streams = [ALL, *(stream for stream, _ in statement.streams)]
    return {
        "bars": {
            f"{stream}|{unit}": _shown(
                bars_figure(statement, stream, unit, width_px),
                bars_summary(statement, stream, unit),
            )
            for stream in streams
            for unit in (BANK, MASS)
        },
        "misfits": {
            stream: _shown(
                misfits_figure(statement, stream, width_px), misfits_summary(statement, stream)
            )
            for stream in streams
        },
        "implied": {
            line_id(line): _shown(calibration_figure(line, width_px), line.sentence)
            for line in statement.calibrations
        },
        "drift": {
            belt_id(drift): _shown(drift_figure(drift, width_px), drift.sentence)
            for drift in statement.drifts
        },
    }


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


def _shown(figure: go.Figure, said: str) -> dict[str, Any]:
    return {"figure": json.loads(figure.to_json()), "said": unbroken(said)}
