"""What happened when, decided by hand: shifts, stages dug and released, belt outages, surveys.

The generator draws only the scatter at random; the story of the invented season stands here.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

SEED = 20261027
FIRST_DAY = date(2026, 4, 7)
LAST_DAY = date(2026, 10, 27)  # day shift only: the night shift of this date is not back yet

# England's bank holidays within the season's year.
HOLIDAYS = {
    date(2026, 4, 3): "Good Friday",
    date(2026, 4, 6): "Easter Monday",
    date(2026, 5, 4): "early May bank holiday",
    date(2026, 5, 25): "spring bank holiday",
    date(2026, 8, 31): "summer bank holiday",
}

# The site is shut over Christmas; bank holidays of later years come from the set-up's nation.
SHUTDOWN = {
    date(2026, 12, 24): "Christmas shutdown",
    date(2026, 12, 25): "Christmas Day",
    date(2026, 12, 26): "Boxing Day",
    date(2026, 12, 27): "Christmas shutdown",
    date(2026, 12, 28): "Boxing Day, substitute day",
    date(2026, 12, 29): "Christmas shutdown",
    date(2026, 12, 30): "Christmas shutdown",
    date(2026, 12, 31): "Christmas shutdown",
    date(2027, 1, 1): "New Year's Day",
    date(2027, 1, 2): "Christmas shutdown",
    date(2027, 1, 3): "Christmas shutdown",
}

BELT_START = date(2026, 6, 1)
BELT_OUTAGES = (
    (date(2026, 7, 20), date(2026, 7, 24)),
    (date(2026, 8, 24), date(2026, 8, 28)),
)
TOTALISER_RESET_AT = datetime.fromisoformat("2026-08-11T06:58")
TOTALISER_RESET_SHIFT = (date(2026, 8, 10), "night")

# Saturdays whose weekend night was used to catch up; on 24 October the clocks went back in it.
CATCH_UP_NIGHTS = (
    date(2026, 8, 1),
    date(2026, 8, 15),
    date(2026, 8, 29),
    date(2026, 9, 12),
    date(2026, 9, 26),
    date(2026, 10, 10),
    date(2026, 10, 24),
)
CLOCK_CHANGE_NIGHT = date(2026, 10, 24)

# On Saturdays after which the weekend night was idle, so that the cut-off is plain.
SURVEYS = (
    ("SV1", datetime.fromisoformat("2026-05-30T10:00")),
    ("SV2", datetime.fromisoformat("2026-07-11T10:00")),
    ("SV3", datetime.fromisoformat("2026-09-05T10:00")),
    ("SV4", datetime.fromisoformat("2026-10-17T10:00")),
)

BREACH_CLOSED_ID = "demo-overdig-b2-2026-06-19"
OVERDIGS = {  # zone, stage -> lowest level reported on its last shift [m]
    ("B", 2): 96.15,
    ("D", 3): 90.41,
}
SHIFT_MINUTES = {"day": 720, "night": 720, "weekend": 480}


@dataclass(frozen=True, slots=True)
class Pour:
    """Concrete booked for a day: how many mixers of 8 m3, over how many hours from eight."""

    booking: str
    day: date
    lorries: int
    hours: int


POURS = (
    Pour("POUR-S-COLLAR", date(2026, 7, 13), 42, 8),
    Pour("POUR-S-RING2", date(2026, 8, 6), 26, 7),
    Pour("POUR-S-RING3", date(2026, 9, 10), 26, 7),
    Pour("POUR-A-SLAB-WEST", date(2026, 10, 14), 54, 9),  # 432 m2 accepted, a metre thick
    Pour("POUR-S-RING4", date(2026, 10, 15), 26, 7),
    Pour("POUR-A-SLAB-EAST", date(2026, 10, 29), 36, 8),  # to come: not accepted yet
)
# Steel for props and walers: lorries a day. On 24 July and 27 August, when clay went by road, the
# haulage coordinator had left no room for them, and the day went a little above its cap.
STEEL_DAYS = {
    date.fromisoformat(f"2026-{day}"): lorries
    for day, lorries in (
        *(("04-17", 4), ("04-20", 5), ("05-01", 4), ("05-05", 5), ("05-18", 4), ("05-29", 5)),
        *(("06-08", 4), ("06-09", 4), ("06-22", 6), ("06-23", 5), ("07-06", 6), ("07-24", 2)),
        *(("08-03", 6), ("08-04", 5), ("08-20", 6), ("08-27", 5), ("09-01", 6), ("09-02", 5)),
        *(("09-28", 6), ("09-29", 6), ("10-12", 4), ("10-27", 5)),
    )
}
PLANT_MOVES = {  # low loaders with excavators, cranes and the belt's parts
    date.fromisoformat(f"2026-{day}"): vehicles
    for day, vehicles in (
        *(("04-07", 4), ("05-05", 2), ("05-27", 3), ("05-29", 3), ("07-03", 2), ("07-27", 1)),
        *(("08-17", 2), ("09-25", 2), ("10-26", 1)),
    )
}
# Booked beside the pours for the last day and those to come: name, day, hours, purpose, vehicles.
BOOKED_AHEAD = (
    ("STEEL-E-27", date(2026, 10, 27), (13, 16), "steel", 5),
    ("STEEL-E-28", date(2026, 10, 28), (9, 12), "steel", 6),
    ("PLANT-S-28", date(2026, 10, 28), (13, 15), "plant", 1),
    ("STORES-30", date(2026, 10, 30), (8, 17), "stores", 9),
    ("CRANE-30", date(2026, 10, 30), (10, 12), "plant", 4),
)


@dataclass(frozen=True, slots=True, order=True)
class Shift:
    """A shift of the season; sorts by date, then day before night before weekend."""

    work_date: date
    name: str

    @property
    def ends_at(self) -> datetime:
        """Local time at which it ends."""
        midnight = datetime.combine(self.work_date, time())
        hours = {"day": 19, "night": 24 + 7, "weekend": 24 + 6}
        return midnight + timedelta(hours=hours[self.name])


@dataclass(frozen=True, slots=True)
class StageDug:
    """One stage of one zone: when it was released, first and last dug, and how deep it stands."""

    zone: str
    stage: int
    released_at: datetime
    starts: date
    ends: date
    level_m: float
    ends_by_day: bool = False  # the last shift is a day shift


def _stage(
    zone: str, stage: int, released: str, starts: str, ends: str, level_m: float, by_day: bool
) -> StageDug:
    return StageDug(
        zone,
        stage,
        datetime.fromisoformat(f"2026-{released}"),
        date.fromisoformat(f"2026-{starts}"),
        date.fromisoformat(f"2026-{ends}"),
        level_m,
        by_day,
    )


STAGES_DUG = (
    _stage("A", 1, "04-02 15:10", "04-07", "04-16", 101.6, False),
    _stage("A", 2, "05-01 14:20", "05-06", "05-27", 96.4, False),
    _stage("A", 3, "06-12 11:05", "06-29", "07-24", 90.6, False),
    _stage("A", 4, "08-14 16:30", "08-20", "09-24", 84.8, False),
    _stage("B", 1, "04-15 10:40", "04-20", "04-30", 101.6, False),
    _stage("B", 2, "05-18 15:45", "06-01", "06-19", 96.4, False),
    _stage("B", 3, "07-08 09:30", "07-27", "08-28", 90.6, False),
    _stage("B", 4, "09-25 13:15", "10-01", "10-27", 88.2, True),
    _stage("C", 1, "04-29 09:20", "05-05", "05-14", 101.6, False),
    _stage("C", 2, "06-03 16:10", "06-15", "07-03", 96.4, False),
    _stage("C", 3, "07-24 10:25", "08-17", "09-25", 90.6, False),
    _stage("D", 1, "05-13 11:50", "05-18", "05-28", 101.6, False),
    _stage("D", 2, "06-17 14:00", "07-06", "07-30", 96.4, False),
    _stage("D", 3, "08-21 15:35", "09-21", "10-27", 90.6, True),
    _stage("E", 1, "05-28 10:15", "06-01", "06-05", 101.6, False),
    _stage("E", 2, "06-23 13:40", "08-03", "08-19", 96.4, False),
    _stage("E", 3, "10-16 11:20", "10-19", "10-27", 94.9, True),
    _stage("S", 1, "07-02 09:45", "07-06", "07-09", 101.4, False),
    _stage("S", 2, "07-15 15:20", "07-16", "07-31", 95.4, False),
    _stage("S", 3, "08-11 10:30", "08-17", "09-04", 89.4, False),
    _stage("S", 4, "09-15 14:45", "09-21", "10-09", 83.4, False),
    _stage("S", 5, "10-21 11:10", "10-22", "10-27", 81.9, True),
)


@dataclass(frozen=True, slots=True)
class Decision:
    """A decision on the hold before one stage of one zone."""

    zone: str
    stage: int
    status: str
    decided_at: datetime
    permit: str


# Decisions beside the releases that the stages dug above rest on.
OTHER_DECISIONS = (
    Decision("E", 3, "released", datetime.fromisoformat("2026-09-10T14:05"), "PTD-E3-01"),
    Decision("E", 3, "suspended", datetime.fromisoformat("2026-09-29T08:40"), "PTD-E3-01"),
    Decision("C", 4, "released", datetime.fromisoformat("2026-10-21T15:50"), "PTD-C4-01"),
)


def hold_decisions() -> list[Decision]:
    """Every decision on a stage's hold in the order decided; a permit issued again counts up."""
    issued = {(d.zone, d.stage) for d in OTHER_DECISIONS}
    releases = [
        Decision(
            d.zone,
            d.stage,
            "released",
            d.released_at,
            f"PTD-{d.zone}{d.stage}-0{2 if (d.zone, d.stage) in issued else 1}",
        )
        for d in STAGES_DUG
    ]
    return sorted((*releases, *OTHER_DECISIONS), key=lambda d: (d.decided_at, d.zone))


def hold_status(zone: str, stage: int, day: date) -> str:
    """Status of a stage's hold at the end of a date."""
    states = [
        d.status
        for d in hold_decisions()
        if (d.zone, d.stage) == (zone, stage) and d.decided_at.date() <= day
    ]
    return states[-1] if states else "not released"


def season_shifts() -> list[Shift]:
    """Every shift of the calendar from the first day to the last day shift."""
    shifts: list[Shift] = []
    for offset in range((LAST_DAY - FIRST_DAY).days + 1):
        day = FIRST_DAY + timedelta(days=offset)
        if day in HOLIDAYS:
            continue
        if day.weekday() < 5:
            shifts += [Shift(day, "day"), Shift(day, "night")]
        elif day.weekday() == 5:
            shifts.append(Shift(day, "weekend"))
    return shifts[:-1]


def belt_runs(day: date) -> bool:
    """Whether the belt is commissioned and not broken down on a date."""
    return day >= BELT_START and not any(first <= day <= last for first, last in BELT_OUTAGES)
