"""The statements of the demonstration against a second count of its files with plain pandas."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta

import pytest

from tests.statements import recount
from tests.statements.conftest import Clock
from tracker.ledger.store import open_ledger
from tracker.recording.demo import DEMO_DAY
from tracker.recording.entry import amend, withdraw
from tracker.statements import (
    day_statement,
    movements_statement,
    progress_statement,
    records_statement,
)


def copied(book, place, clock):
    """A ledger of one's own with the same entries."""
    kept = book._engine.url.database
    with closing(sqlite3.connect(kept)) as source, closing(sqlite3.connect(place)) as copy:
        source.backup(copy)
    return open_ledger(place, clock=clock)


@pytest.fixture(scope="module")
def returned(demo, tmp_path_factory):
    """A copy of the demonstration without its surveyed surfaces: progress rests on returns alone.

    What the surveys change is counted in test_demo_surveys.py.
    """
    clock = Clock()
    clock.moment = demo.now()
    book = copied(demo, tmp_path_factory.mktemp("returned") / "demo.sqlite", clock)
    for surface in book.current("survey_surfaces"):
        withdraw(book, surface.entry_id, reason="returns alone", by="tests")
    yield book
    book.close()


@pytest.fixture(scope="module")
def altered(returned, tmp_path_factory):
    """A copy of that, corrected a day later: the same done to the tables.

    Every tenth load of June is withdrawn, and every third return of August dug by measure is
    corrected by 10 m3.
    """
    clock, before = Clock(), returned.now()
    clock.moment = before + timedelta(days=1)
    book = copied(returned, tmp_path_factory.mktemp("altered") / "demo.sqlite", clock)
    season = recount.season()

    june = season.loads[season.loads.gate_out_at.str.startswith("2026-06")]
    gone = june[june.reconsigned_from.isna()][::10]
    by_ticket = {x.ticket_number: x.entry_id for x in book.current("lorry_loads")}
    for ticket in gone.ticket_number:
        withdraw(book, by_ticket[ticket], reason="of another site", by="tests")
    season.loads = season.loads.drop(gone.index)

    august = season.returns[season.returns.work_date.str.startswith("2026-08")]
    changed = august[august.basis == "measured"][::3]
    by_place = {
        (str(x.work_date), x.shift, x.zone, x.stage, x.stream): x.entry_id
        for x in book.current("dig_returns")
    }
    for row in changed.itertuples():
        entry = by_place[row.work_date, row.shift, row.zone, row.stage, row.stream]
        more = {"bank_m3": f"{row.bank_m3 + 10:.3f}"}
        amend(book, entry, more, reason="tally recounted", by="tests", now=clock())
    season.returns.loc[changed.index, "bank_m3"] += 10
    assert len(gone) > 20
    assert len(changed) > 10
    yield book, season, before
    book.close()


@pytest.fixture(params=["as imported", "corrected", "as known before the corrections"])
def counted(request, returned, altered):
    """A ledger, the moment as known at which it is read, and the tables it must agree with."""
    book, season, before = altered
    return {
        "as imported": (returned, None, recount.season()),
        "corrected": (book, None, season),
        "as known before the corrections": (book, before, recount.season()),
    }[request.param]


def test_dug_volume_by_zone_and_stage(counted):
    book, moment, season = counted
    statement = progress_statement(book, DEMO_DAY, known_at=moment)
    by_zone = recount.dug(season).groupby("zone").dug_m3.sum()
    by_stage = recount.dug(season).groupby(["zone", "stage"]).dug_m3.sum()
    for zone in statement.zones:
        assert zone.dug_net_m3 + zone.overdig_m3 == pytest.approx(by_zone[zone.zone])
        for stage in zone.stages:
            assert stage.dug_bank_m3 == pytest.approx(by_stage.get((zone.zone, stage.stage), 0.0))


def test_stages_reached_and_first_dates(counted):
    book, moment, season = counted
    stages = recount.table("setup/stages.csv").set_index(["zone", "stage"]).design_level_m
    for zone in progress_statement(book, DEMO_DAY, known_at=moment).zones:
        mine = season.returns[season.returns.zone == zone.zone]
        for stage in zone.stages:
            at = mine[mine.to_level_m <= stages[zone.zone, stage.stage]].work_date
            assert stage.reached == bool(len(at))
            assert (str(stage.reached_on) if stage.reached_on else None) == (
                at.min() if len(at) else None
            )


def test_the_curve_of_dug_volume(counted):
    book, moment, season = counted
    excavation = dict(recount.table("setup/zones.csv").set_index("zone").excavation)
    dug = recount.dug(season)
    by_day = dug.groupby([dug.zone.map(excavation), "work_date"]).dug_m3.sum()
    for name in ("box", "shaft"):
        so_far = by_day[name].cumsum()
        points = progress_statement(book, DEMO_DAY, known_at=moment).curve
        found = {str(p.day): p.dug_bank_m3 for p in points if p.excavation == name}
        for day, bank_m3 in so_far.items():
            assert found[day] == pytest.approx(bank_m3)


def test_levels_and_the_zones_below_what_is_permitted(counted):
    book, moment, season = counted
    lowest, permitted = recount.lowest_m(season), recount.permitted_m(season)
    statement = day_statement(book, DEMO_DAY, known_at=moment)
    for zone in statement.zones:
        assert zone.lowest_level_m == pytest.approx(lowest[zone.zone])
        assert zone.permitted_level_m == permitted[zone.zone]
        assert zone.in_breach == (lowest[zone.zone] < permitted[zone.zone])
    assert [z.zone for z in statement.zones if z.in_breach] == ["D"]


def test_completeness_is_that_of_the_recount(counted):
    book, moment, season = counted
    basis = progress_statement(book, DEMO_DAY, known_at=moment).basis
    found = (basis.returns_expected, basis.returns_received, basis.returns_nil)
    assert found == recount.slots(season, DEMO_DAY)


def test_output_of_a_day(counted):
    book, moment, season = counted
    dug = recount.dug(season)
    for day in ("2026-06-19", "2026-08-12", str(DEMO_DAY)):
        statement = day_statement(book, DEMO_DAY.fromisoformat(day), known_at=moment)
        mine = dug[dug.work_date == day]
        assert statement.bank_m3 == pytest.approx(mine.dug_m3.sum())
        assert statement.mass_t == pytest.approx(mine.dug_t.sum())
        moved = recount.movements_by_day(season)
        assert statement.movements == moved.get(DEMO_DAY.fromisoformat(day), 0)


def test_spoil_loads_and_movements_by_month(counted):
    book, moment, season = counted
    loads, runs = recount.carried(season), recount.belt_runs(season)
    month_out = loads.left.dt.strftime("%Y-%m")
    lorry_t, belt_t = (
        loads.groupby(month_out).t.sum(),
        runs.groupby(runs.work_date.str[:7]).run_t.sum(),
    )
    count = loads[loads.is_load].groupby(month_out).size()
    moves = recount.movements_by_day(season)
    moves = moves.groupby([str(day)[:7] for day in moves.index]).sum()
    lines = movements_statement(book, DEMO_DAY, known_at=moment).lines
    assert len(lines) == 7
    for line in lines:
        month = f"{line.starts:%Y-%m}"
        assert line.lorry_t == pytest.approx(lorry_t.get(month, 0.0))
        assert line.belt_t == pytest.approx(belt_t.get(month, 0.0))
        assert (line.loads, line.movements) == (count.get(month, 0), moves.get(month, 0))


def test_spoil_and_loads_by_route(counted):
    book, moment, season = counted
    loads, runs = recount.carried(season), recount.belt_runs(season)
    mass_t = loads.groupby("route").t.sum().add(runs.groupby("route").run_t.sum(), fill_value=0)
    count = loads[loads.is_load].groupby("route").size()
    routes = movements_statement(book, DEMO_DAY, known_at=moment).routes
    assert {r.route for r in routes} == set(mass_t.index)
    for route in routes:
        assert route.mass_t == pytest.approx(mass_t[route.route])
        assert route.loads == count.get(route.route, 0)


def test_what_is_avoided_and_how_much_of_it_was_weighed(counted):
    book, moment, season = counted
    loads, belt_t = recount.carried(season), recount.belt_runs(season).run_t.sum()
    weighed = loads[loads.is_weighed]
    all_t, made = loads.t.sum() + belt_t, 2 * loads.is_load.sum()
    statement = movements_statement(book, DEMO_DAY, known_at=moment)
    assert statement.total.avoided_movements == pytest.approx(2 * all_t / 19 - made)
    assert statement.total.avoided_movements_low == pytest.approx(2 * all_t / 20 - made)
    assert statement.total.avoided_movements_high == pytest.approx(2 * all_t / 18 - made)
    assert statement.observed_payload_loads == len(weighed)
    assert statement.observed_payload_t == pytest.approx(weighed.t.mean())
    assert statement.weighed_percent == pytest.approx(100 * (weighed.t.sum() + belt_t) / all_t)


def test_days_above_the_cap(counted):
    book, moment, season = counted
    by_hour = recount.passages_by_hour(season)
    moves = by_hour.groupby(by_hour.index.str[:10]).sum()
    above = {f"day {day}" for day in moves[moves > 120].index}
    found = day_statement(book, DEMO_DAY, known_at=moment).exceptions
    assert {x.about for x in found if x.rule == "over_movement_cap"} == above
    assert len(above) >= 1


def test_as_many_records_are_found_as_the_files_hold(demo):
    season = recount.season()
    for kind, rows in (("lorry_loads", season.loads), ("dig_returns", season.returns)):
        assert records_statement(demo, kind=kind).found == len(rows)
