"""Loads held against the papers they go under: notes and re-use declarations on record.

What a record contradicts is refused unless somebody says why it went all the same. What is not on
record yet is said once a file: papers often come after the loads.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from tracker.domain.papers import (
    CONSIGNMENT,
    DECLARED_REUSE,
    HAZARDOUS,
    ReuseStanding,
    covers_one,
    is_waste,
    note_findings,
    reuse_warning,
)
from tracker.domain.rules import OVERRIDE
from tracker.domain.site import Site
from tracker.ledger.entries import LorryLoad, ReuseDeclaration, TransferNote
from tracker.ledger.papers import (
    declarations_of,
    loads_under,
    moved_kg,
    notes_of,
    usual_payload_kg,
)
from tracker.ledger.store import Ledger
from tracker.recording.fields import Fields


class Papers:
    """Notes and declarations around the loads of one file or form, looked up once each."""

    def __init__(self, ledger: Ledger, instead_of: str) -> None:
        self._ledger = ledger
        self._instead_of = instead_of  # the load that is being amended
        self._notes: dict[str, TransferNote | None] = {}
        self._covered: dict[tuple[str, str, str, str, date], tuple[str, ...]] = {}
        self._under: dict[str, set[str]] = {}  # note that covers one load -> the loads under it
        self._declared: dict[tuple[str, str], list[ReuseDeclaration]] = {}
        self._moved_kg: dict[tuple[str, str], int] = {}
        self._told: set[tuple[str, ...]] = set()

    def check_loads(self, rows: Sequence[Fields]) -> None:
        """Check rows that hold loads; a row refused here has failed."""
        self._learn_notes({r.entry.transfer_note for r in rows if isinstance(r.entry, LorryLoad)})
        for row in rows:
            load = row.entry
            if not isinstance(load, LorryLoad) or row.failed:
                continue
            regime = row.setup.streams[load.stream].regime
            if is_waste(regime):
                self._check_note(row, load, hazardous=regime == HAZARDOUS)
            elif regime == DECLARED_REUSE:
                self._check_declared(row, load)

    def _learn_notes(self, numbers: set[str]) -> None:
        fresh = numbers - {""} - self._notes.keys()
        if fresh:
            known = notes_of(self._ledger, fresh)
            self._notes |= {number: known.get(number) for number in fresh}
            for_one = [number for number, note in known.items() if covers_one(note)]
            under = loads_under(self._ledger, for_one)
            self._under |= {
                number: {o.ticket_number for o in under[number] if o.entry_id != self._instead_of}
                for number in for_one
            }

    def _check_note(self, row: Fields, load: LorryLoad, *, hazardous: bool) -> None:
        number = load.transfer_note
        note = self._notes.get(number) if number else None
        if note is not None:
            for said in self._findings(note, load):
                _refuse(row, "transfer_note", said)
            self._check_alone(row, load, note)
        if hazardous and (note is None or note.form != CONSIGNMENT):
            _refuse(
                row,
                "transfer_note",
                "Hazardous waste goes under a consignment note of its own, on record before it"
                " moves.",
            )
        elif not number:
            self._say_once(
                row, "transfer_note", ("none",), "No transfer note is named; waste goes under one."
            )
        elif note is None:
            self._say_once(
                row,
                "transfer_note",
                (number,),
                f"Note {number} is not on record. Record it, so that its loads can be held against"
                " it.",
            )

    def _findings(self, note: TransferNote, load: LorryLoad) -> tuple[str, ...]:
        """As `note_findings`; under a season note the same for all loads of a day."""
        if covers_one(note):
            return note_findings(note, load)
        key = (note.note_number, load.stream, load.carrier, load.destination, load.gate_date)
        if key not in self._covered:
            self._covered[key] = note_findings(note, load)
        return self._covered[key]

    def _check_alone(self, row: Fields, load: LorryLoad, note: TransferNote) -> None:
        """A transfer note covers one load, a consignment note one movement."""
        if not covers_one(note) or load.reconsigned_from:
            return
        number = note.note_number
        others = self._under[number] - {load.ticket_number}
        if others:
            _refuse(
                row,
                "transfer_note",
                f"Note {number} covers one load and is used by ticket {min(others)} already.",
            )
        self._under[number].add(load.ticket_number)

    # --- declared re-use -------------------------------------------------------------------------
    def _check_declared(self, row: Fields, load: LorryLoad) -> None:
        where = (load.stream, load.destination)
        if where not in self._declared:
            self._declared[where] = declarations_of(self._ledger, *where)
        declared = self._declared[where]
        if not declared:
            self._say_once(
                row,
                "stream",
                where,
                f"No re-use declaration of {load.stream} to {load.destination} is on record. Record"
                " it; no load goes before its receipt is confirmed.",
            )
            return
        first = min(d.received_on for d in declared)
        if load.gate_date < first:
            _refuse(
                row,
                "gate_out_at",
                f"The re-use declaration was received on {first}; the load is of {load.gate_date}.",
            )
        self._check_quantity(row, load, declared)

    def _check_quantity(
        self, row: Fields, load: LorryLoad, declared: Sequence[ReuseDeclaration]
    ) -> None:
        """Say so on the load with which the quantity moved reaches 80, 90 or 100 %."""
        where = (load.stream, load.destination)
        if where not in self._moved_kg:
            self._moved_kg[where] = self._moved_before_kg(row, load)
        if load.outcome == "rejected":
            return
        density = row.setup.streams[load.stream].bank_density_t_per_m3.value
        before = _standing(declared, self._moved_kg[where] / 1000, density)
        self._moved_kg[where] += _counted_kg(row.setup.site, load)
        after = _standing(declared, self._moved_kg[where] / 1000, density)
        if after.reached_percent > before.reached_percent:
            names = ", ".join(d.declaration for d in declared)
            row.warn("net_t", reuse_warning(names, after, "t"))

    def _moved_before_kg(self, row: Fields, load: LorryLoad) -> int:
        """What went of a stream to a place, the load that is being amended left out."""
        routes = {r.route for r in row.setup.site.routes if r.destination == load.destination}
        moved = moved_kg(self._ledger, {load.stream}, self._ledger.site)
        before_kg = sum(kg for (_, _, route), kg in moved.items() if route in routes)
        old = self._ledger.stored(self._instead_of).entry if self._instead_of else None
        if not isinstance(old, LorryLoad) or old.outcome == "rejected":
            return before_kg
        counted = old.stream == load.stream and old.route in routes
        return before_kg - counted * _counted_kg(self._ledger.site(old.gate_date), old)

    def _say_once(self, row: Fields, column: str, about: tuple[str, ...], said: str) -> None:
        if about not in self._told:
            self._told.add(about)
            row.warn(column, said)


def _counted_kg(site: Site, load: LorryLoad) -> int:
    """The net weight of a load; without one, the usual payload of its vehicle."""
    if load.net_kg is None:
        return usual_payload_kg(site, load.vehicle, load.stream)
    return load.net_kg


def _standing(
    declared: Sequence[ReuseDeclaration], moved_t: float, density: float
) -> ReuseStanding:
    """All declarations of a stream and destination together, in tonnes."""
    declared_t = sum(
        (d.declared_kg or 0) / 1000 + (d.declared_l or 0) / 1000 * density for d in declared
    )
    return ReuseStanding(declared_t, moved_t)


def _refuse(row: Fields, column: str, said: str) -> None:
    """Refuse a load, or let it in with the flag where somebody said why it went."""
    load = row.entry
    if isinstance(load, LorryLoad) and load.override_reason:
        row.warn(column, said)
        if OVERRIDE not in load.flags.split():
            row.entry = replace(load, flags=f"{load.flags} {OVERRIDE}".strip())
        return
    row.wrong(
        column,
        f"{said} The load is refused; if it went all the same, say why and on whose word in"
        " override_reason.",
    )
