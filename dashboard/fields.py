"""The stored fields of an entry in words people read: metres, cubic metres, tonnes."""

from __future__ import annotations

from dashboard import theme

_UNITS = {
    "_mm": (1000.0, 3, "m"),
    "_l": (1000.0, 3, "m³"),
    "_kg": (1000.0, 3, "t"),
    "_dm2": (100.0, 2, "m²"),
    "_wh": (1000.0, 1, "kWh"),
    "_min": (1.0, 0, "min"),
}


def readable_field(name: str, text: str) -> tuple[str, str]:
    """A stored field and its value as words with a unit.

    >>> readable_field("lowest_level_mm", "90700"), readable_field("nil_reason", "wind")
    (('lowest level', '90.700 m'), ('nil reason', 'wind'))
    """
    for suffix, (per_unit, decimals, unit) in _UNITS.items():
        if name.endswith(suffix):
            words = name.removesuffix(suffix).replace("_", " ")
            return words, theme.number(float(text) / per_unit, unit, decimals)
    return name.replace("_", " "), text
