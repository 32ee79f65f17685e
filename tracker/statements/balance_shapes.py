"""The shapes of the spoil balance: frozen answers with units in their names. No arithmetic here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tracker.statements.basis import Basis


@dataclass(frozen=True, slots=True)
class BalanceLine:
    """One stream over one period; an empty stream is all of them.

    dug + opening = belt + lorries + reused + closing + remainder, each in t and in bank m³.
    """

    stream: str
    name: str
    label: str
    starts: date
    ends: date
    dug_t: float
    opening_t: float
    belt_t: float
    lorries_t: float
    reused_t: float
    closing_t: float
    remainder_t: float | None  # None: nothing checks it, as no heap was counted anew or none left
    u_remainder_t: float | None
    dug_bank_m3: float
    opening_bank_m3: float
    belt_bank_m3: float
    lorries_bank_m3: float
    reused_bank_m3: float
    closing_bank_m3: float
    remainder_bank_m3: float | None
    u_remainder_bank_m3: float | None
    percent_of_dug: float | None  # the remainder, of the tonnes dug
    verdict: str
    unseen: str  # where the uncertainty explains the remainder: which loss would not show
    opening_counted_on: date | None  # end of which day; None: no heap had been counted by then
    closing_counted_on: date | None
    oldest_count_on: date | None  # of the heaps in the closing stock
    lowest_stock_t: float  # by the records, at the end of the worst day
    lowest_stock_on: date
    negative_stock: str  # sentence where that is below nothing by more than its uncertainty


@dataclass(frozen=True, slots=True)
class HeapLine:
    """What lies at one location, beside the limit that the temporary works coordinator set."""

    location: str
    loose_m3: float
    by_stream: str
    surcharge_limit_m3: float | None
    free_m3: float | None
    over_limit: bool
    counted_on: date  # end of which day, of the oldest count that makes it up
    days_old: int
    entry_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StreamRate:
    """How fast a stream that goes by belt is dug, and how long all free space would take it."""

    stream: str
    dug_loose_m3_per_h: float
    hours: float | None


@dataclass(frozen=True, slots=True)
class EnduranceView:
    """How long digging can go on once the belt stops; None where the records cannot say."""

    sentence: str
    free_loose_m3: float | None
    dug_loose_m3_per_h: float | None
    lorry_loose_m3_per_h: float | None
    hours: float | None
    with_lorries_h: float | None  # None also where lorries within the cap keep pace
    worked_hours: float  # that the rate rests on


@dataclass(frozen=True, slots=True)
class BalanceStatement:
    """What was dug against where it went, and how long the heaps last."""

    basis: Basis
    since: date
    until: date
    grain: str  # total | month | week
    headline: str
    lines: tuple[BalanceLine, ...]  # by period, then by stream
    totals: tuple[BalanceLine, ...]  # by stream, over all of it
    total: BalanceLine
    heaps: tuple[HeapLine, ...]
    endurance: EnduranceView
    rates: tuple[StreamRate, ...]
