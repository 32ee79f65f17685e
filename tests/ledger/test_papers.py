"""What loads are held against, asked of a ledger."""

from __future__ import annotations

from tests.ledger.samples import a_declaration, a_load, a_note, a_reading
from tracker.ledger.papers import declarations_of, loads_under, moved_kg, notes_of


def test_notes_and_loads_are_found_by_the_number_of_the_note(ledger):
    ledger.append([a_note(), a_note(note_number="N-2")], by="engineer")
    loads = [a_load(f"T-{n}", transfer_note=note) for n, note in enumerate(("N-1", "N-1", "N-3"))]
    ledger.append(loads, by="gate")
    assert set(notes_of(ledger, ["N-1", "N-3"])) == {"N-1"}
    found = loads_under(ledger, ["N-1", "N-2"])
    assert [len(found[number]) for number in ("N-1", "N-2")] == [2, 0]


def test_many_names_are_asked_for_at_once(ledger):
    ledger.append([a_note(note_number=f"N-{n}") for n in range(3)], by="engineer")
    assert len(notes_of(ledger, [f"N-{n}" for n in range(1000)])) == 3


def test_a_withdrawn_note_is_on_record_no_more(ledger):
    ledger.append([a_note(entry_id="n")], by="engineer")
    ledger.withdraw("n", reason="spoiled", by="engineer")
    assert notes_of(ledger, ["N-1"]) == {}


def test_what_went_under_a_declaration_is_counted_by_belt_and_by_lorry(ledger):
    ledger.append([a_declaration()], by="engineer")
    ledger.append([a_load(stream="gravel", route="R-EMB", net_kg=19_000)], by="gate")
    ledger.append([a_load("T-2", stream="gravel", route="R-TIP", net_kg=7_000)], by="gate")
    ledger.append(
        [a_reading(0, 0), a_reading(1, 50_000, stream="gravel", route="B-EMB")], by="operator"
    )
    assert len(declarations_of(ledger, "gravel", "embankment")) == 1
    assert declarations_of(ledger, "clay", "embankment") == []
    assert moved_kg(ledger, "gravel", ["R-EMB", "B-EMB"]) == 69_000
