"""Nunnally, Construction Methods and Management: example 2-3 (second-hand), table 2-5 (read).

Source key: nunnally, nunnally_2_3.
"""

import pytest

from tracker.domain.factors import Factor
from tracker.domain.ground import Ground, loose_per_bank_from_swell_percent, quantity_from_bank
from tracker.domain.reference_tables import material_factors
from tracker.domain.solids import cone_of_volume


def test_example_2_3_a_conical_spoil_heap():
    swell = Factor(loose_per_bank_from_swell_percent(12), "-")
    loose_m3 = quantity_from_bank(Ground(swell, Factor(1.9, "t/m³")), 76.5).loose_m3
    assert loose_m3 == pytest.approx(85.68, abs=0.001)
    heap = cone_of_volume(loose_m3, 32.0)
    assert heap.width_m == pytest.approx(10.156, abs=0.001)
    assert heap.height_m == pytest.approx(3.173, abs=0.001)


@pytest.mark.parametrize(
    ("material", "loose_per_bank", "bank_density_t_per_m3"),
    [
        ("clay", 1.30, 1.78),
        ("common earth", 1.25, 1.84),
        ("sand and gravel", 1.12, 1.90),
        ("blasted rock", 1.50, 2.73),
    ],
)
def test_table_2_5_is_carried_over(material, loose_per_bank, bank_density_t_per_m3):
    factors = material_factors(material)
    assert factors.loose_per_bank.value == loose_per_bank
    assert factors.bank_density_t_per_m3.value == bank_density_t_per_m3
    assert factors.loose_per_bank.source_key == "nunnally"
