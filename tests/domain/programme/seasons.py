"""Invented seasons whose end is known, and what a forecaster could know of them on the way.

Zones of a box are dug in stages, two at a time, six days a week with some days off. The output of
a zone and shift scatters by a third: some of it lasts from shift to shift, some is common to all
zones. Holds take longer than planned, now and then much longer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from tests.domain.programme.plain_walk import Happened, plain_walk
from tracker.domain.programme.backtest import StageOnRecord
from tracker.domain.programme.shapes import HoldTaken, Programme, ShiftSlot, StageToDig

STARTS = datetime(2026, 3, 2, 7, tzinfo=UTC)
MEAN_M3 = 200.0


def slots_of(
    days: int, off: frozenset[int] = frozenset(), **most_m3: float
) -> tuple[ShiftSlot, ...]:
    """One ten-hour shift a day from Monday 2 March 2026; Sundays and the days in `off` closed."""
    made = []
    for n in range(days):
        starts = STARTS + timedelta(days=n)
        closed = starts.weekday() == 6 or n in off
        made.append(ShiftSlot(starts.date(), starts, starts + timedelta(hours=10), most_m3, closed))
    return tuple(made)


@dataclass(frozen=True)
class Truth:
    """What is true of a season; the forecaster is told none of it but by the record."""

    zones: str = "ABCD"
    stage_m3: tuple[float, ...] = (2400.0, 2000.0, 2800.0)
    hold_days: float = 12.0
    scatter: float = 0.33
    lasting: float = 0.5  # correlation from one shift to the next
    common: float = 0.3  # share of the variance that all zones have in common
    stage_ratio: tuple[float, ...] = (1.0, 1.0, 1.0)
    hold_spread: tuple[float, float, float] = (0.9, 1.0, 1.5)
    zones_at_once: int | None = 2
    belt_m3: float = 520.0
    days: int = 420


class Season:
    """One season drawn by chance."""

    def __init__(self, seed: int, truth: Truth | None = None) -> None:
        self.chance = np.random.default_rng(seed)
        self.truth = truth or Truth()
        t = self.truth
        off = frozenset(int(n) for n in self.chance.integers(0, t.days, t.days // 40))
        self.slots = slots_of(t.days, off, belt=t.belt_m3)
        self.stages = tuple(
            StageToDig(zone, n + 1, m3, t.hold_days if n else 0.0, n == 0)
            for zone in t.zones
            for n, m3 in enumerate(t.stage_m3)
        )
        self.outputs = self._outputs()
        self.happened: Happened = plain_walk(
            self.stages, self.slots, self._output, self._hold, t.zones_at_once, keep_shifts=True
        )

    def _outputs(self) -> np.ndarray:
        """Slots by zones: log-normal, each zone and all together a chain of their own."""
        t = self.truth
        shape = (t.days, len(t.zones) + 1)
        chain = self.chance.standard_normal(shape)
        for n in range(1, t.days):
            chain[n] = t.lasting * chain[n - 1] + np.sqrt(1.0 - t.lasting**2) * chain[n]
        mixed = np.sqrt(1.0 - t.common) * chain[:, 1:] + np.sqrt(t.common) * chain[:, :1]
        sigma = np.sqrt(np.log1p(t.scatter**2))
        return MEAN_M3 * np.exp(sigma * mixed - sigma**2 / 2.0)

    def _output(self, slot: int, stage: StageToDig) -> float:
        ratio = self.truth.stage_ratio[stage.stage - 1]
        return float(self.outputs[slot, self.truth.zones.index(stage.zone)]) * ratio

    def _hold(self, stage: StageToDig) -> float:
        low, mode, high = self.truth.hold_spread
        ratio = low if low == high else float(self.chance.triangular(low, mode, high))
        return stage.hold_days_planned * ratio

    def record(self) -> tuple[StageOnRecord, ...]:
        """What the ledger would say of the stages at the end of the season."""
        h = self.happened
        return tuple(
            StageOnRecord(
                s.zone,
                s.stage,
                s.remaining_m3,
                s.hold_days_planned,
                self.slots[0].starts if s.released else h.released_at.get((s.zone, s.stage)),
                h.dug_out_at.get((s.zone, s.stage)),
            )
            for s in self.stages
        )

    def programme(self, **what: object) -> Programme:
        """The whole season with its record: from it a backtest takes what was known when."""
        return replace(
            Programme(
                self.stages,
                self.slots,
                tuple(self.happened.shifts),
                self.holds(),
                self.truth.zones_at_once,
                stage_groups=dict.fromkeys(range(1, 9), "all"),
            ),
            **what,
        )

    def holds(self) -> tuple[HoldTaken, ...]:
        """Every hold of the season with what it took."""
        taken = []
        for (zone, stage), released in self.happened.released_at.items():
            began = self.happened.dug_out_at[zone, stage - 1]
            days = (released - began).total_seconds() / 86400.0
            taken.append(HoldTaken(zone, stage, self.truth.hold_days, days))
        return tuple(taken)
