"""How each column of a record of spoil is asked on screen: its label, its control, its choices."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from tracker.recording.columns import KINDS, Column, Kind
from tracker.recording.rows_loads import OUTCOMES, WEIGHT_BASES
from tracker.recording.rows_spoil import EVENTS

# The kinds that belong on the page, in the order in which a day needs them: address -> one of them.
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
        "reuse": "re-use",
        "belt_checks": "belt check",
    }.items()
    if name in KINDS
}
# Columns of a form, row by row; what stands in none of them is asked for under "More".
ROWS: dict[str, tuple[tuple[str, ...], ...]] = {
    "loads": (
        ("ticket_issuer", "ticket_number"),
        ("gate_in_at",),
        ("gate_out_at",),
        ("stream", "route"),
        ("carrier", "vehicle"),
        ("registration", "transfer_note"),
        ("gross_t", "tare_t", "net_t"),
        ("outcome", "zone"),
    ),
    "belt": (
        ("belt", "shift"),
        ("work_date",),
        ("read_at",),
        ("stream", "route"),
        ("totaliser_t", "event"),
        ("rollover_t",),
        ("running_min", "energy_kwh"),
    ),
    "stock": (
        ("location", "stream"),
        ("counted_at",),
        ("method", "loose_m3"),
        ("height_m", "width_m", "length_m"),
        ("surcharge_limit_m3",),
    ),
    "receipts": (
        ("receipt_number",),
        ("receipt_date",),
        ("destination",),
        ("ticket_issuer", "ticket_number"),
        ("accepted_t", "waste_code"),
        ("outcome",),
    ),
    "notes": (
        ("form", "note_number"),
        ("made_out_at",),
        ("work_date",),
        ("valid_from",),
        ("valid_to",),
        ("stream", "waste_code"),
        ("description",),
        ("quantity_t", "quantity_basis"),
        ("container", "place"),
        ("transferor", "transferor_status"),
        ("carrier", "destination"),
        ("industry_code", "hierarchy_confirmed"),
        ("signed_out_by", "signed_in_by"),
    ),
    "traffic": (
        ("purpose", "reference"),
        ("passed_at",),
        ("vehicles", "direction"),
    ),
    "bookings": (
        ("booking", "booked_by"),
        ("gate_date",),
        ("from_hour", "to_hour"),
        ("purpose",),
        ("movements_in", "movements_out"),
    ),
    "declarations": (
        ("declaration",),
        ("received_on",),
        ("stream", "destination"),
        ("declared_m3", "declared_t"),
    ),
    "reuse": (
        ("location", "stream"),
        ("placed_at",),
        ("basis",),
        ("bank_m3", "compacted_m3", "mass_t"),
    ),
    "belt_checks": (
        ("belt", "check"),
        ("checked_at",),
        ("shown_t", "reference_t"),
        ("allowed_t", "running_min"),
    ),
}  # fmt: skip
LABELS = {
    "ticket_issuer": "Ticket issued by",
    "gate_in_at": "In through the gate",
    "gate_out_at": "Out through the gate",
    "vehicle": "Kind of lorry",
    "registration": "Registration plate",
    "stream": "Material stream",
    "zone": "From zone",
    "weight_basis": "Weights are",
    "reconsigned_from": "Carries on rejected ticket",
    "transfer_note": "Note number",
    "override_reason": "Rule overridden: reason and name",
    "entry_id": "Id of your own",
    "read_at": "Read at",
    "totaliser_t": "Totaliser, t",
    "event": "What was read",
    "energy_kwh": "Energy since the last reading, kWh",
    "running_min": "Running, min",
    "rollover_t": "Totaliser rolls over at, t",
    "loose_m3": "Loose volume, m³",
    "width_m": "Width of the foot, m",
    "surcharge_limit_m3": "Surcharge limit, m³ loose",
    "method": "How it was measured",
    "accepted_t": "Accepted, t",
    "bank_m3": "Bank volume, m³",
    "compacted_m3": "Compacted volume, m³",
    "mass_t": "Mass, t",
    "declared_m3": "Declared, m³ bank",
    "form": "Kind of note",
    "check": "Kind of check",
    "hierarchy_confirmed": "Waste hierarchy confirmed",
    "from_hour": "From, full hour",
    "to_hour": "To, full hour",
    "note": "Remark",
}
HELPS = {
    "ticket_issuer": "weighbridge, gate or device",
    "ticket_number": "as printed",
    "destination": "empty: that of the route",
    "transfer_note": "of the transfer or consignment",
    "override_reason": "only where a rule was overridden knowingly, with the name of who said so",
    "net_t": "empty: gross less tare",
    "reconsigned_from": "number of the rejected ticket",
    "work_date": "on which the shift started",
    "waste_code": "with its asterisk",
    **dict.fromkeys(
        ("registration", "gross_t", "tare_t", "loose_m3", "accepted_t", "totaliser_t"), ""
    ),
    "zone": "if known",
    "energy_kwh": "from the meter, if read",
    "running_min": "since the last reading",
    "width_m": "of a cone: its diameter",
    "length_m": "toe to toe",
    "surcharge_limit_m3": "set by the temporary works coordinator",
}
WORDS: dict[str, tuple[str, ...]] = {
    "event": EVENTS,
    "outcome": OUTCOMES,
    "weight_basis": WEIGHT_BASES,
    "method": ("cone", "windrow", "survey", "estimate"),
    "form": ("transfer", "season", "consignment"),
    "basis": ("bank", "compacted", "weighed"),
    "check": ("zero", "material"),
    "direction": ("in", "out", "both"),
    "hierarchy_confirmed": ("yes", "no"),
}
WORD_LABELS = {
    "reset": "reset: set to this value",
    "swap": "swap: another weigher",
    "rollover": "rollover: starts at 0 again",
    "transfer": "transfer note, one movement",
    "season": "season ticket, many loads",
    "consignment": "consignment note, hazardous",
    "none": "not known",
    "both": "in and out",
}
DEFAULTS = {"event": "reading", "outcome": "accepted"}  # said openly, so that nobody wonders
OF_SETUP = ("shift", "zone", "stream", "route", "destination", "carrier", "vehicle", "belt")
LONG_NAMES = ("route", "carrier", "destination")  # a row of its own each on a phone
KNOWN = (
    "ticket_issuer",
    "transfer_note",
    "location",
    "purpose",
    "place",
    "transferor",
    "transferor_status",
    "container",
    "industry_code",
    "waste_code",
    "booked_by",
    "description",
    "quantity_basis",
)  # typed, but mostly as written before
LONG = ("override_reason", "note")
# Asked only where another field says so.
SHOWN_IF = {
    "height_m": ("method", ("cone", "windrow")),
    "width_m": ("method", ("cone", "windrow")),
    "length_m": ("method", ("windrow",)),
    "rollover_t": ("event", ("rollover",)),
    "bank_m3": ("basis", ("bank",)),
    "compacted_m3": ("basis", ("compacted",)),
    "mass_t": ("basis", ("weighed",)),
    "reference_t": ("check", ("material",)),
}
TO_COME = ("valid_from", "valid_to")  # dates that may lie after today; so may those of bookings
_KEPT = ("method", "basis", "direction", "form", "check")  # as last time, of the words
_UNITS = {
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
        usual = self.control == "known" or self.column in (*OF_SETUP, *_KEPT)
        return self.in_sight and usual


def asked(kind: Kind) -> dict[str, Asked]:
    """Every column of a kind as the form asks for it, in the order of the kind."""
    return {column.name: _asked(kind, column) for column in kind.columns}


def _asked(kind: Kind, column: Column) -> Asked:
    control = _control(column.name)
    help = HELPS.get(column.name, "" if column.name in WORDS else _help(column, control))
    if column.name == "destination" and column.required:
        help = ""
    to_come = column.name in TO_COME or kind.name == "bookings"
    in_sight = any(column.name in row for row in ROWS.get(kind.name, ()))
    label = _label(column.name)
    return Asked(column.name, label, help, column.required, control, in_sight, to_come)


def _control(name: str) -> str:
    if name.endswith("_at"):
        return "moment"
    if name.endswith(("_date", "_on")) or name in TO_COME:
        return "date"
    if name in WORDS or name in OF_SETUP:
        return "choice"
    if name in KNOWN:
        return "known"
    if name in _COUNTS or name.endswith(tuple(_UNITS)):
        return "number"
    return "long" if name in LONG else "text"


def _label(name: str) -> str:
    if name in LABELS:
        return LABELS[name]
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


def choices(field: Asked, site: Any) -> list[dict[str, str]]:
    """What a choice offers: words of its own, or names of the set-up."""
    name = field.column
    if name in WORDS:
        words = [{"value": w, "label": WORD_LABELS.get(w, w)} for w in WORDS[name]]
    elif name == "belt":
        belts = dict.fromkeys(leg.belt for r in site.routes for leg in r.legs if leg.belt)
        words = [{"value": belt, "label": belt} for belt in belts]
    else:
        rows = getattr(site, f"{name}s")
        words = [{"value": getattr(row, name), "label": row.name} for row in rows]
    return words
