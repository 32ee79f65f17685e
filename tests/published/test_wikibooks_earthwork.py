"""Wikibooks, Fundamentals of Transportation, Earthwork, solution (read).

Source key: wikibooks_earthwork.
"""

import pytest

from tracker.domain.solids import run_volume


def test_the_fill_runs_out_as_a_pyramid():
    fill = run_volume((0, 50, 75, 100, 115, 150), (60, 50, 25, 5, 0, 0))
    assert fill.volume_m3 == pytest.approx(4087.5, abs=0.05)


def test_the_cut_begins_as_a_pyramid():
    cut = run_volume((75, 100, 115, 150), (0, 10, 15, 30))
    assert cut.volume_m3 == pytest.approx(1058.3, abs=0.05)
