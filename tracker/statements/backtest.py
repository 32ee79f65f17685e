"""How often the dates of earlier forecasts held on the site's own past."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from tracker.domain.programme.backtest import CHANCES, Case
from tracker.domain.programme.backtest import Backtest as Judged
from tracker.domain.programme.forecast import SEED, forecast
from tracker.errors import NotEnoughData
from tracker.statements.forecast_shapes import Backtest, BacktestLine
from tracker.statements.frame import framed
from tracker.statements.programme import first_ahead, programme_of
from tracker.statements.stage_record import SiteRecord, site_record
from tracker.statements.words import count_words, date_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

CHANCE = 0.8
EVERY_DAYS = 14  # from one earlier forecast to the next
WALKS = 500
FEW_DATES = 20  # judged: a share of fewer says little; common practice, no source


def backtest_statement(
    ledger: LedgerReads,
    as_of: date,
    *,
    known_at: datetime | None = None,
    walks: int = WALKS,
    seed: int = SEED,
) -> Backtest:
    """The forecast made anew for every other week of the past, and whether its P80 dates held.

    A date is judged once it has passed, whether its stage is dug out or not. Each forecast knows
    the returns, surveys and releases of its day, in the words in which they are recorded now.
    Limits: neighbouring forecasts share most of their future, so that the share is less sure than
    its count suggests. Raises NotEnoughData if the ledger has no set-up.
    """
    with ledger.reading():
        record = site_record(framed(ledger, as_of, known_at))
        until = _last_whole_day(record, as_of)
        cases: list[Case] = []
        refused: list[tuple[date, str]] = []
        for day in _origins(record, until):
            try:
                cases += _forecast_on(ledger, day, until, known_at, walks, seed)
            except NotEnoughData as reason:
                refused.append((day, str(reason)))
    actual = dict(_actual(record))
    judged = Judged(tuple(_with_actual(case, actual) for case in cases), until, tuple(refused))
    held = judged.held(CHANCE)
    stretch = judged.stretch(CHANCE) if held.judged >= FEW_DATES else None
    lines = tuple(_lines(judged))
    return Backtest(lines, held.held, held.judged, stretch, _sentence(judged, stretch))


def _last_whole_day(record: SiteRecord, as_of: date) -> date:
    """The last work date with returns on which no shift lies ahead any more."""
    last = max((one.entry.work_date for one in record.returns), default=as_of)
    ahead = first_ahead(record)
    return last if ahead is None else min(last, ahead - timedelta(days=1))


def _origins(record: SiteRecord, until: date) -> Iterator[date]:
    """Every other week back from the last day that lies a fortnight before the end."""
    first = min((one.entry.work_date for one in record.returns), default=until)
    day = until - timedelta(days=EVERY_DAYS)
    while day > first:
        yield day
        day -= timedelta(days=EVERY_DAYS)


def _forecast_on(
    ledger: LedgerReads, day: date, until: date, known_at: datetime | None, walks: int, seed: int
) -> Iterator[Case]:
    """What was forecast on a day; its calendar ends with the record, for later dates wait."""
    programme = programme_of(framed(ledger, day, known_at), until=until).programme
    answer = forecast(programme, walks=walks, seed=seed)
    for reached in (*answer.stages, *answer.parts):
        dates = tuple(reached.date_by(chance) for chance in CHANCES)
        yield Case(day, reached.zone or reached.part, reached.stage, dates, None)


def _actual(record: SiteRecord) -> Iterator[tuple[tuple[str, int | None], date | None]]:
    """When stages and excavations were dug out; excavations under their name, without a stage."""
    by_excavation: dict[str, list[date | None]] = {}
    for zone in record.frame.site.zones:
        for stage in record.stages[zone.zone]:
            yield (zone.zone, stage.stage), stage.dug_out_on
            by_excavation.setdefault(zone.excavation, []).append(stage.dug_out_on)
    for excavation, found in by_excavation.items():
        known = [day for day in found if day is not None]
        yield (excavation, None), max(known) if len(known) == len(found) else None


def _with_actual(case: Case, actual: dict[tuple[str, int | None], date | None]) -> Case:
    return replace(case, actual=actual.get((case.zone, case.stage)))


def _lines(judged: Judged) -> Iterator[BacktestLine]:
    """The dates that have passed, the oldest forecast first."""
    for case in sorted(judged.cases, key=lambda c: (c.made_on, c.zone, c.stage or 0)):
        p80 = case.date_by(CHANCE)
        if p80 is not None and p80 <= judged.until:
            held = case.actual is not None and case.actual <= p80
            yield BacktestLine(
                made_on=case.made_on,
                excavation=case.zone if case.stage is None else "",
                zone="" if case.stage is None else case.zone,
                stage=case.stage,
                p20=case.date_by(0.2),
                p80=p80,
                reached_on=case.actual,
                held=held,
            )


def _sentence(judged: Judged, stretch: float | None) -> str:
    held = judged.held(CHANCE)
    if held.share is None:
        return (
            "No date of an earlier forecast has passed yet: nothing can be said of how they hold."
        )
    lines = tuple(_lines(judged))
    days = sorted({line.made_on for line in lines})
    none = (
        f" On {count_words(len(judged.refused), 'other day')} the records gave none."
        if judged.refused
        else ""
    )
    few = " Too few to say much." if held.judged < FEW_DATES else ""
    return (
        f"Of {count_words(held.judged, 'P80 date')} forecast on {count_words(len(days), 'day')}"
        f" from {date_words(days[0])} on, {held.held} held ({100.0 * held.share:.0f} %; 80 % are"
        f" to hold).{few}{_out_by(held.share, stretch)}{_untested(lines)}{none}"
    )


def _untested(lines: Sequence[BacktestLine]) -> str:
    """Said where all dates that have passed are of stages."""
    return "" if any(line.excavation for line in lines) else " No date of formation was among them."


def _out_by(share: float, stretch: float | None) -> str:
    """How far off the dates had to be for four in five to hold, where fewer did."""
    if share >= CHANCE:
        return ""
    if stretch is None:
        return " How far off they had to be is not known yet."
    return f" Had each been {stretch:.2f} times as far off, four in five had held."
