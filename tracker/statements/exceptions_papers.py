"""Open exceptions of papers: notes, declarations, authorisations that end."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import accumulate

from tracker.domain import rules
from tracker.domain.papers import (
    DECLARED_REUSE,
    ReuseStanding,
    covers_one,
    is_waste,
    note_findings,
    reuse_warning,
)
from tracker.ledger.entries import ReuseDeclaration, TransferNote
from tracker.ledger.papers import NoteUse, moved_kg, note_uses, notes_of
from tracker.statements.frame import Frame
from tracker.statements.shapes import OpenException
from tracker.statements.words import date_words

ENDS_SOON = timedelta(days=30)


def paper_exceptions(frame: Frame, since: date) -> Iterator[OpenException]:
    """What is wrong with the papers of loads from a date on, closed or not."""
    uses = [
        use
        for use in note_uses(frame.ledger, since, frame.as_of, frame.known_at)
        if is_waste(frame.site_on(use.gate_date).stream(use.stream).regime)
    ]
    yield from _without_note(use for use in uses if not use.note_number)
    by_note: dict[str, list[NoteUse]] = defaultdict(list)
    for use in uses:
        by_note[use.note_number].append(use)
    by_note.pop("", None)
    notes = notes_of(frame.ledger, by_note, frame.known_at)
    for number, under in by_note.items():
        yield from _of_note(number, notes.get(number), under)
    yield from _of_declarations(frame)
    yield from _ending(frame)


# --- notes ---------------------------------------------------------------------------------------
def _without_note(uses: Iterator[NoteUse]) -> Iterator[OpenException]:
    for use in uses:
        yield OpenException(
            rule=rules.NO_NOTE,
            about=f"day {use.gate_date} {use.stream} {use.carrier} {use.destination}",
            kind="",
            work_date=use.gate_date,
            zone="",
            sentence=f"{_loads(use.loads)} of {use.stream} to {use.destination} on"
            f" {date_words(use.gate_date)} left without a transfer note (first ticket"
            f" {use.first_ticket}). Find the note and amend the loads, or say why there is none.",
            look_for=use.first_ticket,
        )


def _of_note(
    number: str, note: TransferNote | None, under: Sequence[NoteUse]
) -> Iterator[OpenException]:
    loads, first = sum(use.loads for use in under), under[0].gate_date
    if note is None:
        yield _about_note(
            rules.NOTE_NOT_RECORDED,
            number,
            first,
            f"{_loads(loads)} from {date_words(first)} on go under note {number}, which is not on"
            " record. Record it, so that they can be held against it.",
        )
        return
    findings: Counter[str] = Counter()
    for use in under:
        for said in note_findings(note, use):
            findings[said] += use.loads
    if findings:
        days = [use.gate_date for use in under if note_findings(note, use)]
        yield _about_note(
            rules.NOTE_DOES_NOT_COVER,
            number,
            days[0],
            f"{_loads(sum(findings.values()))}: {next(iter(findings))}"
            + (f" And {len(findings) - 1} more reasons." if len(findings) > 1 else "")
            + " Correct the loads or the note, or say why they went.",
        )
    if covers_one(note) and loads > 1:
        yield _about_note(
            rules.NOTE_USED_TWICE,
            number,
            first,
            f"{note.form.capitalize()} note {number} covers one load and is named by {loads}. Each"
            " needs its own.",
        )


def _about_note(rule: str, number: str, since: date, sentence: str) -> OpenException:
    return OpenException(
        rule=rule,
        about=f"note {number}",
        kind="",
        work_date=since,
        zone="",
        sentence=sentence,
        look_for=number,
    )


def _loads(count: int) -> str:
    return f"{count:,} load{'' if count == 1 else 's'}"


# --- declared re-use -----------------------------------------------------------------------------
def _of_declarations(frame: Frame) -> Iterator[OpenException]:
    declared: dict[tuple[str, str], list[ReuseDeclaration]] = defaultdict(list)
    for entry in frame.ledger.current(
        "reuse_declarations", known_at=frame.known_at, until=frame.as_of
    ):
        declared[entry.stream, entry.destination].append(entry)
    for (stream, destination), moved in moved_by_day(frame).items():
        entries = declared[stream, destination]
        first = min((e.received_on for e in entries), default=None)
        early = {day: kg for day, kg in moved.items() if first is None or day < first}
        if early:
            yield _too_early(stream, destination, first, early)
        if entries:
            yield from _used_up(frame, entries, moved)


def moved_by_day(frame: Frame) -> dict[tuple[str, str], dict[date, int]]:
    """(stream, destination) -> day -> what went, of ground for declared re-use [kg], by day."""
    found: dict[tuple[str, str], dict[date, int]] = defaultdict(lambda: defaultdict(int))
    streams = {s.stream for s in frame.site.streams if s.regime == DECLARED_REUSE}
    if not streams:
        return found
    moved = moved_kg(frame.ledger, streams, frame.site_on, frame.as_of, frame.known_at)
    for (day, stream, route), kg in moved.items():
        found[stream, frame.route(route).destination][day] += kg
    return found


def _too_early(
    stream: str, destination: str, received: date | None, early: dict[date, int]
) -> OpenException:
    why = (
        "no re-use declaration is on record"
        if received is None
        else f"the re-use declaration was received on {date_words(received)}"
    )
    return OpenException(
        rule=rules.NO_DECLARATION,
        about=f"stream {stream} {destination}",
        kind="",
        work_date=min(early),
        zone="",
        sentence=f"{sum(early.values()) / 1000:,.0f} t of {stream} went to {destination} from"
        f" {date_words(min(early))} on; {why}. No load goes before its receipt is confirmed.",
        look_for=stream,
    )


def reuse_standing(
    frame: Frame, entries: Sequence[ReuseDeclaration], moved_t: float
) -> tuple[ReuseStanding, str]:
    """All declarations of one stream to one place together, and the unit they are counted in.

    In bank m³ if all were declared so, by the density of the set-up in force; else in tonnes.
    """
    density = frame.site.stream(entries[0].stream).bank_density_t_per_m3.value
    if all(e.declared_l for e in entries):
        declared_m3 = sum((e.declared_l or 0) / 1000 for e in entries)
        return ReuseStanding(declared_m3, moved_t / density), "m³ bank"
    declared_t = sum((e.declared_kg or 0) + (e.declared_l or 0) * density for e in entries) / 1000
    return ReuseStanding(declared_t, moved_t), "t"


def _used_up(
    frame: Frame, entries: Sequence[ReuseDeclaration], moved: dict[date, int]
) -> Iterator[OpenException]:
    """The highest warning reached, since the day on which it was."""
    standing, unit = reuse_standing(frame, entries, sum(moved.values()) / 1000)
    reached = standing.reached_percent
    if not reached:
        return
    since = next(
        day
        for day, total_kg in zip(moved, accumulate(moved.values()), strict=True)
        if reuse_standing(frame, entries, total_kg / 1000)[0].reached_percent >= reached
    )
    last = max(entries, key=lambda e: (e.received_on, e.entry_id))
    yield OpenException(
        rule=rules.REUSE_RULES[reached],
        about=last.entry_id,
        kind="reuse_declarations",
        work_date=since,
        zone="",
        sentence=reuse_warning(", ".join(e.declaration for e in entries), standing, unit),
    )


# --- authorisations ------------------------------------------------------------------------------
def _ending(frame: Frame) -> Iterator[OpenException]:
    """Carriers and destinations whose authorisation ends within thirty days."""
    for what, parties in (
        ("carrier", frame.site.carriers),
        ("destination", frame.site.destinations),
    ):
        for party in parties:
            ends = party.valid_to
            if ends is None or not frame.as_of <= ends <= frame.as_of + ENDS_SOON:
                continue
            yield OpenException(
                rule=rules.AUTHORISATION_ENDS,
                about=f"{what} {getattr(party, what)} {ends}",
                kind="",
                work_date=ends - ENDS_SOON,
                zone="",
                sentence=f"The authorisation of {party.name} ends on {date_words(ends)}; loads"
                " after that will be refused. Ask for the new one and put it in the set-up.",
                look_for=getattr(party, what),
            )
