"""Factors: a number never travels without its pedigree."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tracker.errors import InputError


@dataclass(frozen=True, slots=True)
class Factor:
    """A value with its unit, its range and the key of its source.

    `low` and `high` bound what the source holds possible; without them the value is taken as exact.
    """

    value: float
    unit: str
    low: float | None = None
    high: float | None = None
    source_key: str = "set-up"

    def __post_init__(self) -> None:
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        if not low <= self.value <= high:
            raise InputError(
                f"{self.value:g} {self.unit} lies outside its own range {low:g} to {high:g}."
                " Put the three numbers in the order low, value, high."
            )

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty of the value [unit of the factor].

        u = (high - low) / sqrt(12): a value anywhere in the range, all equally likely
        (jcgm100, 4.3.7 and 4.3.8).

        >>> round(Factor(1.30, "-", 1.20, 1.40).standard_uncertainty, 5)
        0.05774
        """
        if self.low is None or self.high is None:
            return 0.0
        return (self.high - self.low) / math.sqrt(12.0)
