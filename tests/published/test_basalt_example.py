"""A worked example on basalt, found on several pages (second-hand).

Source key: basalt_example.
"""

import pytest

from tracker.domain.ground import (
    bank_per_loose,
    loose_density_t_per_m3,
    loose_per_bank_from_swell_percent,
)

LB_PER_CY_IN_T_PER_M3 = 0.45359237e-3 / 0.764554857984


def test_basalt_of_67_percent_swell_weighs_2965_lb_a_loose_cubic_yard():
    loose_per_bank = loose_per_bank_from_swell_percent(67)
    assert loose_per_bank == pytest.approx(1.67)
    assert bank_per_loose(loose_per_bank) == pytest.approx(0.599, abs=0.0005)
    loose = loose_density_t_per_m3(4950 * LB_PER_CY_IN_T_PER_M3, loose_per_bank)
    assert loose / LB_PER_CY_IN_T_PER_M3 == pytest.approx(2965, abs=1)
