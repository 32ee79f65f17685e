from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain import carbon as c
from tracker.domain.site import VEHICLE_CLASSES, Leg, Vehicle
from tracker.errors import FactorMissing, InputError, OutOfRange, UnknownName

RIGID = Vehicle("rigid", "four-axle rigid", "rigid_over_17t", 32.0, 20.0, 12.0, 1.0, 40.0)
LORRY = Leg("R1", 1, "lorry", "site", "quarry", 25.0, vehicle="rigid")
BELT = Leg("R2", 1, "belt", "site", "wharf", 0.6, belt="B1", kwh_per_t=0.8)
BARGE = Leg(
    "R2", 2, "barge", "wharf", "quarry", 38.0, kgco2e_per_tkm=0.03, factor_source="operator"
)


@given(st.sampled_from(VEHICLE_CLASSES), st.floats(0.1, 20.0), st.sampled_from([2022, 2025]))
def test_a_fuller_lorry_emits_more_by_load_and_less_by_tonne(vehicle_class, payload_t, year):
    part = c.lorry_carbon(vehicle_class, payload_t, 20.0, 25.0, year)
    full = c.lorry_carbon(vehicle_class, 20.0, 20.0, 25.0, year)
    assert part.total_kgco2e <= full.total_kgco2e
    assert part.total_kgco2e_per_t >= full.total_kgco2e_per_t * (1 - 1e-12)


def test_per_tonne_kilometre_is_by_tonnes_carried_one_way():
    load = c.lorry_carbon("rigid_over_17t", 20.0, 20.0, 25.0, 2025)
    assert load.tkm == 500.0
    assert load.operation_kgco2e_per_tkm == pytest.approx(47.07625 / 500)
    assert load.total_kgco2e_per_tkm == pytest.approx(58.1565 / 500)


def test_the_empty_way_back_counts_unless_there_is_none():
    both = c.lorry_carbon("rigid_over_17t", 20.0, 20.0, 25.0, 2025)
    out = c.lorry_carbon("rigid_over_17t", 20.0, 20.0, 25.0, 2025, empty_return=False)
    assert both.operation_kgco2e - out.operation_kgco2e == pytest.approx(0.774 * 25)


def test_a_payload_above_the_plate_is_refused_with_the_caution():
    with pytest.raises(OutOfRange, match="unsafe and unlawful"):
        c.lorry_carbon("rigid_over_17t", 20.001, 20.0, 25.0, 2025)


def test_an_unknown_vehicle_class_and_a_missing_year_are_told():
    with pytest.raises(UnknownName, match="artic_over_33t"):
        c.lorry_carbon("van", 1.0, 2.0, 3.0, 2025)
    with pytest.raises(FactorMissing, match="2026"):
        c.lorry_carbon("all_hgv", 1.0, 2.0, 3.0, 2026)


@given(st.floats(0.0, 1e6), st.sampled_from([2022, 2023, 2024, 2025]))
def test_electricity_is_the_sum_of_its_parts(energy_kwh, year):
    carbon = c.electricity_carbon(energy_kwh, year)
    parts = carbon.generation_kgco2e + carbon.losses_kgco2e + carbon.supply_kgco2e
    assert carbon.total_kgco2e == parts


def test_electricity_of_a_year_with_generation_alone_is_refused():
    with pytest.raises(FactorMissing, match=r"T&D.*2026.*2025"):
        c.electricity_carbon(1000.0, 2026)


def test_a_lorry_leg_equals_its_loads():
    leg = c.leg_carbon(LORRY, 185.0, 2025, vehicle=RIGID, payload_t=18.5)
    load = c.lorry_carbon("rigid_over_17t", 18.5, 20.0, 25.0, 2025)
    assert leg.total_kgco2e == pytest.approx(10 * load.total_kgco2e)
    assert leg.per_t == pytest.approx(load.total_kgco2e_per_t)
    assert "2025" in leg.factor_note
    assert "18.50 t of 20 t" in leg.factor_note


def test_a_lorry_leg_without_a_payload_takes_the_plated_one():
    leg = c.leg_carbon(LORRY, 200.0, 2025, vehicle=RIGID)
    assert leg.total_kgco2e == pytest.approx(10 * 58.1565)


def test_recorded_overloads_count_and_are_noted():
    leg = c.leg_carbon(LORRY, 205.0, 2025, vehicle=RIGID, payload_t=20.5)
    assert "above the plate" in leg.factor_note
    with pytest.raises(InputError, match="names no vehicle"):
        c.leg_carbon(LORRY, 205.0, 2025)


def test_a_belt_takes_its_meter_before_its_rate():
    metered = c.leg_carbon(BELT, 1000.0, 2025, energy_kwh=900.0)
    modelled = c.leg_carbon(BELT, 1000.0, 2025)
    assert metered.total_kgco2e == pytest.approx(900 * 0.2454)
    assert modelled.total_kgco2e == pytest.approx(800 * 0.2454)
    assert "metered energy" in metered.factor_note
    assert "not metered" in modelled.factor_note
    assert (metered.operation_kgco2e, metered.supply_kgco2e) == (0.0, metered.total_kgco2e)
    with pytest.raises(FactorMissing, match="neither meter readings nor kwh_per_t"):
        c.leg_carbon(replace(BELT, kwh_per_t=None), 1000.0, 2025)


@pytest.mark.parametrize("mode", ["rail", "barge"])
def test_rail_and_barge_take_the_legs_own_factor_with_its_source(mode):
    own = replace(BARGE, mode=mode)
    leg = c.leg_carbon(own, 1000.0, 2025)
    assert leg.total_kgco2e == pytest.approx(1000 * 38 * 0.03)
    assert (leg.operation_kgco2e, leg.supply_kgco2e) == (None, None)
    assert "operator" in leg.factor_note
    for bare in (replace(own, kgco2e_per_tkm=None), replace(own, factor_source="")):
        with pytest.raises(FactorMissing, match="no factor with a source"):
            c.leg_carbon(bare, 1000.0, 2025)


def test_a_leg_that_carried_nothing_has_no_figure_by_tonne():
    assert c.leg_carbon(BARGE, 0.0, 2025).per_t is None


def test_a_route_is_the_sum_of_its_legs():
    belt = c.leg_carbon(BELT, 1000.0, 2025)
    barge = c.leg_carbon(BARGE, 1000.0, 2025)
    lorry = c.leg_carbon(LORRY, 1000.0, 2025, vehicle=RIGID)
    mixed = c.route_carbon([belt, barge])
    assert mixed.total_kgco2e == belt.total_kgco2e + barge.total_kgco2e
    assert mixed.tkm == pytest.approx(1000 * 38.6)
    assert mixed.operation_kgco2e is None
    split = c.route_carbon([belt, lorry])
    assert split.operation_kgco2e == lorry.operation_kgco2e
    assert split.supply_kgco2e == belt.supply_kgco2e + lorry.supply_kgco2e
    with pytest.raises(InputError, match="without legs"):
        c.route_carbon([])


def test_the_break_even_tonnage_is_where_saved_equals_spent():
    mass_t = c.break_even_mass_t(150_000.0, 3.1, 0.4)
    assert mass_t * (3.1 - 0.4) == pytest.approx(150_000.0)
    with pytest.raises(InputError, match="never pays back"):
        c.break_even_mass_t(150_000.0, 0.4, 0.4)
