"""A night shift across the United Kingdom's clock changes of 2026, by the IANA time zone database.

Computed: 29 March, 01:00 to 02:00 local time skipped; 25 October, 01:00 to 02:00 shown twice.

Source key: tzdata.
"""

from datetime import date, time

import pytest

from tracker.domain.calendar import shift_minutes
from tracker.domain.site import Shift

NIGHT = Shift("night", "Night", time(22), time(6), weekdays=(0, 1, 2, 3, 4, 5, 6))


@pytest.mark.parametrize(
    ("work_date", "hours"),
    [
        (date(2026, 3, 27), 8),
        (date(2026, 3, 28), 7),
        (date(2026, 3, 29), 8),
        (date(2026, 10, 23), 8),
        (date(2026, 10, 24), 9),
        (date(2026, 10, 25), 8),
    ],
)
def test_22_to_6_lasts_7_hours_in_march_and_9_in_october(work_date, hours):
    assert shift_minutes(NIGHT, work_date, "Europe/London") == hours * 60
