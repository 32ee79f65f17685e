"""What governed each shift of a zone with ground left: stop, hold, coded cause, turn, digging."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from tracker.domain.hours import Spans, at_work, hours
from tracker.domain.levels import RELEASED, SUSPENDED, latest_status
from tracker.domain.programme.governing import DIG, HOLD, STOP, TURN, WORDS
from tracker.ledger.entries import HoldRelease
from tracker.statements.capacity_shapes import GovernedShare
from tracker.statements.frame import Frame
from tracker.statements.zone_shifts import ZoneShift

UNCODED = "uncoded"
UNCODED_WORDS = "nothing dug in any zone, no coded cause"
Coded = Mapping[str, int]  # cause -> minutes of one shift of a zone


@dataclass(frozen=True, slots=True)
class GovernedShifts:
    """What governed, with the nil shifts that say no cause although released ground was left."""

    shares: tuple[GovernedShare, ...]
    uncoded: tuple[ZoneShift, ...]
    finished: int  # shifts of zones in which no ground was left


def governed_shifts(
    frame: Frame,
    shifts: Sequence[tuple[ZoneShift, Coded]],
    left: GroundLeft,
    names: Mapping[str, str],
) -> GovernedShifts:
    """One cause for each shift of a zone, and how many shifts each cause governed.

    A nil shift was governed by a stop of the site or the zone that took at least half of it; else
    by the hold, if nothing released was left to dig when it began. Else any shift by the coded
    cause that took at least half of it, and a nil one by the longest coded at all; a nil one
    without any by its turn, if another zone was dug. Else by the digging.
    """
    busy = {(shift.work_date, shift.shift) for shift, _ in shifts if shift.dug}
    stops = _Stops(frame)
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    uncoded, finished = [], 0
    for shift, coded in shifts:
        waiting = left.at(shift.zone, shift.starts)
        if waiting is None and not shift.dug:
            finished += 1
            continue
        if not shift.dug and stops.took(shift):
            cause = STOP
        elif shift.dug or (waiting is not None and waiting.released):
            cause = _coded(shift, coded) or _rest(shift, busy)
            uncoded += [shift] if cause in (TURN, UNCODED) else []
        else:
            cause = HOLD
        counts[shift.zone][cause] += 1
        counts[""][cause] += 1
    return GovernedShifts(_shares(frame, counts, names), tuple(uncoded), finished)


def _coded(shift: ZoneShift, coded: Coded) -> str:
    """The coded cause that governed, under a key that no word for what governs has; or empty."""
    cause = max(coded, key=lambda name: coded[name], default="")
    enough = cause and (2 * coded[cause] >= shift.minutes or not shift.dug)
    return f"cause {cause}" if enough else ""


class _Stops:
    """Whether a stop of the site or the zone took half of a shift."""

    def __init__(self, frame: Frame) -> None:
        self._frame = frame
        stops = [stop for _, site in frame.set_ups for stop in site.stops]
        self._zones = {stop.about for stop in stops if stop.kind == "zone"}
        self._any = any(stop.kind in ("site", "zone") for stop in stops)
        self._site_left: dict[tuple[date, str], Spans] = {}  # asked once for all zones

    def took(self, shift: ZoneShift) -> bool:
        """Whether it took at least half of it."""
        if not self._any:
            return False
        site, slot = self._frame.site_on(shift.work_date), (shift.work_date, shift.shift)
        if slot not in self._site_left:
            self._site_left[slot] = at_work(site, ((shift.starts, shift.ends),), "site")
        left = self._site_left[slot]
        if shift.zone in self._zones:
            left = at_work(site, left, "zone", shift.zone)
        return hours(left) <= shift.minutes / 120.0


def _rest(shift: ZoneShift, busy: set[tuple[date, str]]) -> str:
    if shift.dug:
        return DIG
    return TURN if (shift.work_date, shift.shift) in busy else UNCODED


@dataclass(frozen=True, slots=True)
class StageLeft:
    """The first stage of a zone with ground left: whether it was released, or was suspended.

    Both go by the whole chain from the top: a stage below a suspended one is suspended with it.
    """

    stage: int
    released: bool
    suspended: bool


class GroundLeft:
    """The first stage with ground left in a zone at a moment."""

    def __init__(self, frame: Frame, out: Mapping[tuple[str, int], ZoneShift]) -> None:
        self._decisions: dict[str, list[HoldRelease]] = defaultdict(list)
        for decision in frame.decisions:
            self._decisions[decision.zone].append(decision)
        self._stages: dict[str, list[tuple[str, datetime | None]]] = defaultdict(list)
        for stage in frame.site.stages:
            done = out.get((stage.zone, stage.stage))
            self._stages[stage.zone].append((str(stage.stage), done.ends if done else None))

    def at(self, zone: str, moment: datetime) -> StageLeft | None:
        """That stage; None where the zone was dug to formation."""
        left = [hold for hold, done in self._stages[zone] if done is None or done > moment]
        if not left:
            return None
        made = [(d.hold, d.status) for d in self._decisions[zone] if d.decided_at <= moment]
        status = latest_status(made)
        holds = [hold for hold, _ in self._stages[zone]]
        chain = [status.get(hold) for hold in holds[: holds.index(left[0]) + 1]]
        released = all(each == RELEASED for each in chain)
        return StageLeft(int(left[0]), released, SUSPENDED in chain)


def _shares(
    frame: Frame, counts: Mapping[str, Counter[str]], names: Mapping[str, str]
) -> tuple[GovernedShare, ...]:
    """All zones first, then the zones of the set-up in their order; the most frequent first."""
    words = {**WORDS, UNCODED: UNCODED_WORDS} | {f"cause {c}": name for c, name in names.items()}
    lines = []
    for zone in ("", *(z.zone for z in frame.site.zones)):
        of_zone = counts.get(zone, Counter())
        for cause, shifts in sorted(of_zone.items(), key=lambda pair: (-pair[1], pair[0])):
            lines.append(
                GovernedShare(
                    zone=zone,
                    cause=cause.removeprefix("cause "),
                    words=words[cause],
                    shifts=shifts,
                    share=shifts / of_zone.total(),
                )
            )
    return tuple(lines)
