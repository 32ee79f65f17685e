import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain import ground as g
from tracker.domain.factors import Factor
from tracker.errors import FactorMissing, InputError, OutOfRange

CLAY = g.Ground(
    Factor(1.30, "-", 1.20, 1.40), Factor(2.00, "t/m³", 1.92, 2.04), Factor(0.90, "-", 0.88, 0.92)
)
amounts = st.floats(0.001, 1e7)
swells = st.floats(1.0, 2.5)
densities = st.floats(0.8, 3.5)


def ground_of(swell, density, compacted=0.9):
    return g.Ground(Factor(swell, "-"), Factor(density, "t/m³"), Factor(compacted, "-"))


@given(amounts, swells, densities, st.floats(0.5, 1.6))
def test_every_conversion_inverts(bank_m3, swell, density, compacted):
    ground = ground_of(swell, density, compacted)
    quantity = g.quantity_from_bank(ground, bank_m3)
    for back in (
        g.quantity_from_loose(ground, quantity.loose_m3),
        g.quantity_from_mass(ground, quantity.mass_t),
        g.quantity_from_compacted(ground, quantity.compacted_m3),
    ):
        assert back.bank_m3 == pytest.approx(bank_m3, rel=1e-12)
        assert back.mass_t == pytest.approx(quantity.mass_t, rel=1e-12)
        assert back.loose_m3 == pytest.approx(quantity.loose_m3, rel=1e-12)


@given(amounts, densities, swells, swells)
def test_tonnes_from_bank_never_depend_on_the_bulking(bank_m3, density, one, other):
    first = g.quantity_from_bank(ground_of(one, density), bank_m3)
    second = g.quantity_from_bank(ground_of(other, density), bank_m3)
    assert first.mass_t == second.mass_t


@given(st.lists(amounts, min_size=1, max_size=6))
def test_the_sum_of_the_parts_is_the_whole(parts_m3):
    whole = g.quantity_from_bank(CLAY, sum(parts_m3))
    parts = [g.quantity_from_bank(CLAY, part) for part in parts_m3]
    assert sum(p.mass_t for p in parts) == pytest.approx(whole.mass_t)


def test_the_given_quantity_keeps_its_own_value_and_uncertainty():
    assert g.quantity_from_loose(CLAY, 100.0, 2.0).loose_m3 == 100.0
    assert g.quantity_from_loose(CLAY, 100.0, 2.0).u_loose_m3 == 2.0
    assert g.quantity_from_mass(CLAY, 100.0, 2.0).u_mass_t == 2.0
    assert g.quantity_from_compacted(CLAY, 100.0, 2.0).u_compacted_m3 == 2.0


def test_uncertainty_combines_quantity_and_factor_ranges():
    """JCGM 100:2008, 5.1.2, equation 10, written out by hand."""
    u_swell, u_density = 0.2 / math.sqrt(12), 0.12 / math.sqrt(12)
    from_bank = g.quantity_from_bank(CLAY, 100.0, 3.0)
    assert from_bank.u_loose_m3 == pytest.approx(
        math.sqrt((1.30 * 3.0) ** 2 + (100.0 * u_swell) ** 2)
    )
    assert from_bank.u_mass_t == pytest.approx(
        math.sqrt((2.00 * 3.0) ** 2 + (100.0 * u_density) ** 2)
    )
    from_loose = g.quantity_from_loose(CLAY, 130.0, 5.0)
    relative = math.sqrt((5 / 130) ** 2 + (u_swell / 1.30) ** 2 + (u_density / 2.00) ** 2)
    assert from_loose.u_mass_t == pytest.approx(200.0 * relative)


@given(amounts, st.floats(0.0, 0.3))
def test_the_uncertainty_agrees_with_finite_differences(bank_m3, relative):
    u_bank = relative * bank_m3
    quantity = g.quantity_from_bank(CLAY, bank_m3, u_bank)
    inputs = [(bank_m3, u_bank), (2.00, CLAY.bank_density_t_per_m3.standard_uncertainty)]
    step = 1e-4
    variance = 0.0
    for i, (x, u) in enumerate(inputs):
        high = [v * (1 + step) if j == i else v for j, (v, _) in enumerate(inputs)]
        low = [v * (1 - step) if j == i else v for j, (v, _) in enumerate(inputs)]
        slope = (math.prod(high) - math.prod(low)) / (2 * step * x)
        variance += (slope * u) ** 2
    assert quantity.u_mass_t == pytest.approx(math.sqrt(variance), rel=1e-6)


def test_factors_without_a_range_count_as_exact():
    quantity = g.quantity_from_bank(ground_of(1.3, 2.0), 100.0)
    assert (quantity.u_bank_m3, quantity.u_loose_m3, quantity.u_mass_t) == (0.0, 0.0, 0.0)


def test_ground_without_a_compaction_factor_leaves_that_open():
    bare = g.Ground(Factor(1.3, "-"), Factor(2.0, "t/m³"))
    assert g.quantity_from_bank(bare, 10.0).compacted_m3 is None
    assert g.quantity_from_bank(bare, 10.0).u_compacted_m3 is None
    with pytest.raises(FactorMissing, match="compacted_per_bank"):
        g.quantity_from_compacted(bare, 10.0)


def test_a_difference_may_be_negative_but_must_be_finite():
    assert g.quantity_from_loose(CLAY, -13.0).bank_m3 == pytest.approx(-10.0)
    for bad in (math.nan, math.inf):
        with pytest.raises(InputError, match="finite"):
            g.quantity_from_bank(CLAY, bad)
    with pytest.raises(InputError, match="uncertainty"):
        g.quantity_from_mass(CLAY, 1.0, -0.1)


@pytest.mark.parametrize(
    ("value", "advice"),
    [(30, "write 1.3 as loose / bank"), (0.3, "write 1.3;"), (0.77, "write 1.299"), (0, "between")],
)
def test_bulking_in_another_form_is_refused_with_what_to_write(value, advice):
    with pytest.raises(OutOfRange, match=advice):
        ground_of(value, 2.0)


@pytest.mark.parametrize(
    ("value", "advice"),
    [(19, "kN/m³: write 1.94 t/m³"), (1900, "kg/m³: write 1.9 t/m³"), (5, "moist density")],
)
def test_density_in_another_unit_is_refused_with_what_to_write(value, advice):
    with pytest.raises(OutOfRange, match=advice):
        ground_of(1.3, value)


def test_compaction_as_a_percentage_is_refused_with_what_to_write():
    with pytest.raises(OutOfRange, match=r"write 0\.9"):
        ground_of(1.3, 2.0, 90)


def test_a_percentage_of_swell_says_so():
    assert g.loose_per_bank_from_swell_percent(30) == 1.30
    assert g.loose_per_bank_from_swell_percent(0) == 1.0
    with pytest.raises(OutOfRange, match="write 30 %"):
        g.loose_per_bank_from_swell_percent(0.3)
    with pytest.raises(OutOfRange, match="give it as loose_per_bank"):
        g.loose_per_bank_from_swell_percent(1.3)
    with pytest.raises(OutOfRange):
        g.loose_per_bank_from_swell_percent(-5)


@given(densities, st.floats(0.0, 3.0))
def test_moist_and_dry_density_invert(density, moisture):
    dry = g.dry_density_t_per_m3(density, moisture)
    assert g.moist_density_t_per_m3(dry, moisture) == pytest.approx(density)
    assert dry <= density


def test_moisture_given_as_a_percentage_is_refused_with_what_to_write():
    with pytest.raises(OutOfRange, match=r"write 0\.23"):
        g.dry_density_t_per_m3(2.0, 23.0)


def test_ground_denser_than_its_particles_is_refused():
    with pytest.raises(InputError, match="leaves no voids"):
        g.void_ratio(2.8, 2.7)


@pytest.mark.parametrize(
    ("basis", "amount"),
    [("measured", 100.0), ("estimated", 100.0), ("counted", 130.0), ("weighed", 200.0)],
)
def test_each_basis_states_the_same_ground_in_its_own_unit(basis, amount):
    assert g.stated_quantity(ground_of(1.3, 2.0), basis, amount).bank_m3 == pytest.approx(100.0)


def test_a_basis_that_is_none_is_refused_with_the_known_ones():
    with pytest.raises(InputError, match="counted, estimated, measured, weighed"):
        g.stated_quantity(ground_of(1.3, 2.0), "guessed", 1.0)
