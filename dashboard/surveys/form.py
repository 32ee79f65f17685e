"""The form that records a survey: the same questions as the command asks, in the same order."""

from __future__ import annotations

from typing import Any

import dash_mantine_components as dmc
from dash import html

from dashboard.components import button, choice, date_field, decimal_field, slot, text_field
from dashboard.handing_over import Handing, file_field
from dashboard.ids import SurveyRecord
from tracker.recording.points.read import METRES
from tracker.recording.points.text import ORDERS

KEPT = {"persistence": True, "persistence_type": "session"}  # through a change of page
# Name of a question -> the field that holds its answer.
FIELDS = {
    "excavation": SurveyRecord.EXCAVATION,
    "survey": SurveyRecord.SURVEY,
    "survey_date": SurveyRecord.DATE,
    "survey_time": SurveyRecord.TIME,
    "method": SurveyRecord.METHOD,
    "order": SurveyRecord.ORDER,
    "unit": SurveyRecord.UNIT,
    "datum": SurveyRecord.DATUM,
    "datum_shift_m": SurveyRecord.SHIFT,
    "thin_m": SurveyRecord.THIN,
    "u_point_m": SurveyRecord.U_POINT,
    "u_datum_m": SurveyRecord.U_DATUM,
    "u_wall_m": SurveyRecord.U_WALL,
}
SWITCHES = {
    "filter_ground": SurveyRecord.FILTER,
    "original_ground": SurveyRecord.ORIGINAL,
}
UNITS = {
    "m": "metres",
    "ft": "international feet",
    "us-ft": "US survey feet",
    "mm": "millimetres",
    "cm": "centimetres",
    "in": "inches",
}
PROPOSE = {"value": "", "label": "Propose it"}
HANDING = Handing(
    address="/survey-file",
    prefix="record",
    kinds=("points", "boundary", "control", "earlier"),
    most_mb=40,
    sender="the surveyor",
    too_large="Record it with the command spoil survey import on the machine of the ledger: it"
    " takes files of any size.",
)
RING = "CSV of corners, easting and northing in m of the site grid"


def form() -> html.Div:
    """Every field, in one column on a phone."""
    return html.Div([*_what(), *_how_written(), *_cleaning(), _part(), _uncertainties()],
                    className="form survey-form")  # fmt: skip


def _what() -> list[Any]:
    return [
        file_field(
            HANDING,
            SurveyRecord.POINTS,
            "points",
            "File of points",
            f"CSV, TXT, LAS, LAZ, LandXML or DXF, up to {HANDING.most_mb} MB",
        ),
        html.Div(
            [
                choice(SurveyRecord.EXCAVATION, "Excavation", **KEPT),
                text_field(SurveyRecord.SURVEY, "Name of the survey", placeholder="SV5", **KEPT),
            ],
            className="pair",
        ),
        html.Div(
            [
                date_field(SurveyRecord.DATE, "Surveyed on", **KEPT),
                text_field(SurveyRecord.TIME, "at, local time", placeholder="10:00", **KEPT),
            ],
            className="pair",
        ),
        text_field(
            SurveyRecord.METHOD, "Method", "As people say it: scan, total station, drone", **KEPT
        ),
    ]


def _how_written() -> list[Any]:
    units = [{"value": unit, "label": f"{UNITS[unit]} ({unit})"} for unit in METRES]
    orders = [PROPOSE, *({"value": order, "label": order} for order in ORDERS)]
    return [
        html.Div(
            [
                choice(
                    SurveyRecord.ORDER,
                    "Order of the columns",
                    "P point, E, N, Z level, D words",
                    data=orders,
                    value="",
                    **KEPT,
                ),
                choice(
                    SurveyRecord.UNIT,
                    "Unit of the file",
                    "places and levels alike",
                    data=units,
                    value="m",
                    **KEPT,
                ),
            ],
            className="pair",
        ),
        html.Div(
            [
                choice(SurveyRecord.DATUM, "Levels stand on", value="site", **KEPT),
                _number(SurveyRecord.SHIFT, "Added to levels besides, m", "0"),
            ],
            className="pair",
        ),
    ]


def _cleaning() -> list[Any]:
    return [
        decimal_field(
            SurveyRecord.THIN,
            "Thin to one point a cell of, m",
            "Empty: every point is used",
            **KEPT,
        ),
        dmc.Switch(
            id=SurveyRecord.FILTER,
            label="Filter the ground: take people, plant and echoes out",
            description="It can take the edge of a heap or a step with it. Look at the points left"
            " out on the plan before you record.",
            checked=False,
            **KEPT,
        ),
        dmc.Switch(
            id=SurveyRecord.ORIGINAL,
            label="This is the original ground, before digging",
            description="Volumes of the zones it covers then start at it.",
            checked=False,
            **KEPT,
        ),
    ]


def _part() -> html.Details:
    """What only a survey of a part, or a comparison with an earlier one, needs."""
    return html.Details(
        [
            html.Summary("A part only, or held to an earlier survey"),
            html.Div(
                [
                    file_field(
                        HANDING,
                        SurveyRecord.BOUNDARY,
                        "boundary",
                        "Boundary of the part surveyed",
                        RING,
                    ),
                    file_field(
                        HANDING,
                        SurveyRecord.EARLIER,
                        "earlier",
                        "File of the earlier survey",
                        "The very file it was recorded from: the part is laid over it",
                    ),
                    file_field(
                        HANDING,
                        SurveyRecord.CONTROL,
                        "control",
                        "Control patch: ground that nobody dug since",
                        RING,
                    ),
                ],
                className="form",
            ),
        ],
        className="rows",
    )


def _uncertainties() -> html.Details:
    """Standard uncertainties with what is common practice filled in."""
    return html.Details(
        [
            html.Summary("Uncertainties"),
            html.P(
                "Standard uncertainties; 0.01 m each is common practice, no source. Better: what"
                " the surveyor states.",
                className="field-help",
            ),
            html.Div(
                [
                    _number(SurveyRecord.U_POINT, "Level of a point, m", "0.01"),
                    _number(SurveyRecord.U_DATUM, "Datum, m", "0.01"),
                    _number(SurveyRecord.U_WALL, "Wall line, m", "0.01"),
                ],
                className="triple",
            ),
        ],
        className="rows",
    )


def _number(id: str, label: str, value: str) -> Any:
    field = decimal_field(id, label, **KEPT)
    field.value = value
    return field


def ending() -> html.Div:
    """Looking first, recording after."""
    return html.Div(
        [
            html.Div(
                [
                    button("Look at it", SurveyRecord.LOOK, main=True),
                    html.Span("Nothing is recorded yet.", className="beside"),
                ],
                className="buttons",
            ),
            slot(SurveyRecord.SAID),
            slot(SurveyRecord.REPORT),
            html.Div(
                [
                    html.H2("Record it"),
                    html.Div(
                        dmc.Textarea(
                            id=SurveyRecord.REASON,
                            label="Why it is accepted with a red gate",
                            value="",
                        ),
                        id=SurveyRecord.REASON_BLOCK,
                        hidden=True,
                    ),
                    text_field(SurveyRecord.BY, "Your name or initials"),
                    html.Div(button("Record it", SurveyRecord.SAVE, main=True)),
                ],
                id=SurveyRecord.SAVE_BLOCK,
                className="form survey-save",
                hidden=True,
            ),
            slot(SurveyRecord.SAVED),
        ],
        className="survey-ending",
    )
