"""How whole the tickets of a period are: books, gaps, and loads that somebody should look at."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from statistics import median

from tracker.domain.haulage import usual_payload_t
from tracker.domain.rules import OVER_PLATE, SHORT_CYCLE
from tracker.ledger.entries import LorryLoad
from tracker.statements.frame import Frame
from tracker.statements.receivers import ticket_words
from tracker.statements.spoil_shapes import ChainLine, GapLine, IssuerLine, TicketFinding
from tracker.statements.tickets import Gap, book_of

# Common practice, no source.
PART_LOAD = 0.6  # of the usual payload of the vehicle
TARE_OFF_KG = 300  # from the median of the same registration
FEWEST_TARES = 3  # for a median of a registration
UNNUMBERED = "no digits at the end"


def issuer_lines(loads: Sequence[LorryLoad], gaps: Sequence[Gap]) -> tuple[IssuerLine, ...]:
    """The books of each issuer in a period, from their first number to their last."""
    books: dict[tuple[str, str], list[tuple[int, str]]] = defaultdict(list)
    for load in loads:
        prefix, number = book_of(load.ticket_number) or (UNNUMBERED, 0)
        books[load.ticket_issuer, prefix].append((number, load.ticket_number))
    of_book: dict[tuple[str, str], list[Gap]] = defaultdict(list)
    for gap in gaps:
        prefix, _ = book_of(gap.before_number) or (UNNUMBERED, 0)
        of_book[gap.issuer, prefix].append(gap)
    return tuple(
        IssuerLine(
            issuer=issuer,
            book=prefix,
            first_number=min(numbers)[1],
            last_number=max(numbers)[1],
            tickets=len(numbers),
            gaps=len(of_book[issuer, prefix]),
            missing=sum(gap.missing for gap in of_book[issuer, prefix]),
        )
        for (issuer, prefix), numbers in sorted(books.items())
    )


def gap_lines(gaps: Sequence[Gap]) -> tuple[GapLine, ...]:
    """Gaps as people read them."""
    return tuple(
        GapLine(
            issuer=gap.issuer,
            missing_numbers=gap.missing_numbers,
            missing=gap.missing,
            after_number=gap.after_number,
            after_day=gap.after_day,
            before_number=gap.before_number,
            before_day=gap.day,
            before_entry_id=gap.before_entry_id,
        )
        for gap in gaps
    )


def ticket_findings(frame: Frame, loads: Sequence[LorryLoad]) -> tuple[TicketFinding, ...]:
    """Overloads, impossible turn-rounds, part loads, loads without a weight, tares that stray."""
    found = [(load, *said) for load in loads for said in _of_load(frame, load)]
    found += _tares(loads)
    return tuple(
        TicketFinding(
            what=what,
            entry_id=load.entry_id,
            gate_date=load.gate_date,
            ticket=ticket_words(load),
            registration=load.registration,
            sentence=sentence,
        )
        for load, what, sentence in sorted(found, key=lambda f: (f[1], f[0].gate_out_at))
    )


def _of_load(frame: Frame, load: LorryLoad) -> Iterator[tuple[str, str]]:
    flags = load.flags.split()
    if OVER_PLATE in flags:
        plate_t = frame.vehicle(load.vehicle).plated_gross_t
        gross = f"gross {load.gross_kg / 1000:.2f} t" if load.gross_kg else "its net weight"
        yield "above the plate", f"{gross} is above the plate ({plate_t:g} t gross)"
    if SHORT_CYCLE in flags:
        least_min = frame.vehicle(load.vehicle).min_cycle_min
        yield "impossible turn-round", f"left again in less than {least_min:g} min"
    if load.weight_basis != "weighed":
        yield "not weighed", "weight estimated" if load.net_kg else "no weight on the ticket"
    if load.net_kg is not None and load.weight_basis == "weighed":
        usual_t = usual_payload_t(frame.site_on(load.gate_date), load.vehicle, load.stream)
        share = load.net_kg / 1000.0 / usual_t
        if share < PART_LOAD:
            yield (
                "part load",
                f"net {load.net_kg / 1000:.2f} t is {100 * share:.0f} % of the usual"
                f" {usual_t:.1f} t",
            )


def _tares(loads: Sequence[LorryLoad]) -> list[tuple[LorryLoad, str, str]]:
    by_plate: dict[str, list[LorryLoad]] = defaultdict(list)
    for load in loads:
        if load.registration and load.tare_kg is not None:
            by_plate[load.registration].append(load)
    found = []
    for registration, of in by_plate.items():
        usual_kg = median(load.tare_kg or 0 for load in of)
        for load in of if len(of) >= FEWEST_TARES else ():
            off_kg = (load.tare_kg or 0) - usual_kg
            if abs(off_kg) > TARE_OFF_KG:
                sentence = (
                    f"tare {(load.tare_kg or 0) / 1000:.2f} t, {off_kg:+,.0f} kg from the"
                    f" {usual_kg / 1000:.2f} t that {registration} usually weighs empty"
                )
                found.append((load, "tare strays", sentence))
    return found


def chain_lines(frame: Frame, loads: Sequence[LorryLoad]) -> tuple[ChainLine, ...]:
    """Rejected loads of a period with the loads that carried them on."""
    rejected = {load.entry_id: load for load in loads if load.outcome == "rejected"}
    found = []
    for load in loads:
        if load.reconsigned_from:
            first = _rejected(frame, load, list(rejected.values()))
            rejected.pop(first.entry_id if first else "", None)
            found.append(_chain(frame, first, load))
    found += [_chain(frame, load, None) for load in rejected.values()]
    return tuple(sorted(found, key=lambda chain: chain.rejected_on or frame.as_of))


def _rejected(frame: Frame, load: LorryLoad, among: Sequence[LorryLoad]) -> LorryLoad | None:
    """The rejected load whose ticket a load names: of the same issuer if there is one."""
    same = [r for r in among if r.ticket_number == load.reconsigned_from]
    if not same:
        asked = {"ticket_number": load.reconsigned_from, "outcome": "rejected"}
        same = frame.ledger.current("lorry_loads", known_at=frame.known_at, where=asked)
    same.sort(key=lambda r: r.ticket_issuer != load.ticket_issuer)
    return same[0] if same else None


def _chain(frame: Frame, first: LorryLoad | None, then: LorryLoad | None) -> ChainLine:
    weighed = then or first
    state = (
        "sent on"
        if first and then
        else "rejected, not sent on"
        if first
        else "sent on; the rejected load is not recorded"
    )
    return ChainLine(
        rejected_ticket=ticket_words(first) if first else (then.reconsigned_from if then else ""),
        rejected_entry_id=first.entry_id if first else "",
        rejected_on=first.gate_date if first else None,
        sent_on_ticket=ticket_words(then) if then else "",
        sent_on_entry_id=then.entry_id if then else "",
        sent_on_to=frame.destination(then.destination).name if then else "",
        mass_t=weighed.net_kg / 1000.0 if weighed and weighed.net_kg is not None else None,
        state=state,
    )
