"""What the ways out can take, and the hours in which something stops: the set-up's own figures.

All of it is invented, and agrees with what the season did: no zone was dug in its possession, no
belt carried in a stop of its own, and no receiver was sent more in a day than it takes.
"""

from __future__ import annotations

from datetime import date, timedelta

from data_demo.season import CATCH_UP_NIGHTS, FIRST_DAY, POURS
from data_demo.site_tables import VEHICLE, Row, table_rows

WEEKDAYS = "Mon Tue Wed Thu Fri"
AHEAD_TO = date(2027, 4, 30)  # as far as stops are agreed
CATCH_UP_EVERY_DAYS = 14  # from the first of them on
SHAFT_POURS = ("POUR-S-COLLAR", "POUR-S-RING2", "POUR-S-RING3", "POUR-S-RING4")


def belts_table() -> list[Row]:
    """The one belt, which in the season carried some 240 t/h while it ran."""
    return table_rows(
        "belt|capacity_t_per_h|running_share|source|width_m|trough_deg|surcharge_deg"
        "|speed_m_per_s|loose_density_t_per_m3|length_m|lift_m",
        "BELT1|255|0.5|data sheet INV-CV-01 (invented); loading a barge takes half of a shift"
        "|0.65|30|15|1.25|1.56|600|18",
    )


def hoists_table() -> list[Row]:
    """The crane over the shaft; its skip is the one in which shifts count."""
    return table_rows(
        "hoist|zones|skip_m3|fill|lifts_per_h|source",
        "shaft crane|S|8|0.94|4|lifting plan INV-LP-04 (invented)",
    )


def fleets_table() -> list[Row]:
    """The rigid lorries: those on the long round and those on the short ones."""
    return table_rows(
        "fleet|vehicle|routes|lorries|loaders|load_min|away_min|source",
        f"long round|{VEHICLE}|R-LORRY-CLAY|21|2|12|193|INV-LOG-07 logistics plan (invented)",
        f"short rounds|{VEHICLE}|R-LORRY-MG; R-LORRY-LANDFILL; R-LORRY-GRAVEL|13|2|12|128"
        "|INV-LOG-07 logistics plan (invented)",
    )


def receiving_table() -> list[Row]:
    """When receivers take spoil; by lorry or over their quay."""
    return table_rows(
        "destination|weekdays|opens|closes|daily_t|reference",
        f"restoration|{WEEKDAYS}|07:00|20:00|1800|agreement INV-RA-11 (invented)",
        "restoration|Sat|08:00|15:00|900|agreement INV-RA-11 (invented)",
        f"haul_road|{WEEKDAYS}|07:00|19:30|1100|agreement INV-RA-21 (invented)",
        "haul_road|Sat|08:00|14:30|500|agreement INV-RA-21 (invented)",
        f"treatment|{WEEKDAYS}|07:00|19:30|500|agreement INV-RA-12 (invented)",
        "treatment|Sat|08:00|14:30|300|agreement INV-RA-12 (invented)",
        f"landfill|{WEEKDAYS}|07:30|19:30|250|agreement INV-RA-13 (invented)",
        "landfill|Sat|08:00|14:30|120|agreement INV-RA-13 (invented)",
    )


def _stop(
    kind: str,
    about: str,
    days: tuple[date, date],
    reason: str,
    reference: str,
    *,
    weekdays: str = "",
    hours: tuple[str, str] = ("", ""),
) -> Row:
    first_day, last_day = days
    return {
        "kind": kind,
        "about": about,
        "first_day": str(first_day),
        "last_day": str(last_day),
        "weekdays": weekdays,
        "starts": hours[0],
        "ends": hours[1],
        "reason": reason,
        "reference": f"{reference} (invented)",
    }


def _maintenance_nights() -> list[Row]:
    """Weekend nights on which plant and belt are looked after instead of catching up."""
    first = CATCH_UP_NIGHTS[0]
    spans = [(FIRST_DAY, first - timedelta(days=1))]
    night = first + timedelta(days=7)
    while night <= AHEAD_TO:
        spans.append((night, night))
        night += timedelta(days=CATCH_UP_EVERY_DAYS)
    why, reference = "maintenance of belt and plant", "maintenance plan INV-MP-02"
    return [
        _stop("site", "", span, why, reference, weekdays="Sat", hours=("22:00", "06:00"))
        for span in spans
    ]


def stops_table() -> list[Row]:
    """Every stop that is agreed, of the season and ahead of it, in the order of its first day."""
    rings = [pour for pour in POURS if pour.booking in SHAFT_POURS]
    day_shift = ("07:00", "19:00")
    pours = [
        _stop(
            *("zone", "S", (pour.day, pour.day), "possession of the shaft for its pour"),
            *(f"INV-POS-{number:02d}",),
            hours=day_shift,
        )
        for number, pour in enumerate(rings, start=1)
    ]
    return sorted(
        [*_maintenance_nights(), *pours, *_belt_stops(), *_other_stops()],
        key=lambda row: (row["first_day"], row["kind"]),
    )


def _belt_stops() -> list[Row]:
    return [
        _stop(
            *("belt", "BELT1", (date(2026, 6, 8), AHEAD_TO), "weekly maintenance of the belt"),
            "maintenance plan INV-MP-02",
            weekdays="Mon",
            hours=("07:00", "09:00"),
        ),
        _stop(
            *("belt", "BELT1", (date(2026, 11, 18), date(2026, 11, 19))),
            *("possession of the wharf: its fenders are renewed", "harbour notice INV-HN-31"),
        ),
    ]


def _other_stops() -> list[Row]:
    return [
        _stop(
            *("zone", "B", (date(2026, 10, 29), date(2026, 10, 29))),
            *("possession for the pour beside it, zone A east", "INV-POS-05"),
            hours=("07:00", "19:00"),
        ),
        _stop(
            *("hoist", "shaft crane", (date(2026, 11, 3), date(2026, 11, 3))),
            *("thorough examination of the crane", "lifting plan INV-LP-04"),
            hours=("07:00", "13:00"),
        ),
        _stop(
            *("destination", "restoration", (date(2026, 12, 23), date(2027, 1, 3))),
            *("Christmas shutdown", "agreement INV-RA-11"),
        ),
        _stop(
            *("destination", "treatment", (date(2026, 12, 19), date(2027, 1, 10))),
            *("Christmas shutdown", "agreement INV-RA-12"),
        ),
        _stop(
            *("destination", "landfill", (date(2026, 12, 24), date(2027, 1, 3))),
            *("Christmas shutdown", "agreement INV-RA-13"),
        ),
    ]
