"""The parts of every statement add up to its whole, in the paper pit and in the demonstration."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import fields
from datetime import date
from itertools import pairwise

import pytest

from tests.statements import paper
from tracker.recording.demo import DEMO_DAY
from tracker.statements import (
    carbon_statement,
    day_statement,
    movements_statement,
    progress_statement,
)

ADDED_UP = (
    "spoil_t", "belt_t", "lorry_t", "weighed_lorry_t", "loads", "movements", "baseline_loads",
    "baseline_movements", "avoided_loads", "avoided_movements", "avoided_movements_low",
    "avoided_movements_high",
)  # fmt: skip


@pytest.fixture(params=["paper", "demo"])
def stated(request, book):
    """A ledger and the day it is read on."""
    if request.param == "paper":
        return book, paper.LAST_DAY
    return request.getfixturevalue("demo"), DEMO_DAY


def test_zones_add_up_to_their_excavation(stated):
    statement = progress_statement(*stated)
    for excavation in statement.excavations:
        zones = [z for z in statement.zones if z.excavation == excavation.excavation]
        for name in ("design_bank_m3", "dug_net_m3", "overdig_m3", "accepted_m2"):
            assert sum(getattr(z, name) for z in zones) == pytest.approx(getattr(excavation, name))
        assert sum(z.area_m2 for z in zones) == pytest.approx(excavation.formation_m2)
        stages = [s for z in zones for s in z.stages]
        assert len(stages) == excavation.stages_total
        assert sum(s.reached for s in stages) == excavation.stages_reached


def test_stages_add_up_to_their_zone(stated):
    for zone in progress_statement(*stated).zones:
        assert sum(s.design_bank_m3 for s in zone.stages) == pytest.approx(zone.design_bank_m3)
        assert sum(s.dug_bank_m3 for s in zone.stages) == pytest.approx(
            zone.dug_net_m3 + zone.overdig_m3
        )


def test_level_bands_and_what_has_no_level_add_up_to_their_zone(stated):
    book, day = stated
    statement = progress_statement(book, day)
    dug, design = defaultdict(float), defaultdict(float)
    for band in statement.bands:
        dug[band.zone] += band.dug_bank_m3
        design[band.zone] += band.design_bank_m3
    unplaced = {"A": 10.0} if book_is_paper(statement) else {}
    for zone in statement.zones:
        assert design[zone.zone] == pytest.approx(zone.design_bank_m3)
        assert dug[zone.zone] + unplaced.get(zone.zone, 0.0) == pytest.approx(
            zone.dug_net_m3 + zone.overdig_m3
        )


def book_is_paper(statement) -> bool:
    return statement.basis.site == "Paper pit"


def test_the_curve_ends_at_all_that_was_dug_and_all_that_is_planned(stated):
    statement = progress_statement(*stated)
    for excavation in statement.excavations:
        points = [p for p in statement.curve if p.excavation == excavation.excavation]
        dug = [p.dug_bank_m3 for p in points if p.dug_bank_m3 is not None]
        assert dug[-1] == pytest.approx(excavation.dug_net_m3 + excavation.overdig_m3)
        assert points[-1].planned_bank_m3 == pytest.approx(excavation.design_bank_m3)
        falls = [b.survey for a, b in pairwise(points[: len(dug)]) if b.dug_bank_m3 < a.dug_bank_m3]
        assert all(falls)  # only where a survey put right what returns had said


@pytest.mark.parametrize("grain", ["day", "week", "month", "total"])
def test_periods_add_up_to_the_total(stated, grain):
    book, day = stated
    since = movements_statement(book, day, grain="total").since
    statement = movements_statement(book, day, grain=grain, since=since)
    whole = movements_statement(book, day, grain="total").total
    for name in ADDED_UP:
        assert sum(getattr(line, name) for line in statement.lines) == pytest.approx(
            getattr(whole, name)
        ), name
    assert {f.name for f in fields(whole)} == {*ADDED_UP, "label", "starts", "ends"}


def test_days_add_up_to_their_month(stated):
    book, day = stated
    since = movements_statement(book, day, grain="total").since
    days = movements_statement(book, day, grain="day", since=since).lines
    for month in movements_statement(book, day, grain="month").lines:
        mine = [line for line in days if f"{line.starts:%b %Y}" == month.label]
        for name in ADDED_UP:
            assert sum(getattr(line, name) for line in mine) == pytest.approx(getattr(month, name))


def test_routes_add_up_to_the_total(stated):
    statement = movements_statement(*stated)
    assert sum(r.mass_t for r in statement.routes) == pytest.approx(statement.total.spoil_t)
    assert sum(r.loads for r in statement.routes) == statement.total.loads


def test_legs_add_up_to_routes_and_options(stated):
    statement = carbon_statement(*stated, factor_year=2025)
    parts = ("operation_kgco2e", "supply_kgco2e", "total_kgco2e")
    for line in (*statement.options, *statement.routes):
        legs = [x for x in statement.legs if line.option in (x.option, x.route)]
        for name in parts:
            assert sum(getattr(x, name) or 0.0 for x in legs) == pytest.approx(getattr(line, name))
        assert line.operation_kgco2e + line.supply_kgco2e + line.unsplit_kgco2e == pytest.approx(
            line.total_kgco2e
        )
    moved, _ = statement.options
    assert sum(r.total_kgco2e for r in statement.routes) == pytest.approx(moved.total_kgco2e)
    assert sum(r.mass_t for r in statement.routes) == pytest.approx(moved.mass_t)


def test_the_same_tonnes_stand_in_movements_and_in_carbon(stated):
    book, day = stated
    movements = movements_statement(book, day, grain="total")
    for option in carbon_statement(book, day, factor_year=2025).options:
        assert option.mass_t == pytest.approx(movements.total.spoil_t)


def test_the_days_of_a_week_add_up_in_the_day_statement_as_well(stated):
    book, day = stated
    week = movements_statement(book, day, grain="day", since=date.fromordinal(day.toordinal() - 6))
    days = [day_statement(book, line.starts) for line in week.lines]
    assert sum(d.movements for d in days) == week.total.movements
    assert sum(d.loads for d in days) == week.total.loads
    assert sum(d.belt_t for d in days) == pytest.approx(week.total.belt_t)
    for d in days:
        assert sum(h.movements_in + h.movements_out for h in d.hours) == d.movements
