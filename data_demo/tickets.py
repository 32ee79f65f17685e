"""Lorry tickets as gate and weighbridge wrote them: times, lorries, weights, and mishaps."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from random import Random

from data_demo.site_tables import CLAY, GRAVEL, MADE_GROUND, Row
from data_demo.spoil import LoadedLorry, SpoilFlow

ROUTES = {MADE_GROUND: "R-LORRY-MG", GRAVEL: "R-LORRY-GRAVEL", CLAY: "R-LORRY-CLAY"}
LANDFILL_ROUTE, LANDFILL_SHARE = "R-LORRY-LANDFILL", 0.22
DESTINATIONS = {
    "R-LORRY-MG": "treatment",
    "R-LORRY-LANDFILL": "landfill",
    "R-LORRY-GRAVEL": "haul_road",
    "R-LORRY-CLAY": "restoration",
}
CYCLE_MIN = {
    "R-LORRY-MG": 110,
    "R-LORRY-LANDFILL": 130,
    "R-LORRY-GRAVEL": 85,
    "R-LORRY-CLAY": 180,
}
NOTES = {  # a season note a month for waste, a delivery note a month for re-used gravel
    "R-LORRY-MG": ("WTN", "MG"),
    "R-LORRY-LANDFILL": ("WTN", "LF"),
    "R-LORRY-GRAVEL": ("DN", "GR"),
    "R-LORRY-CLAY": ("WTN", "CL"),
}
WEEKDAY_WINDOW, SATURDAY_WINDOW = (time(7, 30), time(18, 30)), (time(8, 0), time(13, 0))
RIGIDS, ARTICS = 34, 3
REJECTED_DAYS = (date(2026, 4, 22), date(2026, 5, 13), date(2026, 5, 27))
OVERLOADED_KG = {date(2026, 5, 8): 32280, date(2026, 7, 23): 32140}  # gross of one lorry
WEIGHBRIDGE_OUT = (
    datetime.fromisoformat("2026-05-19T13:30"),
    datetime.fromisoformat("2026-05-19T16:00"),
)
FIRST_TICKET, FIRST_GATE_TICKET = 40117, 801


class Lorries:
    """Who is back at the gate: each lorry goes out again only after its round trip."""

    def __init__(self) -> None:
        self._free_at: dict[str, datetime] = {}

    def take(self, vehicle: str, arrives: datetime, leaves: datetime, cycle_min: int) -> str:
        """The first lorry of a kind that can be back by then; busy until its round trip ends."""
        kind, count = ("A", ARTICS) if vehicle == "artic_44" else ("R", RIGIDS)
        for number in range(1, count + 1):
            name = f"DEMO-{kind}{number:02d}"
            if self._free_at.get(name, arrives) <= arrives:
                self._free_at[name] = leaves + timedelta(minutes=cycle_min)
                return name
        raise RuntimeError(f"No {vehicle} is free at {arrives}: raise the number of lorries.")


def _window(day: date) -> tuple[datetime, datetime]:
    opens, closes = SATURDAY_WINDOW if day.weekday() == 5 else WEEKDAY_WINDOW
    return datetime.combine(day, opens), datetime.combine(day, closes)


def _gate_times(rng: Random, day: date, count: int) -> list[tuple[datetime, datetime]]:
    """In and out times of a day's loads, spread over the window, whole minutes."""
    opens, closes = _window(day)
    slot = (closes - opens - timedelta(minutes=40)) / count
    times = []
    for place in range(count):
        arrives = opens + slot * (place + rng.uniform(0.0, 0.6))
        arrives = arrives.replace(second=0, microsecond=0) + timedelta(minutes=1)
        times.append((arrives, arrives + timedelta(minutes=rng.randrange(17, 35))))
    return times


def _carrier(registration: str) -> str:
    return "carrier_2" if registration[-1] in "369" else "carrier_1"


def _transfer_note(route: str, carrier: str, day: date) -> str:
    """The note of a month, a carrier and a destination."""
    kind, code = NOTES[route]
    return f"{kind}-{day:%Y-%m}-{code}-{carrier[-1]}"


def _weights(rng: Random, load: LoadedLorry, registration: str) -> Row:
    """Gross, tare and net to the weighbridge's 20 kg."""
    empty_t = Random(registration).uniform(11.62, 11.9) + (3.9 if "A" in registration[5:] else 0)
    tare_kg = 20 * round((empty_t + rng.gauss(0.0, 0.03)) * 50)
    net_kg = 20 * round(load.net_t * 50)
    return _weighed(tare_kg + net_kg, tare_kg)


def _weighed(gross_kg: int, tare_kg: int) -> Row:
    return {
        "gross_t": f"{gross_kg / 1000:.2f}",
        "tare_t": f"{tare_kg / 1000:.2f}",
        "net_t": f"{(gross_kg - tare_kg) / 1000:.2f}",
        "weight_basis": "weighed",
    }


def _ticket(rng: Random, load: LoadedLorry, at: tuple[datetime, datetime], lorries: Lorries) -> Row:
    route = ROUTES[load.stream]
    if load.stream == MADE_GROUND and rng.random() < LANDFILL_SHARE:
        route = LANDFILL_ROUTE
    registration = lorries.take(load.vehicle, *at, CYCLE_MIN[route])
    carrier = _carrier(registration)
    row = {
        "ticket_issuer": "WB1",
        "ticket_number": "",
        "gate_in_at": at[0].isoformat(timespec="minutes"),
        "gate_out_at": at[1].isoformat(timespec="minutes"),
        "carrier": carrier,
        "vehicle": load.vehicle,
        "registration": registration,
        "stream": load.stream,
        "zone": load.zone if rng.random() > 0.06 else "",
        "route": route,
        **_weights(rng, load, registration),
        "outcome": "accepted",
        "reconsigned_from": "",
        "transfer_note": _transfer_note(route, carrier, load.day),
        "note": "",
    }
    if WEIGHBRIDGE_OUT[0] <= at[1] <= WEIGHBRIDGE_OUT[1]:
        row |= {"ticket_issuer": "GATE", "note": "weighbridge out of order"}
        row |= {"gross_t": "", "tare_t": "", "net_t": "", "weight_basis": "none"}
        if rng.random() < 0.6:
            row |= {"net_t": "19", "weight_basis": "estimated"}
    return row


def _sent_on(rejected: Row) -> Row:
    """The same lorry back through the gate and on to the landfill, its weight carried on."""
    left = datetime.fromisoformat(rejected["gate_out_at"])
    back, out = left + timedelta(minutes=118), left + timedelta(minutes=131)
    return rejected | {
        "ticket_number": "",
        "gate_in_at": back.isoformat(timespec="minutes"),
        "gate_out_at": out.isoformat(timespec="minutes"),
        "route": LANDFILL_ROUTE,
        "transfer_note": _transfer_note(LANDFILL_ROUTE, rejected["carrier"], left.date()),
        "outcome": "accepted",
        "reconsigned_from": "rejected this day",
        "note": "carries on the load rejected by the recovery yard",
    }


def _overload_one(tickets: list[Row], gross_kg: int) -> None:
    """Make a lorry of the middle of the day leave above its plate, as real records have it."""
    ticket = tickets[len(tickets) // 2]
    ticket |= _weighed(gross_kg, round(float(ticket["tare_t"]) * 1000))


def _reject_one(tickets: list[Row]) -> list[Row]:
    """Turn the first load for the recovery yard into one refused there and sent on."""
    refused = next(t for t in tickets if t["route"] == "R-LORRY-MG")
    refused |= {"outcome": "rejected", "note": "refused by the recovery yard: timber in the load"}
    # A lorry of its own, so that no other trip of the day overlaps the way back.
    day = date.fromisoformat(refused["gate_out_at"][:10])
    refused["registration"] = f"DEMO-R{RIGIDS + 1 + REJECTED_DAYS.index(day):02d}"
    return [*tickets, _sent_on(refused)]


def _number(tickets: list[Row], rng: Random) -> None:
    """Print numbers in the order of leaving; a spoiled ticket leaves a gap now and then."""
    following = {"WB1": FIRST_TICKET, "GATE": FIRST_GATE_TICKET}
    refused = ""
    for ticket in tickets:
        issuer = ticket["ticket_issuer"]
        ticket["ticket_number"] = str(following[issuer])
        following[issuer] += 2 if rng.random() < 0.003 else 1
        if ticket["outcome"] == "rejected":
            refused = ticket["ticket_number"]
        if ticket["reconsigned_from"]:
            ticket["reconsigned_from"] = refused


def tickets_table(rng: Random, flow: SpoilFlow) -> list[Row]:
    """Every ticket of the season in the order in which the lorries left."""
    by_day: dict[date, list[LoadedLorry]] = {}
    for load in flow.loads:
        by_day.setdefault(load.day, []).append(load)
    tickets: list[Row] = []
    for day, loads in by_day.items():
        rng.shuffle(loads)
        lorries = Lorries()
        times = _gate_times(rng, day, len(loads))
        today = [_ticket(rng, load, at, lorries) for load, at in zip(loads, times, strict=True)]
        # Loads placed on site are drawn with the others, so that these stay as they were.
        today = [t for t, load in zip(today, loads, strict=True) if not load.placed]
        if day in OVERLOADED_KG:
            _overload_one(today, OVERLOADED_KG[day])
        tickets += _reject_one(today) if day in REJECTED_DAYS else today
    tickets.sort(key=lambda t: (t["gate_out_at"], t["registration"]))
    _number(tickets, rng)
    return tickets
