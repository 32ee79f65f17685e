"""A big clay box, as a plausibility check (common practice, no source)."""

import pytest

from tracker.domain.factors import Factor
from tracker.domain.ground import Ground, quantity_from_mass
from tracker.domain.haulage import loads_needed, movements

PRISM_M3 = 128.0 * 42.0 * 25.0


@pytest.mark.parametrize(("density", "percent_of_prism"), [(2.05, 87.0), (1.90, 94.0)])
def test_240_000_t_of_clay_fill_most_of_the_bounding_prism(density, percent_of_prism):
    clay = Ground(Factor(1.30, "-"), Factor(density, "t/m³"))
    bank_m3 = quantity_from_mass(clay, 240_000.0).bank_m3
    assert 100 * bank_m3 / PRISM_M3 == pytest.approx(percent_of_prism, abs=0.5)


def test_at_20_t_a_load_it_takes_240_days_of_100_movements():
    loads = loads_needed(240_000.0, 20.0)
    assert loads == 12_000
    assert movements(loads) == 24_000
    assert movements(loads) / 100 == 240
