"""Frozen plans and steps of formation."""

from __future__ import annotations

import pytest

from tracker.ledger.entries import FormationStep, PlannedStage

PLAN = {
    "plan": "programme 1", "frozen_on": "2026-02-20", "zone": "A", "stage": "2",
    "planned_start": "2026-04-01", "planned_finish": "2026-12-20", "hold_days": "14",
    "reference": "letter 4",
}  # fmt: skip
STEP = {
    "done_at": "2026-04-07 08:00", "zone": "A", "step": "blinded", "area_m2": "60.5",
    "checked_by": "site engineer", "reference": "pour 9",
}  # fmt: skip


def errors(row):
    return [f"{p.field}: {p.message}" for p in row.problems if p.severity == "error"]


def test_a_planned_stage_takes_the_design_volume_of_the_set_up(read):
    entry = read("plan", PLAN).entry
    assert isinstance(entry, PlannedStage)
    assert entry.design_l == 400_000  # 10 m by 10 m by 4 m
    assert str(entry.frozen_on) == "2026-02-20"  # before the first date of the site


def test_a_design_volume_that_is_stated_is_kept(read):
    assert read("plan", PLAN | {"design_m3": "395.5"}).entry.design_l == 395_500


def test_a_step_becomes_an_entry(read):
    entry = read("formation", STEP).entry
    assert isinstance(entry, FormationStep)
    assert (entry.step, entry.area_dm2) == ("blinded", 6_050)
    assert str(entry.work_date) == "2026-04-07"


@pytest.mark.parametrize(
    ("kind", "fields", "sentence"),
    [
        ("plan", PLAN | {"stage": "5"}, "stage: stage of zone A “5” is not known"),
        ("plan", PLAN | {"planned_finish": "2026-03-31"}, "ends before it starts"),
        ("plan", PLAN | {"hold_days": "400"}, "more than a year"),
        ("plan", PLAN | {"design_m3": "0"}, "no stage"),
        ("plan", PLAN | {"plan": ""}, "plan: This must be filled"),
        ("plan", PLAN | {"frozen_on": "2026-12-20"}, "in the future"),
        ("plan", PLAN | {"zone": "C"}, "zone: zone “C” is not known"),
        ("plan", PLAN | {"planned_start": "01/04/2026"}, "planned_start"),
        ("formation", STEP | {"step": "poured"}, "step: step “poured” is not known"),
        ("formation", STEP | {"area_m2": "103"}, "more than the whole zone, 100 m²"),
        ("formation", STEP | {"area_m2": "0"}, "no step"),
        ("formation", STEP | {"area_m2": "60.555"}, "more than two decimals"),
        ("formation", STEP | {"done_at": "2026-12-07 08:00"}, "in the future"),
    ],
)
def test_a_slip_keeps_the_row_out(read, kind, fields, sentence):
    row = read(kind, fields)
    assert row.entry is None
    assert any(sentence in s for s in errors(row)), row.problems
