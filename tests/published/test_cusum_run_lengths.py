"""Montgomery, average run lengths of the two-sided cumulative sum, allowance 1/2 (from memory).

Source key: montgomery_sqc.
"""

import pytest

from tracker.domain.reconcile.run_length import average_run_length

# shift in standard deviations; average run at a limit of 4 and of 5, printed to three figures
PRINTED = [
    (0.00, 168, 465),
    (0.25, 74.2, 139),
    (0.50, 26.6, 38.0),
    (0.75, 13.3, 17.0),
    (1.00, 8.38, 10.4),
    (1.50, 4.75, 5.75),
    (2.00, 3.34, 4.01),
    (2.50, 2.62, 3.11),
    (3.00, 2.19, 2.57),
    (4.00, 1.71, 2.01),
]


@pytest.mark.parametrize(("shift", "at_4", "at_5"), PRINTED)
def test_the_run_lengths_are_those_printed(shift, at_4, at_5):
    def three_figures(value):
        return float(f"{value:.3g}")

    assert three_figures(average_run_length(shift, 0.5, 4.0)) == at_4
    assert three_figures(average_run_length(shift, 0.5, 5.0)) == at_5


def test_a_limit_of_5_gives_one_false_alarm_in_930_periods_on_one_side():
    assert round(average_run_length(0.0, 0.5, 5.0, two_sided=False), -1) == pytest.approx(930)
