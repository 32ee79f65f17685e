"""The form of a record: made from the columns of its kind, and what it holds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import dash_mantine_components as dmc
from dash import dcc, html

from dashboard.components import block, button, choice, date_field, decimal_field, slot, text_field
from dashboard.forms.fields import Asked, asked
from dashboard.forms.wording import DEFAULTS, LONG_NAMES, ROWS, SHOWN_IF
from dashboard.ids import SpoilEntry
from tracker.recording.columns import KINDS

HELP_BELOW = ("label", "input", "description", "error")  # so that inputs of a row stand level
Held = Mapping[str, Any]  # name of a field, its column and its part, -> what stands in it


def name_of(id: Mapping[str, str]) -> str:
    """The name of a field from its id."""
    return f"{id['column']} {id['part']}".strip()


def names_of(field: Asked) -> list[str]:
    """The names of the fields that hold a column."""
    return [f"{field.column} {part}".strip() for part in field.parts]


# --- what stands on the page ---------------------------------------------------------------------
def form(kind: str) -> html.Div:
    """Every column of a kind: those needed each time in rows, the others under "More"."""
    columns = asked(KINDS[kind])
    rows = [[columns[name] for name in row if name in columns] for row in ROWS.get(kind, ())]
    more = [[field] for field in columns.values() if not field.in_sight]
    return html.Div(
        [
            *_days(list(columns.values())),
            *(_row(kind, row) for row in rows if row),
            slot(SpoilEntry.BESIDE),
            html.Details(
                [
                    html.Summary("More: seldom needed"),
                    html.Div([_row(kind, row) for row in more], className="form"),
                ],
                className="rows",
            ),
        ],
        id=SpoilEntry.FORM,
        className="form spoil-form",
    )


def _days(columns: list[Asked]) -> list[html.Div]:
    """Buttons that set every date of the form to one of the two usual days."""
    dated = [f for f in columns if f.control in ("date", "moment") and not f.may_be_to_come]
    if not dated:
        return []
    words = "Date:" if len(dated) == 1 else "Every date below:"
    buttons = [button("Yesterday", SpoilEntry.YESTERDAY), button("Today", SpoilEntry.TODAY)]
    return [html.Div([html.Span(words, className="beside"), *buttons], className="buttons days")]


def _row(kind: str, row: list[Asked]) -> html.Div:
    look = {1: "", 2: "pair", 3: "triple"}[len(row)]
    if any(field.column in LONG_NAMES for field in row):
        look += " long-names"
    return html.Div([_place(kind, field) for field in row], className=look)


def _place(kind: str, field: Asked) -> html.Div:
    """The place of a column, which hides where another field makes it needless."""
    needless = shown_if(kind).get(field.column) is not None
    id = {"type": SpoilEntry.PLACE, "column": field.column}
    return html.Div(_control(field), id=id, hidden=needless)


def _control(field: Asked) -> Any:
    id = {"type": SpoilEntry.FIELD, "column": field.column, "part": field.parts[-1]}
    more: dict[str, Any] = {"inputWrapperOrder": HELP_BELOW}
    if field.required:
        more["required"] = True
    if field.control in ("date", "moment"):
        return _when(field, id, more)
    if field.control == "choice":
        always = field.required or field.column in DEFAULTS
        clear = {} if always else {"clearable": True, "allowDeselect": True}
        return choice(id, field.label, field.help, **clear, **more)
    if field.control == "number":
        return decimal_field(id, field.label, field.help, **more)
    if field.control == "text":
        return text_field(id, field.label, field.help, **more)
    more |= {"id": id, "label": field.label, "description": field.help or None, "value": ""}
    return _suggested(more) if field.control == "known" else dmc.Textarea(**more)


def _suggested(more: dict[str, Any]) -> dmc.Autocomplete:
    """A line of text that offers what was written in it before."""
    shown = {"withinPortal": False, "transitionProps": {"duration": 0}}
    return dmc.Autocomplete(data=[], limit=8, comboboxProps=shown, **more)


def _when(field: Asked, id: dict[str, str], more: dict[str, Any]) -> Any:
    """A date; of a moment, the time of day beside it."""
    help = field.help or None
    day = date_field({**id, "part": "date"}, field.label, description=help, **more)
    if field.control == "date":
        return day
    clock = text_field(id, "Time", placeholder="HH:MM", **more)
    return html.Div([day, clock], className="when")


def ending(one: str) -> html.Div:
    """Who writes and why, the check, what it says, and the buttons that write."""
    reason = dmc.Textarea(id=SpoilEntry.REASON, label="Reason of the change", value="")
    saving = html.Div(button("Save", SpoilEntry.SAVE, main=True), className="buttons")
    checking = html.Div(button("Check", SpoilEntry.CHECK, main=True), className="buttons")
    withdrawing = [
        html.P(id=SpoilEntry.WITHDRAW_WHAT),
        button(f"Withdraw this {one}", SpoilEntry.WITHDRAW, main=True),
    ]
    return html.Div(
        [
            text_field(
                SpoilEntry.BY,
                "Your name or initials",
                "recorded under this name",
                required=True,
                debounce=True,
            ),
            html.Div(reason, id=SpoilEntry.REASON_BLOCK, hidden=True),
            html.Div(checking, id=SpoilEntry.CHECK_BLOCK),
            slot(SpoilEntry.ECHO),
            html.Div(saving, id=SpoilEntry.SAVE_BLOCK, hidden=True),
            html.Div(withdrawing, id=SpoilEntry.WITHDRAW_BLOCK, hidden=True),
            slot(SpoilEntry.SAVED),
        ],
        className="return-ending",
    )


def stores(kind: str, amend: str, withdraw: str, fresh: str) -> list[dcc.Store]:
    """What the page remembers: what it is for, when it is ready, and the id of the next entry."""
    mode = "amend" if amend else "withdraw" if withdraw else "new"
    typed = [
        name
        for field in asked(KINDS[kind]).values()
        if field.control in ("moment", "number", "text", "long") and not field.as_last_time
        for name in names_of(field)[-1:]
    ]
    data = {"kind": kind, "mode": mode, "entry": amend or withdraw, "fresh": fresh}
    data |= {"typed": typed, "shown_if": shown_if(kind)}
    return [
        dcc.Store(id=SpoilEntry.MODE, data=data),
        dcc.Store(id=SpoilEntry.READY),
        dcc.Store(id=SpoilEntry.ENTRY),
    ]


def last_ten(kind: str) -> html.Section:
    """A place for the entries that this person wrote last."""
    return block(f"My last ten: {KINDS[kind].title.lower()}", slot(SpoilEntry.LAST_TEN))


def shown_if(kind: str) -> dict[str, tuple[str, tuple[str, ...]]]:
    """Column -> the column, and its values, without which it is not asked for."""
    columns = {c.name for c in KINDS[kind].columns}
    return {name: (on, words) for name, (on, words) in SHOWN_IF.items() if {name, on} <= columns}


# --- what it holds -------------------------------------------------------------------------------
def written(kind: str, held: Held) -> dict[str, str]:
    """The columns from the fields that show; those that do not are left empty."""
    fields = {name: _text_of(field, held) for name, field in asked(KINDS[kind]).items()}
    for name, (on, words) in shown_if(kind).items():
        if fields[on] not in words:
            fields[name] = ""
    return fields


def _text_of(field: Asked, held: Held) -> str:
    texts = [str(held.get(name) or "").strip() for name in names_of(field)]
    if field.control != "moment":
        return texts[0]
    day, clock = texts
    if not clock and not field.required:
        return ""  # the date stands there by itself: without a time nothing was given
    return f"{day[:10]} {whole_clock(clock)}".strip()


def whole_clock(text: str) -> str:
    """A time of day with all its digits; what is none stays as it is.

    >>> whole_clock("7:05"), whole_clock("1630"), whole_clock("half past")
    ('07:05', '16:30', 'half past')
    """
    digits = text.replace(":", "")
    if not digits.isdigit() or len(digits) not in (3, 4) or len(text) > 5:
        return text
    return f"{digits[:-2]:0>2}:{digits[-2:]}"


def held_of(kind: str, fields: Mapping[str, str], time_zone: str) -> dict[str, str]:
    """What the fields hold of columns as text, moments by the clock of the site."""
    held: dict[str, str] = {}
    for name, field in asked(KINDS[kind]).items():
        text = fields.get(name, "")
        if field.control == "moment":
            held[f"{name} date"], held[f"{name} clock"] = _date_and_clock(text, time_zone)
        else:
            held[names_of(field)[0]] = text
    return held


def _date_and_clock(text: str, time_zone: str) -> tuple[str, str]:
    if not text:
        return "", ""
    local = datetime.fromisoformat(text).astimezone(ZoneInfo(time_zone))
    clock = f"{local:%H:%M:%S}".removesuffix(":00")
    if local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset():
        clock += local.isoformat()[-6:]  # the clock showed it twice: say which
    return f"{local:%Y-%m-%d}", clock


def fresh_values(kind: str, today: date, last: Held) -> dict[str, str]:
    """How the fields open: dates today, what people wrote last, the rest empty."""
    held: dict[str, str] = {}
    for field in asked(KINDS[kind]).values():
        for name in names_of(field):
            opens_today = name.endswith(" date") and not field.may_be_to_come
            held[name] = today.isoformat() if opens_today else DEFAULTS.get(field.column, "")
            if field.as_last_time and last.get(name):
                held[name] = last[name]
    return held


def emptied(kind: str, names: Iterable[str]) -> dict[str, str]:
    """The fields that begin anew with the next entry: all but dates and what is as last time."""
    stay = {
        name
        for field in asked(KINDS[kind]).values()
        for name in names_of(field)
        if field.as_last_time or name.endswith(" date")
    }
    return {name: DEFAULTS.get(name.split()[0], "") for name in names if name not in stay}
