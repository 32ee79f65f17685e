"""The ground of an excavation ahead: what is released now, and what waits for a release."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.domain.levels import design_volume, latest_status, permitted_level
from tracker.domain.site import Zone
from tracker.ledger.questions import general_levels
from tracker.statements.frame import Frame
from tracker.statements.governed import DUG_OUT_M, NOTHING_M3
from tracker.statements.ways import Left


@dataclass(slots=True)
class GroundAhead:
    """What is left of an excavation, dug day by day: released ground, and ground that is not.

    A zone is held where no released ground is left in it now.
    """

    open_zones: list[str]
    held_zones: list[str]
    released_m3: float
    held_m3: float

    @property
    def any_released(self) -> bool:
        """Whether there is released ground to dig."""
        return self.released_m3 >= NOTHING_M3

    @property
    def any_left(self) -> bool:
        """Whether there is ground to dig, released or not."""
        return self.any_released or self.held_m3 >= NOTHING_M3

    def dig(self, most_m3: float) -> float:
        """What of it is dug at most, taken from what is released [m³ bank]."""
        dug_m3 = min(most_m3, self.released_m3)
        self.released_m3 -= dug_m3
        return dug_m3


def ground_ahead(frame: Frame, left: Left) -> dict[str, GroundAhead]:
    """Excavation -> its ground ahead, by the general levels and the releases of today."""
    levels = general_levels(frame.ledger, frame.as_of, frame.known_at)
    found: dict[str, GroundAhead] = {}
    for zone in (z for z in frame.site.zones if z.zone in left):
        all_m3 = sum(left[zone.zone].values())
        released_m3 = min(all_m3, _released_m3(frame, zone, levels.get(zone.zone, 10**9) / 1000.0))
        of = found.setdefault(zone.excavation, GroundAhead([], [], 0.0, 0.0))
        (of.open_zones if released_m3 else of.held_zones).append(zone.zone)
        of.released_m3 += released_m3
        of.held_m3 += all_m3 - released_m3
    return found


def _released_m3(frame: Frame, zone: Zone, general_level_m: float) -> float:
    """What is left above the permitted level [m³ bank]; none where that is as good as reached."""
    made = [(d.hold, d.status) for d in frame.decisions if d.zone == zone.zone]
    stages = frame.site.stages_of(zone.zone)
    permitted_m = permitted_level(zone, stages, latest_status(made))
    top_m = min(zone.ground_level_m, general_level_m)
    if top_m - permitted_m <= DUG_OUT_M:
        return 0.0
    return design_volume(zone, top_m, permitted_m)
