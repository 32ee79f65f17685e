"""What a forecast is made from: ground ahead, shifts ahead, shifts and holds of the record.

Plain values, so that a statement fills them from the ledger and a test writes them by hand. Moments
are UTC, as in the ledger; a work date is the local date on which a shift starts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from tracker.domain.limits import check_not_negative, check_positive
from tracker.errors import InputError, NotEnoughData

FEWEST_SHIFTS = 5  # worked shifts; common practice, no source
FEWEST_HOLDS = 5  # recorded holds before they replace the usual spread; the same
BLOCK_SHIFTS = 5  # consecutive worked shifts drawn together, about a week; the same
OLDEST_RECORD_DAYS = 28  # the same

# Name -> most of all zones in a shift, and zone -> name -> most of that zone [bank m³].
SlotLimits = tuple[Mapping[str, float], Mapping[str, Mapping[str, float]]]


@dataclass(frozen=True, slots=True)
class StageToDig:
    """Ground still to be dug between two design dig levels of a zone.

    The hold is the one *above* this stage: `hold_days_planned` [calendar days] counts from the end
    of the shift in which the stage above is dug out, and this stage waits for its release.
    `hold_runs_since` is that moment, once it has passed. A stage without ground left is left out.
    """

    zone: str
    stage: int
    remaining_m3: float
    hold_days_planned: float = 0.0
    released: bool = False
    hold_runs_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class ShiftSlot:
    """One shift of the calendar ahead, with the most that each way out can take in it [bank m³].

    `capacities_m3` is name -> most of all zones together, such as belt, lorries, receivers;
    `zone_limits` is zone -> name -> most of that zone by itself, such as the hoist. What is left
    out sets no limit. A zone with a limit of 0 (a stop, a possession) does not take up a turn. In a
    closed slot (holiday, weekend, shutdown) nobody digs, and holds run on.
    """

    work_date: date
    starts: datetime
    ends: datetime
    capacities_m3: Mapping[str, float] = field(default_factory=dict)
    closed: bool = False
    zone_limits: Mapping[str, Mapping[str, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class WorkedShift:
    """What one zone gave in one shift in which it could be dug [bank m³], nothing included.

    A shift spent waiting for a hold or for its turn does not belong here; one lost to a breakdown
    does, with 0. `shift_index` counts the shifts of the calendar. `limited` where it could have
    given more: the stage was dug out in it, or a capacity reached. `one_off` codes what will not
    come again.
    """

    zone: str
    stage: int
    bank_m3: float
    shift_index: int
    work_date: date
    limited: bool = False
    one_off: str = ""


@dataclass(frozen=True, slots=True)
class HoldTaken:
    """How long a hold was planned to take and took, from dug out to released [calendar days]."""

    zone: str
    stage: int
    planned_days: float
    actual_days: float


@dataclass(frozen=True, slots=True)
class HoldSpread:
    """Actual over planned length of a hold: triangular from low to high with its peak at mode.

    The usual one is common practice without a source, used while fewer than five holds are
    recorded. It leans to late: supports are seldom early.
    """

    low: float = 0.9
    mode: float = 1.0
    high: float = 1.5

    def __post_init__(self) -> None:
        if not 0.0 < self.low <= self.mode <= self.high:
            raise InputError(
                f"The spread of holds is {self.low:g}, {self.mode:g}, {self.high:g} times the plan;"
                " put low, mode and high in this order, all above 0."
            )


@dataclass(frozen=True, slots=True)
class Programme:
    """All that a forecast needs.

    Stages are in sequence within each zone, zones in the order in which they are dug where not all
    can be (`zones_at_once`). `excluded` names the one-offs left out of the record by choice.
    `stage_groups` joins stages that are dug alike: stage -> name; each stage alone where it is not.
    `parts` is zone -> part, such as the box and the shaft, each with formation and rates of its
    own; it has the zones of the record too. A zone left out belongs to the part without a name.
    """

    stages: tuple[StageToDig, ...]
    slots: tuple[ShiftSlot, ...]
    shifts: tuple[WorkedShift, ...]
    holds: tuple[HoldTaken, ...] = ()
    zones_at_once: int | None = None
    excluded: frozenset[str] = frozenset()
    stage_groups: Mapping[int, str] = field(default_factory=dict)
    hold_spread: HoldSpread = HoldSpread()
    block_shifts: int = BLOCK_SHIFTS
    oldest_record_days: int = OLDEST_RECORD_DAYS
    parts: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.slots:
            raise NotEnoughData("No shift lies ahead. Enter shifts or extend the calendar.")
        if not self.stages:
            raise NotEnoughData("No ground is left to dig: there is nothing to forecast.")
        _check_order(self.slots)
        for stage in self.stages:
            named = f"remaining_m3 of zone {stage.zone} stage {stage.stage}"
            check_positive(named, stage.remaining_m3, "m³")
            named = f"hold_days_planned of zone {stage.zone} stage {stage.stage}"
            check_not_negative(named, stage.hold_days_planned, "days")
        for slot in self.slots:
            for name, most_m3 in slot.capacities_m3.items():
                check_not_negative(f"{name} on {slot.work_date}", most_m3, "m³")
            for zone, limits_m3 in slot.zone_limits.items():
                for name, most_m3 in limits_m3.items():
                    named = f"{name} of zone {zone} on {slot.work_date}"
                    check_not_negative(named, most_m3, "m³")
        for shift in self.shifts:
            named = f"bank_m3 of zone {shift.zone} on {shift.work_date}"
            check_not_negative(named, shift.bank_m3, "m³")
        for hold in self.holds:
            named = f"of the hold above zone {hold.zone} stage {hold.stage}"
            check_positive(f"planned_days {named}", hold.planned_days, "days")
            check_not_negative(f"actual_days {named}", hold.actual_days, "days")
        check_positive("block_shifts", self.block_shifts, "shifts")
        if self.zones_at_once is not None:
            check_positive("zones_at_once", self.zones_at_once, "zones")

    def changed(self, **what: Any) -> Programme:
        """The same with something else in it: what if."""
        return replace(self, **what)

    @property
    def zones(self) -> tuple[str, ...]:
        """The zones in the order in which they are dug."""
        return tuple(dict.fromkeys(stage.zone for stage in self.stages))

    @property
    def part_names(self) -> tuple[str, ...]:
        """The parts with ground left, in the order in which their zones are dug."""
        return tuple(dict.fromkeys(self.part(zone) for zone in self.zones))

    def part(self, zone: str) -> str:
        """The part that a zone belongs to; empty where none is named."""
        return self.parts.get(zone, "")

    def group(self, zone: str, stage: int) -> str:
        """The name of the stages that are dug alike, of which this is one; never of two parts."""
        name = self.stage_groups.get(stage, f"stage {stage}")
        part = self.part(zone)
        return f"{part}, {name}" if part else name


def _check_order(slots: tuple[ShiftSlot, ...]) -> None:
    """Raises InputError for a shift that ends before it starts, or starts before the last one."""
    before = slots[0].starts
    for slot in slots:
        if slot.ends <= slot.starts or slot.starts < before:
            raise InputError(
                f"The shift of {slot.work_date} runs from {slot.starts} to {slot.ends};"
                " put the shifts ahead in the order in which they start."
            )
        before = slot.starts
