"""When formation will be reached at which chance, what governs, and how the plan stands."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any

from tracker.domain.levels import CAUTION as LEVELS_CAUTION
from tracker.domain.limits import check_between
from tracker.domain.programme.forecast import (
    CAUTION,
    SEED,
    WALKS,
    AssumedRelease,
    Forecast,
    Reached,
    forecast,
    rate_needed,
)
from tracker.errors import NotEnoughData
from tracker.statements import forecast_words as words
from tracker.statements.backtest import backtest_statement
from tracker.statements.earned import RULE, earned_lines
from tracker.statements.forecast_shapes import (
    AssumedLine,
    Backtest,
    DateLine,
    FanPoint,
    ForecastStatement,
    GovernsLine,
    NeededLine,
    RateLine,
)
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.plans import Plan, plan_points, plan_versions, plans_of
from tracker.statements.programme import Built, programme_of
from tracker.statements.stage_record import SiteRecord, StageRecord, site_record
from tracker.statements.surveyed import survey_lines

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

CAUTIONS = (CAUTION, LEVELS_CAUTION)
FEWEST_WALKS, MOST_WALKS = 100, 100_000
_TOLD = ("dates", "releases", "fan", "governs", "rates", "needed")
NEEDED_WALKS, NEEDED_ROUNDS = 400, 8  # a rate to the nearest hundredth needs no more


def forecast_statement(
    ledger: LedgerReads,
    as_of: date,
    *,
    known_at: datetime | None = None,
    leave_out: Collection[str] = (),
    walks: int = WALKS,
    seed: int = SEED,
    backtest: bool = False,
) -> ForecastStatement:
    """Dates at their chance from a work date on, with plans and days ahead or behind.

    `leave_out` names coded causes whose shifts are left out of the record by choice; `backtest`
    asks how earlier forecasts held, which takes some seconds. Where the records do not support a
    forecast, `refused` says why; the plan and where it stands are there all the same. Raises
    NotEnoughData if the ledger has no set-up, UnknownName for a cause that it has not, OutOfRange
    for less than 100 walks or more than 100,000.
    """
    check_between("walks", walks, FEWEST_WALKS, MOST_WALKS, "")
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        record, plans = site_record(frame), plans_of(frame)
        earlier = backtest_statement(ledger, as_of, known_at=known_at) if backtest else None
        refused, told = "", None
        try:
            built = programme_of(frame, leave_out=frozenset(leave_out), record=record)
            answer = forecast(built.programme, walks=walks, seed=seed)
            told = Told(built, answer, plans[-1], seed, earlier.stretch if earlier else None)
        except NotEnoughData as reason:
            refused = str(reason)
        quality = [*survey_lines(frame, record.volumes), *(told.basis if told else ()), RULE]
        return ForecastStatement(
            basis=basis(frame, frame.site.first_date, quality=quality, cautions=CAUTIONS),
            headline=told.headline if told else _refused_headline(record, refused),
            refused=refused,
            plans=tuple(plan_versions(plans)),
            planned=tuple(plan_points(plans)),
            earned=tuple(earned_lines(record, plans)),
            **(told.lines if told else dict.fromkeys(_TOLD, ())),
            left_out=tuple(sorted(leave_out)),
            walks=walks,
            **(_held(earlier, told) if earlier else {}),
        )


def _held(earlier: Backtest, told: Told | None) -> dict[str, Any]:
    """How earlier dates held, and where that would lead."""
    return {
        "earlier": earlier.lines,
        "earlier_sentence": earlier.sentence + (told.as_held if told else ""),
        "earlier_stretch": earlier.stretch,
    }


def _refused_headline(record: SiteRecord, refused: str) -> str:
    if not any(record.ahead(zone) for zone in record.stages):
        return "Every stage of every zone is dug out: nothing is left to forecast."
    return f"No forecast: {refused}"


@dataclass(frozen=True)
class Told:
    """A forecast told line by line in the words of the site."""

    built: Built
    answer: Forecast
    plan: Plan
    seed: int
    stretch: float | None = None  # of earlier P80 dates, where that was asked

    @property
    def _frame(self) -> Frame:
        return self.built.record.frame

    @property
    def headline(self) -> str:
        """When formation of each excavation is reached; then what is assumed."""
        lines = [line.sentence for line in self.dates if not line.zone]
        count = len(self.answer.releases)
        assumed = (
            [f"{count} hold point{'s are' if count > 1 else ' is'} assumed released on the way."]
            if count
            else []
        )
        return " ".join([*lines, *assumed, *self.built.doubts])

    @property
    def lines(self) -> dict[str, tuple[Any, ...]]:
        """The lines of the statement by their name in it."""
        return {name: tuple(getattr(self, name)) for name in _TOLD}

    @property
    def basis(self) -> list[str]:
        """What the programme and the walks rest on."""
        answer = self.answer
        borrowed = [
            f"Rate of {rate.group}: fewer than five shifts of its own, so that those of the others"
            " are taken."
            for rate in answer.rates
            if rate.borrowed
        ]
        return [
            *self.built.basis,
            f"{answer.walks:,} walks, seed {self.seed}, in blocks of {answer.block_shifts} shifts."
            " Zones that dig in the same shift are alike by a correlation of"
            f" {answer.likeness:.2f}.",
            f"Length of holds: {answer.holds}.",
            *borrowed,
        ]

    @cached_property
    def shares(self) -> dict[str, dict[str, float]]:
        """Zone -> cause -> share of its shifts."""
        return {g.zone: {c: s for c, s in g.shares.items() if s > 0} for g in self.answer.governs}

    @cached_property
    def dates(self) -> tuple[DateLine, ...]:
        """Excavations first, then zones, then stages, each in the order of the set-up."""
        order = [zone.zone for zone in self._frame.site.zones]
        zones = sorted(self.answer.zones, key=lambda r: order.index(r.zone))
        stages = sorted(self.answer.stages, key=lambda r: (order.index(r.zone), r.stage))
        return tuple(self._date(reached) for reached in (*self.answer.parts, *zones, *stages))

    def _date(self, reached: Reached) -> DateLine:
        site, excavation = self._frame.site, reached.part
        target = site.excavation(excavation).target_formation
        planned = self._planned(reached)
        of_plan = None if planned is None else reached.chance_by(planned)
        of_target = None if target is None else reached.chance_by(target)
        zone = reached.zone or self._last_zone(excavation)
        cause = words.main_cause(self.shares[zone])
        of_stage = reached.stage is not None  # the target is one of formation
        against = words.against_words(planned, of_plan, None if of_stage else target, of_target)
        return DateLine(
            excavation=excavation,
            zone=reached.zone,
            name=site.zone(zone).name if reached.zone else site.excavation(excavation).name,
            stage=reached.stage,
            design_level_m=self._level_m(reached),
            remaining_bank_m3=self._remaining_m3(reached),
            planned_finish=planned,
            target=target,
            p20=reached.p20,
            p50=reached.p50,
            p80=reached.p80,
            chance_of_plan=of_plan,
            chance_of_target=of_target,
            governs=cause,
            sentence=self._sentence(reached, zone) + against,
            p80_as_held=self._moved(reached.p80),
        )

    def _moved(self, p80: date | None) -> date | None:
        """A P80 date as far off as earlier ones had to be; none where they held as stated."""
        if p80 is None or self.stretch is None or self.stretch <= 1.0:
            return None
        now = self._frame.as_of
        return now + timedelta(days=math.ceil(self.stretch * (p80 - now).days))

    @property
    def as_held(self) -> str:
        """When formation would be reached if dates go on running out as they did."""
        moved = [
            f"formation of {line.name} by {words.day_words(line.p80_as_held)} rather than"
            f" {words.day_words(line.p80)}"
            for line in self.dates
            if line.p80_as_held and not line.zone
        ]
        return f" So far off would be: {'; '.join(moved)}." if moved else ""

    def _sentence(self, reached: Reached, zone: str) -> str:
        site = self._frame.site
        if reached.stage is not None:
            level_m = self._level_m(reached)
            return (
                f"Zone {zone} stage {reached.stage}, to {level_m:.3f} m, dug out by"
                f" {words.day_words(reached.p80)} at four chances in five."
            )
        governs = words.governs_words(self.shares[zone], self._support(zone))
        if reached.zone:
            return words.formation_words(f"zone {zone}", reached.p80, governs)
        last = "" if len(self._zones(reached.part)) == 1 else f"zone {zone} is last, and "
        name = site.excavation(reached.part).name
        return words.formation_words(name, reached.p80, last + governs)

    def _planned(self, reached: Reached) -> date | None:
        if reached.stage is None:
            return self.plan.finish(reached.part, reached.zone)
        dates = self.plan.stage(reached.zone, reached.stage)
        return None if dates is None else dates.finishes

    def _level_m(self, reached: Reached) -> float | None:
        site = self._frame.site
        if reached.stage is not None:
            return site.stage(reached.zone, reached.stage).design_level_m
        return site.formation_level_m(reached.zone) if reached.zone else None

    def _remaining_m3(self, reached: Reached) -> float:
        return sum(
            s.remaining_m3
            for s in self.built.programme.stages
            if (not reached.zone or s.zone == reached.zone)
            and (reached.stage is None or s.stage == reached.stage)
            and self.built.programme.part(s.zone) == reached.part
        )

    def _zones(self, excavation: str) -> list[Reached]:
        return [r for r in self.answer.zones if r.part == excavation]

    def _last_zone(self, excavation: str) -> str:
        """The zone whose formation comes last."""
        late = max(
            self._zones(excavation), key=lambda r: (r.p80 or date.max, r.p50 or date.max, r.zone)
        )
        return late.zone

    def _support(self, zone: str) -> str:
        """The support of the longest hold that a zone still waits for."""
        holds = [s for s in self.built.record.ahead(zone) if not s.released and s.above]
        return max(holds, key=lambda s: s.hold_days).above if holds else ""

    @property
    def releases(self) -> Iterator[AssumedLine]:
        """Each hold that is taken as released although nobody has released it."""
        site = self._frame.site
        for release in self.answer.releases:
            stages = self.built.record.stages[release.zone]
            at = next(n for n, s in enumerate(stages) if s.stage == release.stage)
            stage = stages[at]
            condition = ""
            if at:
                condition = site.stage(release.zone, stages[at - 1].stage).hold_condition
            needed = self._needed_for(release)
            yield AssumedLine(
                site.zone(release.zone).excavation,
                release.zone,
                release.stage,
                stage.above,
                condition,
                *needed,
                release.overdue,
                words.release_words(release, needed, stage, condition),
            )

    def _needed_for(self, release: AssumedRelease) -> tuple[date | None, date | None, date | None]:
        """The dates of the shifts that dig on it; of a zone nobody has begun, none before it."""
        opens = self.built.not_before.get(release.zone)
        p20, p50, p80 = (
            max(day, opens) if day is not None and opens is not None else day
            for day in release.needed_for
        )
        return p20, p50, p80

    @property
    def fan(self) -> Iterator[FanPoint]:
        """What will be dug by each day, counted from the first bucket of the excavation."""
        dug_m3 = {
            e.excavation: sum(s.design_m3 - s.left_m3 for s in self._stages(e.excavation))
            for e in self._frame.site.excavations
        }
        begun: set[str] = set()
        for day in self.answer.fan:
            base = dug_m3[day.part]
            if day.part not in begun and day.work_date > self._frame.as_of:
                yield FanPoint(day.part, self._frame.as_of, base, base, base)
            begun.add(day.part)
            yield FanPoint(
                day.part,
                day.work_date,
                base + day.low_m3,
                base + day.middle_m3,
                base + day.high_m3,
            )

    def _stages(self, excavation: str) -> Iterator[StageRecord]:
        for zone in self._frame.site.zones_of(excavation):
            yield from self.built.record.stages[zone.zone]

    @property
    def governs(self) -> Iterator[GovernsLine]:
        """Shares of the shifts to formation: of each excavation, then of its zones."""
        for part in self.built.programme.part_names:
            zones = [r.zone for r in self._zones(part)]
            weight = {r.zone: self._shifts_to(r) for r in self._zones(part)}
            whole: dict[str, float] = {}
            for zone in zones:
                for cause, share in self.shares[zone].items():
                    part_of = share * weight[zone] / sum(weight.values())
                    whole[cause] = whole.get(cause, 0.0) + part_of
            yield from _governs(part, "", whole, "")
            for zone in zones:
                yield from _governs(part, zone, self.shares[zone], self._support(zone))

    def _shifts_to(self, reached: Reached) -> float:
        """Mean number of shifts until something is reached."""
        missing, count, at = 1.0, 0.0, 0
        by = reached.by
        for slot in self.built.programme.slots:
            while at < len(by) and by[at][0] < slot.work_date:
                missing, at = 1.0 - by[at][1] / reached.walks, at + 1
            count += missing
        return count

    @property
    def rates(self) -> Iterator[RateLine]:
        """What each group of stages is forecast with."""
        for rate in self.answer.rates:
            yield RateLine(rate.group, rate.shifts, rate.bank_m3, rate.borrowed)

    @property
    def needed(self) -> Iterator[NeededLine]:
        """The output that meets each target that lies ahead."""
        programme, site = self.built.programme, self._frame.site
        for part in programme.part_names:
            described = site.excavation(part)
            target = described.target_formation
            if target is None or not self._ahead(target):
                continue
            # What comes after the target makes no difference to it, and takes long to walk.
            to_target = programme.changed(
                slots=tuple(s for s in programme.slots if s.work_date <= target)
            )
            last = to_target.slots[-1].work_date
            found = replace(
                rate_needed(
                    to_target,
                    last,
                    part=part,
                    walks=NEEDED_WALKS,
                    seed=self.seed,
                    rounds=NEEDED_ROUNDS,
                ),
                target=target,
            )
            yield NeededLine(
                part, target, found.ratio, found.bank_m3, words.needed_words(described.name, found)
            )

    def _ahead(self, target: date) -> bool:
        slots = self.built.programme.slots
        return slots[0].work_date <= target <= slots[-1].work_date


def _governs(
    excavation: str, zone: str, shares: Mapping[str, float], support: str
) -> Iterator[GovernsLine]:
    for cause in sorted(shares, key=shares.__getitem__, reverse=True):
        yield GovernsLine(excavation, zone, cause, words.cause_words(cause, support), shares[cause])
