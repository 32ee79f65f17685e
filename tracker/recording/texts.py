"""Entries as the text of their columns: what amending and exporting start from."""

from __future__ import annotations

from datetime import datetime

from tracker.ledger.entries import DigReturn, Entry
from tracker.recording.columns import KINDS, Kind

# A column and the attribute that holds it as whole thousandths.
_THOUSANDTHS = (
    ("_m3", "_l"),
    ("_t", "_kg"),
    ("_m", "_mm"),
    ("_kwh", "_wh"),
    ("_km", "_m"),
)
_AREAS = {"accepted_m2": "accepted_area_dm2", "area_m2": "area_dm2"}
BY_LEDGER_KIND: dict[str, Kind] = {kind.ledger_kind: kind for kind in KINDS.values()}


def fields_of(entry: Entry) -> dict[str, str]:
    """The columns of an entry as text, as a file or a form would state them; moments in UTC."""
    return {c.name: _text(entry, c.name) for c in BY_LEDGER_KIND[entry.KIND].columns}


def _text(entry: Entry, column: str) -> str:
    if column == "delays" and isinstance(entry, DigReturn):
        return "; ".join(f"{d.cause}:{d.minutes}" for d in entry.delays)
    if column in _AREAS and hasattr(entry, _AREAS[column]):
        area_dm2 = getattr(entry, _AREAS[column])
        return "" if area_dm2 is None else thousandths_text(area_dm2 * 10)
    if hasattr(entry, column):
        return _plain(getattr(entry, column))
    for suffix, stored in _THOUSANDTHS:
        name = column.removesuffix(suffix) + stored
        if column.endswith(suffix) and hasattr(entry, name):
            value = getattr(entry, name)
            return "" if value is None else thousandths_text(value)
    raise AttributeError(f"no attribute of {entry.KIND} holds {column}")


def _plain(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.isoformat()
    return str(value)


def thousandths_text(thousandths: int) -> str:
    """Whole thousandths as a number with the decimals it needs.

    >>> thousandths_text(-4250), thousandths_text(3000)
    ('-4.25', '3')
    """
    whole, rest = divmod(abs(thousandths), 1000)
    decimals = f".{rest:03d}".rstrip("0").rstrip(".")
    return f"{'-' if thousandths < 0 else ''}{whole}{decimals}"
