"""UK Government GHG conversion factors 2022 to 2025.

Secondary copies; inputs read, answers computed.

Contains public sector information licensed under the Open Government Licence v3.0.

Source key: ghg_2022, ghg_2023, ghg_2024, ghg_2025.
"""

import pytest

from tracker.domain.carbon import average_laden_carbon, electricity_carbon, lorry_carbon
from tracker.domain.reference_tables import ghg_factor


def test_a_full_20_t_load_over_25_km_and_empty_back_in_2025():
    load = lorry_carbon("rigid_over_17t", 20.0, 20.0, 25.0, 2025)
    assert load.operation_kgco2e == pytest.approx(47.07625, abs=0.00001)
    assert load.supply_kgco2e == pytest.approx(11.08025, abs=0.00001)
    assert load.total_kgco2e == pytest.approx(58.15650, abs=0.00001)
    assert load.total_kgco2e_per_t == pytest.approx(2.907825, abs=0.000001)


def test_the_average_laden_factor_overstates_that_load_1_82_times():
    """A trap: it is kept as a fallback with its label, never as the answer for a known payload."""
    average = average_laden_carbon("rigid_over_17t", 20.0, 25.0, 2025)
    load = lorry_carbon("rigid_over_17t", 20.0, 20.0, 25.0, 2025)
    assert average.operation_kgco2e == pytest.approx(85.730, abs=0.001)
    assert average.operation_kgco2e / load.operation_kgco2e == pytest.approx(1.82, abs=0.005)


def test_1000_kwh_in_2025_are_245_40_kg():
    energy = electricity_carbon(1000.0, 2025)
    assert energy.total_kgco2e == pytest.approx(245.40, abs=0.005)
    assert energy.generation_kgco2e == pytest.approx(177.00)
    assert energy.losses_kgco2e == pytest.approx(18.53)
    assert energy.supply_kgco2e == pytest.approx(45.90 + 3.97)


@pytest.mark.parametrize("year", [2022, 2023, 2024, 2025])
@pytest.mark.parametrize("vehicle_class", ["rigid_over_17t", "artic_over_33t", "all_hgv"])
def test_the_line_between_empty_and_full_reproduces_the_published_half_load(year, vehicle_class):
    items = {
        "rigid_over_17t": "HGV diesel Rigid (>17 tonnes)",
        "artic_over_33t": "HGV diesel Articulated (>33t)",
        "all_hgv": "HGV diesel All HGVs",
    }
    half = lorry_carbon(vehicle_class, 10.0, 20.0, 1.0, year, empty_return=False)
    for boundary, kgco2e in (("TTW", half.operation_kgco2e), ("WTT", half.supply_kgco2e)):
        published = ghg_factor(year, items[vehicle_class], boundary, "50% Laden", "km").value
        assert kgco2e == pytest.approx(published, abs=0.00001)
