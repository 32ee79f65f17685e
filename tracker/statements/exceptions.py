"""What is open: breaches first, then every rule that the records break and nobody has closed.

One list for everybody: the rule, how serious it is, the record that raised it, since when it is
open and who usually closes it. What is missing (a note, a receipt, a ticket) is found when asked,
so that it is gone as soon as it comes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import pairwise
from operator import attrgetter
from typing import TYPE_CHECKING

from tracker.domain import rules
from tracker.domain.calendar import local_time
from tracker.domain.site import Vehicle
from tracker.ledger.entries import BeltReading, LorryLoad
from tracker.ledger.limits import counts_over_limit, failed_checks
from tracker.ledger.questions import closed_exceptions, flagged_loads
from tracker.ledger.totals import carried_kg
from tracker.statements.caps import open_caps
from tracker.statements.exception_shapes import ExceptionsOfRule, ExceptionsStatement
from tracker.statements.exceptions_holds import hold_exceptions
from tracker.statements.exceptions_papers import paper_exceptions
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.gate_breaches import open_outside
from tracker.statements.levels import open_breaches, standings
from tracker.statements.shapes import OpenException
from tracker.statements.survey_against_returns import open_disagreements
from tracker.statements.surveyed import taken_to
from tracker.statements.tickets import missing_receipts, ticket_gaps
from tracker.statements.words import date_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

LATELY = timedelta(days=31)  # how far back a day looks for papers, receipts and tickets
_ORDER = {"breach": 0, "serious": 1, "warning": 2}

_SENTENCES = {
    rules.OVER_PLATE: "{weight} t: stop loading so, it is unlawful and unsafe",
    rules.SHORT_CYCLE: "left again sooner than the {cycle:g} min a round trip takes: check the"
    " ticket",
    rules.OUTSIDE_WINDOW: "passed the gate at {out:%H:%M}, outside the gate window",
    rules.OVERRIDE: "was sent although a rule forbade it: {reason}",
    rules.UNKNOWN_AUTHORISATION: "carrier or destination without a recorded authorisation",
}


def exceptions_statement(
    ledger: LedgerReads, as_of: date, *, known_at: datetime | None = None
) -> ExceptionsStatement:
    """Everything open on a date, the worst first, and how much of it is for whom.

    Raises NotEnoughData if the ledger has no set-up.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        breaches = open_breaches(frame, standings(frame))
        lines = (*breaches, *open_warnings(frame, frame.site.first_date))
        return ExceptionsStatement(
            basis=basis(frame, frame.site.first_date),
            headline=_headline(lines, as_of),
            rules=_by_rule(lines),
            lines=lines,
        )


def open_warnings(frame: Frame, since: date | None = None) -> tuple[OpenException, ...]:
    """Open exceptions that are no breach, the serious ones first, then the newest.

    Papers, receipts, tickets and single hours at the gate are looked at from `since` on; of the
    last month if not given.
    """
    closed = closed_exceptions(frame.ledger, frame.known_at)
    first = max(frame.site.first_date, frame.as_of - LATELY) if since is None else since
    found = [
        *_of_loads(frame),
        *open_caps(frame, first),
        *open_outside(frame, first),
        *paper_exceptions(frame, first),
        *_of_tickets(frame, first),
        *_of_heaps(frame),
        *_of_weighers(frame),
        *_of_readings(frame, first),
        *hold_exceptions(frame),
    ]
    still_open = [e for e in found if (e.rule, e.about) not in closed]
    still_open += open_disagreements(frame, taken_to(frame), closed)
    newest = sorted(still_open, key=lambda e: (e.work_date, e.about), reverse=True)
    return tuple(sorted(newest, key=lambda e: _ORDER[e.severity]))


def _of_loads(frame: Frame) -> Iterator[OpenException]:
    for load in flagged_loads(frame.ledger, frame.as_of, frame.known_at):
        for flag in load.flags.split():
            yield _of_load(load, flag, _load_sentence(frame, load, flag))


def _of_load(load: LorryLoad, rule: str, sentence: str) -> OpenException:
    return OpenException(
        rule=rule,
        about=load.entry_id,
        kind="lorry_loads",
        work_date=load.gate_date,
        zone=load.zone,
        sentence=sentence,
    )


def _load_sentence(frame: Frame, load: LorryLoad, flag: str) -> str:
    vehicle = frame.vehicle(load.vehicle)
    said = _SENTENCES.get(flag, flag.replace("_", " ")).format(
        weight=_above_plate(load, vehicle),
        cycle=vehicle.min_cycle_min,
        out=local_time(load.gate_out_at, frame.site.time_zone),
        reason=load.override_reason,
    )
    plate = load.registration or "no plate"
    return f"Load {load.ticket_issuer} {load.ticket_number} ({plate}) {said}."


def _above_plate(load: LorryLoad, vehicle: Vehicle) -> str:
    """What was weighed against its plate: the gross, or the net where only that was given."""
    if load.gross_kg is not None:
        return f"gross {load.gross_kg / 1000:.2f} t is above the plated {vehicle.plated_gross_t:g}"
    net_t = (load.net_kg or 0) / 1000
    return f"net {net_t:.2f} t is above the plated payload of {vehicle.plated_payload_t:g}"


def _of_tickets(frame: Frame, since: date) -> Iterator[OpenException]:
    for load in missing_receipts(frame, since):
        yield _of_load(
            load,
            rules.NO_RECEIPT,
            f"No receipt from {load.destination} for ticket {load.ticket_issuer}"
            f" {load.ticket_number} of {date_words(load.gate_date)}. Ask the receiver.",
        )
    for gap in ticket_gaps(frame, since, frame.as_of):
        tickets = "ticket is" if gap.missing == 1 else "tickets are"
        yield OpenException(
            rule=rules.TICKETS_MISSING,
            about=gap.before_entry_id,
            kind="lorry_loads",
            work_date=gap.day,
            zone="",
            sentence=f"{gap.missing} {tickets} missing from the book of {gap.issuer}:"
            f" {gap.missing_numbers}, before {gap.before_number} of {date_words(gap.day)}. Find"
            " the ticket, or say that it was spoiled.",
        )


def _of_heaps(frame: Frame) -> Iterator[OpenException]:
    for count in counts_over_limit(frame.ledger, frame.as_of, frame.known_at):
        yield OpenException(
            rule=rules.OVER_SURCHARGE,
            about=count.entry_id,
            kind="stock_counts",
            work_date=count.work_date,
            zone="",
            sentence=f"{count.loose_l / 1000:,.0f} m³ loose of {count.stream} at {count.location}"
            f" on {date_words(count.work_date)}, above the limit of"
            f" {(count.surcharge_limit_l or 0) / 1000:,.0f} m³. A heap near the wall loads it: stop"
            " tipping there and ask the temporary works coordinator.",
        )


def _of_weighers(frame: Frame) -> Iterator[OpenException]:
    for check in failed_checks(frame.ledger, frame.as_of, frame.known_at):
        off_t = (check.shown_kg - check.reference_kg) / 1000
        yield OpenException(
            rule=rules.BELT_CHECK,
            about=check.entry_id,
            kind="belt_checks",
            work_date=check.work_date,
            zone="",
            sentence=f"The {check.method} check of {check.belt} on {date_words(check.work_date)}"
            f" found the weigher {off_t:+.3f} t off; {(check.allowed_kg or 0) / 1000:g} t are"
            " allowed. Have it adjusted, and record the reset.",
        )


def _of_readings(frame: Frame, since: date) -> Iterator[OpenException]:
    """Readings that rise by more than a belt carries: a slip of a digit enters every claim."""
    readings = frame.ledger.current(
        "belt_readings", known_at=frame.known_at, since=since, until=frame.as_of
    )
    by_belt: dict[str, list[BeltReading]] = defaultdict(list)
    for reading in sorted(readings, key=attrgetter("read_at")):
        by_belt[reading.belt].append(reading)
    for before, after in (pair for some in by_belt.values() for pair in pairwise(some)):
        hours = (after.read_at - before.read_at).total_seconds() / 3600
        risen_t = carried_kg(before, after) / 1000
        if risen_t > rules.FASTEST_BELT_T_PER_H * hours:
            yield OpenException(
                rule=rules.BELT_JUMP,
                about=after.entry_id,
                kind="belt_readings",
                work_date=after.work_date,
                zone="",
                sentence=f"{after.belt} rose by {risen_t:,.0f} t in {hours:.1f} h to its reading of"
                f" {date_words(after.work_date)}, more than a belt carries. Check the digits; until"
                " it is amended it counts in every tonne and every movement avoided.",
            )


def _by_rule(lines: tuple[OpenException, ...]) -> tuple[ExceptionsOfRule, ...]:
    return tuple(
        ExceptionsOfRule(
            rule=rule,
            severity=of_rule[0].severity,
            count=len(of_rule),
            oldest=min(e.work_date for e in of_rule),
            closes=of_rule[0].closes,
        )
        for rule in dict.fromkeys(e.rule for e in lines)
        for of_rule in [[e for e in lines if e.rule == rule]]
    )


def _headline(lines: tuple[OpenException, ...], as_of: date) -> str:
    if not lines:
        return f"No exception is open on {date_words(as_of)}."
    counts = {s: sum(e.severity == s for e in lines) for s in _ORDER}
    oldest = min(e.work_date for e in lines)
    parts = [
        f"{counts['breach']} level breach{'' if counts['breach'] == 1 else 'es'}",
        f"{counts['serious']} beyond a limit or without papers",
        f"{counts['warning']} to look into",
    ]
    return (
        f"Open on {date_words(as_of)}: {', '.join(parts)}; the oldest since {date_words(oldest)}."
    )
