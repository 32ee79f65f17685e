"""Traffic through the gate that carries no spoil, and what was booked ahead."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from random import Random

from data_demo.season import (
    BOOKED_AHEAD,
    FIRST_DAY,
    HOLIDAYS,
    LAST_DAY,
    PLANT_MOVES,
    POURS,
    STEEL_DAYS,
    Pour,
)
from data_demo.site_tables import Row

HOURS = range(8, 18)  # whole hours within the gate's window
HOUR_CAP, BUSY_DAY = 16, 96  # movements; no stores are ordered for a day with so much spoil


class GateBook:
    """Vehicles by hour as the gate wrote them down, sent where the hour still has room."""

    def __init__(self, tickets: list[Row]) -> None:
        self.spoil: Counter[str] = Counter()
        self._by_hour: Counter[str] = Counter()
        for ticket in tickets:
            for passed in (ticket["gate_in_at"], ticket["gate_out_at"]):
                self.spoil[passed[:10]] += 1
                self._by_hour[passed[:13]] += 1
        self._vehicles: Counter[tuple[str, str, str, str]] = Counter()

    def has_room(self, day: date, hour: int, movements: int) -> bool:
        """Whether an hour stays within its cap."""
        return self._by_hour[f"{day}T{hour:02d}"] + movements <= HOUR_CAP

    def let_pass(
        self, day: date, hour: int, purpose: str, direction: str, *, count: int, reference: str = ""
    ) -> None:
        """Write vehicles into an hour. Raises RuntimeError where they pass its cap."""
        movements = count * (2 if direction == "both" else 1)
        if not self.has_room(day, hour, movements):
            raise RuntimeError(f"{day} {hour}:00 has no room for {count} of {purpose}.")
        at = f"{day}T{hour:02d}"
        self._by_hour[at] += movements
        self._vehicles[f"{at}:00", purpose, direction, reference] += count

    def rows(self) -> list[Row]:
        """A row for each hour, purpose, direction and reference, in order."""
        return [
            {
                "passed_at": at,
                "purpose": purpose,
                "vehicles": str(count),
                "direction": direction,
                "reference": reference,
            }
            for (at, purpose, direction, reference), count in sorted(self._vehicles.items())
        ]


def _let_pour(book: GateBook, pour: Pour) -> None:
    """Mixers spread evenly over the hours, each out again in the hour after it came."""
    for place in range(pour.lorries):
        hour = HOURS[0] + place * pour.hours // pour.lorries
        for later, direction in enumerate(("in", "out")):
            book.let_pass(
                pour.day, hour + later, "concrete", direction, count=1, reference=pour.booking
            )


def _let_visit(rng: Random, book: GateBook, day: date, purpose: str, vehicles: int) -> None:
    """Vehicles that come and go within an hour in which there is room, as booked if they were."""
    booked = [
        range(*hours) for _, on, hours, what, _ in BOOKED_AHEAD if (on, what) == (day, purpose)
    ]
    hours = booked[0] if booked else HOURS
    for _ in range(vehicles):
        free = [hour for hour in hours if book.has_room(day, hour, 2)]
        book.let_pass(day, rng.choice(free), purpose, "both", count=1)


def traffic_table(rng: Random, tickets: list[Row]) -> list[Row]:
    """Concrete, steel, plant and stores of the season by hour."""
    book = GateBook(tickets)
    for pour in POURS:
        if pour.day <= LAST_DAY:
            _let_pour(book, pour)
    poured = {pour.day for pour in POURS}
    for offset in range((LAST_DAY - FIRST_DAY).days + 1):
        day = FIRST_DAY + timedelta(days=offset)
        if day.weekday() > 4 or day in HOLIDAYS:
            continue
        _let_visit(rng, book, day, "steel", STEEL_DAYS.get(day, 0))
        _let_visit(rng, book, day, "plant", PLANT_MOVES.get(day, 0))
        if book.spoil[str(day)] < BUSY_DAY and day not in poured:
            _let_visit(rng, book, day, "stores", rng.randrange(1, 5))
    return book.rows()


def bookings_table() -> list[Row]:
    """The pours, and what else was booked for the days after the last one."""
    rows = [
        _booking(p.booking, p.day, (HOURS[0], HOURS[0] + p.hours + 1), "concrete", p.lorries)
        for p in POURS
    ]
    for booking, day, hours, purpose, vehicles in BOOKED_AHEAD:
        rows.append(_booking(booking, day, hours, purpose, vehicles))
    return sorted(rows, key=lambda row: (row["gate_date"], row["from_hour"]))


def _booking(booking: str, day: date, hours: tuple[int, int], purpose: str, vehicles: int) -> Row:
    return {
        "booking": booking,
        "gate_date": str(day),
        "from_hour": str(hours[0]),
        "to_hour": str(hours[1]),
        "purpose": purpose,
        "movements_in": str(vehicles),
        "movements_out": str(vehicles),
        "booked_by": "concrete foreman" if purpose == "concrete" else "logistics manager",
    }
