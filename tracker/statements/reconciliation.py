"""Reconciliation: do the five figures agree, who does not fit, and what the records lack."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from tracker.domain.reconcile.adjusted import ALL, Adjusted, Reconciliation, reconciliation
from tracker.domain.reconcile.stated import Season, Stated
from tracker.domain.reconcile.usual import SENTENCES
from tracker.errors import InputError, NotEnoughData
from tracker.ledger.limits import failed_checks
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.reconciliation_bars import bars
from tracker.statements.reconciliation_calibration import calibrations
from tracker.statements.reconciliation_drift import drifts
from tracker.statements.reconciliation_inputs import LOST, Load, Recorded, recorded
from tracker.statements.reconciliation_missing import missing_lines, unmatched
from tracker.statements.reconciliation_season import Cells, Flow, cells, season
from tracker.statements.reconciliation_shapes import (
    Bar,
    PeriodLine,
    ReconciliationStatement,
    Residual,
    Seen,
    SuspectView,
)
from tracker.statements.reconciliation_words import (
    answer_words,
    checks_words,
    not_told_words,
    probability_words,
    seen_words,
    source_name,
    suspect_view,
    unclaimed_words,
)
from tracker.statements.survey_cuts import Cut, PassedOver, survey_cuts, survey_days
from tracker.statements.words import date_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

DISAGREE = 0.05
CAUTION = (
    "An adjusted figure is an estimate: no record is changed by it, and a suspect is a place to"
    " look, no proof. What is paid for, declared or taxed rests on the records themselves."
)


def reconciliation_statement(
    ledger: LedgerReads,
    as_of: date,
    *,
    since: date | None = None,
    known_at: datetime | None = None,
) -> ReconciliationStatement:
    """The five figures from survey to survey, from the survey at or before `since` (None: all).

    Says in `missing_words` what is missing where they cannot be reconciled. Raises NotEnoughData
    if there is no set-up.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        data = recorded(frame)
        dug = [(one.at, one.zone) for one in data.returned]
        days = survey_days(frame)
        cuts, passed = survey_cuts(days, dug)
        opened = _opening(cuts, since)
        wanted = [cut for cut in cuts if opened is None or cut.at > opened.at]
        held = _held(frame, data, wanted, opened, passed)
        return _stated(held, bool(days))


def _opening(cuts: Sequence[Cut], since: date | None) -> Cut | None:
    """The last survey at or before a date; None: from the start of the site."""
    earlier = [cut for cut in cuts if since is not None and cut.work_date <= since]
    return earlier[-1] if earlier else None


@dataclass(frozen=True, slots=True)
class _Held:
    """Everything that the statement is made from."""

    frame: Frame
    data: Recorded
    cells: Cells
    season: Season
    passed: Sequence[PassedOver]
    answer: Reconciliation | None
    why_not: str


def _held(
    frame: Frame,
    data: Recorded,
    cuts: Sequence[Cut],
    opened: Cut | None,
    passed: Sequence[PassedOver],
) -> _Held:
    found = cells(frame, data, cuts, opened)
    stated = season(frame, found)
    answer, why_not = None, ""
    try:
        answer = reconciliation(stated) if stated.stated else None
    except (NotEnoughData, InputError) as error:  # too little, or too far apart to bring together
        why_not = str(error)
    kept = [one for one in passed if opened is None or one.work_date > opened.work_date]
    return _Held(frame, data, found, stated, kept, answer, why_not)


def _stated(held: _Held, surveyed: bool) -> ReconciliationStatement:
    frame, answer, found = held.frame, held.answer, held.cells
    streams = {stream.stream: stream.name for stream in frame.site.streams}
    destinations = {one.destination: one.name for one in frame.site.destinations}
    names = _names(held, streams, destinations)
    drawn = bars(held.season, answer)
    ranking = _ranking(answer, names, streams)
    suspect = ranking[0] if answer and answer.suspect else None
    seen = _seen(answer, names)
    lines, proposals = calibrations(frame, held.season, found)
    loads = _within(found)
    newest, count, mass_t = unmatched(loads, destinations)
    why = held.why_not or _why_nothing(held, surveyed)
    since = found.opened.work_date if found.opened else frame.site.first_date
    return ReconciliationStatement(
        basis=basis(frame, since, quality=_quality(held), cautions=(CAUTION,)),
        headline=_headline(held, drawn, why),
        verdict=_verdict(held),
        since=found.opened.work_date if found.opened else None,
        until=found.cuts[-1].work_date if found.cuts else None,
        missing_words=why,
        after_words=_after_words(held),
        **_tested(answer),
        suspect=suspect,
        suspect_words=_suspect_words(answer, suspect, seen),
        periods_reconciled=len(found.cuts) if answer else 0,
        streams=tuple((g.stream, streams[g.stream]) for g in held.season.grounds),
        bars=tuple(drawn),
        seen=tuple(seen),
        ranking=tuple(ranking),
        periods=tuple(_periods(held)),
        residuals=tuple(_residuals(answer, names)),
        calibrations=tuple(lines),
        proposals=tuple(proposals) if _agrees(answer) else (),
        drifts=tuple(drifts(frame, held.season, streams, suspect.source if suspect else "")),
        missing=tuple(missing_lines(frame, held.data, loads, found, held.passed)),
        unmatched=tuple(newest),
        unmatched_count=count,
        unmatched_t=mass_t,
    )


def _tested(answer: Reconciliation | None) -> dict[str, Any]:
    """The test of all statements together."""
    return {
        "chi_square": answer.chi_square if answer else None,
        "degrees": answer.degrees if answer else None,
        "probability": answer.probability if answer else None,
        "probability_words": probability_words(answer) if answer else "",
    }


def _names(held: _Held, streams: dict[str, str], destinations: dict[str, str]) -> dict[str, str]:
    if held.answer is None:
        return {}
    sources = dict.fromkeys(one.source for one in held.answer.statements)
    return {source: source_name(source, streams, destinations) for source in sources}


def _ranking(
    answer: Reconciliation | None, names: dict[str, str], streams: dict[str, str]
) -> list[SuspectView]:
    if answer is None:
        return []
    others = answer.not_told_from
    alike = {answer.suspect.source: others} if answer.suspect else {}
    named = [answer.suspect] if answer.suspect else []
    rest = [one for one in answer.ranking if one not in named]
    return [suspect_view(o, names, streams, alike.get(o.source, ())) for o in (*named, *rest)]


def _seen(answer: Reconciliation | None, names: dict[str, str]) -> list[Seen]:
    return [
        Seen(
            one.source,
            names.get(one.source, one.source),
            None if one.smallest_ratio is None else 100.0 * one.smallest_ratio,
            tuple(names.get(other, other) for other in one.not_told_from),
        )
        for one in (answer.detectable if answer else ())
    ]


def _suspect_words(
    answer: Reconciliation | None, suspect: SuspectView | None, seen: Sequence[Seen]
) -> str:
    if answer is None:
        return ""
    if suspect is None:
        return seen_words(seen)
    return f"{suspect.sentence} {not_told_words(suspect)}"


def _agrees(answer: Reconciliation | None) -> bool:
    return answer is not None and not answer.suspect and answer.probability >= DISAGREE


def _verdict(held: _Held) -> str:
    if held.answer is None:
        return "unknown"
    if not _agrees(held.answer):
        return "disagree"
    return "look" if _beside(held) else "agree"


def _headline(held: _Held, drawn: Sequence[Bar], why: str) -> str:
    whole = {bar.bar: bar for bar in drawn if bar.stream == ALL}
    if "survey" not in whole or held.answer is None:
        return f"Not reconciled: {why}"
    cut, opened = held.cells.cuts[-1], held.cells.opened
    since = f" since {date_words(opened.work_date)}" if opened else ""
    words = answer_words(whole, cut.work_date, since, _added_after_m3(held))
    return f"{words} {_verdict_words(held)}{_beside(held)}"


def _added_after_m3(held: _Held) -> float:
    """What the returns add to the last surveys, up to the counts of the heaps [m³ bank]."""
    last = {one.stream: one.survey for one in held.season.stated}
    return sum(s.dug_after.bank_m3 for s in last.values() if s is not None and s.dug_after)


def _verdict_words(held: _Held) -> str:
    if _agrees(held.answer):
        return "No statement stands out against the others."
    if held.answer and held.answer.suspect:
        return "One statement does not fit the others."
    return "Period by period the records do not fit together."


def _beside(held: _Held) -> str:
    """What outweighs the statistics: receipts without a load, checks of weighers that failed."""
    opened = held.cells.opened
    failed = [
        check
        for check in failed_checks(held.frame.ledger, held.frame.as_of, held.frame.known_at)
        if opened is None or check.work_date > opened.work_date
    ]
    lost = held.data.unclaimed
    return unclaimed_words(lost.receipts, lost.mass_t) + checks_words(failed)


def _within(found: Cells) -> list[Load]:
    """The loads of the periods that are reconciled, oldest first."""
    loads = [x for flow in found.flows.values() for x in flow.loads if x.basis != LOST]
    return sorted(loads, key=lambda load: load.at)


def _why_nothing(held: _Held, surveyed: bool) -> str:
    if held.answer is not None:
        return ""
    if not surveyed:
        return (
            "no survey gives a dug volume yet. Record a survey of every zone that is dug, as points"
            " or as a volume to date, at least once a week."
        )
    if held.passed:
        zones = ", ".join(held.passed[-1].missing)
        return (
            f"no survey covers every zone that had been dug; the last one lacks zone {zones}."
            " Survey all of them on one day."
        )
    return "nothing was dug between two surveys in this period."


def _after_words(held: _Held) -> str:
    """What was recorded after the last survey and is in none of the figures."""
    cuts = held.cells.cuts
    if not cuts:
        return ""
    ends = held.cells.ends
    returned = [r for r in held.data.returned if r.stream in ends and r.at > ends[r.stream][-1]]
    later_m3 = sum(r.bank_m3 for r in returned)
    loads = [x for x in held.data.loads if x.stream in ends and x.at > ends[x.stream][-1]]
    runs = [x for x in held.data.runs if x.stream in ends and x.starts >= ends[x.stream][-1]]
    if not (later_m3 or loads or runs):
        return ""
    left_t = sum(x.mass_t for x in loads) + sum(x.mass_t for x in runs)
    return (
        f"Since the count of the heaps after the survey of {date_words(cuts[-1].work_date)} the"
        f" returns say {later_m3:,.0f} m³ bank, and {left_t:,.0f} t left: not surveyed yet, and in"
        " none of these figures."
    )


def _quality(held: _Held) -> list[str]:
    lines = list(SENTENCES)
    cuts = held.cells.cuts
    if cuts:
        lines.insert(
            0,
            f"{len(cuts)} periods from survey to survey, {held.cells.names[0]} to"
            f" {held.cells.names[-1]}. A period of a stream ends at the count of its heaps soonest"
            " after the survey; returns count at the end of their shift, loads when they left.",
        )
    lines.append(
        "The figure of all together need not lie between the others: it weighs density, bulking and"
        " errors that statements share as well. Its interval holds if the uncertainties do."
    )
    if len(held.frame.set_ups) > 1:
        lines.append(
            "Density and bulking are assumed as the set-up in force on the as-of date has them;"
            " returns are turned into bank m³ by the set-up of their own date."
        )
    if not held.cells.keeps_heaps:
        lines.append("No heap was ever counted: none is taken to lie on site.")
    if held.cells.opened and not held.cells.opening and held.cells.keeps_heaps:
        lines.append("The heaps at the start of the period were not counted: taken as none.")
    return lines


# --- rows ----------------------------------------------------------------------------------------
def _periods(held: _Held) -> list[PeriodLine]:
    adjusted = {(a.period, a.stream): a for a in (held.answer.periods if held.answer else ())}
    lines = []
    after_m3: dict[str, float] = {}
    for one in held.season.stated:
        survey = one.survey
        assert survey is not None, "every period ends with a survey"
        before_m3 = after_m3.get(one.stream, 0.0)
        after_m3[one.stream] = survey.dug_after.bank_m3 if survey.dug_after else 0.0
        lines.append(_period(held, one, adjusted.get((one.period, one.stream)), before_m3))
    return sorted(lines, key=lambda line: line.period)


def _period(held: _Held, one: Stated, best: Adjusted | None, before_m3: float) -> PeriodLine:
    found = held.cells
    place, survey = found.names.index(one.period), one.survey
    assert survey is not None, "every period ends with a survey"
    flow = found.flows.get((one.stream, place), Flow())
    cut, before = found.cuts[place], found.cuts[place - 1] if place else found.opened
    loads = [load for load in flow.loads if load.basis != LOST]
    known = [load.accepted_t for load in flow.loads if load.accepted_t is not None]
    after_m3 = survey.dug_after.bank_m3 if survey.dug_after else 0.0
    return PeriodLine(
        period=one.period,
        stream=one.stream,
        surveys=", ".join(cut.names),
        since_at=before.at if before else None,
        surveyed_at=cut.at,
        tickets_to=found.ends[one.stream][place],
        surveyed_m3=survey.void.bank_m3,
        dug_after_m3=after_m3,
        to_count_m3=survey.void.bank_m3 + after_m3 - before_m3,
        returned_m3=sum(dug.bank_m3 for dug in flow.dug) if flow.dug else None,
        belt_t=sum(flow.belt_t.values()),
        lorry_t=sum(load.mass_t for load in loads),
        reused_t=sum(reused.mass_t for reused in flow.reused),
        stock_m3=flow.heaps.loose_m3 if flow.heaps else None,
        accepted_t=sum(known) if known else None,
        loads=len(loads),
        loads_not_weighed=sum(load.basis != "weighed" for load in loads),
        loads_without_receipt=sum(load.accepted_t is None for load in loads),
        adjusted_m3=best.bank_m3 if best else None,
        u_adjusted_m3=best.u_bank_m3 if best else None,
        adjusted_t=best.mass_t if best else None,
        u_adjusted_t=best.u_mass_t if best else None,
        adjusted_t_per_m3=best.bank_density_t_per_m3 if best else None,
    )


def _residuals(answer: Reconciliation | None, names: dict[str, str]) -> list[Residual]:
    return [
        Residual(
            one.source,
            names.get(one.source, one.source),
            one.period,
            one.stream,
            one.unit,
            one.stated,
            one.adjusted,
            one.standardised,
        )
        for one in (answer.statements if answer else ())
    ]
