"""Dates and numbers as people read them, one way throughout."""

from __future__ import annotations

from datetime import date


def date_words(day: date) -> str:
    """A date with its weekday.

    >>> date_words(date(2026, 10, 27))
    'Tue 27 Oct 2026'
    """
    return f"{day:%a} {day.day} {day:%b %Y}"


def percent_words(percent: float) -> str:
    """A percentage that reads 100 only where it is whole.

    >>> percent_words(99.97), percent_words(100.0)
    ('99.9 %', '100 %')
    """
    if percent == 100.0:
        return "100 %"
    return f"{min(percent, 99.9):.1f} %"
