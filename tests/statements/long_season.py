"""An invented season of one zone and one stream in a ledger, week by week, drawn by a fixed seed.

Every Saturday the zone is surveyed (a typed volume) and the heap is counted; on weekdays one shift
digs, a belt runs and lorries leave, each load with its receipt. What is planted: a share of the
tickets that never reach the office, or a belt that reads wrong from some week on.
"""

from __future__ import annotations

import copy
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from tests.statements import paper
from tracker.ledger.entries import (
    BeltReading,
    DigReturn,
    Entry,
    LorryLoad,
    Receipt,
    StockCount,
    SurveyLevel,
)
from tracker.ledger.store import Ledger

MONDAY = date(2026, 11, 2)
DENSITY, BULKING, AREA_M2 = 2.0, 1.25, 5000.0
LOAD_T = 19.0


def set_up() -> paper.Tables:
    """The paper pit with one large zone of clay."""
    tables = copy.deepcopy(paper.FIRST)
    tables["zones"] = paper.rows(
        "zone|excavation|name|ground_level_m|opens|outline",
        "B|BOX|East|104|2026-10-22|0 0; 100 0; 100 50; 0 50",
    )
    tables["excavations"] = tables["excavations"][:1]
    tables["stages"] = [row for row in tables["stages"] if row["zone"] == "B"]
    tables["ground"] = paper.rows("zone|upper_level_m|lower_level_m|stream", "B|104|20|clay")
    return tables


def at(day: date, hour: float) -> datetime:
    return datetime.combine(day, time(), UTC) + timedelta(hours=hour)


class LongSeason:
    """Entries of a season, and the truth behind them."""

    def __init__(
        self,
        seed: int,
        weeks: int,
        *,
        tickets_lost: float = 0.0,
        belt_ratio: float = 0.0,
        belt_from: int = 0,
        counted: bool = False,
        stock: bool = True,
    ) -> None:
        self.chance = np.random.default_rng(seed)
        self.weeks, self.tickets_lost, self.stock = weeks, tickets_lost, stock
        self.belt_ratio, self.belt_from, self.counted = belt_ratio, belt_from, counted
        self.entries: list[Entry] = []
        self.dug_m3, self.heap_t, self.totaliser_t, self.tickets = 0.0, 0.0, 0.0, 0
        self.entries.append(self._reading(MONDAY, 6, 0.0))
        for week in range(weeks):
            self._week(week, MONDAY + timedelta(weeks=week))
        self.last_day = MONDAY + timedelta(weeks=weeks, days=-1)

    def _near(self, share: float) -> float:
        return 1.0 + share * float(self.chance.standard_normal())

    def _week(self, week: int, monday: date) -> None:
        for number in range(5):
            day = monday + timedelta(days=number)
            dug_m3 = float(self.chance.uniform(200.0, 400.0))
            self.dug_m3 += dug_m3
            self.entries.append(self._returned(day, dug_m3 * self._near(0.03)))
            self.heap_t += dug_m3 * DENSITY
            out_t = self.heap_t - float(self.chance.uniform(100.0, 200.0))
            belt_t = out_t * (0.1 if week % 3 == 2 else 0.85)  # every third week it is out
            self._belt(week, day, belt_t)
            self.heap_t -= belt_t + self._lorries(day, out_t - belt_t)
        self._saturday(monday + timedelta(days=5), week)

    def _returned(self, day: date, bank_m3: float) -> DigReturn:
        of = {"work_date": day, "shift": "day", "zone": "B", "stage": 1, "stream": "clay"}
        if self.counted:
            count = round(bank_m3 * BULKING / 12.0)
            return DigReturn(**of, basis="counted", count=count, capacity_l=12_000)
        return DigReturn(**of, basis="measured", bank_l=round(1000 * bank_m3))

    def _belt(self, week: int, day: date, true_t: float) -> None:
        wrong = self.belt_ratio if week >= self.belt_from else 0.0
        self.totaliser_t += true_t * self._near(0.006) * (1.0 + wrong)
        self.entries.append(self._reading(day, 18, self.totaliser_t))

    def _reading(self, day: date, hour: int, totaliser_t: float) -> BeltReading:
        return BeltReading(
            read_at=at(day, hour),
            work_date=day,
            shift="day",
            belt="belt-1",
            route="R-BELT",
            stream="clay",
            totaliser_kg=round(1000 * totaliser_t),
        )

    def _lorries(self, day: date, wanted_t: float) -> float:
        left_t = 0.0
        while wanted_t - left_t > LOAD_T / 2:
            net_t = LOAD_T * self._near(0.03)
            left_t += net_t
            self.tickets += 1
            lost = self.chance.random() < self.tickets_lost
            load, receipt = self._load(day, 8.0 + 8.0 * left_t / (wanted_t + LOAD_T), net_t)
            self.entries += [receipt] if lost else [load, receipt]
        return left_t

    def _load(self, day: date, hour: float, net_t: float) -> tuple[LorryLoad, Receipt]:
        ticket = {"ticket_issuer": "gate", "ticket_number": str(self.tickets)}
        return (
            LorryLoad(
                **ticket,
                gate_in_at=at(day, hour - 0.5),
                gate_out_at=at(day, hour),
                in_date=day,
                in_hour=int(hour - 0.5),
                gate_date=day,
                out_hour=int(hour),
                carrier="haul",
                vehicle="rigid",
                registration=f"INV {self.tickets % 40}",
                stream="clay",
                zone="B",
                route="R-ROAD",
                destination="quarry",
                net_kg=round(1000 * net_t),
            ),
            Receipt(
                **ticket,
                receipt_number=f"R{self.tickets}",
                receipt_date=day,
                destination="quarry",
                waste_code="17 05 04",
                accepted_kg=round(1000 * net_t + 30 * float(self.chance.standard_normal())),
            ),
        )

    def _saturday(self, day: date, week: int) -> None:
        level_m3 = 0.008 * AREA_M2 * float(self.chance.standard_normal())
        self.entries.append(
            SurveyLevel(
                survey=f"W{week + 1}",
                surveyed_at=at(day, 9),
                work_date=day,
                zone="B",
                lowest_level_mm=104_000 - round(1000 * self.dug_m3 / AREA_M2),
                dug_bank_l=round(1000 * (self.dug_m3 + level_m3)),
            )
        )
        loose_m3 = self.heap_t / DENSITY * BULKING * self._near(0.05)
        if self.stock:
            self.entries.append(
                StockCount(
                    counted_at=at(day, 11),
                    work_date=day,
                    location="bay",
                    stream="clay",
                    loose_l=round(1000 * loose_m3),
                    method="cone",
                )
            )

    def entered(self, book: Ledger) -> Ledger:
        """The ledger with the set-up and the season in it."""
        paper.adopt(book, set_up(), "long season")
        book.append(self.entries, by="tests")
        return book
