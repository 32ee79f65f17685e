"""The rules of the walk once more, shift by shift in plain Python: one walk at a time.

It tells what truly happened in invented seasons, and is what the bench compares with.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from tracker.domain.programme.shapes import ShiftSlot, StageToDig, WorkedShift


@dataclass
class Happened:
    """By (zone, stage): the slot dug out in, dug out at, released at; slots by (zone, cause).

    And all shifts that dug, where they are kept.
    """

    finished_slot: dict[tuple[str, int], int] = field(default_factory=dict)
    dug_out_at: dict[tuple[str, int], datetime] = field(default_factory=dict)
    released_at: dict[tuple[str, int], datetime] = field(default_factory=dict)
    governed: Counter[tuple[str, str]] = field(default_factory=Counter)
    shifts: list[WorkedShift] = field(default_factory=list)


def plain_walk(
    stages: Sequence[StageToDig],
    slots: Sequence[ShiftSlot],
    output: Callable[[int, StageToDig], float],
    hold_days: Callable[[StageToDig], float],
    zones_at_once: int | None = None,
    *,
    keep_shifts: bool = False,
) -> Happened:
    happened = Happened()
    ahead = {zone: [s for s in stages if s.zone == zone] for zone in {s.zone: 0 for s in stages}}
    left = {zone: rows[0].remaining_m3 for zone, rows in ahead.items()}
    opens = {}
    for zone, (first, *_) in ahead.items():
        opens[zone] = slots[0].starts
        if not first.released:
            since = first.hold_runs_since or slots[0].starts
            opens[zone] = since + timedelta(days=hold_days(first))
            happened.released_at[zone, first.stage] = opens[zone]
    for number, slot in enumerate(slots):
        if not ahead:
            break
        released = [zone for zone in ahead if opens[zone] <= slot.starts]
        digging = [] if slot.closed else released[:zones_at_once]
        could = {z: output(number, ahead[z][0]) for z in digging}
        dug = {z: min(could[z], left[z]) for z in digging}
        limit = min(slot.capacities_m3.items(), key=lambda item: item[1], default=("", math.inf))
        name, most = limit
        total = sum(dug.values())
        for zone in ahead:
            if zone not in released:
                cause = "hold"
            elif slot.closed:
                cause = "calendar"
            elif zone not in digging:
                cause = "turn"
            else:
                cause = name if total > most else "dig"
            happened.governed[zone, cause] += 1
        for zone in digging:
            stage = ahead[zone][0]
            gave = dug[zone] * (most / total if total > most else 1.0)
            left[zone] -= gave
            out = left[zone] <= 1e-6
            if keep_shifts:
                limited = gave < could[zone]
                happened.shifts.append(
                    WorkedShift(zone, stage.stage, gave, number, slot.work_date, limited)
                )
            if out:
                _move_on(happened, ahead, left, opens, stage, number, slot.ends, hold_days)
    return happened


def _move_on(happened, ahead, left, opens, stage, number, moment, hold_days) -> None:
    happened.finished_slot[stage.zone, stage.stage] = number
    happened.dug_out_at[stage.zone, stage.stage] = moment
    ahead[stage.zone].pop(0)
    if not ahead[stage.zone]:
        del ahead[stage.zone]
        return
    following = ahead[stage.zone][0]
    left[stage.zone] = following.remaining_m3
    opens[stage.zone] = moment
    if not following.released:
        opens[stage.zone] += timedelta(days=hold_days(following))
        happened.released_at[stage.zone, following.stage] = opens[stage.zone]
