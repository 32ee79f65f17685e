"""What a zone gives in a shift: drawn from the record in blocks of consecutive worked shifts.

A block keeps good and bad shifts together as they came (circular blocks: every recorded shift is
drawn as often as any other). A shift that could have given more, because the stage was dug out or a
limit reached, stands for one of those that gave more, each time for another: with their mean in its
place, shifts would scatter less than they do, and dates would be too sure.

A record is itself a matter of luck: each walk digs at a mean of its own, as uncertain as that of
the record. Without this, dates would be far too sure wherever the record is shorter than the work
ahead.
"""

from __future__ import annotations

import math
from bisect import bisect_right, insort
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from tracker.domain.programme.shapes import FEWEST_SHIFTS, Programme, StageToDig, WorkedShift
from tracker.errors import NotEnoughData

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

FEWEST_OWN = 15  # shifts of one stage of one zone, before it is drawn from them alone; the same
FEWEST_PAIRS = 10  # zone-shifts dug side by side before their likeness counts; common practice
MOST_LASTING = 0.8  # correlation from shift to shift: above this a record says too little of it
COPIES = 8  # of a record with limited shifts, each with other outputs in their place
_GOLDEN = 0.618034  # steps of this share of a whole spread evenly, however many there are
_MOST_LOST = 0.5  # share of the scatter that a mean taken from the shifts themselves may hide
_FAR = 3.0  # exp of it is twentyfold: as far as a drawn mean may lie from the record's


@dataclass(frozen=True, slots=True)
class Rate:
    """What a stage of a zone, or a group of stages, is forecast with: how many shifts, their mean.

    A stage with fifteen shifts of its own in its zone is forecast with these alone, since it may be
    easier or harder than the same stage elsewhere, unless it is stated to be dug like others; else
    with those of its group. `borrowed` where
    the group has fewer than five, so that those of its part are taken, or of all.
    """

    group: str
    shifts: int
    bank_m3: float
    borrowed: bool


@dataclass(frozen=True, slots=True)
class Pool:
    """Some shifts of the record, zone by zone in the order in which they were dug.

    `copies_m3` runs over copies and shifts: one copy where no shift was limited. `shift` is the
    place of each among the different shifts of the calendar.
    """

    copies_m3: Floats
    shift: Ints

    @property
    def mean_m3(self) -> float:
        """Mean output [bank m³ a zone and shift]."""
        return float(self.copies_m3.mean())

    @property
    def shifts(self) -> int:
        """Different shifts of the calendar."""
        return int(self.shift.max()) + 1

    def lost(self, widening: Floats) -> Floats:
        """Share of the variance that the record does not show, its mean being taken from it [-].

        1 / N = w / shifts, of N independent shifts that would say as much.
        """
        return np.minimum(widening / self.shifts, _MOST_LOST)

    def laid_out(self, block_shifts: int, widening: Floats) -> Floats:
        """The copies end to end, with the first outputs again at the end.

        Spread about their mean by what the record does not show of their variance.
        """
        spread = 1.0 / np.sqrt(1.0 - self.lost(widening))
        values = np.maximum(self.mean_m3 + spread * (self.copies_m3.ravel() - self.mean_m3), 0.0)
        values *= self.mean_m3 / values.mean()
        laid: Floats = np.resize(values, len(values) + block_shifts - 1)
        return laid

    def departures(self) -> float:
        """Root of the sum of e² over the total [-], e what each shift gave off the mean."""
        zones, squares = np.bincount(self.shift), 0.0
        for copy in self.copies_m3:
            off = np.bincount(self.shift, copy) - zones * copy.mean()
            squares += float(off @ off) / len(self.copies_m3)
        return math.sqrt(squares) / (len(self.shift) * self.mean_m3)


@dataclass(frozen=True, slots=True)
class Outputs:
    """The record made ready for drawing: a pool of all shifts, then those that stages draw from.

    `values_m3` holds the pools end to end, each followed by its own first shifts, so that a block
    may run over the end. `together` is how often a zone draws the same block as the others.
    """

    values_m3: Floats
    first: Ints
    count: Ints
    pool_of_stage: dict[tuple[str, int], int]
    rates: tuple[Rate, ...]
    pools: tuple[Pool, ...]
    together: float
    lasting: float
    block_shifts: int

    @property
    def mean_m3(self) -> float:
        """Mean of all shifts of the record [bank m³ a zone and shift]."""
        return self.pools[0].mean_m3


def outputs(programme: Programme) -> Outputs:
    """The recent record of a programme, ready for drawing.

    Raises NotEnoughData for fewer than five worked shifts, no rate, or a record that ends too long
    before the first shift ahead.
    """
    kept = [shift for shift in programme.shifts if shift.one_off not in programme.excluded]
    _refuse_thin(programme, kept)
    every = _pool(kept)
    pools, pool_of_stage, rates = {"": every}, {}, {}
    for stage in programme.stages:
        name, shifts = _drawn_from(programme, stage, kept)
        if name not in pools:
            pools[name] = _pool(shifts)
        pool_of_stage[stage.zone, stage.stage] = list(pools).index(name)
        group = programme.group(stage.zone, stage.stage)
        borrowed = name not in (group, _own(stage))
        said = group if borrowed else name
        rates[said] = Rate(said, len(shifts), pools[name].mean_m3, borrowed)
    lasts = lasting(programme, kept)
    laid = [pool.laid_out(programme.block_shifts, widening(lasts)) for pool in pools.values()]
    lengths = [len(values) for values in laid]
    return Outputs(
        np.concatenate(laid),
        np.concatenate([[0], np.cumsum(lengths)[:-1]]).astype(np.intp),
        np.array([pool.copies_m3.size for pool in pools.values()], np.intp),
        pool_of_stage,
        tuple(rates.values()),
        tuple(pools.values()),
        math.sqrt(likeness(programme, kept)),
        lasts,
        programme.block_shifts,
    )


def _drawn_from(
    programme: Programme, stage: StageToDig, kept: list[WorkedShift]
) -> tuple[str, list[WorkedShift]]:
    """What a stage is forecast with: its own, else its group, its part, or the whole record."""
    group, part = programme.group(stage.zone, stage.stage), programme.part(stage.zone)
    of_part = [s for s in kept if programme.part(s.zone) == part]
    of_group = [s for s in of_part if programme.group(s.zone, s.stage) == group]
    stated_alike = stage.stage in programme.stage_groups
    own = [
        s for s in of_group if (s.zone, s.stage) == (stage.zone, stage.stage) and not stated_alike
    ]
    if FEWEST_OWN <= len(own) < len(of_group) and any(shift.bank_m3 > 0.0 for shift in own):
        return _own(stage), own
    for name, shifts in ((group, of_group), (f"all of {part}", of_part)):
        if len(shifts) == len(kept) and name != group:
            break
        if len(shifts) >= FEWEST_SHIFTS and any(shift.bank_m3 > 0.0 for shift in shifts):
            return name, shifts
    return "", kept


def _own(stage: StageToDig) -> str:
    return f"zone {stage.zone}, stage {stage.stage}"


def _pool(shifts: Sequence[WorkedShift]) -> Pool:
    in_order = sorted(shifts, key=lambda shift: (shift.zone, shift.shift_index))
    copies = COPIES if any(shift.limited for shift in shifts) else 1
    _, place = np.unique([shift.shift_index for shift in in_order], return_inverse=True)
    return Pool(np.array([could_give(in_order, copy) for copy in range(copies)]), place)


def could_give(shifts: Sequence[WorkedShift], copy: int = 0) -> list[float]:
    """What each shift could have given [bank m³]: of a limited one, an output above its own.

    All outputs above it are as likely, those that limited ones above it could have given among
    them, and the copies take them in turn: what Kaplan and Meier's estimate says of a value known
    only to be higher (the usual method; from memory, unconfirmed). One above all others stays as it
    is: the record does not say how much more. Limits: taken as if what limits a shift knew nothing
    of what it would have given.
    """
    given = [shift.bank_m3 for shift in shifts]
    above = sorted(shift.bank_m3 for shift in shifts if not shift.limited)
    limited = sorted((n for n, s in enumerate(shifts) if s.limited), key=lambda n: -given[n])
    for turn, n in enumerate(limited):
        more = above[bisect_right(above, given[n]) :]
        if more:
            given[n] = more[int((turn * _GOLDEN + copy / COPIES) % 1.0 * len(more))]
        insort(above, given[n])
    return given


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


def likeness(programme: Programme, kept: Sequence[WorkedShift]) -> float:
    """Correlation of the outputs of zones dug in the same shift, from 0 to 1 [-].

    Mean product of the departures of two zones from the mean of their group, over the variance;
    0 with fewer than ten pairs, and where it comes out negative. Limited shifts count with the mean
    of what they could have given: without them, days on which all zones did well would be missing.
    """
    given = np.mean([could_give(kept, copy) for copy in range(COPIES)], axis=0)
    raised = [
        replace(shift, bank_m3=float(m3), limited=False)
        for shift, m3 in zip(kept, given, strict=True)
    ]
    off: dict[int, list[float]] = defaultdict(list)
    for shift, off_m3 in _departures(programme, raised):
        off[shift.shift_index].append(off_m3)
    pairs = sum(len(row) * (len(row) - 1) // 2 for row in off.values())
    squares = math.fsum(value * value for row in off.values() for value in row)
    if pairs < FEWEST_PAIRS or squares <= 0.0:
        return 0.0
    # (sum)² less the squares is twice the sum over pairs
    products = math.fsum((sum(row) ** 2 - sum(v * v for v in row)) / 2.0 for row in off.values())
    return min(1.0, max(0.0, (products / pairs) / (squares / len(kept))))


def _departures(
    programme: Programme, shifts: Iterable[WorkedShift]
) -> list[tuple[WorkedShift, float]]:
    """How far each shift lies from the mean of its group, of those that were not limited [m³]."""
    by_group: dict[str, list[WorkedShift]] = defaultdict(list)
    for shift in shifts:
        if not shift.limited:
            by_group[programme.group(shift.zone, shift.stage)].append(shift)
    off = []
    for group in by_group.values():
        mean_m3 = math.fsum(shift.bank_m3 for shift in group) / len(group)
        off += [(shift, shift.bank_m3 - mean_m3) for shift in group]
    return off


def lasting(programme: Programme, kept: Sequence[WorkedShift]) -> float:
    """Correlation of what a zone gives in one shift with the next it digs, from 0 to 0.8 [-].

    Of the departures e from the mean of their group, within the stages of each zone, limited shifts
    left out: r = mean(e[n] * e[n+1]) / mean(e²), then r + (1 + 3 * r) / shifts, because a short
    record shows less of it than there is (the usual correction; from memory, unconfirmed). Sums
    over zones would show less: which zones dig changes from shift to shift. 0 with fewer than five
    pairs.
    """
    rows: dict[tuple[str, int], list[WorkedShift]] = defaultdict(list)
    for shift in sorted(kept, key=lambda shift: shift.shift_index):
        rows[shift.zone, shift.stage].append(shift)
    departures = _departures(programme, kept)
    off = {id(shift): off_m3 for shift, off_m3 in departures}
    products = [
        off[id(one)] * off[id(following)]
        for row in rows.values()
        for one, following in pairwise(row)
        if not one.limited and not following.limited
    ]
    squares = math.fsum(off_m3 * off_m3 for _, off_m3 in departures)
    if len(products) < FEWEST_SHIFTS or squares <= 0.0:
        return 0.0
    seen = math.fsum(products) / len(products) / (squares / len(departures))
    shifts = len({shift.shift_index for shift in kept})
    return min(MOST_LASTING, max(0.0, seen + (1.0 + 3.0 * seen) / shifts))


def widening(lasts: Floats | float) -> Floats:
    """How many times more shifts it takes to say as much as independent ones: (1 + r) / (1 - r)."""
    return (1.0 + np.asarray(lasts)) / (1.0 - np.asarray(lasts))


def luck(drawn_from: Outputs, walks: int, chance: np.random.Generator) -> Floats:
    """Mean that a walk digs at over the mean of the record, by pool and walk [-].

    The ratio is exp(u * t), t of Student with N - 1 degrees of freedom and
    u = sqrt(sum(e²) * w / (1 - 1 / N)) / total: e is the departure of each shift from the mean, all
    zones of it together, w = (1 + r) / (1 - r), and N = shifts / w as many independent shifts as
    would say as much. 1 - 1 / N, because departures from a mean that was taken from the same shifts
    are too small. A short record says little of r too: each walk has its own, by Fisher's
    z = artanh(r), give or take 1 / sqrt(shifts - 3) (the usual relation; from memory, unconfirmed),
    from 0 to 0.8. Limits: what changes for good after the record is not in it.
    """
    ratios = np.ones((len(drawn_from.pools), walks))
    for row, pool in zip(ratios, drawn_from.pools, strict=True):
        off = chance.standard_normal(walks) / math.sqrt(max(pool.shifts - 3, 1))
        z = math.atanh(drawn_from.lasting) + off
        w = widening(np.clip(np.tanh(z), 0.0, MOST_LASTING))
        u = pool.departures() * np.sqrt(w / (1.0 - pool.lost(w)))
        t = chance.standard_t(np.maximum(1.0, pool.shifts / w - 1.0))
        row[:] = np.exp(np.clip(u * t, -_FAR, _FAR))
    return ratios
