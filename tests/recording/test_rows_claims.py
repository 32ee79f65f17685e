"""Baselines and closures."""

from __future__ import annotations

import pytest

from tracker.domain.rules import OVER_PLATE, RULES
from tracker.ledger.entries import Baseline, ClosedException

BASELINE = {
    "baseline": "all by lorry", "frozen_on": "2026-03-02", "vehicle": "rigid",
    "payload_low_t": "18", "payload_t": "19", "payload_high_t": "20", "distance_km": "46",
    "destination": "quarry", "empty_return": "yes", "reference": "plan 7",
}  # fmt: skip


def test_a_baseline_becomes_an_entry(read):
    row = read("baseline", BASELINE)
    assert row.problems == []
    assert isinstance(row.entry, Baseline)
    assert (row.entry.payload_kg, row.entry.distance_m) == (19_000, 46_000)
    assert row.entry.empty_return is True


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"payload_t": "17"}, "order low, assumed, high"),
        ({"payload_high_t": "21"}, "above the plated payload of 20 t"),
        ({"payload_t": "19000"}, "If it is kilograms, write 19"),
        ({"payload_low_t": "0"}, "more than 0 t"),
        ({"distance_km": "0"}, "one way in km"),
        ({"distance_km": "46000"}, "one way in km"),
        ({"empty_return": "mostly"}, "Write yes or no"),
        ({"frozen_on": ""}, "must be filled"),
    ],
)
def test_a_slip_keeps_the_baseline_out(read, changes, sentence):
    row = read("baseline", BASELINE | changes)
    assert row.entry is None
    assert any(sentence in p.message for p in row.problems), row.problems


def test_a_baseline_may_be_frozen_before_the_site_begins(read):
    assert read("baseline", BASELINE | {"frozen_on": "2025-11-20"}).problems == []


def test_a_payload_above_the_plate_carries_the_caution(read):
    row = read("baseline", BASELINE | {"payload_high_t": "21"})
    assert "unsafe and unlawful" in row.problems[0].message


def test_a_closure_needs_its_reason(read):
    closure = {"rule": OVER_PLATE, "about": "e1", "reason": " ", "closed_by": "coordinator"}
    row = read("closures", closure)
    assert [(p.field, p.message) for p in row.problems] == [("reason", "This must be filled.")]
    entry = read("closures", closure | {"reason": "filled with lean concrete"}).entry
    assert isinstance(entry, ClosedException)


def test_a_closure_of_no_known_rule_is_refused_since_it_would_close_nothing(read):
    closure = {"rule": "over_plat", "about": "e1", "reason": "tipped off", "closed_by": "manager"}
    (problem,) = read("closures", closure).problems
    assert "Did you mean “over_plate”?" in problem.message


def test_every_rule_can_be_closed(read):
    for rule in RULES:
        closure = {"rule": rule, "about": "e1", "reason": "seen to", "closed_by": "manager"}
        assert read("closures", closure).problems == []
