"""How each column of a record is asked on screen: its label, its control, its choices."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from dashboard.forms.wording import (
    HELPS,
    HOLD,
    KEPT,
    KNOWN,
    LABELS,
    LONG,
    OF_SETUP,
    ROWS,
    TO_COME,
    WORD_LABELS,
    WORDS,
)
from tracker.recording.columns import KINDS, Column, Kind

T = TypeVar("T")

# The kinds of Spoil out, in the order in which a day needs them: address -> one of them.
RECORDS = {
    name: one
    for name, one in {
        "loads": "load",
        "belt": "belt reading",
        "stock": "stock count",
        "receipts": "receipt",
        "notes": "note",
        "traffic": "passage",
        "bookings": "booking",
        "declarations": "declaration",
        "reuse": "re-use on site",
        "belt_checks": "belt check",
    }.items()
    if name in KINDS
}
DECISIONS = {"holds": "hold decision", "formation": "formation step"}  # recorded on Progress
ONES = {**RECORDS, **DECISIONS}
_UNITS = {
    "_m2": ", m²",
    "_m3": ", m³",
    "_t": ", t",
    "_kwh": ", kWh",
    "_min": ", min",
    "_m": ", m",
    "_kg": ", kg",
}
_COUNTS = ("vehicles", "movements_in", "movements_out", "from_hour", "to_hour", "hour")


@dataclass(frozen=True, slots=True)
class Asked:
    """One column as the form asks for it."""

    column: str
    label: str
    help: str
    required: bool
    control: str  # moment | date | choice | known | number | long | text
    words: tuple[str, ...]  # that a choice offers; empty: names of the set-up
    in_sight: bool  # else under "More"
    may_be_to_come: bool

    @property
    def parts(self) -> tuple[str, ...]:
        """The names of the fields that hold it: a moment has two."""
        return {"moment": ("date", "clock"), "date": ("date",)}.get(
            self.control, (self.control if self.control in ("choice", "known") else "",)
        )

    @property
    def as_last_time(self) -> bool:
        """Whether the next entry opens with the value of this one; never where it is not seen."""
        usual = self.control == "known" or self.column in (*OF_SETUP, *KEPT)
        return self.in_sight and usual


def asked(kind: Kind) -> dict[str, Asked]:
    """Every column of a kind as the form asks for it, in the order of the kind."""
    return {column.name: _asked(kind, column) for column in kind.columns}


def _asked(kind: Kind, column: Column) -> Asked:
    name = column.name
    words = of_kind(WORDS, kind.name, name, ())
    control = _control(name, bool(words))
    help = of_kind(HELPS, kind.name, name, "" if words else _help(column, control))
    return Asked(
        column=name,
        label=of_kind(LABELS, kind.name, name, "") or _label(name),
        help="" if name == "destination" and column.required else help,
        required=column.required,
        control=control,
        words=words,
        in_sight=any(name in row for row in ROWS.get(kind.name, ())),
        may_be_to_come=name in TO_COME or kind.name == "bookings",
    )


def of_kind(table: Mapping[str, T], kind: str, column: str, absent: T) -> T:
    """What a table says of a column of one kind, else of the column in all kinds."""
    return table.get(f"{kind} {column}", table.get(column, absent))


def _control(name: str, has_words: bool) -> str:
    if name.endswith("_at"):
        return "moment"
    if name.endswith(("_date", "_on")) or name in TO_COME:
        return "date"
    if has_words or name in (*OF_SETUP, HOLD):
        return "choice"
    if name in KNOWN:
        return "known"
    if name in _COUNTS or name.endswith(tuple(_UNITS)):
        return "number"
    return "long" if name in LONG else "text"


def _label(name: str) -> str:
    for suffix, unit in _UNITS.items():
        if name.endswith(suffix):
            return _sentence(name.removesuffix(suffix)) + unit
    return _sentence(re.sub("_(at|on)$", "", name))


def _sentence(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _help(column: Column, control: str) -> str:
    """The help of a file without what a form answers by itself: units, formats, the set-up."""
    if control == "moment" or column.name in OF_SETUP:
        return ""
    text = re.sub(r" \[[^]]+\]$|, YYYY-MM-DD$", "", column.help)
    return "" if text.lower().replace(" ", "_") in (column.name, f"{column.name}_number") else text


def in_words(kind: str, message: str) -> str:
    """A message with the names of columns in the words of the form.

    >>> in_words("loads", "Give net_t, or gross_t and tare_t.")
    'Give “Net”, or “Gross” and “Tare”.'
    """
    for name, field in asked(KINDS[kind]).items():
        if "_" in name:
            label = field.label.partition(",")[0]
            message = re.sub(rf"\b{name}\b", f"“{label}”", message)
    return message


FIRST_LEG = {"loads": "lorry", "belt": "belt"}  # how the routes begin that a kind may take


def choices(field: Asked, site: Any, kind: str = "") -> list[dict[str, str]]:
    """What a choice offers: words of its own, or names of the set-up."""
    name = field.column
    if field.words:
        words = [{"value": w, "label": WORD_LABELS.get(w, w)} for w in field.words]
    elif name == "belt":
        belts = dict.fromkeys(leg.belt for r in site.routes for leg in r.legs if leg.belt)
        words = [{"value": belt, "label": belt} for belt in belts]
    elif name == HOLD:
        numbers = sorted({stage.stage for stage in site.stages})
        words = [{"value": str(n), "label": f"before stage {n}"} for n in numbers]
        words.append({"value": "formation", "label": "of formation"})
    else:
        rows = getattr(site, f"{name}s")
        if name == "route" and kind in FIRST_LEG:
            rows = [row for row in rows if row.legs[0].mode == FIRST_LEG[kind]]
        words = [{"value": getattr(row, name), "label": row.name} for row in rows]
    return words
