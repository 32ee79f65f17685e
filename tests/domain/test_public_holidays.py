"""Public holidays by nation."""

from __future__ import annotations

from datetime import date

import pytest

from tracker.domain.public_holidays import public_holidays
from tracker.errors import UnknownName

YEAR = (date(2026, 1, 1), date(2026, 12, 31))


def test_nations_keep_their_own_days():
    england, scotland = public_holidays("England", *YEAR), public_holidays("Scotland", *YEAR)
    assert date(2026, 8, 31) in england
    assert date(2026, 8, 31) not in scotland
    assert date(2026, 8, 3) in scotland
    assert date(2026, 8, 3) not in england
    assert england[date(2026, 4, 6)] == "Easter Monday"


def test_a_holiday_on_a_weekend_is_kept_on_a_weekday_too():
    assert date(2026, 12, 28) in public_holidays("England", *YEAR)  # Boxing Day is a Saturday


def test_only_days_asked_for_are_given():
    assert list(public_holidays("England", date(2026, 4, 4), date(2026, 4, 6))) == [
        date(2026, 4, 6)
    ]


def test_other_nations_are_known_by_name():
    assert date(2026, 7, 14) in public_holidays("France", *YEAR)
    with pytest.raises(UnknownName, match="Atlantis"):
        public_holidays("Atlantis", *YEAR)
