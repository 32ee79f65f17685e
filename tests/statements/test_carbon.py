"""The carbon statement of the paper pit, against what a reader works out by hand.

Factors of the 2025 edition [kg CO2e per km, kWh], as `ghg_2025` publishes them (see sources.py):
rigid over 17 t, empty and full, operation 0.774 and 1.10905, supply 0.18172 and 0.26149;
UK electricity 0.17700 + 0.01853 + 0.04590 + 0.00397 = 0.24540.
"""

from __future__ import annotations

from datetime import date

import pytest

from tests.statements import paper
from tracker.errors import FactorMissing, InputError, NotEnoughData
from tracker.statements import carbon_statement

EMPTY, FULL = 0.774, 1.10905
SUPPLY_EMPTY, SUPPLY_FULL = 0.18172, 0.26149
ELECTRICITY = 0.24540


def there_and_back(laden: float, empty: float = EMPTY, full: float = FULL) -> float:
    """Laden out and empty back, per km of one way."""
    return empty + (full - empty) * laden + empty


@pytest.fixture(scope="module")
def now(book):
    return carbon_statement(book, paper.LAST_DAY, factor_year=2025)


def leg(statement, route: str, number: int):
    (found,) = [x for x in statement.legs if (x.route, x.leg) == (route, number)]
    return found


def test_a_belt_takes_metered_energy_and_its_own_figure_for_the_runs_without(now):
    # Metered: 100 t with 40 kWh, 60 t with 30 kWh. The other 110 t at 0.5 kWh/t.
    belt = leg(now, "R-BELT", 1)
    assert belt.total_kgco2e == pytest.approx((40 + 30 + 110 * 0.5) * ELECTRICITY)
    assert (belt.operation_kgco2e, belt.supply_kgco2e) == (0, belt.total_kgco2e)
    assert "Belt energy metered for 59 % of the belt tonnes, else modelled." in now.basis.quality


def test_a_barge_with_one_factor_is_not_split_into_operation_and_supply(now):
    barge = leg(now, "R-BELT", 2)
    assert barge.total_kgco2e == pytest.approx(270 * 38 * 0.03)
    assert (barge.operation_kgco2e, barge.supply_kgco2e) == (None, None)
    (moved, _) = now.options
    assert moved.unsplit_kgco2e == pytest.approx(270 * 38 * 0.03)


def test_the_lorry_leg_beyond_the_belt_runs_at_the_payload_of_the_baseline(now):
    onward = leg(now, "R-BELT", 3)
    assert onward.operation_kgco2e == pytest.approx(270 / 18 * 2 * there_and_back(0.9))


def test_a_lorry_leg_from_the_gate_runs_at_the_payload_that_was_weighed(now):
    # R-ROAD: five loads weighed, 96.9 t. R-TIP: tickets 1 and 5, 37 t, stand for all 72 t.
    road, tip = leg(now, "R-ROAD", 1), leg(now, "R-TIP", 1)
    road_km, tip_km = 96.9 / (96.9 / 5) * 40, 72 / 18.5 * 20
    assert road.operation_kgco2e == pytest.approx(road_km * there_and_back(96.9 / 5 / 20))
    assert road.supply_kgco2e == pytest.approx(
        road_km * there_and_back(96.9 / 5 / 20, SUPPLY_EMPTY, SUPPLY_FULL)
    )
    assert tip.operation_kgco2e == pytest.approx(tip_km * there_and_back(18.5 / 20))


def test_the_baseline_carries_the_same_tonnes_all_the_way_by_road(now):
    baseline = leg(now, "baseline", 1)
    lorry_km = 438.9 / 18 * 40
    assert baseline.mass_t == pytest.approx(438.9)
    assert baseline.activity_tkm == pytest.approx(438.9 * 40)
    assert baseline.total_kgco2e == pytest.approx(
        lorry_km * there_and_back(0.9) + lorry_km * there_and_back(0.9, SUPPLY_EMPTY, SUPPLY_FULL)
    )


def test_saved_is_the_baseline_less_what_was_emitted(now):
    moved, baseline = now.options
    assert (moved.option, baseline.option) == ("as moved", "baseline")
    assert now.saved_kgco2e == pytest.approx(baseline.total_kgco2e - moved.total_kgco2e)
    assert moved.per_t_kgco2e == pytest.approx(moved.total_kgco2e / 438.9)
    assert (
        f"439 t moved at {moved.per_t_kgco2e:.2f} kg CO2e/t against 5.08 kg CO2e/t by the"
        f" lorry-only baseline (40 km): {now.saved_kgco2e / 1000:.1f} t CO2e saved, range"
    ) in now.headline


def test_the_saving_has_the_range_of_the_payload(now):
    moved = now.options[0].total_kgco2e
    # A load of 16 t needs 438.9 / 16 trips of 40 km, one of 20 t, full, 438.9 / 20.
    for payload_t, saved in ((20, now.saved_low_kgco2e), (16, now.saved_high_kgco2e)):
        share, lorry_km = payload_t / 20, 438.9 / payload_t * 40
        operation = lorry_km * there_and_back(share)
        supply = lorry_km * there_and_back(share, SUPPLY_EMPTY, SUPPLY_FULL)
        assert saved == pytest.approx(operation + supply - moved)


def test_the_conveyors_part_of_the_saving_stands_apart(now):
    by_belt = sum(leg(now, "R-BELT", n).total_kgco2e for n in (1, 2, 3))
    expected = 270 * now.options[1].per_t_kgco2e - by_belt
    assert now.saved_by_belt_kgco2e == pytest.approx(expected)
    assert f"{expected / 1000:.1f} t of the difference is on the tonnes by conveyor" in now.headline


def test_what_rests_on_a_factor_of_the_set_up_is_said(now):
    share = 100 * leg(now, "R-BELT", 2).total_kgco2e / now.options[0].total_kgco2e
    assert any(
        line.startswith(f"{share:.0f} % of the carbon as moved rests on factors of the set-up")
        for line in now.basis.quality
    )


def test_break_even_divides_the_belts_own_carbon_by_what_a_tonne_saves(book, now):
    by_belt = sum(leg(now, "R-BELT", n).total_kgco2e for n in (1, 2, 3)) / 270
    by_road = now.options[1].total_kgco2e / 438.9
    statement = carbon_statement(book, paper.LAST_DAY, factor_year=2025, fixed_kgco2e=1000)
    assert statement.break_even_t == pytest.approx(1000 / (by_road - by_belt))
    assert now.break_even_t is None  # not asked


def test_a_belt_that_never_pays_back_is_said_and_the_rest_still_stated(empty):
    far = paper.second_setup()
    far["legs"][1]["distance_km"] = "400"
    paper.adopt(empty, far, "far")
    baseline = {k: v for k, v in paper.BASELINE[0].items() if k != "entered"}
    paper.enter(empty, "baseline", **baseline)
    run_belt(empty)
    statement = carbon_statement(empty, paper.LAST_DAY, factor_year=2025, fixed_kgco2e=1000)
    assert statement.break_even_t is None
    assert statement.saved_kgco2e < 0
    assert "no saving can be claimed" in statement.headline
    assert any("never paid back" in line for line in statement.basis.quality)


def test_without_belt_there_is_no_break_even_but_a_sentence(own):
    statement = carbon_statement(own, paper.LAST_DAY, factor_year=2025, fixed_kgco2e=1000)
    assert statement.break_even_t is None
    assert "Nothing went by belt in the period: its own carbon has no break-even." in (
        statement.basis.quality
    )


def test_the_edition_is_named_with_its_licence(now):
    assert now.editions == ("UK Government GHG conversion factors 2025",)
    assert now.attribution == (
        "Contains public sector information licensed under the Open Government Licence v3.0."
    )
    assert now.basis.quality[0] == (
        "Factors of the 2025 edition were chosen for the whole period, whatever the year of"
        " activity."
    )


def test_a_year_without_factors_is_named_and_never_filled_in(book):
    with pytest.raises(FactorMissing, match=r"in 2026.*nearest published year is 2025"):
        carbon_statement(book, paper.LAST_DAY)


def test_a_set_up_may_choose_the_edition(empty):
    chosen = paper.second_setup()
    chosen["site"][0]["factor_year"] = "2024"
    paper.adopt(empty, chosen, "chosen")
    baseline = {k: v for k, v in paper.BASELINE[0].items() if k != "entered"}
    paper.enter(empty, "baseline", **baseline)
    run_belt(empty)
    assert carbon_statement(empty, paper.LAST_DAY).editions == (
        "UK Government GHG conversion factors 2024",
    )
    assert carbon_statement(empty, paper.LAST_DAY, factor_year=2023).editions == (
        "UK Government GHG conversion factors 2023",
    )


def test_each_year_of_activity_takes_its_own_edition(empty):
    earlier = paper.second_setup()
    earlier["site"][0]["first_date"] = "2024-12-01"
    for table in ("carriers", "destinations"):
        for row in earlier[table]:
            row["valid_from"] = "2024-01-01"
    paper.adopt(empty, earlier, "two years")
    baseline = {k: v for k, v in paper.BASELINE[0].items() if k != "entered"}
    paper.enter(empty, "baseline", **(baseline | {"frozen_on": "2024-12-01"}))
    for number, left in enumerate(("2024-12-31 10:00", "2025-01-02 10:00")):
        paper.enter(
            empty, "loads", ticket_number=str(number), gate_out_at=left, stream="clay",
            route="R-ROAD", net_t="20",
        )  # fmt: skip
    statement = carbon_statement(empty, date(2025, 1, 31))
    moved = [x.operation_kgco2e for x in statement.legs if x.option == "as moved"]
    # 2024: 0.74987 empty, 1.07433 full (ghg_2024); both loads full, 40 km.
    assert moved == [
        pytest.approx(40 * (1.07433 + 0.74987)),
        pytest.approx(40 * (FULL + EMPTY)),
    ]
    assert len(statement.editions) == 2
    assert statement.routes[0].mass_t == pytest.approx(40)


def test_a_belt_with_neither_meter_nor_figure_is_refused_by_name(empty):
    bare = paper.second_setup()
    bare["legs"][0]["kwh_per_t"] = ""
    paper.adopt(empty, bare, "bare")
    baseline = {k: v for k, v in paper.BASELINE[0].items() if k != "entered"}
    paper.enter(empty, "baseline", **baseline)
    run_belt(empty)
    with pytest.raises(FactorMissing, match="neither meter readings nor kwh_per_t"):
        carbon_statement(empty, paper.LAST_DAY, factor_year=2025)


def test_no_spoil_no_carbon(own):
    statement = carbon_statement(own, paper.LAST_DAY)
    assert statement.headline == "No spoil left the site in the period."
    assert (statement.legs, statement.saved_kgco2e) == ((), 0)


def test_an_as_of_date_before_the_site_began_states_nothing_moved(own):
    assert carbon_statement(own, date(2026, 10, 19)).since == date(2026, 10, 19)
    with pytest.raises(NotEnoughData, match="No baseline"):
        carbon_statement(own, date(2026, 10, 1))


def test_what_cannot_be_asked_is_refused_with_a_sentence(own):
    with pytest.raises(InputError, match="swap them"):
        carbon_statement(own, date(2026, 10, 22), since=date(2026, 10, 23))
    for wrong in (-1.0, float("nan"), float("inf")):
        with pytest.raises(InputError, match="fixed_kgco2e"):
            carbon_statement(own, paper.LAST_DAY, fixed_kgco2e=wrong)


def run_belt(book) -> None:
    for read_at, totaliser_t in (("2026-10-22 07:00", "0"), ("2026-10-22 19:00", "100")):
        paper.enter(
            book,
            "belt",
            read_at=read_at,
            work_date="2026-10-22",
            shift="day",
            belt="belt-1",
            stream="clay",
            totaliser_t=totaliser_t,
        )
