"""What decisions on hold points and steps of formation must agree with: the levels reported.

None of it is refused, since what was decided on site is a fact; what is hard to believe is said.
"""

from __future__ import annotations

from bisect import insort
from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from tracker.domain.calendar import shift_times, time_zone
from tracker.domain.levels import (
    FORMATION,
    RELEASED,
    breach,
    latest_status,
    permitted_level,
    plan_area,
    reaches,
)
from tracker.domain.rules import BREACH_RULE, RELEASED_EARLY
from tracker.domain.site import Stage
from tracker.ledger.entries import FormationStep, HoldRelease
from tracker.ledger.questions import LevelReport, general_levels, levels_below, lowest_report
from tracker.ledger.store import Ledger
from tracker.recording.fields import Fields
from tracker.recording.setups import Setup

BEFORE_BLINDED = ("reached", "inspected")


class HoldPoints:
    """The decisions and steps around those of one file or form. Remembers what it let through."""

    def __init__(self, ledger: Ledger, instead_of: str = "") -> None:
        self._ledger = ledger
        self._instead_of = instead_of  # the entry that is being amended
        self._decisions: dict[str, list[tuple[datetime, str, str]]] = {}
        self._accepted: dict[str, list[tuple[datetime, int]]] = defaultdict(list)
        self._steps: dict[tuple[str, str], list[tuple[datetime, int]]] | None = None

    # --- permitted ---------------------------------------------------------------------------
    def permitted_level_m(self, setup: Setup, zone: str, moment: datetime) -> float:
        """The level that the hold points released by a moment permit [m above site datum]."""
        status = self._status(zone, moment)
        return permitted_level(setup.zones[zone], setup.site.stages_of(zone), status)

    def permitted_with_m(self, setup: Setup, entry: HoldRelease) -> float:
        """The same at the moment of a decision, with that decision [m above site datum]."""
        status = self._status(entry.zone, entry.decided_at) | {entry.hold: entry.status}
        zone = setup.zones[entry.zone]
        return permitted_level(zone, setup.site.stages_of(entry.zone), status)

    def accepted_m2(self, zone: str, moment: datetime) -> float:
        """Area of formation accepted in all by a moment [m²]."""
        self._status(zone, moment)
        areas = [area_dm2 for at, area_dm2 in self._accepted[zone] if at <= moment]
        return areas[-1] / 100 if areas else 0.0

    def _status(self, zone: str, moment: datetime) -> dict[str, str]:
        """Hold -> status by a moment; `_decisions` is kept in the order of decision."""
        if zone not in self._decisions:
            self._decisions[zone] = []
            for d in self._ledger.current("hold_releases", where={"zone": zone}):
                if d.entry_id != self._instead_of:
                    self._learn(d)
        return latest_status((hold, s) for at, hold, s in self._decisions[zone] if at <= moment)

    def _learn(self, entry: HoldRelease) -> None:
        insort(self._decisions[entry.zone], (entry.decided_at, entry.hold, entry.status))
        if entry.hold == FORMATION:
            area_dm2 = (entry.accepted_area_dm2 or 0) if entry.status == RELEASED else 0
            insort(self._accepted[entry.zone], (entry.decided_at, area_dm2))

    # --- decisions ---------------------------------------------------------------------------
    def check_decisions(self, rows: Sequence[Fields]) -> None:
        """Say of a release what the stages above, the levels and the areas contradict."""
        entries = [(r.entry, r) for r in rows if isinstance(r.entry, HoldRelease)]
        for entry, row in sorted(entries, key=lambda pair: pair[0].decided_at):
            self._status(entry.zone, entry.decided_at)
            if entry.status == RELEASED:
                self._check_skipped(row, entry)
                self._check_dug_out(row, entry)
                self._check_open_breach(row, entry)
                if entry.hold == FORMATION:
                    self._check_accepted(row, entry)
            self._learn(entry)

    def _above(self, row: Fields, entry: HoldRelease) -> list[Stage]:
        stages = row.setup.site.stages_of(entry.zone)
        return [s for s in stages if entry.hold == FORMATION or s.stage < int(entry.hold)]

    def _check_skipped(self, row: Fields, entry: HoldRelease) -> None:
        status = self._status(entry.zone, entry.decided_at)
        above = [str(s.stage) for s in self._above(row, entry)]
        skipped = [stage for stage in above if status.get(stage) != RELEASED]
        if skipped:
            row.warn(
                "hold",
                f"Stage {', '.join(skipped)} of zone {entry.zone} is not released at that time;"
                " a release below it permits nothing until it is.",
            )

    def _check_dug_out(self, row: Fields, entry: HoldRelease) -> None:
        """The stage above must be dug out before what supports the ground beside it can be in.

        Of a zone without any level a file is let through in silence, since the returns may follow;
        the list of exceptions says it as long as it is so.
        """
        above = self._above(row, entry)
        if not above:
            return
        last, zone = above[-1], entry.zone
        lowest_m = self._lowest_m(zone, entry.work_date)
        if reaches(lowest_m, last.design_level_m) or (lowest_m is None and row.number):
            return
        lowest = "no level is reported" if lowest_m is None else f"lowest point {lowest_m:.3f} m"
        missing = f"Its {last.support or 'support'} cannot be in."
        if entry.hold == FORMATION:
            missing = "Formation cannot be accepted there."
        row.warn(
            "hold",
            f"Stage {last.stage} of zone {zone} is not dug out: {lowest}, it ends at"
            f" {last.design_level_m:.3f} m. {missing} Is it zone {zone}?",
            rule=RELEASED_EARLY,
        )

    def _lowest_m(self, zone: str, until: date) -> float | None:
        """The deepest level that returns and surveys report to a date [m above site datum]."""
        lowest = lowest_report(self._ledger, zone, until)
        general_mm = general_levels(self._ledger, until).get(zone)
        found = [lowest.level_mm] if lowest else []
        found += [general_mm] if general_mm is not None else []
        return min(found) / 1000 if found else None

    def _check_open_breach(self, row: Fields, entry: HoldRelease) -> None:
        """What was reported too deep before anybody wrote of its release stays a breach."""
        permitted_m = self.permitted_with_m(row.setup, entry)
        for report in levels_below(
            self._ledger,
            entry.zone,
            round(self.permitted_level_m(row.setup, entry.zone, entry.decided_at) * 1000),
            since=entry.work_date - timedelta(days=1),
            until=row.clock.local(row.sheet.now).date(),
        ):
            level_m, ended = report.level_mm / 1000, _ended_at(row, report)
            before_m = self.permitted_level_m(row.setup, entry.zone, ended)
            permits = entry.decided_at <= ended and not breach(entry.zone, level_m, permitted_m)
            if permits and breach(entry.zone, level_m, before_m):
                what = f"return of the {report.shift} shift" if report.shift else "survey"
                row.warn(
                    "decided_at",
                    f"This release would permit a level that was reported below the permitted one"
                    f" on {report.work_date} ({what}, {level_m:.3f} m): that breach stays open"
                    " until it is closed with a reason.",
                    rule=BREACH_RULE,
                )
                return

    def _check_accepted(self, row: Fields, entry: HoldRelease) -> None:
        before_m2 = self.accepted_m2(entry.zone, entry.decided_at)
        if entry.accepted_area_dm2 is None:
            row.warn(
                "accepted_m2",
                "A release of formation without an area accepts nothing: give the area accepted in"
                " all, with what was accepted before.",
            )
        elif entry.accepted_area_dm2 / 100 < before_m2:
            row.warn(
                "accepted_m2",
                f"{entry.accepted_area_dm2 / 100:g} m² is less than the {before_m2:g} m² of zone"
                f" {entry.zone} accepted before. Give the area accepted in all, with those.",
            )

    # --- formation ---------------------------------------------------------------------------
    def check_formation(self, rows: Sequence[Fields]) -> None:
        """Areas of a step add up to the zone at most; steps follow each other and the levels."""
        entries = [(r.entry, r) for r in rows if isinstance(r.entry, FormationStep)]
        for entry, row in sorted(entries, key=lambda pair: pair[0].done_at):
            done = self._known_steps()[entry.zone, entry.step]
            done_m2 = (sum(area for _, area in done) + entry.area_dm2) / 100
            whole_m2 = plan_area(row.setup.zones[entry.zone], row.setup.formation_m[entry.zone])
            if done_m2 > 1.02 * whole_m2:
                row.wrong(
                    "area_m2",
                    f"With this, {done_m2:,.0f} m² of zone {entry.zone} would be {entry.step}; it"
                    f" has {whole_m2:,.0f} m². Give the area of this part alone.",
                )
                continue
            insort(done, (entry.done_at, entry.area_dm2))
            if entry.step == "reached":
                self._check_reached(row, entry)
            if entry.step == "blinded":
                self._check_blinded(row, entry)

    def _known_steps(self) -> dict[tuple[str, str], list[tuple[datetime, int]]]:
        if self._steps is None:
            self._steps = defaultdict(list)
            for step in self._ledger.current(FormationStep.KIND):
                if step.entry_id != self._instead_of:
                    insort(self._steps[step.zone, step.step], (step.done_at, step.area_dm2))
        return self._steps

    def _done_m2(self, zone: str, step: str, moment: datetime) -> float:
        return sum(a for at, a in self._known_steps()[zone, step] if at <= moment) / 100

    def _check_reached(self, row: Fields, entry: FormationStep) -> None:
        formation_m = row.setup.formation_m[entry.zone]
        lowest_m = self._lowest_m(entry.zone, entry.work_date)
        if reaches(lowest_m, formation_m) or (lowest_m is None and row.number):
            return
        lowest = "no level is reported" if lowest_m is None else f"lowest point {lowest_m:.3f} m"
        row.warn(
            "step",
            f"Formation of zone {entry.zone} lies at {formation_m:.3f} m and is not reached:"
            f" {lowest}. Is it zone {entry.zone}?",
        )

    def _check_blinded(self, row: Fields, entry: FormationStep) -> None:
        """More blinded than was reached or inspected before; what is not recorded counts as none.

        Formation may be reached by level and inspected by its release alone, as statements take it.
        """
        zone, at = entry.zone, entry.done_at
        blinded_m2 = self._done_m2(zone, "blinded", at)
        for step in BEFORE_BLINDED:
            steps = self._known_steps()[zone, step]
            done_m2 = self._done_m2(zone, step, at)
            if step == "inspected" and not steps:
                done_m2 = self.accepted_m2(zone, at)
            if step == "reached" and not steps:
                continue
            if blinded_m2 > done_m2:
                row.warn(
                    "area_m2",
                    f"With this, {blinded_m2:,.0f} m² of zone {zone} are blinded, and"
                    f" {done_m2:,.0f} m² {step} by then. Record what was {step}, or correct the"
                    " area.",
                )


def _ended_at(row: Fields, report: LevelReport) -> datetime:
    """When the shift of a report ended; of a survey, or a shift nobody knows, the next midnight."""
    shift = row.setup.shifts.get(report.shift)
    zone = row.setup.site.time_zone
    if shift is not None:
        return shift_times(shift, report.work_date, zone)[1]
    return datetime.combine(report.work_date + timedelta(days=1), time(), time_zone(zone))
