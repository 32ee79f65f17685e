"""Numbers held to what is possible, with the sentence that says so."""

from __future__ import annotations

import math

from tracker.errors import InputError, OutOfRange


def check_positive(field: str, value: float, unit: str) -> float:
    """The value, if it is finite and more than nothing. Raises InputError."""
    if math.isfinite(value) and value > 0.0:
        return value
    raise InputError(f"{field} is {value:g} {unit}; it must be more than 0 {unit}.", field=field)


def check_not_negative(field: str, value: float, unit: str) -> float:
    """The value, if it is finite and not negative. Raises InputError."""
    if math.isfinite(value) and value >= 0.0:
        return value
    raise InputError(f"{field} is {value:g} {unit}; it must be 0 {unit} or more.", field=field)


def check_between(
    field: str, value: float, low: float, high: float, unit: str, hint: str = ""
) -> float:
    """The value, if it lies from low to high. Raises OutOfRange with the hint."""
    if low <= value <= high:
        return value
    raise OutOfRange(field, value, low=low, high=high, unit=unit, hint=hint)
