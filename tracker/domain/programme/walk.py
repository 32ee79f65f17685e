"""The walk: shift by shift through the calendar, many walks at once.

In each shift every zone whose stage is released digs what it draws from the record, but never more
than is left of its stage or than the least limit of its own, and then all zones together never more
than the least capacity of the shift: each gives the same share. Where only some zones can be dug at
a time, the first in order are; a zone with a limit of 0 is passed over.
A stage that is dug out starts the hold above the next one; a zone goes on in the first shift that
starts at or after its release. What is left of a shift when a stage is dug out goes to no other.

The arrays run over zones and walks. A zone that waits opens in the future, one that is done never.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tracker.domain.programme.fan import Fan
from tracker.domain.programme.governing import CALENDAR, DIG, HOLD, TURN
from tracker.domain.programme.hold_lengths import hold_days
from tracker.domain.programme.output import Floats, Ints, Outputs, luck
from tracker.domain.programme.shapes import Programme

Bools = npt.NDArray[np.bool_]

CAUSES = (HOLD, CALENDAR, TURN, DIG)  # then the limits by name
DUG_OUT_M3 = 1e-6  # a millilitre: what rounding leaves of a stage
WALKS_AT_ONCE = 2000  # so that the arrays stay in the cache
_NEVER = 1 << 30
_HOLD, _CALENDAR, _TURN, _DIG = range(len(CAUSES))


@dataclass(frozen=True, slots=True)
class Walked:
    """What the walks gave: by stage and walk, the slot dug out in and the release [days].

    `finished_slot` is at least the number of slots where the calendar ended first. `released_day`
    counts from the start of the first slot and is not finite where the hold never began.
    `governed` counts zone-walks by slot, zone and cause, in the order of `causes`. `fan_m3` is what
    was dug by work date, part and chance, as in `Fan`: of walks done in lots, the mean of the lots.
    """

    finished_slot: npt.NDArray[np.int32]
    released_day: Floats
    governed: npt.NDArray[np.int64]
    causes: tuple[str, ...]
    fan_m3: Floats


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
    limited_by: Ints  # place of its name in the causes
    zone_most_m3: Floats  # slots by zones
    zone_limited_by: Ints
    has_zone_limits: Bools
    causes: tuple[str, ...]


def walked(
    programme: Programme,
    drawn_from: Outputs,
    walks: int,
    chance: np.random.Generator,
    output_ratio: float = 1.0,
    part: str | None = None,
) -> Walked:
    """Walk a programme many times over.

    The outputs of a part, or of all zones, are multiplied by `output_ratio` [-], for asking which
    rate a target needs.
    """
    laid = _laid(programme, drawn_from)
    ratio_of_zone = np.array(
        [output_ratio if part in (None, programme.part(z)) else 1.0 for z in programme.zones]
    )
    lots, rest = [], walks
    for left in range(math.ceil(walks / WALKS_AT_ONCE), 0, -1):
        count = rest // left
        lots.append(_Walks(programme, laid, drawn_from, count, chance, ratio_of_zone).run())
        rest -= count
    counts = [lot.finished_slot.shape[1] for lot in lots]
    return Walked(
        np.concatenate([lot.finished_slot for lot in lots], axis=1),
        np.concatenate([lot.released_day for lot in lots], axis=1),
        np.sum([lot.governed for lot in lots], axis=0),
        laid.causes,
        np.average([lot.fan_m3 for lot in lots], axis=0, weights=counts),
    )


def _laid(programme: Programme, drawn_from: Outputs) -> _Laid:
    stages, slots, now = programme.stages, programme.slots, programme.slots[0].starts
    rows = {z: [n for n, s in enumerate(stages) if s.zone == z] for z in programme.zones}
    since = [s.hold_runs_since or now for s in stages]
    least = [_least(slot.capacities_m3) for slot in slots]
    free = [_least({})] * len(rows)
    own = [
        [_least(s.zone_limits.get(zone, {})) for zone in rows] if s.zone_limits else free
        for s in slots
    ]
    names = [name for line in (least, *own) for _, name in line if name]
    causes = tuple(dict.fromkeys((*CAUSES, *names)))
    place = {name: n for n, name in enumerate(causes)} | {"": 0}
    return _Laid(
        np.array([row[0] for row in rows.values()]),
        np.array([row[-1] for row in rows.values()]),
        np.array([s.remaining_m3 for s in stages]),
        np.array([s.released for s in stages]),
        np.array([(moment - now).total_seconds() / 86400.0 for moment in since]),
        np.array([drawn_from.pool_of_stage[s.zone, s.stage] for s in stages]),
        np.array([(s.starts - now).total_seconds() / 86400.0 for s in slots]),
        np.array([(s.ends - now).total_seconds() / 86400.0 for s in slots]),
        np.array([most for most, _ in least]),
        np.array([place[name] for _, name in least]),
        np.array([[most for most, _ in line] for line in own]),
        np.array([[place[name] for _, name in line] for line in own]),
        np.array([any(name for _, name in line) for line in own]),
        causes,
    )


def _least(limits_m3: Mapping[str, float]) -> tuple[float, str]:
    """The least limit and its name, the first where two are alike; none has no end."""
    name = min(limits_m3, key=limits_m3.__getitem__, default="")
    return (limits_m3[name] if name else np.inf), name


class _Walks:
    """Some walks on their way: where each zone stands in each of them."""

    def __init__(
        self,
        programme: Programme,
        laid: _Laid,
        drawn_from: Outputs,
        walks: int,
        chance: np.random.Generator,
        ratio_of_zone: Floats,
    ) -> None:
        self.programme, self.laid, self.chance = programme, laid, chance
        self.outputs, self.walks, self.zones = drawn_from, walks, len(laid.first)
        self.hold_days = hold_days(programme, walks, chance)
        self.luck, self.ratio_of_zone = luck(drawn_from, walks, chance), ratio_of_zone
        self.fan = Fan(programme, walks)
        shape = (self.zones, walks)
        self.stage = np.repeat(laid.first[:, None], walks, axis=1)
        self.left_m3 = laid.remaining_m3[self.stage]
        self.factor = self.luck[laid.pool[laid.first]] * ratio_of_zone[:, None]
        self.opens_day = np.empty(shape)
        self.block = np.zeros(shape, np.intp)
        self.draw = np.zeros(shape)
        self.done = np.zeros(self.zones, np.int64)
        self.finished_slot = np.full((len(laid.pool), walks), _NEVER, np.int32)
        self.released_day = np.full((len(laid.pool), walks), np.nan)
        self.governed = np.zeros((len(laid.starts_day), self.zones, len(laid.causes)), np.int64)
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
            row = self.governed[slot]
            opened = _by_zone(is_open)
            row[:, _HOLD] = self.walks - self.done - opened
            if closed:
                row[:, _CALENDAR] = opened
            else:
                self._dig(slot, is_open, opened, worked % self.outputs.block_shifts)
                worked += 1
            self.fan.end_slot(slot)
        self.fan.end(slot)
        laid, fan_m3 = self.laid, self.fan.volumes_m3
        return Walked(self.finished_slot, self.released_day, self.governed, laid.causes, fan_m3)

    def _dig(self, slot: int, is_open: Bools, opened: Ints, step: int) -> None:
        if step == 0:
            self._new_blocks()
        if self.laid.has_zone_limits[slot]:
            is_open, opened = self._without_stopped(slot, is_open, opened)
        digs = self._having_turn(is_open)
        dug_m3 = self.outputs.values_m3[step:].take(self.block)
        dug_m3 *= self.factor
        np.minimum(dug_m3, self.left_m3, out=dug_m3)
        dug_m3 *= digs
        row, left = self.governed[slot], opened
        if digs is not is_open:
            left = _by_zone(digs)
            row[:, _TURN] = opened - left
        row[:, _DIG] += left - self._limit(slot, dug_m3, digs)
        self.fan.add(dug_m3)
        self.left_m3 -= dug_m3
        dug_out = np.flatnonzero(self.left_m3 <= DUG_OUT_M3)
        if len(dug_out):
            self._move_on(slot, dug_out)

    def _without_stopped(self, slot: int, is_open: Bools, opened: Ints) -> tuple[Bools, Ints]:
        """The zones that are open and not stopped: what stops the others governs them."""
        stopped = self.laid.zone_most_m3[slot] <= 0.0
        self.governed[slot, stopped, self.laid.zone_limited_by[slot, stopped]] += opened[stopped]
        return is_open & ~stopped[:, None], np.where(stopped, 0, opened)

    def _limit(self, slot: int, dug_m3: Floats, digs: Bools) -> Ints:
        """Dig no more than the limits allow; in how many walks they governed each zone."""
        row, capped = self.governed[slot], np.zeros(self.zones, np.intp)
        own = None
        if self.laid.has_zone_limits[slot]:
            most_m3 = self.laid.zone_most_m3[slot][:, None]
            own = dug_m3 > most_m3
            np.minimum(dug_m3, most_m3, out=dug_m3)
        total_m3, all_most_m3 = dug_m3.sum(axis=0), self.laid.most_m3[slot]
        limited = total_m3 > all_most_m3
        if limited.any():
            dug_m3 *= np.where(limited, all_most_m3 / np.where(limited, total_m3, 1.0), 1.0)
            capped += _by_zone(digs & limited)
            row[:, self.laid.limited_by[slot]] += capped
        if own is not None:
            by_own = _by_zone(own & ~limited)
            row[np.arange(self.zones), self.laid.zone_limited_by[slot]] += by_own
            capped += by_own
        return capped

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
        place, zone, walk = place[~is_last], zone[~is_last], walk[~is_last]
        stage = stage[~is_last] + 1
        waits = ~laid.released[stage]
        release = np.full(len(stage), laid.ends_day[slot])
        release[waits] += self.hold_days[stage[waits], walk[waits]]
        self.released_day[stage[waits], walk[waits]] = release[waits]
        opens_day[place], at[place] = release, stage
        left_m3[place] = laid.remaining_m3[stage]
        pool = laid.pool[stage]
        self.factor.ravel()[place] = self.luck[pool, walk] * self.ratio_of_zone[zone]
        self.block.ravel()[place] = self._place(pool, self.draw.ravel()[place])


def _by_zone(holds: Bools) -> Ints:
    """In how many walks something holds for each zone."""
    walks: Ints = holds.sum(axis=1, dtype=np.intp)  # quicker than count_nonzero along an axis
    return walks
