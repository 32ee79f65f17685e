"""The form of a record of spoil: made from the columns of its kind, and what it holds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import dash_mantine_components as dmc
from dash import dcc, html

from dashboard.components import block, button, choice, date_field, decimal_field, slot, text_field
from dashboard.ids import SpoilEntry
from dashboard.spoil.fields import ROWS, SHOWN_IF, Asked, asked
from tracker.recording.columns import KINDS

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
        className="form",
    )


def _row(kind: str, row: list[Asked]) -> html.Div:
    look = {1: "", 2: "pair", 3: "triple"}[len(row)]
    return html.Div([_place(kind, field) for field in row], className=look)


def _place(kind: str, field: Asked) -> html.Div:
    """The place of a column, which hides where another field makes it needless."""
    needless = shown_if(kind).get(field.column) is not None
    id = {"type": SpoilEntry.PLACE, "column": field.column}
    return html.Div(_control(field), id=id, hidden=needless)


def _control(field: Asked) -> Any:
    *_, part = field.parts
    id = {"type": SpoilEntry.FIELD, "column": field.column, "part": part}
    more = {"required": True} if field.required else {}
    if field.control in ("date", "moment"):
        return _when(field, more)
    if field.control == "choice":
        clear = {} if field.required else {"clearable": True, "allowDeselect": True}
        return choice(id, field.label, field.help, searchable=False, **clear, **more)
    if field.control == "known":
        return _suggested(id, field, more)
    if field.control == "long":
        return dmc.Textarea(
            id=id, label=field.label, description=field.help or None, value="", **more
        )
    maker = decimal_field if field.control == "number" else text_field
    return maker(id, field.label, field.help, **more)


def _suggested(id: Any, field: Asked, more: dict[str, Any]) -> dmc.Autocomplete:
    """A line of text that offers what was written in it before."""
    return dmc.Autocomplete(
        id=id,
        label=field.label,
        description=field.help or None,
        value="",
        data=[],
        limit=8,
        comboboxProps={"withinPortal": False, "transitionProps": {"duration": 0}},
        **more,
    )


def _when(field: Asked, more: dict[str, Any]) -> html.Div:
    """A date with buttons for the two usual days; of a moment, the time beside it."""
    ids = {"column": field.column}
    day = date_field(
        {"type": SpoilEntry.FIELD, **ids, "part": "date"},
        field.label,
        description=field.help or None,
        **more if field.control == "date" else {},
    )
    parts: list[Any] = [html.Div(day, className="date-field")]
    if field.control == "moment":
        clock = text_field(
            {"type": SpoilEntry.FIELD, **ids, "part": "clock"}, "at, site time", **more
        )
        clock.placeholder = "HH:MM"
        parts.append(html.Div(clock, className="clock-field"))
    buttons = [
        button("Yesterday", {"type": SpoilEntry.YESTERDAY, **ids}),
        button("Today", {"type": SpoilEntry.TODAY, **ids}),
    ]
    return html.Div([*parts, html.Div(buttons, className="buttons")], className="when")


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
            held[name] = today.isoformat() if opens_today else ""
            if field.as_last_time and last.get(name):
                held[name] = last[name]
    return held


def emptied(kind: str, names: Iterable[str]) -> dict[str, str]:
    """The fields that are empty for the next entry: all but dates and what is as last time."""
    stay = {
        name
        for field in asked(KINDS[kind]).values()
        for name in names_of(field)
        if field.as_last_time or name.endswith(" date")
    }
    return {name: "" for name in names if name not in stay}
