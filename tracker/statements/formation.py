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
from tracker.statements.words import date_words, moment_words
from tracker.statements.zone_shifts import ZoneShift

REACHED, INSPECTED, BLINDED = "reached", "inspected", "blinded"
_HOUR = timedelta(hours=1)
# A general level that near to the design level stands at formation: common practice, no source.
_AT_LEVEL_MM = 10


@dataclass(frozen=True, slots=True)
class Part:
    """An area of formation to which something was done, and the entry that says so."""

    at: datetime
    area_m2: float
    entry_id: str
    kind: str
    reference: str = ""  # trimmed and case-blind, as steps are matched by it


@dataclass(frozen=True, slots=True)
class Exposed:
    """The ground that lies open: since when, how much, and how blindings were matched to it."""

    since: Part | None = None  # the part open longest
    area_m2: float = 0.0
    last_first_m2: float = 0.0  # blinded without the reference of a reached part
    unplaced_m2: float = 0.0  # blinded when less was reached, by the record


@dataclass(frozen=True, slots=True)
class Formation:
    """What was done to the formation of a zone; `level` is the shift that dug to its level."""

    zone: Zone
    whole_m2: float
    design_level_mm: int
    reached: tuple[Part, ...]
    inspected: tuple[Part, ...]
    blinded: tuple[Part, ...]
    level: ZoneShift | None
    exposed: Exposed
    moment: datetime

    @property
    def open_since(self) -> Part | None:
        """The part that has lain open longest."""
        return self.exposed.since

    @property
    def blind_by(self) -> datetime | None:
        """When the part open longest reaches the limit of the set-up [UTC]."""
        if self.open_since is None or self.zone.exposure_limit_h is None:
            return None
        return self.open_since.at + timedelta(hours=self.zone.exposure_limit_h)

    @property
    def half_gone(self) -> bool:
        """Whether half of the limit has passed, or more."""
        limit_h = self.zone.exposure_limit_h
        return limit_h is not None and (self.exposed_h or 0.0) >= limit_h / 2.0

    @property
    def recorded(self) -> tuple[Part, ...]:
        """The parts reached by the record, without what only the level says."""
        return tuple(part for part in self.reached if part.kind == FormationStep.KIND)

    @property
    def late_record(self) -> Part | None:
        """The last part recorded later after the level stood at formation than the limit allows."""
        limit_h, level = self.zone.exposure_limit_h, self.level
        if limit_h is None or level is None or not self._stood_at_level(level):
            return None
        late = [p for p in self.recorded if (p.at - level.starts) / _HOUR > limit_h]
        return late[-1] if late else None

    def _stood_at_level(self, level: ZoneShift) -> bool:
        levels_mm = [r.to_level_mm for r in level.returns if r.to_level_mm is not None]
        return bool(levels_mm) and min(levels_mm) <= self.design_level_mm + _AT_LEVEL_MM

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
        name = entry.reference.strip().casefold()
        part = Part(entry.done_at, entry.area_dm2 / 100.0, entry.entry_id, entry.KIND, name)
        found[entry.zone, entry.step].append(part)
    return found


def formations(
    frame: Frame, out: DugOut, steps: Mapping[tuple[str, str], Sequence[Part]]
) -> Iterator[Formation]:
    """The formation of every zone.

    Reached as recorded; what no record covers, when the shift began in which the last stage was dug
    out, so that it lies open rather too long than too short. Inspected as recorded, else as the
    release of formation accepts; blinded as recorded, matched as `_exposed` says.
    """
    for zone in frame.site.zones:
        last = frame.site.stages_of(zone.zone)[-1]
        whole_m2 = plan_area(zone, last.design_level_m)
        level = out.get((zone.zone, last.stage))
        reached = _reached(steps.get((zone.zone, REACHED), ()), level, whole_m2)
        blinded = tuple(steps.get((zone.zone, BLINDED), ()))
        yield Formation(
            zone=zone,
            whole_m2=whole_m2,
            design_level_mm=round(last.design_level_m * 1000),
            reached=reached,
            inspected=tuple(steps.get((zone.zone, INSPECTED), ())) or _accepted(frame, zone),
            blinded=blinded,
            level=level,
            exposed=_exposed(reached, blinded, (1.0 - WHOLE) * whole_m2),
            moment=frame.moment,
        )


def _reached(
    recorded: Sequence[Part], level: ZoneShift | None, whole_m2: float
) -> tuple[Part, ...]:
    """The parts recorded and, once the zone is at its level, the rest of it from then on."""
    rest_m2 = whole_m2 - sum(part.area_m2 for part in recorded)
    if level is None or rest_m2 <= (1.0 - WHOLE) * whole_m2:
        return tuple(recorded)
    by_level = Part(level.starts, rest_m2, level.returns[-1].entry_id, "dig_returns")
    return tuple(sorted((by_level, *recorded), key=lambda part: part.at))


def _accepted(frame: Frame, zone: Zone) -> tuple[Part, ...]:
    """What the latest decision on formation accepts in all."""
    decided = [d for d in frame.decisions if (d.zone, d.hold) == (zone.zone, FORMATION)]
    if not decided or decided[-1].status != RELEASED or not decided[-1].accepted_area_dm2:
        return ()
    last = decided[-1]
    return (Part(last.decided_at, decided[-1].accepted_area_dm2 / 100.0, last.entry_id, last.KIND),)


def _exposed(reached: Sequence[Part], blinded: Sequence[Part], rounding_m2: float) -> Exposed:
    """What of the reached parts is not blinded, areas rounded to so many m² left out.

    A blinding covers the part of its own reference; what is over, or has none, covers what had been
    reached last before it, so that the oldest part counts as still open.
    """
    left_m2 = [part.area_m2 for part in reached]
    places = range(len(reached))[::-1]
    rests_m2 = []
    for step in blinded:
        same = [n for n in places if step.reference and reached[n].reference == step.reference]
        rests_m2.append(_cover(left_m2, same, step.area_m2))
    unplaced_m2 = 0.0
    for step, rest_m2 in zip(blinded, rests_m2, strict=True):
        unplaced_m2 += _cover(left_m2, [n for n in places if reached[n].at <= step.at], rest_m2)
    last_first_m2 = sum(rests_m2) - unplaced_m2
    sums_m2 = accumulate(left_m2)
    still = (part for part, to in zip(reached, sums_m2, strict=True) if to > rounding_m2)
    since = next(still, None)
    return Exposed(since, sum(left_m2) if since else 0.0, last_first_m2, unplaced_m2)


def _cover(left_m2: list[float], places: Sequence[int], area_m2: float) -> float:
    """Cover an area of the parts at these places, in that order; what is over [m²]."""
    for n in places:
        covered_m2 = min(left_m2[n], area_m2)
        left_m2[n] -= covered_m2
        area_m2 -= covered_m2
    return area_m2


# --- as the statement shows it -------------------------------------------------------------------
def formation_timer(frame: Frame, found: Formation) -> FormationTimer:
    """The formation of a zone as the statement shows it."""

    def local(parts: Sequence[Part], place: int) -> str:
        return _local_text(frame, parts[place].at if parts else None)

    return FormationTimer(
        excavation=found.zone.excavation,
        zone=found.zone.zone,
        name=found.zone.name,
        formation_m2=found.whole_m2,
        reached_at=local(found.reached, 0),
        level_at=_local_text(frame, found.level.starts if found.level else None),
        trimmed_at=local(found.recorded, -1),
        inspected_m2=sum(part.area_m2 for part in found.inspected),
        inspected_at=local(found.inspected, -1),
        blinded_m2=sum(part.area_m2 for part in found.blinded),
        blinded_at=local(found.blinded, -1),
        exposed_m2=found.exposed.area_m2,
        exposed_h=found.exposed_h,
        limit_h=found.zone.exposure_limit_h,
        blind_by=_local_text(frame, found.blind_by),
        over=found.over,
        sentence=formation_sentence(frame, found),
    )


def _local_text(frame: Frame, at: datetime | None) -> str:
    return f"{local_time(at, frame.site.time_zone):%Y-%m-%d %H:%M}" if at else ""


def formation_sentence(frame: Frame, found: Formation) -> str:
    """How the formation of a zone stands, by when to blind it; over its limit, whom to ask."""
    zone, oldest = found.zone, found.open_since
    if not found.reached:
        return f"Zone {zone.zone}: formation is not reached."
    if oldest is None or found.exposed_h is None:
        return _none_open(found)
    at = local_time(oldest.at, frame.site.time_zone)
    said = (
        f"Zone {zone.zone}: {found.exposed.area_m2:,.0f} m² of formation lies open, the longest for"
        f" {found.exposed_h:,.0f} h since {moment_words(at)}"
    )
    more = "".join((_by_level(frame, found, oldest), _how_matched(found)))
    if found.blind_by is None:
        return f"{said}; the set-up gives no limit.{more}"
    by = local_time(found.blind_by, frame.site.time_zone)
    deadline = f"{by:%a} {by.day} {by:%b %H:%M}"
    if not found.over:
        left_h = (found.blind_by - found.moment) / _HOUR
        return (
            f"{said}; blind by {deadline}: {left_h:,.0f} h are left of the"
            f" {zone.exposure_limit_h:g} h allowed.{more}"
        )
    return (
        f"{said}, longer than the {zone.exposure_limit_h:g} h allowed: it was to be blinded by"
        f" {deadline}. Clay softens while it lies open: ask the temporary works coordinator and the"
        f" designer before it is blinded or built on.{more}"
    )


def _none_open(found: Formation) -> str:
    blinded_m2 = sum(part.area_m2 for part in found.blinded)
    rest_m2 = found.whole_m2 - blinded_m2
    more = f"; {rest_m2:,.0f} m² still to be reached" if rest_m2 > 0.01 * found.whole_m2 else ""
    return f"Zone {found.zone.zone}: {blinded_m2:,.0f} m² of formation blinded, none open{more}."


def _by_level(frame: Frame, found: Formation, oldest: Part) -> str:
    """The other date, where the level stood at formation before the record says so."""
    if oldest not in found.recorded:
        return " The hours run from the level: no step says when this part was reached."
    if found.level is None or oldest.at <= found.level.ends:
        return ""
    stood, trimmed = (
        date_words(local_time(at, frame.site.time_zone).date())
        for at in (found.level.starts, found.recorded[-1].at)
    )
    return (
        f" The hours run by the record. By level the zone stands at formation since {stood}; last"
        f" layer trimmed {trimmed} as recorded: ask whether a protective layer was left till then."
    )


def _how_matched(found: Formation) -> str:
    """By which rule blinded areas were taken from reached ones."""
    exposed, rounding_m2 = found.exposed, (1.0 - WHOLE) * found.whole_m2
    said = ""
    if exposed.last_first_m2 > 0.0:
        said = (
            f" {exposed.last_first_m2:,.0f} m² blinded without the reference of a reached part is"
            " taken from what was reached last before it, so that the oldest counts as open."
        )
    elif found.blinded:
        said = " Blinded areas are matched to reached ones by their reference."
    if exposed.unplaced_m2 > rounding_m2:
        said += (
            f" {exposed.unplaced_m2:,.0f} m² was blinded before it was reached, by the record:"
            " check the steps."
        )
    return said


def late_record_sentence(frame: Frame, found: Formation, level: ZoneShift, late: Part) -> str:
    """That formation was recorded as reached long after its level stood there, and whom to ask."""
    stood, at = (local_time(m, frame.site.time_zone) for m in (level.starts, late.at))
    later_h = (late.at - level.starts) / _HOUR
    return (
        f"Zone {found.zone.zone}: by level formation lies open since {moment_words(stood)}, but"
        f" {late.area_m2:,.0f} m² of it is recorded as reached on {moment_words(at)},"
        f" {later_h:,.0f} h later; {found.zone.exposure_limit_h:g} h are allowed. Ask the"
        " temporary works coordinator and the designer whether a protective layer was left till"
        " then; close this with the answer."
    )
