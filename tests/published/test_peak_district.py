"""Peak District NPA, planning decision NP/DDD/0214/0210, condition 10 (read).

Source key: peak_district.
"""

from tracker.domain.haulage import movements


def test_400_loads_are_800_movements():
    assert movements(400) == 800
