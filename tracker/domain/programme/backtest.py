"""How often the dates of earlier forecasts held: each made again from what was known on its day.

A date is judged once it has passed: it held if the stage was dug out by then. Whether a stage is
finished plays no part in what is judged; else the late ones, not finished yet, would be left out
and the dates would look better than they were.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from tracker.domain.programme.forecast import SEED, Reached, forecast
from tracker.domain.programme.shapes import HoldTaken, Programme, StageToDig
from tracker.errors import InputError, NotEnoughData

CHANCES = (0.1, 0.2, 0.5, 0.8, 0.9)
WALKS = 1000
LEAST_LEFT_M3 = 1.0  # of a stage that the returns say is dug and nobody has declared dug out


@dataclass(frozen=True, slots=True)
class StageOnRecord:
    """A stage and its moments, None while they lie ahead.

    `released_at` is the release of the hold above it, which began when the stage above was dug out.
    """

    zone: str
    stage: int
    design_m3: float
    hold_days_planned: float
    released_at: datetime | None
    dug_out_at: datetime | None


@dataclass(frozen=True, slots=True)
class Case:
    """One date range forecast on a day, and what came. No zone: formation of all of them."""

    made_on: date
    zone: str
    stage: int | None
    dates: tuple[date | None, ...]  # in the order of CHANCES
    actual: date | None

    def date_by(self, chance: float) -> date | None:
        """The date forecast for one of CHANCES."""
        return self.dates[CHANCES.index(chance)]


@dataclass(frozen=True, slots=True)
class Held:
    """How many dates of a chance were judged, and how many of them held."""

    judged: int
    held: int

    @property
    def share(self) -> float | None:
        """Share that held [-], to be compared with the chance; None if none was judged."""
        return self.held / self.judged if self.judged else None


@dataclass(frozen=True, slots=True)
class Backtest:
    """All cases, to the last day of the record, and the days on which no forecast could be made.

    Cases of one season are not independent: neighbouring forecasts share most of their future.
    """

    cases: tuple[Case, ...]
    until: date
    refused: tuple[tuple[date, str], ...]

    def held(self, chance: float) -> Held:
        """How often the dates of a chance, one of CHANCES, held among those that have passed."""
        judged = [
            (case.actual, day)
            for case in self.cases
            if (day := case.date_by(chance)) is not None and day <= self.until
        ]
        return Held(len(judged), sum(actual is not None and actual <= d for actual, d in judged))

    def stretch(self, chance: float) -> float | None:
        """How many times as far off the dates of a chance had to be for as many of them to hold.

        Of the ratios days taken / days forecast of the dates that have passed, the least that this
        share of them does not exceed; what is not reached yet exceeds all. None where that is not
        known. Over 1, the past ran later than was forecast. Cases of one season are not
        independent: it says how far this site has been out, not how far it will be.
        """
        ratios = sorted(
            (case.actual - case.made_on).days / max((day - case.made_on).days, 1)
            if case.actual is not None
            else math.inf
            for case in self.cases
            if (day := case.date_by(chance)) is not None and day <= self.until
        )
        if not ratios:
            return None
        least = ratios[math.ceil(chance * len(ratios) - 1e-9) - 1]
        return None if math.isinf(least) else least

    def within(self, low: float = 0.1, high: float = 0.9) -> Held:
        """How often the actual date lay between those of two chances, both included."""
        judged = [
            (case.date_by(low), case.actual, day)
            for case in self.cases
            if (day := case.date_by(high)) is not None and day <= self.until
        ]
        inside = [
            actual is not None and first is not None and first <= actual <= last
            for first, actual, last in judged
        ]
        return Held(len(judged), sum(inside))


def backtest(
    record: Sequence[StageOnRecord],
    programme: Programme,
    origins: Sequence[int],
    *,
    walks: int = WALKS,
    seed: int = SEED,
) -> Backtest:
    """Forecasts made at earlier slots from what was known then, beside what came.

    `programme` holds the slots of the whole time, and beyond, and all shifts of the record;
    `shift_index` counts its slots. Its stages and holds are not used: those of each day follow from
    `record`. Raises InputError for an origin outside the slots, NotEnoughData without any shift.
    """
    if not programme.shifts:
        raise NotEnoughData("The record has no worked shift: there is no forecast to test.")
    cases: list[Case] = []
    refused: list[tuple[date, str]] = []
    actual = _actual(record, programme)
    until = max(shift.work_date for shift in programme.shifts)
    for origin in origins:
        if not 0 <= origin < len(programme.slots):
            raise InputError(
                f"Slot {origin} is not one of the {len(programme.slots)} slots of the calendar."
                " Choose origins within it.",
                field="origins",
            )
        try:
            known = programme_at(record, programme, origin)
            answer = forecast(known, walks=walks, seed=seed + origin)
        except NotEnoughData as reason:
            refused.append((programme.slots[origin].work_date, str(reason)))
        else:
            cases += _cases(known, (*answer.stages, answer.formation), actual)
    return Backtest(tuple(cases), until, tuple(refused))


def programme_at(record: Sequence[StageOnRecord], programme: Programme, origin: int) -> Programme:
    """The programme as it was known at the start of a slot: nothing that came after is in it.

    Raises NotEnoughData if all ground was dug by then.
    """
    now = programme.slots[origin].starts
    shifts = tuple(shift for shift in programme.shifts if shift.shift_index < origin)
    dug_m3: dict[tuple[str, int], float] = defaultdict(float)
    for shift in shifts:
        dug_m3[shift.zone, shift.stage] += shift.bank_m3
    above = _above(record)
    stages = tuple(
        StageToDig(
            s.zone,
            s.stage,
            max(s.design_m3 - dug_m3[s.zone, s.stage], LEAST_LEFT_M3),
            s.hold_days_planned,
            s.released_at is not None and s.released_at <= now,
            began if (began := above.get((s.zone, s.stage))) and began <= now else None,
        )
        for s in record
        if s.dug_out_at is None or s.dug_out_at > now
    )
    return programme.changed(
        stages=stages,
        slots=programme.slots[origin:],
        shifts=shifts,
        holds=tuple(_holds(record, now)),
    )


def _holds(record: Sequence[StageOnRecord], now: datetime) -> Iterator[HoldTaken]:
    """The holds released by a moment after they began, with what they took."""
    above = _above(record)
    for s in record:
        began = above.get((s.zone, s.stage))
        if began and s.released_at and began <= s.released_at <= now and s.hold_days_planned > 0:
            took_days = (s.released_at - began).total_seconds() / 86400.0
            yield HoldTaken(s.zone, s.stage, s.hold_days_planned, took_days)


def _above(record: Sequence[StageOnRecord]) -> dict[tuple[str, int], datetime]:
    """When the stage above each was dug out, where it is."""
    last: dict[str, StageOnRecord] = {}
    found: dict[tuple[str, int], datetime] = {}
    for stage in record:
        over = last.get(stage.zone)
        if over is not None and over.dug_out_at is not None:
            found[stage.zone, stage.stage] = over.dug_out_at
        last[stage.zone] = stage
    return found


def _cases(
    known: Programme,
    answers: Sequence[Reached],
    actual: Mapping[tuple[str, int | None], date | None],
) -> Iterator[Case]:
    made_on = known.slots[0].work_date
    for answer in answers:
        dates = tuple(answer.date_by(chance) for chance in CHANCES)
        yield Case(made_on, answer.zone, answer.stage, dates, actual[answer.zone, answer.stage])


def _actual(
    record: Sequence[StageOnRecord], programme: Programme
) -> dict[tuple[str, int | None], date | None]:
    """The work date on which each stage was dug out, and formation of all zones."""
    starts = [slot.starts for slot in programme.slots]
    actual: dict[tuple[str, int | None], date | None] = {}
    for s in record:
        if s.dug_out_at is None:
            actual[s.zone, s.stage] = None
        else:
            slot = max(bisect_left(starts, s.dug_out_at) - 1, 0)
            actual[s.zone, s.stage] = programme.slots[slot].work_date
    days = list(actual.values())
    known = [day for day in days if day is not None]
    actual["", None] = max(known) if len(known) == len(days) else None
    return actual
