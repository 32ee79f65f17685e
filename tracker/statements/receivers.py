"""Receivers: what was sent to each place, and what its receipts say of the same loads."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from tracker.domain.haulage import usual_payload_t
from tracker.ledger.entries import LorryLoad, Receipt
from tracker.ledger.tickets import receipts_of
from tracker.statements.frame import Frame
from tracker.statements.spoil_shapes import DestinationLine, MissingReceipt


def destination_lines(
    frame: Frame, since: date, loads: Sequence[LorryLoad], overdue: Sequence[LorryLoad]
) -> tuple[DestinationLine, ...]:
    """Loads of a period by destination, each held against its receipts to the as-of date."""
    found = receipts_of(frame.ledger, since, frame.as_of, frame.as_of, frame.known_at)
    receipts: dict[tuple[str, str], list[Receipt]] = defaultdict(list)
    for receipt in found:
        receipts[receipt.ticket_issuer, receipt.ticket_number].append(receipt)
    late = {load.entry_id for load in overdue}
    by_place: dict[str, list[LorryLoad]] = defaultdict(list)
    for load in loads:
        by_place[load.destination].append(load)
    return tuple(_line(frame, place, of, receipts, late) for place, of in sorted(by_place.items()))


def _line(
    frame: Frame,
    place: str,
    loads: Sequence[LorryLoad],
    receipts: dict[tuple[str, str], list[Receipt]],
    late: set[str],
) -> DestinationLine:
    destination = frame.destination(place)
    sent = [load for load in loads if load.outcome != "rejected"]
    answered = [load for load in sent if _of(load, receipts)]
    silent = [load for load in sent if not _of(load, receipts)]
    replies = [receipt for load in answered for receipt in _of(load, receipts)]
    accepted_t = sum(r.accepted_kg for r in replies if r.outcome == "accepted") / 1000.0
    return DestinationLine(
        destination=place,
        name=destination.name,
        kind=destination.kind,
        loads=sum(not load.reconsigned_from for load in loads),
        carried_on=sum(bool(load.reconsigned_from) for load in loads),
        loads_rejected=len(loads) - len(sent),
        dispatched_t=sum(load_mass_t(frame, load) for load in sent),
        receipts=len(replies),
        accepted_t=accepted_t,
        refused_by_receipt=sum(r.outcome != "accepted" for r in replies),
        difference_t=sum(load_mass_t(frame, load) for load in answered) - accepted_t,
        without_receipt=len(silent),
        without_receipt_t=sum(load_mass_t(frame, load) for load in silent),
        overdue=sum(load.entry_id in late for load in silent),
    )


def _of(load: LorryLoad, receipts: dict[tuple[str, str], list[Receipt]]) -> list[Receipt]:
    return receipts.get((load.ticket_issuer, load.ticket_number), [])


def load_mass_t(frame: Frame, load: LorryLoad) -> float:
    """The net weight of a load, or the usual payload of its vehicle by the set-up of its day."""
    if load.net_kg is not None:
        return load.net_kg / 1000.0
    return usual_payload_t(frame.site_on(load.gate_date), load.vehicle, load.stream)


def ticket_words(load: LorryLoad) -> str:
    """A ticket as people name it."""
    return f"{load.ticket_issuer} {load.ticket_number}"


def missing_lines(frame: Frame, overdue: Sequence[LorryLoad]) -> tuple[MissingReceipt, ...]:
    """Loads with no receipt after two working days, the oldest first."""
    return tuple(
        MissingReceipt(
            entry_id=load.entry_id,
            ticket=ticket_words(load),
            gate_date=load.gate_date,
            days_waiting=(frame.as_of - load.gate_date).days,
            destination=frame.destination(load.destination).name,
            mass_t=None if load.net_kg is None else load.net_kg / 1000.0,
        )
        for load in overdue
    )
