"""Dates and numbers as people read them, one way throughout."""

from __future__ import annotations

from datetime import date, datetime


def date_words(day: date) -> str:
    """A date with its weekday.

    >>> date_words(date(2026, 10, 27))
    'Tue 27 Oct 2026'
    """
    return f"{day:%a} {day.day} {day:%b %Y}"


def moment_words(at: datetime) -> str:
    """A moment on the clocks of the site, with its weekday.

    >>> moment_words(datetime(2026, 10, 27, 6, 0))
    'Tue 27 Oct 2026 06:00'
    """
    return f"{date_words(at.date())} {at:%H:%M}"


def span_words(days: float) -> str:
    """A length of time in days, in hours where it is under a day.

    >>> span_words(0.75), span_words(2.5)
    ('18 h', '2.5 days')
    """
    return f"{24 * days:.0f} h" if 0.0 < days < 1.0 else f"{days:.1f} days"


def percent_words(percent: float) -> str:
    """A percentage that reads 100 only where it is whole.

    >>> percent_words(99.97), percent_words(100.0)
    ('99.9 %', '100 %')
    """
    if percent == 100.0:
        return "100 %"
    return f"{min(percent, 99.9):.1f} %"


def count_words(count: int, name: str) -> str:
    """A number of things by their name, with an s where there is not one of them.

    >>> count_words(1, "day"), count_words(6, "day")
    ('1 day', '6 days')
    """
    return f"{count:,} {name}" if count == 1 else f"{count:,} {name}s"
