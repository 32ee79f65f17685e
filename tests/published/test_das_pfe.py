"""Das, Principles of Foundation Engineering, example 1.1 (read).

Source key: das_pfe.
"""

import pytest

from tracker.domain.ground import moisture_content


def test_moisture_is_on_dry_weight():
    """A trap: a companion prints 8.44 %, which is on wet weight."""
    percent = 100 * moisture_content(2.6, 28.2)
    assert percent == pytest.approx(9.22, abs=0.01)
    assert abs(percent - 8.44) > 0.7
