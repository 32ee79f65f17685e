"""Seasons whose truth is known: what happened, and what five parties state of it with errors.

Invented: one box of 5000 m², dug week by week; most of the ground leaves by belt, the rest by
lorry, and the belt stands still now and then.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tracker.domain.reconcile.stated import (
    AssumedGround,
    Bank,
    Carried,
    Loose,
    Mass,
    Season,
    Stated,
    SurveyedVoid,
)

AREA_M2 = 5000.0


@dataclass(frozen=True)
class Errors:
    """Standard uncertainties, as stated and as drawn: ratios, but for what has a unit."""

    density: tuple[float, float] = (0.008, 0.008)  # independent, shared
    bulking: tuple[float, float] = (0.02, 0.04)
    belt: tuple[float, float] = (0.006, 0.005)
    lorries: tuple[float, float] = (0.004, 0.006)
    receipts: tuple[float, float] = (0.004, 0.004)
    returns: tuple[float, float] = (0.06, 0.04)
    survey_m3: float = 15.0
    survey_shared: float = 0.001
    level_m: float = 0.005
    stock_m3: float = 20.0
    dug_after_m3: float = 15.0


@dataclass(frozen=True)
class Fault:
    """What is planted, none of it in the stated uncertainties."""

    belt_ratio: float = 0.0
    belt_from: int = 0
    tickets_lost: float = 0.0
    density_ratio: float = 0.0
    level_m: float = 0.0
    level_at: int = 0
    datum_stays: bool = False


@dataclass
class Truth:
    bank_m3: np.ndarray
    density_t_per_m3: np.ndarray
    mass_t: np.ndarray
    loose_per_bank: np.ndarray
    belt_t: np.ndarray
    lorries_t: np.ndarray
    stock_t: np.ndarray = field(default_factory=lambda: np.zeros(0))


class Drawn:
    """One season drawn by chance: `truth`, and the `season` that the parties state."""

    def __init__(
        self,
        seed: int,
        periods: int = 26,
        fault: Fault | None = None,
        errors: Errors | None = None,
        receipts: bool = True,
        stream: str = "clay",
        density: float = 2.0,
    ) -> None:
        self.chance = np.random.default_rng(seed)
        self.n, self.fault, self.errors = periods, fault or Fault(), errors or Errors()
        self.stream, self.receipts, self.density = stream, receipts, density
        self.truth = self._happened()
        names = [f"week {k + 1}" for k in range(periods)]
        self.season = Season(names, [self._assumed()], self._stated(names))

    def _pull(self, parts: tuple[float, float]) -> np.ndarray:
        """Relative errors of all periods: each its own, and one for all."""
        return parts[0] * self.chance.standard_normal(self.n) + parts[1] * self.chance.normal()

    def _happened(self) -> Truth:
        c, n, e = self.chance, self.n, self.errors
        self.mean_density = self.density * (1.0 + e.density[1] * c.normal())
        self.mean_density /= 1.0 + self.fault.density_ratio
        self.mean_bulking = 1.3 * (1.0 + e.bulking[1] * c.normal())
        density = self.mean_density * (1.0 + e.density[0] * c.standard_normal(n))
        bulking = self.mean_bulking * (1.0 + e.bulking[0] * c.standard_normal(n))
        bank = c.uniform(1000.0, 2400.0, n)
        mass = bank * density
        stock = c.uniform(100.0, 400.0, n)
        out = mass - np.diff(stock, prepend=0.0)
        share = np.where(c.random(n) < 0.2, 0.1, c.uniform(0.6, 0.9, n))
        return Truth(bank, density, mass, bulking, out * share, out * (1 - share), stock)

    def _assumed(self) -> AssumedGround:
        e = self.errors
        return AssumedGround(
            self.stream,
            self.density,
            self.density * e.density[0],
            self.density * e.density[1],
            1.3,
            1.3 * e.bulking[0],
            1.3 * e.bulking[1],
        )

    def _weighed(self, true_t: np.ndarray, parts: tuple[float, float], bias: float = 0.0):
        stated = true_t * (1.0 + self._pull(parts)) * (1.0 + bias)
        return [
            Mass(s, max(parts[0] * t, 0.5), parts[1] * t)
            for s, t in zip(stated, true_t, strict=True)
        ]

    def _surveys(self) -> list[SurveyedVoid]:
        c, e, f, t = self.chance, self.errors, self.fault, self.truth
        after = c.uniform(20.0, 80.0, self.n)  # dug after the survey, in this period's tickets
        self.dug_after_m3 = after
        level = e.level_m * c.standard_normal(self.n + 1)
        level[f.level_at + 1 : None if f.datum_stays else f.level_at + 2] += f.level_m
        void = t.bank_m3 - after + np.concatenate([[0.0], after[:-1]])
        void *= 1.0 + e.survey_shared * c.normal()
        void += e.survey_m3 * c.standard_normal(self.n) + AREA_M2 * np.diff(level)
        guess = after + e.dug_after_m3 * c.standard_normal(self.n)
        return [
            SurveyedVoid(
                Bank(v, e.survey_m3, e.survey_shared * v),
                AREA_M2,
                e.level_m,
                Bank(a, e.dug_after_m3),
            )
            for v, a in zip(void, guess, strict=True)
        ]

    def _stated(self, names: list[str]) -> list[Stated]:
        c, e, f, t = self.chance, self.errors, self.fault, self.truth
        drift = np.where(np.arange(self.n) >= f.belt_from, f.belt_ratio, 0.0)
        belt = self._weighed(t.belt_t, e.belt, drift)
        lorries = self._weighed(t.lorries_t, e.lorries, -f.tickets_lost)
        tips = [self._weighed(x, e.receipts) for x in (t.belt_t, t.lorries_t)]
        dug = t.bank_m3 * (1.0 + self._pull(e.returns))
        heap = t.stock_t * t.loose_per_bank / t.density_t_per_m3
        heap += e.stock_m3 * c.standard_normal(self.n)
        surveys = self._surveys()
        return [
            Stated(
                names[k],
                self.stream,
                surveys[k],
                Bank(dug[k], *(part * t.bank_m3[k] for part in e.returns)),
                (
                    Carried("belt", "quarry", belt[k], tips[0][k] if self.receipts else None),
                    Carried("lorries", "farm", lorries[k], tips[1][k] if self.receipts else None),
                ),
                None,
                Loose(heap[k], e.stock_m3),
            )
            for k in range(self.n)
        ]
