"""What loads are held against, asked of a ledger."""

from __future__ import annotations

from dataclasses import replace

from tests.ledger.samples import DAY, a_declaration, a_load, a_note, a_reading, site_tables
from tracker.domain.site_tables import site_from_tables
from tracker.ledger.papers import declarations_of, loads_under, moved_kg, notes_of

SITE, _ = site_from_tables(site_tables())


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
    moved = moved_kg(ledger, {"gravel"}, lambda day: SITE)
    by_route = {route: kg for (_, _, route), kg in moved.items()}
    assert by_route == {"R-EMB": 19_000, "R-TIP": 7_000, "B-EMB": 50_000}


def test_a_load_without_a_weight_counts_at_the_payload_of_its_vehicle_on_its_day(ledger):
    """12.5 m³ x 1.08 / 1.12 x 1.90 t/m³ = 22.9 t is above the plate of 20 t; 5.6 m³ are 9.5 t."""
    given = {"stream": "gravel", "route": "R-EMB", "vehicle": "rigid_32"}
    ledger.append([a_load(f"T-{n}", **given, net_kg=None) for n in range(3)], by="gate")
    ledger.append([a_load("T-9", **given, net_kg=18_000)], by="gate")
    rigid = replace(SITE.vehicle("rigid_32"), body_m3=5.6, fill=1.0)
    for site, each_kg in ((SITE, 20_000), (replace(SITE, vehicles=(rigid,)), 9_500)):
        moved = moved_kg(ledger, {"gravel"}, {DAY: site}.__getitem__)
        assert moved == {(DAY, "gravel", "R-EMB"): 3 * each_kg + 18_000}
    assert moved_kg(ledger, {"clay"}, lambda day: SITE) == {}
