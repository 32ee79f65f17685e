"""Earthmoving handbook table swell - voids - load factors (second-hand).

Source key: swell_table.
"""

import pytest

from tracker.domain.ground import bank_per_loose, loose_per_bank_from_swell_percent


@pytest.mark.parametrize(
    ("swell_percent", "load_factor"),
    [(5, 0.952), (10, 0.909), (15, 0.870), (20, 0.833), (25, 0.800), (30, 0.769), (35, 0.741)],
)
def test_the_load_factor_follows_from_the_swell(swell_percent, load_factor):
    loose_per_bank = loose_per_bank_from_swell_percent(swell_percent)
    assert bank_per_loose(loose_per_bank) == pytest.approx(load_factor, abs=0.0005)
