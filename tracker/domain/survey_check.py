"""A survey held against the returns to its moment: who says too much, and how surely."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

BELOW_FORMATION = 0  # the stage number of ground below formation

# Relative standard uncertainty of a sum of returns by how they were established, beside that of the
# conversion factors (common practice, no source). One habit errs alike in every return.
RETURN_U: Mapping[str, float] = MappingProxyType(
    {"measured": 0.02, "counted": 0.05, "weighed": 0.005, "estimated": 0.10}
)


def returned_u_m3(by_basis_m3: Mapping[str, float], u_factors_m3: float) -> float:
    """Standard uncertainty of what returns say, from its parts by basis and the factors [m³].

    u² = u_factors² + sum (RETURN_U[basis] x volume)²
    """
    return math.hypot(u_factors_m3, *(RETURN_U[basis] * v for basis, v in by_basis_m3.items()))


@dataclass(frozen=True, slots=True)
class CheckLine:
    """Surveyed against returned bank volume [m³] of a zone, or of one stage of it."""

    zone: str
    stage: int | None  # None: the whole zone; BELOW_FORMATION: below formation
    surveyed_m3: float
    u_surveyed_m3: float
    returned_m3: float
    u_returned_m3: float

    @property
    def difference_m3(self) -> float:
        """Returned minus surveyed: above 0 where the returns say too much."""
        return self.returned_m3 - self.surveyed_m3

    @property
    def percent(self) -> float | None:
        """The difference in percent of the surveyed volume; None where that is next to nothing."""
        if abs(self.surveyed_m3) <= 2.0 * self.u_surveyed_m3:
            return None
        return 100.0 * self.difference_m3 / self.surveyed_m3

    @property
    def u_difference_m3(self) -> float:
        """Standard uncertainty of the difference [m³]."""
        return math.hypot(self.u_surveyed_m3, self.u_returned_m3)

    @property
    def verdict(self) -> str:
        """What the difference says, at twice its standard uncertainty."""
        if abs(self.difference_m3) <= 2.0 * self.u_difference_m3:
            return "agree within their uncertainty"
        return "returns say too much" if self.difference_m3 > 0 else "returns say too little"

    def severity(self, amber_permille: int, red_permille: int) -> str:
        """Empty, amber or red: by the limits, and only where the uncertainty cannot explain it."""
        if self.verdict.startswith("agree"):
            return ""
        permille = abs(self.difference_m3) / max(abs(self.surveyed_m3), 1e-9) * 1000.0
        return "red" if permille > red_permille else "amber" if permille > amber_permille else ""
