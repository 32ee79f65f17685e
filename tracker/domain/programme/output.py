"""What a zone gives in a shift: drawn from the record in blocks of consecutive worked shifts.

A block keeps good and bad shifts together as they came (circular blocks: every recorded shift is
drawn as often as any other). A record is itself a matter of luck, so that each walk first draws a
record of the same length, again in blocks of shifts, and digs at the mean of that one. Without
this, dates would be far too sure wherever the record is shorter than the work ahead.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from tracker.domain.programme.shapes import FEWEST_SHIFTS, Programme, WorkedShift
from tracker.errors import NotEnoughData

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

FEWEST_PAIRS = 10  # zone-shifts dug side by side before their likeness counts; common practice
FEWEST_BLOCKS = 4  # in a record drawn anew: blocks are shortened where it is short
LEAST_LUCK = 0.2  # of the mean: below this a drawn record says nothing of the site


@dataclass(frozen=True, slots=True)
class Rate:
    """What a group of stages is forecast with: how many shifts of the record, and their mean.

    `borrowed` where the group has fewer than five of its own, so that those of all are taken.
    """

    group: str
    shifts: int
    bank_m3: float
    borrowed: bool


@dataclass(frozen=True, slots=True)
class Outputs:
    """The record made ready for drawing: one pool for all shifts, one for each group with enough.

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
    groups = list(dict.fromkeys(programme.group(stage.stage) for stage in programme.stages))
    pools, pool_of_group, rates = [kept], {}, []
    for group in groups:
        own = [shift for shift in kept if programme.group(shift.stage) == group]
        enough = len(own) >= FEWEST_SHIFTS and sum(shift.bank_m3 for shift in own) > 0.0
        pool_of_group[group] = len(pools) if enough else 0
        pools += [own] if enough else []
        used = own if enough else kept
        mean_m3 = math.fsum(shift.bank_m3 for shift in used) / len(used)
        rates.append(Rate(group, len(used), mean_m3, not enough))
    laid = [_laid_out(pool, programme.block_shifts) for pool in pools]
    lengths = [len(values) for values in laid]
    return Outputs(
        np.concatenate(laid),
        np.concatenate([[0], np.cumsum(lengths)[:-1]]).astype(np.intp),
        np.array([len(pool) for pool in pools], np.intp),
        pool_of_group,
        tuple(rates),
        tuple(_by_shift(pool) for pool in pools),
        math.sqrt(likeness(programme, kept)),
        programme.block_shifts,
    )


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
        by_group[programme.group(shift.stage)].append(shift.bank_m3)
    means = {group: math.fsum(values) / len(values) for group, values in by_group.items()}
    off: dict[int, list[float]] = defaultdict(list)
    for shift in kept:
        off[shift.shift_index].append(shift.bank_m3 - means[programme.group(shift.stage)])
    pairs = sum(len(row) * (len(row) - 1) // 2 for row in off.values())
    squares = math.fsum(value * value for row in off.values() for value in row)
    if pairs < FEWEST_PAIRS or squares <= 0.0:
        return 0.0
    # (sum)² less the squares is twice the sum over pairs
    products = math.fsum((sum(row) ** 2 - sum(v * v for v in row)) / 2.0 for row in off.values())
    return min(1.0, max(0.0, (products / pairs) / (squares / len(kept))))


def luck(drawn_from: Outputs, walks: int, chance: np.random.Generator) -> Floats:
    """Mean of a record drawn anew over the mean of the record, by pool and walk [-].

    Blocks of whole shifts with all their zones, as many as make the same length. The spread of
    a mean of so few blocks is too small by (blocks - 1) / blocks in variance, which is put right.
    """
    ratios = np.ones((len(drawn_from.by_shift), walks))
    for pool, (sums, zones) in enumerate(drawn_from.by_shift):
        shifts = len(sums)
        length = max(1, min(drawn_from.block_shifts, shifts // FEWEST_BLOCKS))
        blocks = math.ceil(shifts / length)
        if blocks < 2:
            continue
        starts = chance.integers(shifts, size=(blocks, walks))
        mean = _block_sums(sums, length)[starts].sum(axis=0) / np.maximum(
            _block_sums(zones, length)[starts].sum(axis=0), 1.0
        )
        ratio = mean / (sums.sum() / zones.sum())
        widened = 1.0 + (ratio - 1.0) * math.sqrt(blocks / (blocks - 1))
        ratios[pool] = np.maximum(widened, LEAST_LUCK)
    return ratios


def _block_sums(values: Floats, length: int) -> Floats:
    """Sum of the block that starts at each place and runs on over the end."""
    sums: Floats = np.sum([np.roll(values, -step) for step in range(length)], axis=0)
    return sums
