"""Dug ground in bank cubic metres and tonnes, from the totals and the set-up of each work date."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tracker.domain.ground import Quantity, ground_of, stated_quantity
from tracker.domain.site import Site
from tracker.ledger.questions import summed
from tracker.statements.frame import Frame, set_up_periods

BASES = ("measured", "counted", "weighed", "estimated")
_MEASURES = ("dug_measured_l", "dug_counted_l", "dug_weighed_kg", "dug_estimated_l")


@dataclass(slots=True)
class DugSum:
    """A sum of dug ground, with how much of it each basis states [m³ bank].

    The uncertainty is that of the conversion factors: one factor errs the same way in every return
    of its stream, so it adds up within a stream and combines over streams (jcgm100, 5.2).
    """

    bank_m3: float = 0.0
    mass_t: float = 0.0
    by_basis_m3: dict[str, float] = field(default_factory=lambda: dict.fromkeys(BASES, 0.0))
    u_of_stream_m3: dict[tuple[str, str], float] = field(default_factory=lambda: defaultdict(float))

    @property
    def u_bank_m3(self) -> float:
        """Standard uncertainty from the conversion factors [m³ bank]."""
        return math.hypot(*self.u_of_stream_m3.values()) if self.u_of_stream_m3 else 0.0

    def add(self, basis: str, stream: str, quantity: Quantity) -> None:
        """Add what one sum of totals means."""
        self.bank_m3 += quantity.bank_m3
        self.mass_t += quantity.mass_t
        self.by_basis_m3[basis] += quantity.bank_m3
        self.u_of_stream_m3[basis, stream] += quantity.u_bank_m3


def dug_quantity(site: Site, stream: str, basis: str, amount: int) -> Quantity:
    """What an amount in its native unit (litres, kilograms) means in every unit."""
    return stated_quantity(ground_of(site.stream(stream)), basis, amount / 1000.0)


def dug(
    frame: Frame, by: Sequence[str] = (), *, since: date | None = None, until: date | None = None
) -> Mapping[tuple[Any, ...], DugSum]:
    """Dug ground by the named columns of the totals; the empty tuple is the whole."""
    found: dict[tuple[Any, ...], DugSum] = defaultdict(DugSum)
    first, last = since or frame.site.first_date, until or frame.as_of
    for site, start, end in set_up_periods(frame, first, last):
        sums = summed(
            frame.ledger,
            _MEASURES,
            ("stream", *by),
            since=start,
            until=end,
            known_at=frame.known_at,
        )
        for (measure, stream, *key), amount in sums.items():
            basis = measure.split("_")[1]
            found[tuple(key)].add(basis, stream, dug_quantity(site, stream, basis, amount))
    return found


def basis_shares(total: DugSum) -> str:
    """One sentence on how the dug volume was established."""
    if not total.bank_m3:
        return "Nothing dug in the period."
    shares = ", ".join(
        f"{100.0 * volume / total.bank_m3:.0f} % {basis}"
        for basis, volume in total.by_basis_m3.items()
        if volume
    )
    return f"Dug volume by basis: {shares}. The ± covers the conversion factors only."
