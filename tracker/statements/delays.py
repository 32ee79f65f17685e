"""Delays: coded minutes as ground not dug, by cause and by who can remove it; what governed."""

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
from tracker.statements.governed_shifts import Coded, GovernedShifts, governed_shifts
from tracker.statements.zone_shifts import Returned, ZoneShift, dug_out, zone_shifts

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

NOBODY = ("", "nobody")  # as owner of a cause
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
    """What coded delays took from the first return on, or from `since`, and who can remove them.

    Raises NotEnoughData if the ledger has no set-up.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        every = zone_shifts(frame)
        first = since or min((s.work_date for s in every), default=frame.site.first_date)
        coded = [(s, _minutes(s)) for s in every if s.work_date >= first]
        causes = _causes(frame, coded)
        rows = _rows(coded, DiggingRates(_dug(coded)))
        lines = _lines(rows, causes)
        names = {code: cause.name for code, cause in causes.items()}
        governed = governed_shifts(frame, coded, dug_out(frame, every), names)
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


def _rows(coded: Sequence[_Coded], rates: DiggingRates) -> tuple[DelayRow, ...]:
    rows = []
    for shift, by_cause in coded:
        for cause, minutes in by_cause.items():
            said = _says(shift, cause)
            rate = rates.rate(shift.zone, said.stage)
            rows.append(
                DelayRow(
                    entry_id=said.entry_id,
                    work_date=shift.work_date,
                    shift=shift.shift,
                    zone=shift.zone,
                    stage=said.stage,
                    cause=cause,
                    minutes=minutes,
                    shift_minutes=shift.minutes,
                    rate_bank_m3_per_h=rate.bank_m3_per_h,
                    lost_bank_m3=lost_volume(minutes, rate.bank_m3_per_h),
                    rate_of=rate.basis,
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
    """The causes by what they took, the most first; without any rate by their minutes."""
    lost: dict[str, float] = defaultdict(float)
    minutes: Counter[str] = Counter()
    for row in rows:
        lost[row.cause] += row.lost_bank_m3
        minutes[row.cause] += row.minutes
    shifts = Counter(row.cause for row in rows)
    order = sorted(lost, key=lambda code: (-lost[code], -minutes[code], code))
    total_m3 = sum(lost.values())
    shares = [lost[code] / total_m3 if total_m3 else 0.0 for code in order]
    return tuple(
        DelayLine(
            cause=code,
            name=causes[code].name,
            owner=causes[code].owner,
            shifts=shifts[code],
            minutes=minutes[code],
            lost_bank_m3=lost[code],
            share=share,
            cumulative_share=min(1.0, reached),
            governing=code == order[0],
        )
        for code, share, reached in zip(order, shares, accumulate(shares), strict=True)
    )


def _owners(lines: Sequence[DelayLine]) -> tuple[DelayOwnerLine, ...]:
    """The same by owner; what nobody can remove stands under an empty name."""
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
    if not total_m3:
        return (
            f"{began}, coded delays took {hours:,.0f} h, most of it by {lines[0].name}; nothing was"
            " dug in the period, so there is no rate to turn hours into m³."
        )
    said = f"{began}, coded delays took {total_m3:,.0f} m³ of digging in {hours:,.0f} h;"
    leads = f"{lines[0].name} leads with {100.0 * lines[0].share:.0f} %"
    if lines[0].owner not in NOBODY:
        return f"{said} {leads}. Who can remove it: {lines[0].owner}."
    removable = [line for line in lines if line.owner not in NOBODY]
    if not removable:
        return f"{said} {leads}, and nobody on site can remove it."
    best = removable[0]
    return (
        f"{said} {leads}, which nobody on site can remove. Of what can be removed, {best.name} took"
        f" most, {100.0 * best.share:.0f} % of all (by: {best.owner})."
    )


def _quality(
    coded: Sequence[_Coded], rows: Sequence[DelayRow], governed: GovernedShifts
) -> list[str]:
    rated = Counter(row.rate_of for row in rows)
    lines = [
        "Lost m³ = coded hours x bank m³ per worked hour (shift less coded hours) of the same zone"
        " and stage in the period. Idle time that nobody coded makes this rate, and the loss, low."
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
