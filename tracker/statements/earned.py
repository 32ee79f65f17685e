"""Days ahead or behind: earned schedule by zone and excavation, in the time of a plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from tracker.domain.programme.earned import DugOn, Earned, earned_schedule
from tracker.statements.forecast_shapes import EarnedLine
from tracker.statements.plans import SET_UP, Plan
from tracker.statements.stage_record import SiteRecord, StageRecord
from tracker.statements.words import date_words

RULE = (
    "Days ahead or behind: working days of the plan earned (ES) less those gone by (AT), by the"
    " set-up in force when the plan was frozen. In a hold of the plan, the working days since the"
    " ground above it was really dug out are earned, at most those planned: a late end stays late,"
    " an early one early."
)
ON_PLAN_DAYS = 0.05  # less is neither ahead nor behind: the sentence shows tenths


def earned_lines(record: SiteRecord, plans: Sequence[Plan]) -> Iterator[EarnedLine]:
    """Where each excavation and zone stands: in the current plan, then in every earlier one."""
    dug = list(dug_on(record))
    for plan in reversed(plans):
        for excavation, curve in plan.curves.items():
            known = {(s.zone, s.stage) for s in curve.stages}
            rows = [row for row in dug if (row.zone, row.stage) in known]
            as_of = record.frame.as_of
            now = earned_schedule(curve, rows, as_of, plan.working_days)
            frozen = earned_schedule(curve, rows, min(plan.frozen_on, as_of), plan.working_days)
            for earned, then in zip(now, frozen, strict=True):
                starts = min(s.starts for s in curve.stages if earned.zone in ("", s.zone))
                since = _since_frozen(plan, earned, then, starts)
                yield _line(record, plan, excavation, earned, starts, since)


def _since_frozen(
    plan: Plan, earned: Earned, then: Earned, starts: date
) -> tuple[float, int] | None:
    """ES and AT since a plan was frozen; None unless it was frozen after it begins."""
    if plan.plan == SET_UP or plan.frozen_on <= starts or earned.actual_days <= then.actual_days:
        return None
    return earned.earned_days - then.earned_days, earned.actual_days - then.actual_days


def dug_on(record: SiteRecord) -> Iterator[DugOn]:
    """Net design volume dug by stage and day, brought to what surveys and levels say.

    A stage that is dug out has earned all of its design volume; any other what `left_m3` leaves.
    The step from the returns is put on the day of the survey, or on which it was dug out.
    """
    returned: dict[tuple[str, int], dict[date, float]] = defaultdict(lambda: defaultdict(float))
    for one in record.returns:
        returned[one.entry.zone, one.entry.stage][one.entry.work_date] += one.net_m3
    for zone, stages in record.stages.items():
        for stage in stages:
            days = returned[zone, stage.stage]
            step_m3 = stage.design_m3 - stage.left_m3 - sum(days.values())
            if stage.dug_out_at is None or step_m3 > 0.0:
                days[_settled_on(record, stage)] += step_m3
            for day, net_m3 in days.items():
                yield DugOn(zone, stage.stage, day, net_m3)


def _settled_on(record: SiteRecord, stage: StageRecord) -> date:
    survey = record.volumes[stage.zone].survey
    if stage.dug_out_on is not None:
        return stage.dug_out_on
    return record.frame.as_of if survey is None else survey.entry.work_date


def _line(
    record: SiteRecord,
    plan: Plan,
    excavation: str,
    earned: Earned,
    starts: date,
    since: tuple[float, int] | None,
) -> EarnedLine:
    site = record.frame.site
    name = site.zone(earned.zone).name if earned.zone else site.excavation(excavation).name
    called = f"Zone {earned.zone}" if earned.zone else name
    return EarnedLine(
        plan=plan.plan,
        current=plan.current,
        excavation=excavation,
        zone=earned.zone,
        name=name,
        day=earned.day,
        earned_bank_m3=earned.earned_m3,
        planned_bank_m3=earned.planned_m3,
        design_bank_m3=earned.design_m3,
        earned_days=earned.earned_days,
        actual_days=earned.actual_days,
        ahead_days=earned.ahead_days,
        spi_t=earned.spi_t,
        sentence=f"{_sentence(called, plan, earned, starts)}{_since_words(since)}.",
        since_frozen_earned_days=since[0] if since else None,
        since_frozen_actual_days=since[1] if since else None,
    )


def _since_words(since: tuple[float, int] | None) -> str:
    """What was earned since the plan was frozen: until then it carries the past with it."""
    if since is None:
        return ""
    earned, actual = since
    return (
        f"; since it was frozen {earned:.1f} working days were earned in {actual}"
        f" ({earned / actual:.2f})"
    )


def _sentence(called: str, plan: Plan, earned: Earned, starts: date) -> str:
    """Ahead or behind in working days, with what it is reckoned from."""
    if not earned.actual_days and not earned.earned_days:
        return f"{called} is to be begun on {date_words(starts)} by {plan.words}"
    days = abs(earned.ahead_days)
    where = "on" if days < ON_PLAN_DAYS else f"{days:.1f} working days "
    if days >= ON_PLAN_DAYS:
        where += "ahead of" if earned.ahead_days > 0.0 else "behind"
    if earned.earned_m3 >= earned.design_m3 * (1.0 - 1e-9):
        return f"{called} was dug out on {date_words(earned.day)}, {where} {plan.words}"
    spi = "" if earned.spi_t is None else f"; SPI(t) {earned.spi_t:.2f}"
    return (
        f"{called} is {where} {plan.words} (ES {earned.earned_days:.1f}, AT"
        f" {earned.actual_days}{spi})"
    )
