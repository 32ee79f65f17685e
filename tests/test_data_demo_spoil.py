"""Spoil out of the invented site: its papers, its gate, and whether the ground adds up."""

from __future__ import annotations

from datetime import date, datetime
from types import SimpleNamespace

import pandas as pd
import pytest

from data_demo.dig import TRUE_DENSITY_T_PER_M3, TRUE_LOOSE_PER_BANK
from tests.statements import recount
from tracker.domain.papers import note_findings

DENSITY, LOOSE = pd.Series(TRUE_DENSITY_T_PER_M3), pd.Series(TRUE_LOOSE_PER_BANK)
MAT_PER_BANK = 0.87  # volume in place of the piling mat to its bank volume, in truth
FORGOTTEN, ENDS_EARLY = "WTN-2026-10-CL-2", "WTN-2026-05-CL-2"
LAST_DAY = "2026-10-27"
WITHIN_THE_HOUR = pd.Timedelta(hours=1)  # a shift that just ends when the heaps are counted


def table(name: str) -> pd.DataFrame:
    return recount.table(f"records/{name}.csv")


@pytest.fixture(scope="module")
def loads() -> pd.DataFrame:
    """Every load that passed the gate, with its tonnes and the day on which it left."""
    found = recount.carried(recount.season())
    found["gate_date"] = found.left.dt.strftime("%Y-%m-%d")
    return found.assign(destination=found.route.map(route_ends()))


def route_ends() -> dict[str, str]:
    return dict(recount.table("setup/routes.csv").set_index("route").destination)


# Papers


def said(row: dict[str, str]) -> SimpleNamespace:
    """A row as an object with dates, as the papers of the tracker are asked."""
    dated = [name for name in ("valid_from", "valid_to", "gate_date") if name in row]
    return SimpleNamespace(**(row | {name: date.fromisoformat(row[name]) for name in dated}))


def test_every_load_of_waste_goes_under_a_note_that_covers_it_but_for_two_planted_faults(
    loads: pd.DataFrame,
) -> None:
    notes = {row["note_number"]: said(row) for row in table("notes").to_dict("records")}
    waste = loads[loads.stream != "gravel"]
    unknown = waste[~waste.transfer_note.isin(notes)]
    assert set(unknown.transfer_note) == {FORGOTTEN}
    assert len(unknown) == 6
    known = waste[waste.transfer_note.isin(notes)].to_dict("records")
    uncovered = [x for x in known if note_findings(notes[x["transfer_note"]], said(x))]
    assert {(x["transfer_note"], x["gate_date"]) for x in uncovered} == {(ENDS_EARLY, "2026-05-28")}
    assert len(uncovered) == 4


def test_notes_are_of_a_month_made_out_before_it_and_say_what_a_note_must() -> None:
    notes = table("notes")
    assert notes.notna().all().all()
    assert set(notes.form) == {"season"}
    assert set(notes.waste_code) == {"17 05 04"}
    assert (notes.made_out_at.str[:10] < notes.valid_from).all()
    days = pd.to_datetime(notes.valid_to) - pd.to_datetime(notes.valid_from)
    assert days.dt.days.between(26, 30).all()
    assert notes.note_number.is_unique


def test_a_season_note_estimates_about_what_went_under_it(loads: pd.DataFrame) -> None:
    notes = table("notes").set_index("note_number")
    moved_t = loads.groupby("transfer_note").t.sum()
    off_t = notes.quantity_t - moved_t.reindex(notes.index)
    assert off_t.between(0, 150 + 0.3 * moved_t.max()).all()


def test_the_gravel_moved_is_some_93_per_cent_of_what_was_declared(loads: pd.DataFrame) -> None:
    declared = table("declarations")
    assert len(declared) == 1
    gravel = loads[loads.stream == "gravel"]
    belt = recount.belt_runs(recount.season())
    moved_t = gravel.t.sum() + belt[belt.stream == "gravel"].run_t.sum()
    assert moved_t / declared.declared_t[0] == pytest.approx(0.93, abs=0.005)
    assert set(gravel.destination) == {declared.destination[0]}
    assert gravel.gate_date.min() > declared.received_on[0]


# Balance


def dug_t() -> pd.DataFrame:
    """The returns in tonnes of the ground as it truly is, at the end of each shift."""
    found = recount.dug(recount.season())
    counted = found["count"] * found.capacity_m3 / found.stream.map(LOOSE)
    bank_m3 = found.bank_m3.fillna(counted)
    found["t"] = (bank_m3 * found.stream.map(DENSITY)).fillna(found.mass_t)
    hours = found["shift"].map({"day": 19, "night": 24 + 7, "weekend": 24 + 6})
    found["at"] = pd.to_datetime(found.work_date) + pd.to_timedelta(hours, unit="h")
    return found


def placed_t() -> pd.DataFrame:
    found = table("reuse")
    bank_t = found.compacted_m3 / MAT_PER_BANK * found.stream.map(DENSITY)
    return found.assign(t=found.mass_t.fillna(bank_t), at=pd.to_datetime(found.placed_at))


def test_what_was_dug_left_or_was_placed_or_lies_in_a_heap_at_every_count(
    loads: pd.DataFrame,
) -> None:
    belt = recount.belt_runs(recount.season())
    belt = belt.assign(at=belt["at"].dt.tz_localize(None), t=belt.run_t)
    lorries = loads.assign(at=loads.left.dt.tz_localize(None))
    gone = pd.concat([f[["at", "stream", "t"]] for f in (belt, lorries, placed_t())])
    dug, heaps = dug_t(), table("stock")
    heaps["t"] = heaps.loose_m3 / heaps.stream.map(LOOSE) * heaps.stream.map(DENSITY)
    for counted_at, counted in heaps.groupby("counted_at"):
        until = pd.Timestamp(counted_at) + WITHIN_THE_HOUR
        for stream in DENSITY.index:
            came_t = dug[(dug.stream == stream) & (dug["at"] <= until)].t.sum()
            left_t = gone[(gone.stream == stream) & (gone["at"] <= until)].t.sum()
            heap_t = counted[counted.stream == stream].t.sum()
            assert left_t + heap_t == pytest.approx(came_t, abs=30 + 0.01 * came_t), counted_at


def test_the_piling_mat_is_gravel_placed_on_three_days_in_may() -> None:
    placed = table("reuse")
    assert set(placed.stream) == {"gravel"}
    assert list(placed.placed_at.str[:10]) == ["2026-05-12", "2026-05-14", "2026-05-15"]
    bank_m3 = placed_t().t.sum() / TRUE_DENSITY_T_PER_M3["gravel"]
    assert 300 < bank_m3 < 400


# The belt weigher


def test_the_empty_belt_is_checked_weekly_and_fails_once_after_the_outage_of_july() -> None:
    checks = table("belt_checks")
    zero = checks[checks.method == "zero"]
    weeks = [datetime.fromisoformat(at).isocalendar().week for at in zero.checked_at]
    assert weeks == [w for w in range(23, 45) if w not in (30, 35)]  # the belt was out in these
    failed = zero[zero.shown_t.abs() > zero.allowed_t]
    assert list(failed.checked_at.str[:10]) == ["2026-07-27"]


def test_known_masses_show_the_drift_before_the_reset_and_none_after_it() -> None:
    checks = table("belt_checks")
    material = checks[checks.method == "material"]
    assert list(material.checked_at.str[:10]) == ["2026-08-07", "2026-08-12"]
    percent = list(100 * (material.shown_t / material.reference_t - 1))
    assert percent == [pytest.approx(1.4, abs=0.1), pytest.approx(0.1, abs=0.1)]
    failed = list((material.shown_t - material.reference_t).abs() > material.allowed_t)
    assert failed == [True, False]


# The gate


def test_all_traffic_counted_two_more_days_are_a_little_above_the_cap_and_no_hour_is() -> None:
    by_hour = recount.passages_by_hour(recount.season())
    by_day = by_hour.groupby(by_hour.index.str[:10]).sum()
    assert dict(by_day[by_day > 120]) == {
        "2026-07-22": 124,
        "2026-07-24": 122,
        "2026-08-26": 122,
        "2026-08-27": 124,
    }
    assert by_hour.max() <= 16


def test_other_traffic_passes_on_working_days_in_whole_hours_of_the_window() -> None:
    traffic = table("traffic")
    at = pd.to_datetime(traffic.passed_at)
    assert at.dt.hour.between(8, 17).all()
    assert (at.dt.day_of_week < 5).all()
    assert not set(traffic.passed_at.str[:10]) & set(recount.table("setup/closures.csv").day)
    assert not traffic.duplicated(["passed_at", "purpose", "direction", "reference"]).any()
    assert set(traffic.purpose) == {"concrete", "steel", "plant", "stores"}


def test_every_pour_was_booked_and_its_mixers_came_and_left_within_the_hours_booked() -> None:
    traffic, bookings = table("traffic"), table("bookings").set_index("booking")
    mixers = traffic[traffic.purpose == "concrete"]
    for booking, rows in mixers.groupby("reference"):
        booked = bookings.loc[booking]
        by_way = rows.groupby("direction").vehicles.sum()
        assert (by_way["in"], by_way["out"]) == (booked.movements_in, booked.movements_out)
        assert set(rows.passed_at.str[:10]) == {booked.gate_date}
        hours = pd.to_datetime(rows.passed_at).dt.hour
        assert hours.between(booked.from_hour, booked.to_hour - 1).all()
    assert len(mixers.reference.unique()) == 5


def test_the_days_to_come_have_bookings_that_leave_room_for_spoil() -> None:
    bookings = table("bookings")
    ahead = bookings[bookings.gate_date >= LAST_DAY]
    by_day = ahead.groupby("gate_date")[["movements_in", "movements_out"]].sum().sum(axis=1)
    assert list(by_day.index) == [f"2026-10-{day}" for day in (27, 28, 29, 30)]
    assert by_day.between(10, 80).all()
