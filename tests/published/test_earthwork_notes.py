"""Earthwork course notes, haul cycle example (read; cubic yards and miles used throughout).

Source key: earthwork_notes.
"""

import pytest

from tracker.domain.haulage import haul_cycle

CYCLE = haul_cycle(12.0, 95.0, 7.0, 30.0, 40.0, 3.0)


def test_the_parts_of_the_cycle():
    assert CYCLE.load_h == pytest.approx(0.126, abs=0.001)
    assert CYCLE.haul_h == pytest.approx(0.233, abs=0.001)
    assert CYCLE.dump_h == pytest.approx(0.050, abs=0.001)
    assert CYCLE.return_h == pytest.approx(0.175, abs=0.001)
    assert CYCLE.cycle_h == pytest.approx(0.584, abs=0.001)


def test_the_lorries_that_balance_follow_from_the_cycle_not_from_the_last_line_of_the_notes():
    """A trap: the notes end with 9 lorries, which belongs to other data."""
    assert CYCLE.lorries_to_balance == pytest.approx(4.63, abs=0.005)
    assert abs(CYCLE.lorries_to_balance - 9.0) > 4.0
