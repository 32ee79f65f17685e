"""SI 1995/1907 schedule 2 (read) and SI 2000/932 schedule 3 (inputs read, answer computed).

Source key: si1995_1907, si2000_932.
"""

import pytest

from tracker.domain.haulage import permitted_error_kg, weighbridge_error


def test_a_32_t_gross_and_a_12_t_tare_on_a_20_kg_weighbridge_in_service():
    error = weighbridge_error(32.0, 12.0, 20.0)
    assert (error.gross_kg, error.tare_kg, error.net_worst_kg) == (40.0, 40.0, 80.0)
    assert error.u_net_kg == pytest.approx(32.7, abs=0.1)


@pytest.mark.parametrize(
    ("intervals", "permitted_intervals"), [(500, 1.0), (501, 2.0), (2000, 2.0), (10_000, 3.0)]
)
def test_the_permitted_error_in_service_is_twice_that_of_table_3(intervals, permitted_intervals):
    assert permitted_error_kg(intervals * 20 / 1000, 20.0) == permitted_intervals * 20
