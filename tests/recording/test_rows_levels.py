"""Hold points and surveys."""

from __future__ import annotations

import pytest

from tracker.ledger.entries import HoldRelease, SurveyLevel

HOLD = {
    "decided_at": "2026-04-07 08:00", "zone": "A", "hold": "2", "status": "released",
    "permit": "PTD-2", "decided_by": "temporary works coordinator",
}  # fmt: skip
FORMATION = HOLD | {"hold": "formation", "accepted_m2": "60.5"}
SURVEY = {
    "survey": "SV1", "surveyed_at": "2026-04-07 10:00", "zone": "A", "lowest_level_m": "101.2",
    "dug_bank_m3": "250", "method": "scan",
}  # fmt: skip


def errors(row):
    return [f"{p.field}: {p.message}" for p in row.problems if p.severity == "error"]


def test_a_release_becomes_an_entry(read):
    hold = read("holds", HOLD).entry
    assert isinstance(hold, HoldRelease)
    assert (hold.hold, hold.status, str(hold.work_date)) == ("2", "released", "2026-04-07")


def test_formation_is_accepted_with_its_area(read):
    assert read("holds", FORMATION).entry.accepted_area_dm2 == 6_050


def test_a_release_keeps_its_condition(read):
    hold = read("holds", HOLD | {"condition": "in steps of 0.5 m"}).entry
    assert hold.condition == "in steps of 0.5 m"
    assert read("holds", HOLD).entry.condition is None


def test_a_decision_without_a_condition_keeps_the_id_it_had_before_there_were_any(read):
    plain, empty = read("holds", HOLD).entry, read("holds", HOLD | {"condition": ""}).entry
    assert plain.entry_id == empty.entry_id == "e1012373c6ddc5c1aa207b5e03e6404d"


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        (HOLD | {"status": "suspended", "condition": "x"}, "condition: A condition belongs to"),
        (HOLD | {"hold": "3"}, "hold: hold point “3” is not known"),
        (HOLD | {"status": "relased"}, "status: status “relased” is not known. Did you mean"),
        (HOLD | {"permit": ""}, "permit: This must be filled"),
        (HOLD | {"decided_at": "2026-12-07 08:00"}, "in the future"),
        (HOLD | {"accepted_m2": "50"}, "only when formation is released"),
        (FORMATION | {"accepted_m2": "103"}, "more than the whole zone, 100 m²"),
        (FORMATION | {"accepted_m2": "60.555"}, "more than two decimals"),
        (FORMATION | {"status": "suspended"}, "only when formation is released"),
    ],
)
def test_a_slip_keeps_the_decision_out(read, fields, sentence):
    row = read("holds", fields)
    assert row.entry is None
    assert any(sentence in s for s in errors(row)), row.problems


def test_a_survey_becomes_an_entry(read):
    survey = read("surveys", SURVEY).entry
    assert isinstance(survey, SurveyLevel)
    assert (survey.lowest_level_mm, survey.dug_bank_l) == (101_200, 250_000)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"lowest_level_m": "1.2"}, "write 101.2"),
        ({"lowest_level_m": ""}, "must be filled"),
        ({"dug_bank_m3": "2500"}, "more than all of zone A, 800 m³"),
        ({"dug_bank_m3": "-1"}, "negative"),
        ({"surveyed_at": "2026-04-07"}, "no time of day"),
    ],
)
def test_a_slip_keeps_the_survey_out(read, changes, sentence):
    row = read("surveys", SURVEY | changes)
    assert row.entry is None
    assert any(sentence in s for s in errors(row)), row.problems
