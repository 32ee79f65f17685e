"""Freezing the plan of the set-up: its dates, holds and design volumes, on a date, under a name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from tracker.domain.levels import stage_volume
from tracker.domain.site import Site
from tracker.errors import DuplicateEntry, InputError
from tracker.ledger.entries import PlannedStage
from tracker.ledger.store import Ledger
from tracker.recording.entry import record
from tracker.recording.texts import thousandths_text


@dataclass(frozen=True, slots=True)
class NewFinish:
    """The planned finish of an excavation by a new plan, and by the one that was current.

    `before` is None where no plan is frozen yet, or the current one says nothing of it.
    """

    excavation: str
    name: str
    finish: date
    before: date | None

    @property
    def later_days(self) -> int | None:
        """Calendar days later than by the plan that was current, negative: earlier."""
        return None if self.before is None else (self.finish - self.before).days


@dataclass(frozen=True, slots=True)
class Frozen:
    """What freezing a plan wrote; `was_current` is empty for the first plan.

    A plan frozen on an earlier date than the current one does not become current.
    """

    plan: str
    frozen_on: date
    stages: int
    was_current: str
    becomes_current: bool
    finishes: tuple[NewFinish, ...]


def freeze_plan(
    ledger: Ledger,
    plan: str,
    *,
    on: date,
    reference: str,
    by: str,
    again: bool = False,
    now: datetime | None = None,
) -> Frozen:
    """Record every stage of the set-up in force on a date as one frozen plan, all or none.

    `again` says that a plan which equals one frozen before is meant. Raises InputError for such a
    plan without it, for an empty name or reference or a date to come; DuplicateEntry for a name
    that a plan has already, NotEnoughData without a set-up.
    """
    if not plan.strip():
        raise InputError("A frozen plan needs a name, such as programme 2.", field="plan")
    with ledger.writing():
        earlier = _plans(ledger)
        if plan.strip() in earlier:
            raise DuplicateEntry(
                f"There is a plan “{plan.strip()}” already, and a frozen plan stays as it is."
                " Give the new one another name."
            )
        site = ledger.site(on)
        if not again:
            _check_new(site, earlier)
        for fields in _rows(site):
            fields |= {"plan": plan, "frozen_on": on.isoformat(), "reference": reference}
            record(ledger, "plan", fields, by=by, now=now)
    was_current = next(reversed(earlier), "")
    before = earlier.get(was_current, [])
    return Frozen(
        plan.strip(),
        on,
        len(site.stages),
        was_current,
        all(on >= entry.frozen_on for entry in before),
        _finishes(site, before),
    )


def _plans(ledger: Ledger) -> dict[str, list[PlannedStage]]:
    """The frozen plans by name, the current one last."""
    found: dict[str, list[PlannedStage]] = {}
    for entry in ledger.current(PlannedStage.KIND):
        found.setdefault(entry.plan, []).append(entry)
    return dict(sorted(found.items(), key=lambda item: max(e.frozen_on for e in item[1])))


def _check_new(site: Site, earlier: dict[str, list[PlannedStage]]) -> None:
    """Refuse a plan that says of every stage what an earlier one says: it is an old one."""
    new = {tuple(row.values()) for row in _rows(site)}
    for name, entries in earlier.items():
        if new == {_stated(entry) for entry in entries}:
            raise InputError(
                f"The set-up has the dates, holds and volumes of {name}, frozen on"
                f" {entries[0].frozen_on}. Adopt a set-up with the dates of the new plan first, or"
                f" say --again to bring those of {name} back under another name."
            )


def _stated(entry: PlannedStage) -> tuple[str, ...]:
    """What a frozen plan says of a stage, in the columns of `_rows`."""
    return (
        entry.zone,
        str(entry.stage),
        entry.planned_start.isoformat(),
        entry.planned_finish.isoformat(),
        str(entry.hold_days),
        thousandths_text(entry.design_l),
    )


def _rows(site: Site) -> list[dict[str, str]]:
    """What the set-up plans for each stage, as a record has it."""
    return [
        {
            "zone": stage.zone,
            "stage": str(stage.stage),
            "planned_start": stage.planned_start.isoformat(),
            "planned_finish": stage.planned_finish.isoformat(),
            "hold_days": str(stage.hold_days),
            "design_m3": thousandths_text(_design_l(site, stage.zone, stage.stage)),
        }
        for stage in site.stages
    ]


def _design_l(site: Site, zone: str, stage: int) -> int:
    return round(stage_volume(site.zone(zone), site.stages_of(zone), stage) * 1000)


def _finishes(site: Site, before: Sequence[PlannedStage]) -> tuple[NewFinish, ...]:
    """The last planned day of each excavation that has stages, beside that of the plan before."""
    found = []
    for excavation in site.excavations:
        zones = {zone.zone for zone in site.zones_of(excavation.excavation)}
        new = [stage.planned_finish for stage in site.stages if stage.zone in zones]
        old = [entry.planned_finish for entry in before if entry.zone in zones]
        if new:
            found.append(
                NewFinish(excavation.excavation, excavation.name, max(new), max(old, default=None))
            )
    return tuple(found)
