"""When each stage and formation will be reached, at which chance, and what governs.

A forecast assumes releases: each is named with its date. It permits nothing. The permit on site and
the temporary works coordinator govern, and monitoring overrides.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from tracker.domain.limits import check_between, check_positive
from tracker.domain.programme.hold_lengths import hold_basis, is_overdue
from tracker.domain.programme.output import Outputs, Rate, outputs
from tracker.domain.programme.shapes import Programme
from tracker.domain.programme.walk import Walked, walked
from tracker.errors import InputError

CAUTION = (
    "A forecast permits nothing: it assumes the releases named beside it. The permit on site and"
    " the temporary works coordinator govern; monitoring alarms override."
)
WALKS = 10_000
SEED = 1
FORMATION = "formation"
FASTEST = 16.0  # times the recent output: beyond this no rate is called reachable
_DAY_S = 86400.0
_ROUNDS = 12  # of halving: the ratio to within 0.1 per cent


@dataclass(frozen=True, slots=True)
class Reached:
    """The dates on which something is reached: how many walks had it by each work date."""

    zone: str  # empty: all zones of the part
    stage: int | None  # None: formation, the last stage of each zone
    walks: int
    by: tuple[tuple[date, int], ...]  # work date -> walks that had reached it by its end
    part: str = ""  # empty, and no zone: all zones there are

    def date_by(self, chance: float) -> date | None:
        """The first work date by which so many of the walks have it; None if the calendar ends.

        Raises OutOfRange for a chance outside 0 to 1.
        """
        wanted = check_between("chance", chance, 0.0, 1.0, "") * self.walks - 1e-9
        return next((day for day, reached in self.by if reached >= max(wanted, 1.0)), None)

    def chance_by(self, day: date) -> float:
        """Share of the walks that have it by the end of a work date [-]."""
        return max((n for on, n in self.by if on <= day), default=0) / self.walks

    @property
    def p20(self) -> date | None:
        """One chance in five."""
        return self.date_by(0.2)

    @property
    def p50(self) -> date | None:
        """One chance in two."""
        return self.date_by(0.5)

    @property
    def p80(self) -> date | None:
        """Four chances in five."""
        return self.date_by(0.8)


@dataclass(frozen=True, slots=True)
class AssumedRelease:
    """A hold that the forecast takes as released, and when: nobody has released it yet.

    Each date is that of the first shift that digs on the assumed release: it must be in place for
    that shift. P20, P50 and P80; None where it comes after the calendar. `overdue` marks a hold
    that has already outlasted all that its length is drawn from.
    """

    zone: str
    stage: int  # the stage that may be dug after it
    needed_for: tuple[date | None, date | None, date | None]
    overdue: bool

    def __str__(self) -> str:
        p20, p50, p80 = (day or "later than the calendar goes" for day in self.needed_for)
        late = " The hold is overdue, and taken as released at once." if self.overdue else ""
        return (
            f"Zone {self.zone}: the hold above stage {self.stage} is assumed released for the shift"
            f" of: {p50} (P20 {p20}, P80 {p80}). Nobody has released it yet.{late}"
        )


@dataclass(frozen=True, slots=True)
class Governing:
    """What governs, as shares of the shifts in which ground was left [-]: cause -> share.

    Causes are words of `governing`: `hold`, the stage waits for its release; `calendar`, the slot
    is closed; `turn`, only so many zones can be dug at a time; `dig`, the rate of digging. Else the
    limit of this name, of the zone or of all: where both bind, that of all.
    """

    zone: str  # empty: all zones
    work_date: date | None  # None: the whole time to formation
    shares: dict[str, float]
    shifts: float = 0.0  # in which ground was left, of a zone and of all walks the mean


@dataclass(frozen=True, slots=True)
class FanDay:
    """What is dug of a part from the first shift ahead to the end of a work date [bank m³].

    `low_m3` is dug by four walks in five at least, `middle_m3` by half, `high_m3` by one in five.
    """

    part: str
    work_date: date
    low_m3: float
    middle_m3: float
    high_m3: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """The answer, with what it rests on."""

    stages: tuple[Reached, ...]
    zones: tuple[Reached, ...]
    parts: tuple[Reached, ...]  # formation of each part; one without a name where none is
    formation: Reached  # of all of them
    fan: tuple[FanDay, ...]  # part by part, to the date from which it no longer rises
    releases: tuple[AssumedRelease, ...]
    governs: tuple[Governing, ...]  # by zone
    governs_in_slot: tuple[Governing, ...]  # of all zones, slot by slot
    last_zone: dict[str, float]  # how often each zone is the last, alone or with others [-]
    rates: tuple[Rate, ...]
    holds: str
    block_shifts: int
    likeness: float  # of the outputs of zones dug in the same shift: correlation [-]
    walks: int


@dataclass(frozen=True, slots=True)
class RateNeeded:
    """The output that meets a target at a chance, as a ratio to the recent one and in bank m³.

    None where no output would: holds, capacities and calendar take too long by themselves.
    """

    target: date
    chance: float
    ratio: float | None
    bank_m3: float | None  # a zone and shift
    part: str | None = None  # None: all zones


def forecast(programme: Programme, *, walks: int = WALKS, seed: int = SEED) -> Forecast:
    """Walk to formation and say what came of it.

    The same seed gives the same answer. Limits: zones share no crews but by `zones_at_once`; holds
    are drawn each by itself; no rate rises or falls but from one group of stages to the next. On
    600 invented seasons the range from P10 to P90 held 80 % of formations and 78 % of stages, and
    P80 held four times in five. It does not hold where a deeper stage digs slower than any on
    record (`Rate.borrowed`), or where holds outlast the usual spread before five are recorded.
    Raises NotEnoughData, with what is missing, where the record does not support a forecast.
    """
    check_positive("walks", walks, "walks")
    drawn_from = outputs(programme)
    done = walked(programme, drawn_from, walks, np.random.default_rng(seed))
    by_zone = {
        zone: np.max(
            [done.finished_slot[n] for n, s in enumerate(programme.stages) if s.zone == zone],
            axis=0,
        )
        for zone in programme.zones
    }
    last = np.max(list(by_zone.values()), axis=0)
    return Forecast(
        tuple(
            _reached(programme, done.finished_slot[n], programme.part(s.zone), s.zone, s.stage)
            for n, s in enumerate(programme.stages)
        ),
        tuple(
            _reached(programme, slot, programme.part(zone), zone) for zone, slot in by_zone.items()
        ),
        tuple(
            _reached(programme, _formation(programme, done, part), part)
            for part in programme.part_names
        ),
        _reached(programme, last),
        tuple(_fan(programme, done)),
        tuple(_releases(programme, done)),
        tuple(_governs_zones(programme, done)),
        tuple(_governs_slots(programme, done)),
        {zone: float(np.mean(slot == last)) for zone, slot in by_zone.items()},
        drawn_from.rates,
        hold_basis(programme),
        programme.block_shifts,
        drawn_from.together**2,
        walks,
    )


def _reached(
    programme: Programme,
    slot: np.ndarray,
    part: str = "",
    zone: str = "",
    stage: int | None = None,
) -> Reached:
    """Walks by work date, of those dates on which any reached it."""
    slots = programme.slots
    at, counts = np.unique(slot[slot < len(slots)], return_counts=True)
    reached: dict[date, int] = {}
    for n, total in zip(at, np.cumsum(counts), strict=True):
        reached[slots[n].work_date] = int(total)
    return Reached(zone, stage, len(slot), tuple(reached.items()), part)


def _formation(programme: Programme, done: Walked, part: str | None = None) -> np.ndarray:
    """The slot in which each walk has dug out a part, or all zones."""
    rows = [n for n, s in enumerate(programme.stages) if part in (None, programme.part(s.zone))]
    slots: np.ndarray = done.finished_slot[rows].max(axis=0)
    return slots


def _fan(programme: Programme, done: Walked) -> Iterator[FanDay]:
    days = tuple(dict.fromkeys(slot.work_date for slot in programme.slots))
    for part, rows in zip(programme.part_names, done.fan_m3.swapaxes(0, 1), strict=True):
        rises = np.flatnonzero((rows != rows[-1]).any(axis=1))
        until = int(rises[-1]) + 2 if len(rises) else 1
        for day, (low_m3, middle_m3, high_m3) in zip(days, rows.tolist()[:until], strict=False):
            yield FanDay(part, day, low_m3, middle_m3, high_m3)


def _releases(programme: Programme, done: Walked) -> Iterator[AssumedRelease]:
    now = programme.slots[0].starts
    digs = [slot for slot in programme.slots if not slot.closed]
    starts_day = np.array([(slot.starts - now).total_seconds() / _DAY_S for slot in digs])
    for stage, days in zip(programme.stages, done.released_day, strict=True):
        if stage.released:
            continue
        begun = np.sort(days[np.isfinite(days)])
        dates: list[date | None] = []
        for chance in (0.2, 0.5, 0.8):
            rank = max(math.ceil(chance * len(days) - 1e-9), 1)
            at = len(digs)
            if rank <= len(begun):
                at = int(np.searchsorted(starts_day, begun[rank - 1]))
            dates.append(digs[at].work_date if at < len(digs) else None)
        overdue = is_overdue(programme, stage)
        yield AssumedRelease(stage.zone, stage.stage, (dates[0], dates[1], dates[2]), overdue)


def _governs_zones(programme: Programme, done: Walked) -> Iterator[Governing]:
    for zone, counts in zip(programme.zones, done.governed.sum(axis=0), strict=True):
        shifts = float(counts.sum()) / done.finished_slot.shape[1]
        yield Governing(zone, None, _shares(done.causes, counts), shifts)


def _governs_slots(programme: Programme, done: Walked) -> Iterator[Governing]:
    for slot, counts in zip(programme.slots, done.governed.sum(axis=1), strict=True):
        if counts.any():
            yield Governing("", slot.work_date, _shares(done.causes, counts))


def _shares(causes: tuple[str, ...], counts: np.ndarray) -> dict[str, float]:
    total = max(int(counts.sum()), 1)
    return {cause: int(n) / total for cause, n in zip(causes, counts, strict=True)}


def rate_needed(
    programme: Programme,
    target: date,
    *,
    part: str | None = None,
    chance: float = 0.8,
    walks: int = 2000,
    seed: int = SEED,
    rounds: int = _ROUNDS,
) -> RateNeeded:
    """The output of a zone and shift with which formation is reached by a target, at a chance.

    Of all zones, or of one part: then the outputs of the others stay as they are. Every walk is the
    same at every ratio but for the output, and the ratio is halved in on, `rounds` times. Raises
    InputError for a target before the first shift ahead or after the last and for a part without
    ground left, NotEnoughData as `forecast`.
    """
    check_between("chance", chance, 0.01, 0.99, "")
    if part is not None and part not in programme.part_names:
        raise InputError(
            f"No ground is left in {part!r}: choose one of {', '.join(programme.part_names)}.",
            field="part",
        )
    first, final = programme.slots[0].work_date, programme.slots[-1].work_date
    if not first <= target <= final:
        raise InputError(
            f"The target {target} lies outside the shifts ahead, {first} to {final}."
            " Choose a date between, or extend the calendar.",
            field="target",
        )
    drawn_from = outputs(programme)

    def meets(ratio: float) -> bool:
        done = walked(programme, drawn_from, walks, np.random.default_rng(seed), ratio, part)
        return _reached(programme, _formation(programme, done, part)).chance_by(target) >= chance

    low, high = 0.0, 1.0
    while not meets(high):
        low, high = high, 2.0 * high
        if high > FASTEST:
            return RateNeeded(target, chance, None, None, part)
    for _ in range(rounds):
        middle = (low + high) / 2.0
        if meets(middle):
            high = middle
        else:
            low = middle
    return RateNeeded(target, chance, high, high * _mean_m3(programme, drawn_from, part), part)


def _mean_m3(programme: Programme, drawn_from: Outputs, part: str | None) -> float:
    """Ground that is left over the shifts it takes at the recent rates [bank m³]."""
    pools, pool_of = drawn_from.pools, drawn_from.pool_of_stage
    ahead = [s for s in programme.stages if part in (None, programme.part(s.zone))]
    shifts = math.fsum(s.remaining_m3 / pools[pool_of[s.zone, s.stage]].mean_m3 for s in ahead)
    return math.fsum(s.remaining_m3 for s in ahead) / shifts
