"""The walk: shift by shift through the calendar, many walks at once.

In each shift every zone whose stage is released digs what it draws from the record, but never more
than is left of its stage, and all zones together never more than the least capacity of the shift:
then each gives the same share. Where only some zones can be dug at a time, the first in order are.
A stage that is dug out starts the hold above the next one; a zone goes on in the first shift that
starts at or after its release. What is left of a shift when a stage is dug out goes to no other.

The arrays run over zones and walks. A zone that waits opens in the future, one that is done never.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tracker.domain.programme.hold_lengths import hold_days
from tracker.domain.programme.output import Floats, Ints, Outputs, luck
from tracker.domain.programme.shapes import Programme

Bools = npt.NDArray[np.bool_]

HOLD, CALENDAR, TURN, DIG = "hold", "calendar", "turn", "dig"
CAUSES = (HOLD, CALENDAR, TURN, DIG)  # then the capacities by name
DUG_OUT_M3 = 1e-6  # a millilitre: what rounding leaves of a stage
WALKS_AT_ONCE = 2000  # so that the arrays stay in the cache
_NEVER = 1 << 30


@dataclass(frozen=True, slots=True)
class Walked:
    """What the walks gave: by stage and walk, the slot dug out in and the release [days].

    `finished_slot` is at least the number of slots where the calendar ended first. `released_day`
    counts from the start of the first slot and is not finite where the hold never began.
    `governed` counts zone-walks by slot, zone and cause, in the order of `causes`.
    """

    finished_slot: npt.NDArray[np.int32]
    released_day: Floats
    governed: npt.NDArray[np.int64]
    causes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Laid:
    """The programme as arrays: stages end to end, zones as ranges of them, slots as days."""

    first: Ints
    last: Ints
    remaining_m3: Floats
    released: Bools
    since_day: Floats  # when the hold above a stage began, for the first stage of each zone
    pool: Ints
    starts_day: Floats
    ends_day: Floats
    most_m3: Floats
    limited_by: tuple[str, ...]
    capacities: tuple[str, ...]


def walked(
    programme: Programme,
    drawn_from: Outputs,
    walks: int,
    chance: np.random.Generator,
    output_ratio: float = 1.0,
) -> Walked:
    """Walk a programme many times over.

    Every output is multiplied by `output_ratio` [-], for asking which rate a target needs.
    """
    laid = _laid(programme, drawn_from)
    parts = []
    for begun in range(0, walks, WALKS_AT_ONCE):
        count = min(WALKS_AT_ONCE, walks - begun)
        parts.append(_Walks(programme, laid, drawn_from, count, chance, output_ratio).run())
    return Walked(
        np.concatenate([part.finished_slot for part in parts], axis=1),
        np.concatenate([part.released_day for part in parts], axis=1),
        np.sum([part.governed for part in parts], axis=0),
        parts[0].causes,
    )


def _laid(programme: Programme, drawn_from: Outputs) -> _Laid:
    stages, slots, now = programme.stages, programme.slots, programme.slots[0].starts
    rows = {z: [n for n, s in enumerate(stages) if s.zone == z] for z in programme.zones}
    since = [s.hold_runs_since or now for s in stages]
    least = [min(s.capacities_m3.items(), key=lambda item: item[1], default=("", np.inf))
             for s in slots]  # fmt: skip
    return _Laid(
        np.array([row[0] for row in rows.values()]),
        np.array([row[-1] for row in rows.values()]),
        np.array([s.remaining_m3 for s in stages]),
        np.array([s.released for s in stages]),
        np.array([(moment - now).total_seconds() / 86400.0 for moment in since]),
        np.array([drawn_from.pool_of_group[programme.group(s.stage)] for s in stages]),
        np.array([(s.starts - now).total_seconds() / 86400.0 for s in slots]),
        np.array([(s.ends - now).total_seconds() / 86400.0 for s in slots]),
        np.array([most for _, most in least]),
        tuple(name for name, _ in least),
        tuple(dict.fromkeys(name for name, _ in least if name)),
    )


class _Walks:
    """Some walks on their way: where each zone stands in each of them."""

    def __init__(
        self,
        programme: Programme,
        laid: _Laid,
        drawn_from: Outputs,
        walks: int,
        chance: np.random.Generator,
        output_ratio: float,
    ) -> None:
        self.programme, self.laid, self.chance = programme, laid, chance
        self.outputs, self.walks, self.zones = drawn_from, walks, len(laid.first)
        self.hold_days = hold_days(programme, walks, chance)
        self.luck = luck(drawn_from, walks, chance) * output_ratio
        shape = (self.zones, walks)
        self.stage = np.repeat(laid.first[:, None], walks, axis=1)
        self.left_m3 = laid.remaining_m3[self.stage]
        self.factor = self.luck[laid.pool[laid.first]]
        self.opens_day = np.empty(shape)
        self.block = np.zeros(shape, np.intp)
        self.draw = np.zeros(shape)
        self.done = np.zeros(self.zones, np.int64)
        self.finished_slot = np.full((len(laid.pool), walks), _NEVER, np.int32)
        self.released_day = np.full((len(laid.pool), walks), np.nan)
        self.causes = (*CAUSES, *laid.capacities)
        self.governed = np.zeros((len(laid.starts_day), self.zones, len(self.causes)), np.int64)
        for zone, stage in enumerate(laid.first):
            self.opens_day[zone] = self._opening(stage)

    def _opening(self, stage: int) -> Floats:
        """When the first stage of a zone may be dug [days]; now at the earliest."""
        if self.laid.released[stage]:
            return np.zeros(self.walks)
        release: Floats = np.maximum(self.laid.since_day[stage] + self.hold_days[stage], 0.0)
        self.released_day[stage] = release
        return release

    def run(self) -> Walked:
        """Walk until everything is dug or the calendar ends."""
        worked = 0
        for slot, closed in enumerate(s.closed for s in self.programme.slots):
            if self.done.sum() == self.zones * self.walks:
                break
            is_open = self.opens_day <= self.laid.starts_day[slot]
            if closed:
                self._count(slot, CALENDAR, is_open, is_open)
                continue
            self._dig(slot, is_open, worked % self.outputs.block_shifts)
            worked += 1
        return Walked(self.finished_slot, self.released_day, self.governed, self.causes)

    def _dig(self, slot: int, is_open: Bools, step: int) -> None:
        if step == 0:
            self._new_blocks()
        digs = self._having_turn(is_open)
        dug_m3 = self.outputs.values_m3[step:].take(self.block)
        dug_m3 *= self.factor
        np.minimum(dug_m3, self.left_m3, out=dug_m3)
        dug_m3 *= digs
        total_m3, most_m3 = dug_m3.sum(axis=0), self.laid.most_m3[slot]
        limited = total_m3 > most_m3
        if limited.any():
            dug_m3 *= np.where(limited, most_m3 / np.where(limited, total_m3, 1.0), 1.0)
        self._count(slot, DIG, is_open, digs, limited)
        self.left_m3 -= dug_m3
        dug_out = np.flatnonzero(self.left_m3 <= DUG_OUT_M3)
        if len(dug_out):
            self._move_on(slot, dug_out)

    def _having_turn(self, is_open: Bools) -> Bools:
        """The open zones that can be dug at a time: the first ones in order."""
        most = self.programme.zones_at_once
        if most is None or most >= self.zones:
            return is_open
        digs, before = is_open.copy(), np.zeros(self.walks, np.int16)
        for row, opened in zip(digs, is_open, strict=True):  # quicker than a sum over zones
            row &= before < most
            before += opened
        return digs

    def _new_blocks(self) -> None:
        """A place in the record for every zone; often the same for all zones of a walk."""
        self.draw = self.chance.random((self.zones, self.walks))
        if self.outputs.together > 0.0:
            shared = self.chance.random((self.zones, self.walks)) < self.outputs.together
            np.copyto(self.draw, self.chance.random(self.walks), where=shared)
        self.block = self._place(self.laid.pool[self.stage], self.draw)

    def _place(self, pool: Ints, draw: Floats) -> Ints:
        within: Ints = (draw * self.outputs.count[pool]).astype(np.intp)
        within += self.outputs.first[pool]
        return within

    def _move_on(self, slot: int, place: Ints) -> None:
        """Zones whose stage is dug out wait for the next one, or are done."""
        laid, at = self.laid, self.stage.ravel()  # views of one dimension, quicker to index
        left_m3, opens_day = self.left_m3.ravel(), self.opens_day.ravel()
        zone, walk = np.divmod(place, self.walks)
        stage = at[place]
        self.finished_slot[stage, walk] = slot
        is_last = stage == laid.last[zone]
        left_m3[place[is_last]] = opens_day[place[is_last]] = np.inf
        self.done += np.bincount(zone[is_last], minlength=self.zones)
        place, walk, stage = place[~is_last], walk[~is_last], stage[~is_last] + 1
        waits = ~laid.released[stage]
        release = np.full(len(stage), laid.ends_day[slot])
        release[waits] += self.hold_days[stage[waits], walk[waits]]
        self.released_day[stage[waits], walk[waits]] = release[waits]
        opens_day[place], at[place] = release, stage
        left_m3[place] = laid.remaining_m3[stage]
        pool = laid.pool[stage]
        self.factor.ravel()[place] = self.luck[pool, walk]
        self.block.ravel()[place] = self._place(pool, self.draw.ravel()[place])

    def _count(
        self, slot: int, cause: str, is_open: Bools, digs: Bools, limited: Bools | None = None
    ) -> None:
        """Count what governs each zone in this slot: the hold first, then turn, capacity, cause."""
        row = self.governed[slot]
        opened = np.count_nonzero(is_open, axis=1)
        dug = opened if digs is is_open else np.count_nonzero(digs, axis=1)
        row[:, 0] = self.walks - self.done - opened
        row[:, 2] = opened - dug
        if limited is not None and limited.any():
            capped = np.count_nonzero(digs & limited, axis=1)
            row[:, self.causes.index(self.laid.limited_by[slot])] = capped
            dug = dug - capped
        row[:, self.causes.index(cause)] += dug
