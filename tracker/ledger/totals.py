"""Running daily totals: what each entry adds, kept in the transaction that writes it.

Totals hold what was recorded (litres, kilograms, counts) and no factor of the set-up, so that a
change of factors never needs a rebuild. Pages read these and never scan the entries.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date
from itertools import pairwise
from typing import NamedTuple

from sqlalchemy import Connection, delete, select

from tracker.ledger.entries import (
    BeltReading,
    DigReturn,
    Entry,
    GateTraffic,
    LorryLoad,
    Receipt,
    SiteReuse,
)
from tracker.ledger.schema import DAILY_TOTALS

# The kinds that add to the totals entry by entry; belt readings add what lies between two of them.
COUNTED = ("dig_returns", "lorry_loads", "receipts", "site_reuse", "gate_traffic")
_HOURS = tuple(f"{hour:02d}" for hour in range(24))


class Key(NamedTuple):
    """What one running total is about."""

    day: date
    measure: str
    zone: str = ""
    stage: int = 0
    stream: str = ""
    route: str = ""
    detail: str = ""


Contribution = tuple[Key, int]


def contributions(entry: Entry) -> list[Contribution]:
    """What one entry adds to the totals. Belt readings add nothing alone: see `belt_runs`."""
    if isinstance(entry, DigReturn):
        return _of_return(entry)
    if isinstance(entry, LorryLoad):
        return _of_load(entry)
    if isinstance(entry, Receipt):
        mass_kg = entry.accepted_kg if entry.outcome == "accepted" else 0
        return [(Key(entry.receipt_date, "received_kg", detail=entry.destination), mass_kg)]
    if isinstance(entry, GateTraffic):
        return _of_traffic(entry)
    if isinstance(entry, SiteReuse):
        key = Key(entry.work_date, "reused_kg", stream=entry.stream)
        return [
            (key._replace(measure="reused_bank_l"), entry.bank_l or 0),
            (key._replace(measure="reused_compacted_l"), entry.compacted_l or 0),
            (key, entry.mass_kg or 0),
        ]
    return []


def _of_return(entry: DigReturn) -> list[Contribution]:
    key = Key(entry.work_date, "returns", entry.zone, detail=entry.shift)
    out: list[Contribution] = [(key, 1)]
    if entry.nil_reason:
        out.append((key._replace(measure="returns_nil"), 1))
    out += [
        (Key(entry.work_date, "delay_min", entry.zone, detail=d.cause), d.minutes)
        for d in entry.delays
    ]
    measure, amount = dug_amount(entry)
    if measure:
        dug = Key(entry.work_date, measure, entry.zone, entry.stage, entry.stream)
        out += [(dug._replace(detail=band), part) for band, part in _by_metre(entry, amount)]
    return out


def dug_amount(entry: DigReturn) -> tuple[str, int]:
    """The measure and the amount that a return states, in its own native unit."""
    if entry.basis in ("measured", "estimated"):
        return f"dug_{entry.basis}_l", entry.bank_l or 0
    if entry.basis == "counted":
        return "dug_counted_l", (entry.count or 0) * (entry.capacity_l or 0)
    if entry.basis == "weighed":
        return "dug_weighed_kg", entry.mass_kg or 0
    return "", 0


def _by_metre(entry: DigReturn, amount: int) -> list[tuple[str, int]]:
    """Split an amount over the whole-metre bands it was dug from, by depth, to the last unit.

    A band is named by the whole metre at its bottom; without levels it has no name.
    """
    top, bottom = entry.from_level_mm, entry.to_level_mm
    if top is None or bottom is None:
        return [("", amount)]
    if top <= bottom:
        return [(str(bottom // 1000), amount)]
    parts, given, level = [], 0, bottom
    while level < top:
        ends = min(top, (level // 1000 + 1) * 1000)
        upto = amount * (ends - bottom) // (top - bottom)
        parts.append((str(level // 1000), upto - given))
        given, level = upto, ends
    return parts


def _of_load(entry: LorryLoad) -> list[Contribution]:
    """A rejected load moved but delivered nothing; one sent on delivers, but moved under its
    first ticket: so weight counts once and so does every passage of the gate.
    """
    day, of_route = entry.gate_date, ("", 0, entry.stream, entry.route)
    out: list[Contribution] = []
    if not entry.reconsigned_from:
        out += [
            (Key(day, "loads", *of_route, entry.vehicle), 1),
            (Key(day, "moves_out", detail=_HOURS[entry.out_hour]), 1),
            (Key(entry.in_date, "moves_in", detail=_HOURS[entry.in_hour]), 1),
            (Key(day, "movements"), 1),
            (Key(entry.in_date, "movements"), 1),
        ]
    if entry.outcome == "rejected":
        out.append((Key(day, "loads_rejected", *of_route), 1))
    elif entry.net_kg is None:
        out.append((Key(day, "loads_no_weight", *of_route, entry.vehicle), 1))
    else:
        out.append((Key(day, "load_kg", *of_route), entry.net_kg))
        if entry.weight_basis == "weighed":
            out.append((Key(day, "weighed_kg", *of_route), entry.net_kg))
            out.append((Key(day, "weighed_loads", *of_route), 1))
    return out


def _of_traffic(entry: GateTraffic) -> list[Contribution]:
    """Traffic without spoil is counted apart, so that it enters the caps and no claim."""
    ways = ("in", "out") if entry.direction == "both" else (entry.direction,)
    hour = Key(entry.gate_date, "", detail=_HOURS[entry.hour])
    out = [(hour._replace(measure=f"other_{way}"), entry.vehicles) for way in ways]
    movements = Key(entry.gate_date, "other_movements", detail=entry.purpose)
    return [*out, (movements, len(ways) * entry.vehicles)]


def belt_runs(readings: Sequence[BeltReading]) -> list[Contribution]:
    """What a belt carried between its readings, in the order in which they were read.

    The first reading starts the count.
    """
    out: list[Contribution] = []
    for before, after in pairwise(readings):
        key = Key(after.work_date, "belt_kg", "", 0, after.stream, after.route, after.belt)
        run_kg = carried_kg(before, after)
        out.append((key, run_kg))
        if after.energy_wh is not None:
            out.append((key._replace(measure="belt_wh"), after.energy_wh))
            out.append((key._replace(measure="belt_metered_kg"), run_kg))
        if after.running_min is not None:
            out.append((key._replace(measure="belt_min"), after.running_min))
    return out


def carried_kg(before: BeltReading, after: BeltReading) -> int:
    """What a belt carried between two readings [kg].

    A reset or a swap starts a new count from its own value: nothing is carried across it. A
    totaliser that passed its highest value began at 0 again. A fall without any of these is no
    negative run: it adds nothing.
    """
    if after.event != "reading":
        return 0
    return max(0, (after.rollover_kg or 0) + after.totaliser_kg - before.totaliser_kg)


def gather(parts: Iterable[Contribution], sums: Counter[Key] | None = None) -> Counter[Key]:
    """Add contributions up by key."""
    sums = Counter() if sums is None else sums
    for key, amount in parts:
        sums[key] += amount
    return sums


def add_totals(conn: Connection, sums: Counter[Key]) -> None:
    """Add to the running totals within the caller's transaction."""
    rows = [(key.day.isoformat(), *key[1:], amount) for key, amount in sums.items() if amount]
    if not rows:
        return
    names = ", ".join(Key._fields)
    marks = ", ".join(["?" if conn.dialect.name == "sqlite" else "%s"] * len(rows[0]))
    conn.exec_driver_sql(
        f"INSERT INTO daily_totals ({names}, amount) VALUES ({marks})"
        f" ON CONFLICT ({names}) DO UPDATE SET amount = daily_totals.amount + excluded.amount",
        rows,
    )


def replace_belt_totals(conn: Connection, belt: str, readings: Sequence[BeltReading]) -> None:
    """Recount one belt: a reading that comes late changes the run after it as well."""
    conn.execute(
        delete(DAILY_TOTALS).where(
            DAILY_TOTALS.c.measure.in_(("belt_kg", "belt_wh", "belt_metered_kg", "belt_min")),
            DAILY_TOTALS.c.detail == belt,
        )
    )
    add_totals(conn, gather(belt_runs(readings)))


def read_totals(conn: Connection) -> Counter[Key]:
    """Every running total that is not zero."""
    rows = conn.execute(select(DAILY_TOTALS))
    return Counter({Key(*row[:-1]): row[-1] for row in rows if row[-1]})


def clear_totals(conn: Connection) -> None:
    """Forget every running total, to count them anew."""
    conn.execute(delete(DAILY_TOTALS))
