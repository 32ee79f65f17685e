"""US Army course slides on hauling; density of Nunnally table 2-5.

Inputs read, answer computed.

Source key: army_slides, nunnally.
"""

import pytest

from tracker.domain.haulage import payload

CUBIC_YARD_M3 = 0.764554857984
POUND_T = 0.45359237e-3


def test_weight_governs_a_5_ton_lorry_with_a_5_cubic_yard_body_in_clay():
    loose_per_bank = 1.30
    bank_density = 2310 * POUND_T / CUBIC_YARD_M3 * loose_per_bank
    load = payload(10_000 * POUND_T, 5 * CUBIC_YARD_M3, loose_per_bank, bank_density)
    assert load.governs == "weight"
    assert load.loose_m3_per_load / CUBIC_YARD_M3 == pytest.approx(4.33, abs=0.01)
    assert load.payload_t == 10_000 * POUND_T
