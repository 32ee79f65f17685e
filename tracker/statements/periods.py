"""A period parted into weeks or months, each cut at the ends of what was asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from tracker.errors import InputError
from tracker.statements.words import date_words

GRAINS = ("total", "month", "week")


@dataclass(frozen=True, slots=True)
class Period:
    """A part of a period with the name it goes by."""

    label: str
    starts: date
    ends: date


def periods(since: date, until: date, grain: str) -> tuple[Period, ...]:
    """The parts of a period, in order. Raises InputError for an unknown grain or swapped dates."""
    check_grain(grain)
    check_order(since, until)
    if grain == "total":
        return (Period("total", since, until),)
    found, first = [], since
    while first <= until:
        last = min(_last_day(first, grain), until)
        found.append(Period(_label(first, grain), first, last))
        first = last + timedelta(days=1)
    return tuple(found)


def check_grain(grain: str) -> None:
    """Raise InputError for an unknown grain."""
    if grain not in GRAINS:
        raise InputError(f"Grain “{grain}” is unknown; use {', '.join(GRAINS)}.", field="grain")


def check_order(since: date, until: date) -> None:
    """Raise InputError for a period that starts after it ends."""
    if since > until:
        raise InputError(
            f"The period starts on {since}, after it ends on {until}: swap the dates.",
            field="since",
        )


def first_day(opened: date, since: date | None, until: date) -> date:
    """The day on which a period starts: as asked, but not before the site was opened.

    Raises InputError for swapped dates.
    """
    check_order(since or until, until)
    return min(max(since or opened, opened), until)


def _last_day(first: date, grain: str) -> date:
    if grain == "week":
        return first + timedelta(days=6 - first.weekday())
    return (first.replace(day=1) + timedelta(days=31)).replace(day=1) - timedelta(days=1)


def _label(first: date, grain: str) -> str:
    if grain == "month":
        return f"{first:%b %Y}"
    return f"week of {date_words(first - timedelta(days=first.weekday()))}"
