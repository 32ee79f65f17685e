"""Dug ground in bank cubic metres and tonnes, from the totals and the set-up of each work date."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from tracker.domain.ground import Quantity, ground_of, stated_quantity
from tracker.domain.site import Site
from tracker.ledger.entries import DigReturn
from tracker.ledger.questions import part_of, summed
from tracker.ledger.totals import contributions
from tracker.statements.frame import Frame, ended_at, set_up_periods

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

    def add(self, basis: str, stream: str, quantity: Quantity, times: int = 1) -> None:
        """Add what one sum of totals means, or take it away (-1 times)."""
        self.bank_m3 += times * quantity.bank_m3
        self.mass_t += times * quantity.mass_t
        self.by_basis_m3[basis] += times * quantity.bank_m3
        self.u_of_stream_m3[basis, stream] += times * quantity.u_bank_m3

    def include(self, other: DugSum) -> None:
        """Add another sum to this one."""
        self.bank_m3 += other.bank_m3
        self.mass_t += other.mass_t
        for basis, bank_m3 in other.by_basis_m3.items():
            self.by_basis_m3[basis] += bank_m3
        for place, u_m3 in other.u_of_stream_m3.items():
            self.u_of_stream_m3[place] += u_m3


def dug_quantity(site: Site, stream: str, basis: str, amount: int) -> Quantity:
    """What an amount in its native unit (litres, kilograms) means in every unit."""
    return stated_quantity(ground_of(site.stream(stream)), basis, amount / 1000.0)


def dug(
    frame: Frame,
    by: Sequence[str] = (),
    *,
    since: date | None = None,
    until: date | None = None,
    also: Sequence[DigReturn] = (),
    without: Sequence[DigReturn] = (),
) -> Mapping[tuple[Any, ...], DugSum]:
    """Dug ground by the named columns of the totals; the empty tuple is the whole.

    `also` are returns to count beside those of the period, `without` returns of it to leave out.
    """
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
    _add_returns(frame, found, by, also, 1)
    _add_returns(frame, found, by, without, -1)
    return found


def dug_of(
    frame: Frame, by: Sequence[str], entries: Sequence[DigReturn]
) -> Mapping[tuple[Any, ...], DugSum]:
    """Dug ground of some returns alone, as `dug` has it."""
    found: dict[tuple[Any, ...], DugSum] = defaultdict(DugSum)
    _add_returns(frame, found, by, entries, 1)
    return found


def _add_returns(
    frame: Frame,
    found: dict[tuple[Any, ...], DugSum],
    by: Sequence[str],
    entries: Sequence[DigReturn],
    times: int,
) -> None:
    for key, amount in (part for entry in entries for part in contributions(entry)):
        if key.measure in _MEASURES:
            basis = key.measure.split("_")[1]
            quantity = dug_quantity(frame.site_on(key.day), key.stream, basis, amount)
            group = tuple(part_of(key, name) for name in by)
            found[group].add(basis, key.stream, quantity, times)


def ended_after(frame: Frame, moment: datetime, work_date: date) -> list[DigReturn]:
    """Returns of a work date and the one before whose shift ended after a moment of that date.

    What a survey of that moment cannot have seen, or not all of it: a shift that runs across the
    moment counts as after it.
    """
    found: list[DigReturn] = frame.ledger.current(
        "dig_returns",
        known_at=frame.known_at,
        since=work_date - timedelta(days=1),
        until=work_date,
    )
    return [e for e in found if ended_at(frame, e.shift, e.work_date) > moment]


def basis_shares(total: DugSum) -> str:
    """One sentence on how the dug volume was established."""
    if not total.bank_m3:
        return "Nothing dug in the period."
    shares = ", ".join(
        f"{100.0 * volume / total.bank_m3:.0f} % {basis}"
        for basis, volume in total.by_basis_m3.items()
        if volume
    )
    return f"Dug volume as returned, by basis: {shares}."
