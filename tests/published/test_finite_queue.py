"""Anderson and others, An Introduction to Management Science, chapter 11, page 478 (read).

Six units, each arriving 0.05 times an hour while away, one server with 0.50 services an hour.

Source key: anderson.
"""

import pytest

from tracker.domain.fleet import finite_queue

QUEUE = finite_queue(6, 0.05, 0.50)


def test_the_queue_of_six_units_at_one_server_is_that_printed():
    assert QUEUE.p_idle == pytest.approx(0.4845, abs=0.0005)
    assert QUEUE.queue_length == pytest.approx(0.3297, abs=0.0005)
    assert QUEUE.in_system == pytest.approx(0.8451, abs=0.0005)
    assert QUEUE.wait_h == pytest.approx(1.279, abs=0.0005)
    assert QUEUE.time_in_system_h == pytest.approx(3.279, abs=0.0005)


def test_one_server_is_busy_whenever_it_is_not_idle():
    assert QUEUE.p_wait == pytest.approx(1.0 - QUEUE.p_idle)
