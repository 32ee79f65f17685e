"""HMRC landfill tax rates for 2026 to 2027, published 26 November 2025 (inputs read).

Source key: landfill_tax_uk_2026.
"""

from datetime import date

import pytest

from tracker.domain.reference_tables import landfill_tax_rate


@pytest.mark.parametrize(("day", "gbp"), [(date(2026, 3, 31), 81.00), (date(2026, 4, 1), 173.00)])
def test_20_t_at_the_lower_rate_on_either_side_of_the_change(day, gbp):
    assert 20 * landfill_tax_rate("England", "lower", day).value == pytest.approx(gbp)
