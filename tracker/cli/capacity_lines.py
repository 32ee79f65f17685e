"""The capacity statement as lines of text."""

from __future__ import annotations

from tracker.cli.answers import table
from tracker.domain.programme import governing
from tracker.statements.capacity_shapes import CapacityStatement


def capacity_lines(s: CapacityStatement) -> list[str]:
    """What governs, day by day, then the limits of the days ahead, then what was measured."""
    return [
        s.headline,
        "",
        *_days(s),
        *_shared(s),
        "",
        *_reasons(s),
        "",
        *_limits(s),
        "",
        *(line.sentence for line in s.measured),
    ]


def _days(s: CapacityStatement) -> list[str]:
    def cubic(value: float | None) -> str:
        return "–" if value is None else f"{value:,.0f}"

    heads = ["day", "of", "hours", "dug m³", "by rate m³", "limit m³", "governs"]
    rows = [
        [
            f"{x.work_date} {x.work_date:%a}",
            x.excavation,
            f"{x.hours:.0f}",
            "ahead" if x.expected else cubic(x.dug_bank_m3),
            cubic(x.dig_bank_m3),
            f"{cubic(x.least_bank_m3)}{' all' if x.shared else ''}",
            x.governs,
        ]
        for x in s.days
    ]
    return table(heads, rows) if rows else ["No day of the period has ground to dig."]


def _shared(s: CapacityStatement) -> list[str]:
    if not any(x.shared for x in s.days):
        return []
    return [
        "A limit with “all” is shared by all zones: set it against what all excavations of the day"
        " want together."
    ]


def _reasons(s: CapacityStatement) -> list[str]:
    """Why, for days that something particular or else than calendar and digging governs."""
    return [
        f"{x.work_date} {x.excavation}: {x.sentence}"
        for x in s.days
        if x.note or x.governs not in (governing.DIG, governing.CALENDAR)
    ]


def _limits(s: CapacityStatement) -> list[str]:
    """The limits of the first day ahead that has any, with how each is reckoned."""
    ahead = {x.work_date for x in s.days if x.expected}
    first = min((x.work_date for x in s.limits if x.work_date in ahead), default=None)
    if first is None:
        return ["No limit is set up for the days ahead."]
    return [
        f"Limits of {first:%a} {first}, as m³ bank of all that is dug:",
        *(
            f"  {x.name} {x.about}".rstrip() + f": {x.bank_m3:,.0f} m³. {x.how.removesuffix('.')}."
            for x in s.limits
            if x.work_date == first
        ),
    ]
