"""Japanese civil works examination, question on L and C ratios (read).

Source key: jp_examination.
"""

import pytest

from tracker.domain.factors import Factor
from tracker.domain.ground import Ground, quantity_from_bank, quantity_from_compacted

GROUND = Ground(Factor(1.25, "-"), Factor(1.8, "t/m³"), Factor(0.9, "-"))


def test_100_bank_m3_are_125_loose_and_90_compacted():
    quantity = quantity_from_bank(GROUND, 100.0)
    assert quantity.loose_m3 == pytest.approx(125.0)
    assert quantity.compacted_m3 == pytest.approx(90.0)


def test_100_compacted_m3_were_111_bank_and_139_loose():
    quantity = quantity_from_compacted(GROUND, 100.0)
    assert quantity.bank_m3 == pytest.approx(111.0, abs=0.5)
    assert quantity.loose_m3 == pytest.approx(139.0, abs=0.5)
