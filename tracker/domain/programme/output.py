"""What a zone gives in a shift: drawn from the record in blocks of consecutive worked shifts.

A block keeps good and bad shifts together as they came (circular blocks: every recorded shift is
drawn as often as any other). A shift that could have given more, because the stage was dug out or a
capacity reached, stands for the mean of those that gave more.

A record is itself a matter of luck: each walk digs at a mean of its own, as uncertain as that of
the record. Without this, dates would be far too sure wherever the record is shorter than the work
ahead.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from tracker.domain.programme.shapes import FEWEST_SHIFTS, Programme, StageToDig, WorkedShift
from tracker.errors import NotEnoughData

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

FEWEST_PAIRS = 10  # zone-shifts dug side by side before their likeness counts; common practice
MOST_LASTING = 0.8  # correlation from shift to shift: above this a record says too little of it
_FAR = 3.0  # exp of it is twentyfold: as far as a drawn mean may lie from the record's


@dataclass(frozen=True, slots=True)
class Rate:
    """What a group of stages is forecast with: how many shifts of the record, and their mean.

    `borrowed` where the group has fewer than five of its own, so that those of its part are taken;
    and those of all where its part has too few.
    """

    group: str
    shifts: int
    bank_m3: float
    borrowed: bool


@dataclass(frozen=True, slots=True)
class Outputs:
    """The record made ready for drawing: a pool of all shifts, one of each group with enough.

    `values_m3` holds the pools end to end, each followed by its own first shifts, so that a block
    may run over the end. `together` is how often a zone draws the same block as the others.
    """

    values_m3: Floats
    first: Ints
    count: Ints
    pool_of_group: dict[str, int]
    rates: tuple[Rate, ...]
    by_shift: tuple[tuple[Floats, Floats], ...]  # of each pool: sum [m³] and zones, shift by shift
    together: float
    lasting: float
    block_shifts: int

    @property
    def mean_m3(self) -> float:
        """Mean of all shifts of the record [bank m³ a zone and shift]."""
        sums, zones = self.by_shift[0]
        return float(sums.sum() / zones.sum())


def outputs(programme: Programme) -> Outputs:
    """The recent record of a programme, ready for drawing.

    Raises NotEnoughData for fewer than five worked shifts, no rate, or a record that ends too long
    before the first shift ahead.
    """
    kept = [shift for shift in programme.shifts if shift.one_off not in programme.excluded]
    _refuse_thin(programme, kept)
    every = could_give(kept)
    pools, pool_of_group, rates = {"": every}, {}, []
    for stage in programme.stages:
        group = programme.group(stage.zone, stage.stage)
        if group in pool_of_group:
            continue
        name, used = _drawn_from(programme, stage, kept, every)
        pools.setdefault(name, used)
        pool_of_group[group] = list(pools).index(name)
        mean_m3 = math.fsum(shift.bank_m3 for shift in used) / len(used)
        rates.append(Rate(group, len(used), mean_m3, name != group))
    by_shift = tuple(_by_shift(pool) for pool in pools.values())
    laid = [_laid_out(pool, programme.block_shifts) for pool in pools.values()]
    lengths = [len(values) for values in laid]
    return Outputs(
        np.concatenate(laid),
        np.concatenate([[0], np.cumsum(lengths)[:-1]]).astype(np.intp),
        np.array([len(pool) for pool in pools.values()], np.intp),
        pool_of_group,
        tuple(rates),
        by_shift,
        math.sqrt(likeness(programme, every)),
        lasting(*by_shift[0]),
        programme.block_shifts,
    )


def _drawn_from(
    programme: Programme, stage: StageToDig, kept: list[WorkedShift], every: list[WorkedShift]
) -> tuple[str, list[WorkedShift]]:
    """What a stage is forecast with: its group, else its part, else the whole record."""
    group, part = programme.group(stage.zone, stage.stage), programme.part(stage.zone)
    of_part = [s for s in kept if programme.part(s.zone) == part]
    of_group = [s for s in of_part if programme.group(s.zone, s.stage) == group]
    for name, shifts in ((group, of_group), (f"all of {part}", of_part)):
        if len(shifts) == len(kept) and name != group:
            break
        if len(shifts) >= FEWEST_SHIFTS and any(shift.bank_m3 > 0.0 for shift in shifts):
            return name, could_give(shifts)
    return "", every


def could_give(shifts: Sequence[WorkedShift]) -> list[WorkedShift]:
    """The shifts, with those that were limited raised to the mean of those that gave more.

    One above all that were not limited stays as it is: the record does not say how much more.
    """
    free = sorted(shift.bank_m3 for shift in shifts if not shift.limited)
    raised = []
    for shift in shifts:
        more = free[bisect_right(free, shift.bank_m3) :] if shift.limited else []
        raised.append(replace(shift, bank_m3=math.fsum(more) / len(more)) if more else shift)
    return raised


def _refuse_thin(programme: Programme, kept: Sequence[WorkedShift]) -> None:
    left_out = len(programme.shifts) - len(kept)
    if len(kept) < FEWEST_SHIFTS:
        raise NotEnoughData(
            f"The record has {len(kept)} worked shifts"
            + (f" ({left_out} more are left out as one-offs)" if left_out else "")
            + f"; a forecast needs at least {FEWEST_SHIFTS}. Enter the missing returns."
        )
    if not any(shift.bank_m3 > 0.0 for shift in kept):
        raise NotEnoughData(
            f"Nothing was dug in any of the {len(kept)} worked shifts of the record, so that there"
            " is no rate to forecast with. Enter the returns of shifts that dug."
        )
    ahead, newest = programme.slots[0].work_date, max(shift.work_date for shift in kept)
    _refuse_old(ahead, newest, programme.oldest_record_days)


def _refuse_old(ahead: date, newest: date, oldest_days: int) -> None:
    age_days = (ahead - newest).days
    if age_days > oldest_days:
        raise NotEnoughData(
            f"The newest worked shift is of {newest}, {age_days} days before the first shift ahead;"
            f" at most {oldest_days} days are allowed. Enter the returns since, or raise the age."
        )


def _laid_out(pool: Sequence[WorkedShift], block_shifts: int) -> Floats:
    """Outputs in the order in which each zone dug them, with the first ones again at the end."""
    in_order = sorted(pool, key=lambda shift: (shift.zone, shift.shift_index))
    values = np.array([shift.bank_m3 for shift in in_order])
    laid: Floats = np.resize(values, len(values) + block_shifts - 1)
    return laid


def _by_shift(pool: Sequence[WorkedShift]) -> tuple[Floats, Floats]:
    sums: dict[int, float] = defaultdict(float)
    zones: dict[int, float] = defaultdict(float)
    for shift in sorted(pool, key=lambda shift: shift.shift_index):
        sums[shift.shift_index] += shift.bank_m3
        zones[shift.shift_index] += 1.0
    return np.array(list(sums.values())), np.array(list(zones.values()))


def likeness(programme: Programme, kept: Sequence[WorkedShift]) -> float:
    """Correlation of the outputs of zones dug in the same shift, from 0 to 1 [-].

    Mean product of the departures of two zones from the mean of their group, over the variance;
    0 with fewer than ten pairs, and where it comes out negative.
    """
    by_group: dict[str, list[float]] = defaultdict(list)
    for shift in kept:
        by_group[programme.group(shift.zone, shift.stage)].append(shift.bank_m3)
    means = {group: math.fsum(values) / len(values) for group, values in by_group.items()}
    off: dict[int, list[float]] = defaultdict(list)
    for shift in kept:
        off[shift.shift_index].append(
            shift.bank_m3 - means[programme.group(shift.zone, shift.stage)]
        )
    pairs = sum(len(row) * (len(row) - 1) // 2 for row in off.values())
    squares = math.fsum(value * value for row in off.values() for value in row)
    if pairs < FEWEST_PAIRS or squares <= 0.0:
        return 0.0
    # (sum)² less the squares is twice the sum over pairs
    products = math.fsum((sum(row) ** 2 - sum(v * v for v in row)) / 2.0 for row in off.values())
    return min(1.0, max(0.0, (products / pairs) / (squares / len(kept))))


def lasting(sums_m3: Floats, zones: Floats) -> float:
    """Correlation of what one shift gives with the next, from 0 to 0.8 [-].

    Of the departures from the mean, shift by shift of the record:
    r = sum(e[n] * e[n+1]) / sum(e[n]²), then r + (1 + 3 * r) / shifts, because a short record
    shows less of it than there is (the usual correction; from memory, unconfirmed).
    """
    off = sums_m3 - zones * sums_m3.sum() / zones.sum()
    squares = float(off @ off)
    if len(off) < FEWEST_SHIFTS or squares <= 0.0:
        return 0.0
    seen = float(off[1:] @ off[:-1]) / squares
    return min(MOST_LASTING, max(0.0, seen + (1.0 + 3.0 * seen) / len(off)))


def luck(drawn_from: Outputs, walks: int, chance: np.random.Generator) -> Floats:
    """Mean that a walk digs at over the mean of the record, by pool and walk [-].

    u = sqrt(sum(e²) * (1 + r) / (1 - r)) / total, with e the departure of each shift from the mean
    and r as in `lasting`: shifts that resemble their neighbours say less than independent ones. The
    ratio is exp(u * t), t of Student with as many degrees of freedom as shifts that would say as
    much, less one. Limits: what changes for good after the record is not in it.
    """
    ratios = np.ones((len(drawn_from.by_shift), walks))
    widening = (1.0 + drawn_from.lasting) / (1.0 - drawn_from.lasting)
    for row, (sums_m3, zones) in zip(ratios, drawn_from.by_shift, strict=True):
        off = sums_m3 - zones * sums_m3.sum() / zones.sum()
        u = math.sqrt(float(off @ off) * widening) / sums_m3.sum()
        if u > 0.0:
            freedom = max(1.0, len(off) / widening - 1.0)
            row[:] = np.exp(np.clip(u * chance.standard_t(freedom, walks), -_FAR, _FAR))
    return ratios
