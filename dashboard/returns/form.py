"""The form of a dig return: its fields in the order a shift knows them, and what it holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import dash_mantine_components as dmc
from dash import dcc, html

from dashboard.components import block, button, choice, decimal_field, slot, text_field
from dashboard.controls import DateIds, date_control
from dashboard.ids import DigReturn

DATES = DateIds(
    DigReturn.DATE, DigReturn.TO_TODAY, DigReturn.TO_YESTERDAY, DigReturn.EARLIER, DigReturn.LATER
)
# Column of a return -> the field that holds it. Delays are apart: several rows of two fields.
FIELDS: dict[str, str] = {
    "work_date": DigReturn.DATE,
    "shift": DigReturn.SHIFT,
    "zone": DigReturn.ZONE,
    "stage": DigReturn.STAGE,
    "stream": DigReturn.STREAM,
    "basis": DigReturn.BASIS,
    "bank_m3": DigReturn.BANK,
    "count": DigReturn.COUNT,
    "capacity_m3": DigReturn.CAPACITY,
    "mass_t": DigReturn.MASS,
    "from_level_m": DigReturn.FROM_LEVEL,
    "to_level_m": DigReturn.TO_LEVEL,
    "lowest_level_m": DigReturn.LOWEST_LEVEL,
    "nil_reason": DigReturn.NIL_REASON,
    "note": DigReturn.NOTE,
    "by": DigReturn.BY,
}
# All but one have a place of their own for an error; that one is said beside the check button.
WITH_ERROR = tuple(column for column in FIELDS if column != "basis")
QUANTITIES = {
    "measured": ("bank_m3",),
    "estimated": ("bank_m3",),
    "counted": ("count", "capacity_m3"),
    "weighed": ("mass_t",),
}
LEVELS = ("from_level_m", "to_level_m", "lowest_level_m")
TYPED = (
    "bank_m3",
    "count",
    "capacity_m3",
    "mass_t",
    *LEVELS,
    "nil_reason",
    "note",
)  # anew for each return
AS_LAST_TIME = ("shift", "zone", "stage", "stream", "basis", "by")
DELAY_ROWS = 3


def form() -> html.Div:
    """Every field, in one column on a phone."""
    return html.Div(
        [
            date_control(DATES, "Work date", "the date on which the shift starts"),
            choice(DigReturn.SHIFT, "Shift"),
            html.Div(
                [choice(DigReturn.ZONE, "Zone"), choice(DigReturn.STAGE, "Stage")],
                className="pair",
            ),
            slot(DigReturn.PERMIT),
            dmc.Switch(id=DigReturn.NIL, label="Nothing was dug in this shift", checked=False),
            html.Div(
                text_field(
                    DigReturn.NIL_REASON, "Why nothing was dug", "such as waiting for props"
                ),
                id=DigReturn.NIL_BLOCK,
                hidden=True,
            ),
            html.Div(_dug_fields(), id=DigReturn.DUG_BLOCK),
            html.Details([html.Summary("Delays"), *_delay_fields()], className="rows"),
            text_field(DigReturn.NOTE, "Note", "anything worth keeping"),
        ],
        id=DigReturn.FORM,
        className="form",
    )


def _dug_fields() -> list[Any]:
    return [
        choice(DigReturn.STREAM, "Material stream"),
        _labelled(
            "How the quantity is known",
            dmc.SegmentedControl(
                id=DigReturn.BASIS,
                data=[{"value": b, "label": b} for b in QUANTITIES],
                value="measured",
                fullWidth=True,
            ),
        ),
        html.Div(
            decimal_field(DigReturn.BANK, "Dug, m³ bank", "in the ground, before bulking"),
            id=DigReturn.BANK_BLOCK,
        ),
        html.Div(
            [
                decimal_field(DigReturn.COUNT, "Number", "skips, buckets or lorries"),
                decimal_field(DigReturn.CAPACITY, "Each holds, m³ loose", "as filled"),
            ],
            id=DigReturn.COUNT_BLOCK,
            className="pair",
            hidden=True,
        ),
        html.Div(
            decimal_field(DigReturn.MASS, "Weighed, t", "moist tonnes"),
            id=DigReturn.MASS_BLOCK,
            hidden=True,
        ),
        html.P("Levels, m above site datum", className="group-label"),
        html.Div(
            [
                decimal_field(DigReturn.FROM_LEVEL, "Start", "general"),
                decimal_field(DigReturn.TO_LEVEL, "Finish", "general"),
                decimal_field(DigReturn.LOWEST_LEVEL, "Lowest", "deepest point"),
            ],
            className="triple",
        ),
    ]


def _delay_fields() -> list[Any]:
    rows = [
        html.Div(
            [
                choice({"type": DigReturn.DELAY_CAUSE, "n": n}, f"Cause {n + 1}", clearable=True),
                decimal_field({"type": DigReturn.DELAY_MINUTES, "n": n}, "Lost, min"),
            ],
            className="pair",
        )
        for n in range(DELAY_ROWS)
    ]
    return [*rows, html.P(id=DigReturn.DELAYS_ERROR, className="field-error")]


def _labelled(words: str, control: Any) -> html.Div:
    return html.Div([html.Span(words, className="field-label"), control], className="field")


def ending() -> html.Div:
    """Who writes and why, the check, what it says, and the buttons that write."""
    return html.Div(
        [*_who_and_why(), slot(DigReturn.ECHO), *_writing(), slot(DigReturn.SAVED)],
        className="return-ending",
    )


def _who_and_why() -> list[Any]:
    return [
        text_field(
            DigReturn.BY,
            "Your name or initials",
            "recorded under this name",
            required=True,
            debounce=True,
        ),
        html.Div(
            dmc.Textarea(
                id=DigReturn.REASON, label="Reason of the change", value="", required=True
            ),
            id=DigReturn.REASON_BLOCK,
            hidden=True,
        ),
        html.Div(
            button("Check", DigReturn.CHECK, main=True),
            id=DigReturn.CHECK_BLOCK,
            className="buttons",
        ),
    ]


def _writing() -> list[Any]:
    return [
        html.Div(
            [
                html.Div(
                    dmc.Checkbox(id=DigReturn.TOLD, label=told_words(""), checked=False),
                    id=DigReturn.TOLD_BLOCK,
                    hidden=True,
                ),
                button("Save", DigReturn.SAVE, main=True),
            ],
            id=DigReturn.SAVE_BLOCK,
            className="buttons",
            hidden=True,
        ),
        html.Div(
            [
                html.P(id=DigReturn.WITHDRAW_WHAT),
                button("Withdraw this return", DigReturn.WITHDRAW, main=True),
            ],
            id=DigReturn.WITHDRAW_BLOCK,
            hidden=True,
        ),
    ]


def told_words(level_m: str) -> str:
    """What a person who saves a level below the permitted one says by a tick.

    >>> told_words("84.5")
    'Yes, 84.500 m is right; the temporary works coordinator is told.'
    """
    level = f"{float(level_m):.3f} m" if level_m else "this level"
    return f"Yes, {level} is right; the temporary works coordinator is told."


def stores(amend: str, withdraw: str, fresh: str) -> list[dcc.Store]:
    """What the page remembers: what it is for, when it is ready, and the id of the next entry."""
    mode = "amend" if amend else "withdraw" if withdraw else "new"
    return [
        dcc.Store(
            id=DigReturn.MODE, data={"mode": mode, "entry": amend or withdraw, "fresh": fresh}
        ),
        dcc.Store(id=DigReturn.READY),
        dcc.Store(id=DigReturn.ENTRY),
    ]


def last_ten() -> html.Section:
    """A place for the returns that this person wrote last."""
    return block("My last ten returns", slot(DigReturn.LAST_TEN))


# --- what the form holds -------------------------------------------------------------------------
def written(
    values: Mapping[str, Any], nil: bool, causes: Sequence[Any], minutes: Sequence[Any]
) -> dict[str, str]:
    """The columns of a return from the fields that show; hidden ones are left empty."""
    texts = {name: str(values.get(name) or "").strip() for name in FIELDS if name != "by"}
    kept = {"nil_reason"} if nil else {"stream", "basis", *LEVELS}
    if not nil:
        kept |= set(QUANTITIES.get(texts["basis"], ()))
    kept |= {"work_date", "shift", "zone", "stage", "note"}
    fields = {name: text if name in kept else "" for name, text in texts.items()}
    fields["delays"] = delays_text(causes, minutes)
    return fields


def delays_text(causes: Sequence[Any], minutes: Sequence[Any]) -> str:
    """Delays as the column holds them; half a row stays, so that the check can say so.

    >>> delays_text(["rain", None, ""], ["30", "", None])
    'rain:30'
    """
    pairs = zip(causes, minutes, strict=True)
    rows = ((str(c or "").strip(), str(m or "").strip()) for c, m in pairs)
    return "; ".join(f"{cause}:{lost}" for cause, lost in rows if cause or lost)


def delay_rows(text: str) -> tuple[list[str | None], list[str]]:
    """The rows of fields for delays as the column holds them."""
    pairs = [part.strip().partition(":") for part in text.split(";") if part.strip()]
    pairs += [("", "", "")] * (DELAY_ROWS - len(pairs))
    return [c or None for c, _, _ in pairs[:DELAY_ROWS]], [m for _, _, m in pairs[:DELAY_ROWS]]
