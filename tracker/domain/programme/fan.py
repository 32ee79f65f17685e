"""How much will be dug by each date: some quantiles of the walks, taken as the walk goes."""

from __future__ import annotations

import math
from datetime import date

import numpy as np

from tracker.domain.programme.output import Floats
from tracker.domain.programme.shapes import Programme

CHANCES = (0.8, 0.5, 0.2)  # share of the walks that have dug at least so much


class Fan:
    """Dug volume of some walks by work date, part and chance [m³ from the first shift ahead]."""

    def __init__(self, programme: Programme, walks: int) -> None:
        days = [slot.work_date for slot in programme.slots]
        self.dates: tuple[date, ...] = tuple(dict.fromkeys(days))
        place = {day: n for n, day in enumerate(self.dates)}
        self._date_of = [place[day] for day in days]
        parts = programme.part_names
        self._of_part = np.array(
            [[float(programme.part(zone) == part) for zone in programme.zones] for part in parts]
        )
        self._dug_m3 = np.zeros((len(parts), walks))
        self._ranks = [walks - max(math.ceil(chance * walks - 1e-9), 1) for chance in CHANCES]
        self._now_m3 = np.zeros((len(parts), len(CHANCES)))
        self._changed = False
        self.volumes_m3: Floats = np.zeros((len(self.dates), len(parts), len(CHANCES)))

    def add(self, dug_m3: Floats) -> None:
        """What each zone dug in a shift, by zone and walk [m³]."""
        self._dug_m3 += self._of_part @ dug_m3
        self._changed = True

    def end_slot(self, slot: int) -> None:
        """Take the quantiles where a slot is the last one of its work date."""
        if self._date_of[slot : slot + 1] != self._date_of[slot + 1 : slot + 2]:
            self.end(slot)

    def end(self, slot: int) -> None:
        """Take the quantiles for the work date of a slot and for all later ones."""
        if self._changed:
            # Sorting all of it is twice as quick as np.partition at three places.
            self._now_m3 = np.sort(self._dug_m3, axis=1)[:, self._ranks]
            self._changed = False
        self.volumes_m3[self._date_of[slot] :] = self._now_m3
