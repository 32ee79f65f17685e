"""Delays: coded minutes as ground not dug, by cause and by its owner; what governed."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from itertools import accumulate
from typing import TYPE_CHECKING

from tracker.domain.delays import (
    NO_RATE,
    OF_ALL,
    OF_ZONE,
    DiggingRates,
    DugShift,
    coded_minutes,
    lost_volume,
)
from tracker.domain.site import DelayCause
from tracker.errors import UnknownName
from tracker.statements.capacity_shapes import (
    DelayLine,
    DelayOwnerLine,
    DelayRow,
    DelayStatement,
)
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.governed_shifts import Coded, GovernedShifts, GroundLeft, governed_shifts
from tracker.statements.shift_record import ShiftKey, crews_of, week_of
from tracker.statements.zone_shifts import Returned, ZoneShift, dug_out, zone_shifts

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

NOBODY = ("", "nobody")  # as owner of a cause
SUSPENDED = "suspended"  # the line of what was coded while the stage was suspended
SUSPENDED_WORDS, NO_OWNER = "suspended for safety", "no owner"
CAUTION = (
    "Lost ground is reckoned from the rate of the hours that were worked, not measured. A delay in"
    " a zone with time to spare need not delay formation: the forecast says what governs."
)
_Coded = tuple[ZoneShift, Coded]


def delays_statement(
    ledger: LedgerReads,
    as_of: date,
    *,
    since: date | None = None,
    known_at: datetime | None = None,
) -> DelayStatement:
    """What coded delays took from the first return on, or from `since`, and whose matter they are.

    Raises NotEnoughData if the ledger has no set-up.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        every = zone_shifts(frame)
        first = since or min((s.work_date for s in every), default=frame.site.first_date)
        coded = [(s, _minutes(s)) for s in every if s.work_date >= first]
        causes = _causes(frame, coded)
        left = GroundLeft(frame, dug_out(frame, every))
        rows = _rows(coded, DiggingRates(_dug(coded)), left, _all_crews_busy(frame, every, left))
        lines = _lines(rows, causes)
        names = {code: cause.name for code, cause in causes.items()}
        governed = governed_shifts(frame, coded, left, names)
        return DelayStatement(
            basis=basis(frame, first, quality=_quality(coded, rows, governed), cautions=(CAUTION,)),
            since=first,
            until=as_of,
            headline=_headline(lines, first, as_of),
            lines=lines,
            owners=_owners(lines),
            governed=governed.shares,
            rows=rows,
        )


def _minutes(shift: ZoneShift) -> Coded:
    stated = [(d.cause, d.minutes) for one in shift.returns for d in one.delays]
    return coded_minutes(stated, shift.minutes)


def _dug(coded: Sequence[_Coded]) -> Iterator[DugShift]:
    """What each shift dug of each stage; its worked hours go to the stages by what each gave."""
    for shift, minutes in coded:
        whole_m3 = sum(one.bank_m3 for one in shift.returns)
        worked_h = (shift.minutes - sum(minutes.values())) / 60.0
        by_stage: dict[int, float] = defaultdict(float)
        for one in shift.returns:
            by_stage[one.stage] += one.bank_m3
        for stage, bank_m3 in by_stage.items():
            if bank_m3 > 0.0 and shift.known:
                share_h = worked_h * bank_m3 / whole_m3
                yield DugShift(shift.zone, stage, bank_m3, share_h)


def _all_crews_busy(frame: Frame, shifts: Sequence[ZoneShift], left: GroundLeft) -> set[ShiftKey]:
    """The shifts in which as many zones were dug as the crews can dig at once.

    By the set-up, else as the record shows for the week: see `crews_of`.
    """
    counts: dict[ShiftKey, tuple[int, int]] = {}
    for shift in shifts:
        stage = left.at(shift.zone, shift.starts)
        could = shift.dug or (stage is not None and stage.released)
        dug, able = counts.get((shift.work_date, shift.shift), (0, 0))
        counts[shift.work_date, shift.shift] = dug + shift.dug, able + could
    weeks = {week_of(day) for day, _ in counts}
    crews = {week: frame.site.zones_at_once or crews_of(counts, week) for week in weeks}
    return {key for key, (dug, _) in counts.items() if dug >= crews[week_of(key[0])]}


def _rows(
    coded: Sequence[_Coded], rates: DiggingRates, left: GroundLeft, all_busy: set[ShiftKey]
) -> tuple[DelayRow, ...]:
    """A row for each cause of each shift of a zone.

    A nil shift is rated by the stage that waited in it, not by the one that its return names.
    """
    rows = []
    for shift, by_cause in coded:
        waiting = None if shift.dug else left.at(shift.zone, shift.starts)
        busy = not shift.dug and (shift.work_date, shift.shift) in all_busy
        for cause, minutes in by_cause.items():
            said = _says(shift, cause)
            stage = waiting.stage if waiting else said.stage
            rate = rates.rate(shift.zone, stage)
            cost_m3 = lost_volume(minutes, rate.bank_m3_per_h)
            rows.append(
                DelayRow(
                    entry_id=said.entry_id,
                    work_date=shift.work_date,
                    shift=shift.shift,
                    zone=shift.zone,
                    stage=said.stage,
                    cause=SUSPENDED if waiting and waiting.suspended else cause,
                    minutes=minutes,
                    shift_minutes=shift.minutes,
                    rate_bank_m3_per_h=rate.bank_m3_per_h,
                    lost_bank_m3=0.0 if busy else cost_m3,
                    rate_of=rate.basis,
                    rate_stage=stage,
                    coded=cause,
                    busy_bank_m3=cost_m3 if busy else 0.0,
                    busy=busy,
                )
            )
    return tuple(rows)


def _says(shift: ZoneShift, cause: str) -> Returned:
    """The return that says most of a cause."""

    def minutes(one: Returned) -> int:
        return sum(d.minutes for d in one.delays if d.cause == cause)

    return max(shift.returns, key=minutes)


def _causes(frame: Frame, coded: Sequence[_Coded]) -> dict[str, DelayCause]:
    """The causes that were coded, by the set-up in force or the newest that still knows them."""
    found = {}
    for code in {cause for _, minutes in coded for cause in minutes}:
        try:
            found[code] = frame.cause(code)
        except UnknownName:
            found[code] = DelayCause(code, code, "")
    return found


def _lines(rows: Sequence[DelayRow], causes: Mapping[str, DelayCause]) -> tuple[DelayLine, ...]:
    """The causes by what they took, the most first; without any rate by their minutes.

    What was coded while a stage was suspended comes last, whatever it comes to.
    """
    lost: dict[str, float] = defaultdict(float)
    busy_m3: dict[str, float] = defaultdict(float)
    minutes: Counter[str] = Counter()
    busy_min: Counter[str] = Counter()
    for row in rows:
        lost[row.cause] += row.lost_bank_m3
        busy_m3[row.cause] += row.busy_bank_m3
        (busy_min if row.busy else minutes)[row.cause] += row.minutes
    shifts = Counter(row.cause for row in rows if not row.busy)
    suspended = DelayCause(SUSPENDED, SUSPENDED_WORDS, NO_OWNER)
    called = {**causes, SUSPENDED: suspended}
    order = sorted(lost, key=lambda code: (code == SUSPENDED, -lost[code], -minutes[code], code))
    total_m3 = sum(lost.values())
    shares = [lost[code] / total_m3 if total_m3 else 0.0 for code in order]
    return tuple(
        DelayLine(
            cause=code,
            name=called[code].name,
            owner=called[code].owner,
            shifts=shifts[code],
            minutes=minutes[code],
            lost_bank_m3=lost[code],
            share=share,
            cumulative_share=min(1.0, reached),
            governing=code == order[0] and code != SUSPENDED and minutes[code] > 0,
            busy_minutes=busy_min[code],
            busy_bank_m3=busy_m3[code],
        )
        for code, share, reached in zip(order, shares, accumulate(shares), strict=True)
    )


def _owners(lines: Sequence[DelayLine]) -> tuple[DelayOwnerLine, ...]:
    """The same by owner; without one under an empty name, suspensions by themselves."""
    by_owner: dict[str, list[DelayLine]] = defaultdict(list)
    for line in lines:
        by_owner["" if line.owner in NOBODY else line.owner].append(line)
    owners = [
        DelayOwnerLine(
            owner=owner,
            minutes=sum(line.minutes for line in mine),
            lost_bank_m3=sum(line.lost_bank_m3 for line in mine),
            share=sum(line.share for line in mine),
        )
        for owner, mine in by_owner.items()
    ]
    return tuple(sorted(owners, key=lambda one: (-one.lost_bank_m3, -one.minutes, one.owner)))


# --- words ---------------------------------------------------------------------------------------
def _headline(lines: Sequence[DelayLine], since: date, until: date) -> str:
    began = f"Since {since.day} {since:%b}"
    if not lines:
        return f"{began} no return codes a delay, to {until.day} {until:%b %Y}."
    hours = sum(line.minutes for line in lines) / 60.0
    total_m3 = sum(line.lost_bank_m3 for line in lines)
    lead = next((line for line in lines if line.governing), None)
    rest = _apart(lines)
    if not total_m3:
        most = f", most of it by {lead.name}; nothing was dug in the period" if lead else ""
        why = ", so there is no rate to turn hours into m³" if lead else ""
        return " ".join((f"{began}, coded delays took {hours:,.0f} h{most}{why}.", *rest))
    said = f"{began}, coded delays took {total_m3:,.0f} m³ of digging in {hours:,.0f} h"
    leads = f"; {_leads(lead, lines)}" if lead else ""
    return " ".join((f"{said}{leads}.", *rest))


def _leads(lead: DelayLine, lines: Sequence[DelayLine]) -> str:
    """The cause that leads and whose matter it is; where it is nobody's, the next that is."""
    leads = f"{lead.name} leads with {100.0 * lead.share:.0f} %"
    if lead.owner not in NOBODY:
        return f"{leads}; whose matter: {lead.owner}"
    owned = [x for x in lines if x.cause != SUSPENDED and x.minutes and x.owner not in NOBODY]
    if not owned:
        return f"{leads}, and the set-up names no owner"
    return (
        f"{leads}, a cause that has no owner. Of those that have one, {owned[0].name} took most,"
        f" {100.0 * owned[0].share:.0f} % of all; whose matter: {owned[0].owner}"
    )


def _apart(lines: Sequence[DelayLine]) -> Iterator[str]:
    """What is in the bars and leads nothing, and what is in none, as sentences."""
    suspended = next((line for line in lines if line.cause == SUSPENDED), None)
    if suspended and suspended.minutes:
        yield (
            f"Of it {suspended.lost_bank_m3:,.0f} m³ in {suspended.minutes / 60.0:,.0f} h while a"
            " stage was suspended for safety: a suspension is no delay to be removed."
        )
    busy_h = sum(line.busy_minutes for line in lines) / 60.0
    if busy_h:
        yield (
            f"A further {busy_h:,.0f} h that nil returns code cost no ground: all crews were at"
            " work in other zones."
        )


def _quality(
    coded: Sequence[_Coded], rows: Sequence[DelayRow], governed: GovernedShifts
) -> list[str]:
    rated = Counter(row.rate_of for row in rows)
    lines = [
        "Lost m³ = coded hours x bank m³ per worked hour (shift less coded hours) of the same zone"
        " and stage in the period. Idle time that nobody coded makes this rate, and the loss, low.",
        "A nil shift is rated by the stage that waited in it.",
        "Crews were at work elsewhere where as many zones were dug in the shift as can be dug at"
        " once, by the set-up or as the record shows: what nil returns code then is in no bar.",
    ]
    lines += [
        f"Delays rated otherwise, because fewer than five shifts dug there: {rated[basis]} by the"
        f" rate of {words}."
        for basis, words in ((OF_ZONE, "their whole zone"), (OF_ALL, "all zones together"))
        if rated[basis]
    ]
    if rated[NO_RATE]:
        lines.append(f"Delays without any rate, so without lost ground: {rated[NO_RATE]}.")
    return [*lines, *_of_minutes(coded), *_of_nil_shifts(governed)]


def _of_minutes(coded: Sequence[_Coded]) -> Iterator[str]:
    again = cut = 0
    unknown = {shift.shift for shift, _ in coded if not shift.known}
    for shift, minutes in coded:
        stated = [d for one in shift.returns for d in one.delays]
        longest: dict[str, int] = {}
        for delay in stated:
            longest[delay.cause] = max(delay.minutes, longest.get(delay.cause, 0))
        again += len(stated) > len(longest)
        cut += sum(longest.values()) > sum(minutes.values())
    if again:
        yield (
            f"Shifts of a zone in which several returns code the same cause: {again}. It counts"
            " once, as long as the longest of them says."
        )
    if cut:
        yield (
            f"Shifts of a zone whose returns together code more than the shift: {cut}. They are cut"
            " to it."
        )
    if unknown:
        yield f"No set-up has the shift {', '.join(sorted(unknown))}: it is taken as a whole day."


def _of_nil_shifts(governed: GovernedShifts) -> Iterator[str]:
    if governed.uncoded:
        reasons = Counter(shift.returns[0].nil_reason for shift in governed.uncoded)
        said = ", ".join(f"{reason} ({count})" for reason, count in reasons.most_common(3))
        yield (
            f"Nil shifts of a zone with released ground left and no coded cause:"
            f" {len(governed.uncoded)}. What they cost is in no bar. Most often: {said}."
        )
    if governed.finished:
        yield (
            f"Nil shifts of zones that were dug to formation, left out of what governed:"
            f" {governed.finished}."
        )
