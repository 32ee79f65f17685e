"""Papers of the loads of a period: notes, declarations of re-use, authorisations that end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from tracker.domain import rules
from tracker.domain.papers import (
    DECLARED_REUSE,
    covers_one,
    is_waste,
    keep_until,
    note_findings,
    reuse_warning,
)
from tracker.domain.site import Carrier, Destination
from tracker.ledger.entries import LorryLoad, ReuseDeclaration, TransferNote
from tracker.ledger.papers import loads_under, notes_of
from tracker.statements.exceptions_papers import moved_by_day, reuse_standing
from tracker.statements.frame import Frame
from tracker.statements.receivers import load_mass_t, ticket_words
from tracker.statements.spoil_shapes import (
    AuthorisationLine,
    DeclarationLine,
    NoteLine,
    PaperFinding,
)

ENDS_WITHIN_DAYS = 30  # an authorisation is listed from then on; common practice, no source


def waste_loads(frame: Frame, loads: Iterable[LorryLoad]) -> list[LorryLoad]:
    """The loads that leave under a note, by the set-up of their day."""
    return [x for x in loads if is_waste(frame.site_on(x.gate_date).stream(x.stream).regime)]


def _recorded(frame: Frame, loads: Iterable[LorryLoad]) -> dict[str, TransferNote]:
    numbers = {load.transfer_note for load in loads if load.transfer_note}
    return notes_of(frame.ledger, numbers, frame.known_at)


# --- notes ---------------------------------------------------------------------------------------
def note_lines(frame: Frame, since: date, loads: Sequence[LorryLoad]) -> tuple[NoteLine, ...]:
    """Notes that waste of a period went under, and notes valid in it; by the order of their use."""
    under: dict[str, list[LorryLoad]] = defaultdict(list)
    for load in waste_loads(frame, loads):
        if load.transfer_note:
            under[load.transfer_note].append(load)
    notes: list[TransferNote] = frame.ledger.current(
        "transfer_notes", known_at=frame.known_at, until=frame.as_of
    )
    known = {note.note_number: note for note in notes}
    unused = [n for n, note in known.items() if n not in under and note.valid_to >= since]
    return tuple(
        _note_line(frame, number, known.get(number), under.get(number, []))
        for number in (*under, *unused)
    )


def _note_line(
    frame: Frame, number: str, note: TransferNote | None, loads: Sequence[LorryLoad]
) -> NoteLine:
    last = max((load.gate_date for load in loads), default=None)
    kept = keep_until(note.form, frame.site.nation, last) if note and last else None
    return NoteLine(
        note_number=number,
        form=note.form if note else "",
        entry_id=note.entry_id if note else "",
        stream=note.stream if note else "",
        waste_code=note.waste_code if note else "",
        carrier=note.carrier if note else "",
        destination=note.destination if note else "",
        valid_from=note.valid_from if note else None,
        valid_to=note.valid_to if note else None,
        loads=len(loads),
        mass_t=sum(load_mass_t(frame, load) for load in loads),
        last_load_on=last,
        keep_until=kept,
        state="on record" if note else "not on record",
    )


def paper_findings(frame: Frame, loads: Sequence[LorryLoad]) -> tuple[PaperFinding, ...]:
    """Loads whose note is missing or does not cover them, and streams without a declaration."""
    waste = waste_loads(frame, loads)
    notes = _recorded(frame, waste)
    found = [*_without_note(waste, notes), *_not_covered(waste, notes)]
    found += [*_used_twice(frame, waste, notes), *_without_declaration(frame, loads)]
    return tuple(
        PaperFinding(rule, load.entry_id, load.gate_date, ticket_words(load), sentence)
        for rule, load, sentence in found
    )


_Found = Iterator[tuple[str, LorryLoad, str]]


def _without_note(waste: Sequence[LorryLoad], notes: Mapping[str, TransferNote]) -> _Found:
    """Each load without a note; a note that is not on record once, with its first load."""
    missing: dict[str, list[LorryLoad]] = defaultdict(list)
    for load in waste:
        if not load.transfer_note:
            yield rules.NO_NOTE, load, "Waste left without a transfer note."
        elif load.transfer_note not in notes:
            missing[load.transfer_note].append(load)
    for number, of in missing.items():
        words = f"Note {number} is not on record; loads under it in the period: {len(of)}."
        yield rules.NOTE_NOT_RECORDED, of[0], words


def _not_covered(waste: Sequence[LorryLoad], notes: Mapping[str, TransferNote]) -> _Found:
    for load in waste:
        note = notes.get(load.transfer_note)
        for said in note_findings(note, load) if note else ():
            yield rules.NOTE_DOES_NOT_COVER, load, said


def _used_twice(
    frame: Frame, waste: Sequence[LorryLoad], notes: Mapping[str, TransferNote]
) -> _Found:
    """Loads of the period beyond the first under a note that covers one. A load that carries on a
    rejected one is no second use.
    """
    for_one = [number for number, note in notes.items() if covers_one(note)]
    shown = {load.entry_id for load in waste}
    for number, of in loads_under(frame.ledger, for_one, frame.known_at).items():
        own = [load for load in of if not load.reconsigned_from and load.gate_date <= frame.as_of]
        own.sort(key=lambda load: load.gate_out_at)
        for load in own[1:]:
            if load.entry_id in shown:
                first = ticket_words(own[0])
                words = f"Note {number} covers one load, and {first} went under it already."
                yield rules.NOTE_USED_TWICE, load, words


# --- declared re-use -----------------------------------------------------------------------------
def _declared(frame: Frame) -> dict[tuple[str, str], list[ReuseDeclaration]]:
    """(stream, destination) -> its declarations, by the date of receipt."""
    entries: list[ReuseDeclaration] = frame.ledger.current(
        "reuse_declarations", known_at=frame.known_at, until=frame.as_of
    )
    found: dict[tuple[str, str], list[ReuseDeclaration]] = defaultdict(list)
    for entry in sorted(entries, key=lambda e: (e.received_on, e.declaration)):
        found[entry.stream, entry.destination].append(entry)
    return found


def declaration_lines(frame: Frame) -> tuple[DeclarationLine, ...]:
    """What was moved against what was declared, declarations of one place and stream together."""
    found, moved = [], moved_by_day(frame)
    for (stream, place), of in _declared(frame).items():
        moved_t = sum(moved.get((stream, place), {}).values()) / 1000.0
        standing, unit = reuse_standing(frame, of, moved_t)
        density = frame.site.stream(stream).bank_density_t_per_m3.value
        names = ", ".join(d.declaration for d in of)
        found.append(
            DeclarationLine(
                stream=stream,
                destination=frame.destination(place).name,
                declarations=names,
                received_on=of[0].received_on,
                declared_t=standing.declared * (1.0 if unit == "t" else density),
                moved_t=moved_t,
                percent=standing.percent,
                reached_percent=standing.reached_percent,
                warning=reuse_warning(names, standing, unit),
            )
        )
    return tuple(found)


def _without_declaration(frame: Frame, loads: Sequence[LorryLoad]) -> _Found:
    """Streams for declared re-use that went to a place before any declaration was received."""
    declared, told = _declared(frame), set()
    for load in loads:
        stream = frame.site_on(load.gate_date).stream(load.stream)
        where = (load.stream, load.destination)
        if stream.regime != DECLARED_REUSE or where in told:
            continue
        received = [d.received_on for d in declared.get(where, [])]
        if not received or load.gate_date < min(received):
            told.add(where)
            place = frame.destination(load.destination).name
            words = f"{stream.name} went to {place} and no declaration was received before."
            yield rules.NO_DECLARATION, load, words


# --- authorisations ------------------------------------------------------------------------------
def authorisation_lines(frame: Frame, loads: Sequence[LorryLoad]) -> tuple[AuthorisationLine, ...]:
    """Registrations of the set-up in force that end within 30 days, have ended or are not known."""
    found = []
    for carrier in frame.site.carriers:
        used = sum(load.carrier == carrier.carrier for load in loads)
        found.append(_authorisation(frame, "carrier", carrier, carrier.registration, used))
    for place in frame.site.destinations:
        used = sum(load.destination == place.destination for load in loads)
        found.append(_authorisation(frame, "destination", place, place.authorisation, used))
    listed = [a for a in found if a.days_left is None or a.days_left <= ENDS_WITHIN_DAYS]
    return tuple(sorted(listed, key=lambda a: (a.days_left is None, a.days_left or 0)))


def _authorisation(
    frame: Frame, what: str, party: Carrier | Destination, number: str, loads: int
) -> AuthorisationLine:
    left = None if party.valid_to is None else (party.valid_to - frame.as_of).days
    if left is None or not number:
        state = "number or end not known"
    else:
        state = "ended" if left < 0 else f"ends in {left} days"
    return AuthorisationLine(
        what=what,
        code=getattr(party, what),
        name=party.name,
        number=number,
        valid_to=party.valid_to,
        days_left=left,
        loads=loads,
        state=state,
    )
