"""Formation of each zone: reached, inspected, blinded, and how long it has lain open."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import accumulate

from tracker.domain.calendar import local_time
from tracker.domain.levels import FORMATION, RELEASED, plan_area
from tracker.domain.site import Zone
from tracker.ledger.entries import FormationStep
from tracker.statements.capacity_shapes import FormationTimer
from tracker.statements.frame import Frame
from tracker.statements.hold_points import WHOLE, DugOut
from tracker.statements.words import date_words
from tracker.statements.zone_shifts import ZoneShift

REACHED, INSPECTED, BLINDED = "reached", "inspected", "blinded"
_HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Part:
    """An area of formation to which something was done, and the entry that says so."""

    at: datetime
    area_m2: float
    entry_id: str
    kind: str


@dataclass(frozen=True, slots=True)
class Formation:
    """What was done to the formation of a zone; `open_since` is the part open longest."""

    zone: Zone
    whole_m2: float
    reached: tuple[Part, ...]
    inspected: tuple[Part, ...]
    blinded: tuple[Part, ...]
    open_since: Part | None
    exposed_m2: float
    moment: datetime

    @property
    def exposed_h(self) -> float | None:
        """How long the part open longest has lain open, counted in UTC [h]."""
        if self.open_since is None:
            return None
        return max(0.0, (self.moment - self.open_since.at) / _HOUR)

    @property
    def over(self) -> bool:
        """Whether that is longer than the limit of the set-up."""
        limit_h = self.zone.exposure_limit_h
        return limit_h is not None and (self.exposed_h or 0.0) > limit_h


def formation_steps(frame: Frame) -> Mapping[tuple[str, str], Sequence[Part]]:
    """(zone, step) -> what was recorded of it, in the order in which it was done."""
    entries: list[FormationStep] = frame.ledger.current(
        "formation_steps", known_at=frame.known_at, until=frame.as_of
    )
    found: dict[tuple[str, str], list[Part]] = defaultdict(list)
    for entry in sorted(entries, key=lambda e: e.done_at):
        part = Part(entry.done_at, entry.area_dm2 / 100.0, entry.entry_id, entry.KIND)
        found[entry.zone, entry.step].append(part)
    return found


def formations(
    frame: Frame, out: DugOut, steps: Mapping[tuple[str, str], Sequence[Part]]
) -> Iterator[Formation]:
    """The formation of every zone.

    Reached as recorded, else all of it when the shift began in which the last stage was dug out, so
    that it lies open rather too long than too short; inspected as recorded, else as the release of
    formation accepts; blinded as recorded. What is blinded is taken to be what was reached first.
    """
    for zone in frame.site.zones:
        stages = frame.site.stages_of(zone.zone)
        whole_m2 = plan_area(zone, stages[-1].design_level_m)
        reached = tuple(steps.get((zone.zone, REACHED), ()))
        dug = out.get((zone.zone, stages[-1].stage))
        if not reached and dug is not None:
            reached = (_by_level(dug, whole_m2),)
        inspected = tuple(steps.get((zone.zone, INSPECTED), ())) or _accepted(frame, zone)
        blinded = tuple(steps.get((zone.zone, BLINDED), ()))
        oldest, exposed_m2 = _exposed(reached, blinded, whole_m2)
        yield Formation(
            zone, whole_m2, reached, inspected, blinded, oldest, exposed_m2, frame.moment
        )


def _by_level(shift: ZoneShift, whole_m2: float) -> Part:
    return Part(shift.starts, whole_m2, shift.returns[-1].entry_id, "dig_returns")


def _accepted(frame: Frame, zone: Zone) -> tuple[Part, ...]:
    """What the latest decision on formation accepts in all."""
    decided = [d for d in frame.decisions if (d.zone, d.hold) == (zone.zone, FORMATION)]
    if not decided or decided[-1].status != RELEASED or not decided[-1].accepted_area_dm2:
        return ()
    last = decided[-1]
    return (Part(last.decided_at, decided[-1].accepted_area_dm2 / 100.0, last.entry_id, last.KIND),)


def _exposed(
    reached: Sequence[Part], blinded: Sequence[Part], whole_m2: float
) -> tuple[Part | None, float]:
    """The part that has lain open longest, and the area open in all, first in first out [m²].

    Less than a hundredth of the zone is how areas were rounded, not ground that lies open.
    """
    blinded_m2, rounding_m2 = sum(part.area_m2 for part in blinded), (1.0 - WHOLE) * whole_m2
    exposed_m2 = sum(part.area_m2 for part in reached) - blinded_m2
    if exposed_m2 <= rounding_m2:
        return None, 0.0
    sums_m2 = accumulate(part.area_m2 for part in reached)
    open_parts = (
        p for p, to in zip(reached, sums_m2, strict=True) if to > blinded_m2 + rounding_m2
    )
    return next(open_parts), exposed_m2


def formation_timer(frame: Frame, found: Formation) -> FormationTimer:
    """The formation of a zone as the statement shows it."""

    def local(parts: Sequence[Part], place: int) -> str:
        if not parts:
            return ""
        return f"{local_time(parts[place].at, frame.site.time_zone):%Y-%m-%d %H:%M}"

    return FormationTimer(
        excavation=found.zone.excavation,
        zone=found.zone.zone,
        name=found.zone.name,
        formation_m2=found.whole_m2,
        reached_at=local(found.reached, 0),
        inspected_m2=sum(part.area_m2 for part in found.inspected),
        inspected_at=local(found.inspected, -1),
        blinded_m2=sum(part.area_m2 for part in found.blinded),
        blinded_at=local(found.blinded, -1),
        exposed_m2=found.exposed_m2,
        exposed_h=found.exposed_h,
        limit_h=found.zone.exposure_limit_h,
        over=found.over,
        sentence=formation_sentence(frame, found),
    )


def formation_sentence(frame: Frame, found: Formation) -> str:
    """How the formation of a zone stands; over its limit, whom to ask."""
    zone, oldest = found.zone, found.open_since
    if not found.reached:
        return f"Zone {zone.zone}: formation is not reached."
    if oldest is None or found.exposed_h is None:
        blinded_m2 = sum(part.area_m2 for part in found.blinded)
        rest_m2 = found.whole_m2 - blinded_m2
        more = f"; {rest_m2:,.0f} m² still to be reached" if rest_m2 > 0.01 * found.whole_m2 else ""
        return f"Zone {zone.zone}: {blinded_m2:,.0f} m² of formation blinded, none open{more}."
    at = local_time(oldest.at, frame.site.time_zone)
    said = (
        f"Zone {zone.zone}: {found.exposed_m2:,.0f} m² of formation lies open, the longest for"
        f" {found.exposed_h:,.0f} h since {date_words(at.date())} {at:%H:%M}"
    )
    if zone.exposure_limit_h is None:
        return f"{said}; the set-up gives no limit."
    if not found.over:
        left_h = zone.exposure_limit_h - found.exposed_h
        return f"{said}; {left_h:,.0f} h are left of the {zone.exposure_limit_h:g} h allowed."
    return (
        f"{said}, longer than the {zone.exposure_limit_h:g} h allowed. Clay softens while it lies"
        " open: ask the temporary works coordinator and the designer before it is blinded or built"
        " on."
    )
