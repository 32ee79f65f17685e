"""Public holidays by nation, from the library that keeps them."""

from __future__ import annotations

from datetime import date

from tracker.domain.calendar import days
from tracker.errors import UnknownName

_SUBDIVISIONS = {
    "England": "ENG",
    "Wales": "WLS",
    "Scotland": "SCT",
    "Northern Ireland": "NIR",
}


def public_holidays(nation: str, since: date, until: date) -> dict[date, str]:
    """Date -> name of the public holidays of a nation between two dates, both included.

    A nation of the United Kingdom by its name, any other by its English name. A library knows what
    was proclaimed when it was published (holidays_library): check the dates ahead, and the
    agreements of the site. Raises UnknownName for a nation that the library does not have.

    >>> public_holidays("Scotland", date(2026, 11, 1), date(2026, 12, 24))
    {datetime.date(2026, 11, 30): "Saint Andrew's Day"}
    """
    import holidays  # a slow import, wanted only when a set-up is adopted

    years = range(since.year, until.year + 1)
    if nation in _SUBDIVISIONS:
        found = holidays.country_holidays("GB", subdiv=_SUBDIVISIONS[nation], years=years)
    else:
        known = holidays.registry.COUNTRIES
        name = nation.strip().lower().replace(" ", "_")
        if name not in known:
            raise UnknownName("nation", nation, [*_SUBDIVISIONS, *known])
        found = holidays.country_holidays(known[name][1], years=years)
    return {day: found[day] for day in days(since, until) if day in found}
