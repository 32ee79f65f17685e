"""Belt readings and stock counts as the belt operator and the site engineer wrote them."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from random import Random

from data_demo.dig import TRUE_DENSITY_T_PER_M3, TRUE_LOOSE_PER_BANK
from data_demo.season import (
    BELT_START,
    CLOCK_CHANGE_NIGHT,
    HOLIDAYS,
    SHIFT_MINUTES,
    TOTALISER_RESET_AT,
    TOTALISER_RESET_SHIFT,
    Shift,
    belt_runs,
)
from data_demo.site_tables import CLAY, GRAVEL, Row
from data_demo.spoil import STREAMS, SpoilFlow

BELT_ROUTES = {GRAVEL: "R-BELT-GRAVEL", CLAY: "R-BELT"}
KWH_PER_T, BELT_T_PER_MIN = 0.42, 4.2
DRIFT_AT_RESET = 0.015  # the weigher reads high by this much just before it is recalibrated
OPENING_TOTALISER_T = 412.6  # test runs before the first spoil
BAY, WALL_SIDE = "H1 loading bay", "H2 beside the wall"
WALL_HEAP_LIMIT_M3, BAY_LIMIT_M3 = 160.0, 600.0
TRUE_COMPACTED_PER_BANK = 0.87  # of the gravel as rolled
ZERO_ALLOWED_T = 0.15
ZERO_AFTER_OUTAGE = {date(2026, 7, 27): 0.31}  # spoil had caked on the idlers
MATERIAL_CHECKS = (
    (datetime.fromisoformat("2026-08-07T10:20"), 38.52),
    (datetime.fromisoformat("2026-08-12T09:40"), 38.36),
)


def _reading(shift: Shift, read_at: str, stream: str, totaliser_t: float) -> Row:
    return {
        "read_at": read_at,
        "work_date": str(shift.work_date),
        "shift": shift.name,
        "belt": "BELT1",
        "route": BELT_ROUTES[stream],
        "stream": stream,
        "totaliser_t": f"{totaliser_t:.1f}",
        "event": "reading",
        "energy_kwh": "",
        "running_min": "",
        "note": "",
    }


def _drift(day: date) -> float:
    """By what share the weigher reads high: more and more until it is recalibrated."""
    if day >= TOTALISER_RESET_AT.date():
        return 0.0
    days = (TOTALISER_RESET_AT.date() - BELT_START).days
    return DRIFT_AT_RESET * (day - BELT_START).days / days


def _weigher(rng: Random, day: date) -> float:
    """What the weigher shows per true tonne: its drift, and scatter."""
    return (1.0 + _drift(day)) * rng.gauss(1.0, 0.008)


def _stamps(rng: Random, shift: Shift, count: int) -> list[str]:
    """When the readings of a shift were taken; the change night says which 01:40 it means."""
    if shift.work_date == CLOCK_CHANGE_NIGHT:
        return ["2026-10-25T01:40+01:00", "2026-10-25T01:25+00:00", "2026-10-25T05:52+00:00"]
    half = timedelta(minutes=SHIFT_MINUTES[shift.name] // 2 + rng.randrange(60))
    last = shift.ends_at - timedelta(minutes=rng.randrange(4, 14))
    first = [shift.ends_at - half] if count == 2 else []
    return [at.isoformat(timespec="minutes") for at in (*first, last)]


def _run(rng: Random, flow: SpoilFlow) -> dict[Shift, list[tuple[str, float]]]:
    runs: dict[Shift, list[tuple[str, float]]] = {}
    for shift, stream, mass_t in flow.belt:
        parts = [0.3, 0.2, 0.5] if shift.work_date == CLOCK_CHANGE_NIGHT else [1.0]
        shown_t = mass_t * _weigher(rng, shift.work_date)
        runs.setdefault(shift, []).extend((stream, shown_t * part) for part in parts)
    return runs


def _reset_row() -> Row:
    shift = Shift(*TOTALISER_RESET_SHIFT)
    row = _reading(shift, TOTALISER_RESET_AT.isoformat(timespec="minutes"), CLAY, 0.0)
    return row | {"event": "reset", "note": "weigher recalibrated with test weights"}


def belt_table(rng: Random, flow: SpoilFlow) -> list[Row]:
    """A reading at the end of every shift in which the belt ran, and where the stream changed."""
    opening = Shift(BELT_START, "day")
    first_at = datetime.combine(BELT_START, time(7, 5)).isoformat(timespec="minutes")
    rows = [_reading(opening, first_at, GRAVEL, OPENING_TOTALISER_T)]
    totaliser_t, is_reset = OPENING_TOTALISER_T, False
    for shift, run in _run(rng, flow).items():
        if not is_reset and shift > Shift(*TOTALISER_RESET_SHIFT):
            rows.append(_reset_row())
            totaliser_t, is_reset = 0.0, True
        for read_at, (stream, shown_t) in zip(_stamps(rng, shift, len(run)), run, strict=True):
            totaliser_t += shown_t
            row = _reading(shift, read_at, stream, totaliser_t)
            row["running_min"] = str(round(shown_t / BELT_T_PER_MIN * rng.uniform(1.0, 1.12)))
            energy_kwh = shown_t * KWH_PER_T * rng.gauss(1.0, 0.05) + 6.0
            if rng.random() > 0.1:
                row["energy_kwh"] = f"{energy_kwh:.0f}"
            rows.append(row)
    return rows


def belt_checks_table(rng: Random) -> list[Row]:
    """The empty belt once a week, and two known masses, before and after the recalibration."""
    days = [BELT_START + timedelta(days=7 * week) for week in range(22)]
    days = [day + timedelta(days=day in HOLIDAYS) for day in days]
    rows = []
    for day in days:
        if belt_runs(day):
            shown_t = ZERO_AFTER_OUTAGE.get(day, rng.gauss(0.0, 0.045))
            rows.append(_check(datetime.combine(day, time(6, 30)), "zero", shown_t, minutes=20))
    for checked_at, reference_t in MATERIAL_CHECKS:
        shown_t = reference_t * (1.0 + _drift(checked_at.date()) + rng.uniform(-0.0005, 0.001))
        rows.append(_check(checked_at, "material", shown_t, reference_t=reference_t, minutes=11))
    return sorted(rows, key=lambda row: row["checked_at"])


def _check(
    checked_at: datetime, method: str, shown_t: float, *, minutes: int, reference_t: float = 0.0
) -> Row:
    allowed_t = 0.005 * reference_t if reference_t else ZERO_ALLOWED_T
    return {
        "checked_at": checked_at.isoformat(timespec="minutes"),
        "belt": "BELT1",
        "method": method,
        "shown_t": f"{shown_t:.2f}",
        "reference_t": f"{reference_t:.2f}" if reference_t else "",
        "running_min": str(minutes),
        "allowed_t": f"{allowed_t:.2f}",
        "note": "ground of two lorries, weighed on the weighbridge" if reference_t else "",
    }


def reuse_table(rng: Random, flow: SpoilFlow) -> list[Row]:
    """The gravel placed as a piling mat: weighed on the first day, then surveyed in place."""
    placed_t: dict[date, float] = {}
    for load in flow.loads:
        if load.placed:
            placed_t[load.day] = placed_t.get(load.day, 0.0) + load.net_t
    rows: list[Row] = []
    for day, mass_t in placed_t.items():
        weighed = not rows
        mat_m3 = mass_t / TRUE_DENSITY_T_PER_M3[GRAVEL] * TRUE_COMPACTED_PER_BANK
        rows.append(
            {
                "placed_at": datetime.combine(day, time(18)).isoformat(timespec="minutes"),
                "stream": GRAVEL,
                "location": "piling mat around the shaft",
                "basis": "weighed" if weighed else "compacted",
                "compacted_m3": "" if weighed else f"{mat_m3 * rng.gauss(1.0, 0.02):.1f}",
                "mass_t": f"{mass_t:.1f}" if weighed else "",
            }
        )
    return rows


def _heap_rows(
    counted_at: datetime, stream: str, loose_m3: float, was: dict[str, float]
) -> list[Row]:
    """The heaps of one stream that hold something, or held something at the count before."""
    beside_wall_m3 = min(0.3 * loose_m3, 0.85 * WALL_HEAP_LIMIT_M3) if stream == CLAY else 0.0
    rows = []
    for location, heap_m3 in ((BAY, loose_m3 - beside_wall_m3), (WALL_SIDE, beside_wall_m3)):
        before_m3 = was.get(location + stream, -1.0 if location == BAY else 0.0)
        was[location + stream] = heap_m3
        if heap_m3 == 0.0 and before_m3 == 0.0:
            continue
        wall = location == WALL_SIDE
        rows.append(
            {
                "counted_at": counted_at.isoformat(timespec="minutes"),
                "location": location,
                "stream": stream,
                "loose_m3": f"{heap_m3:.1f}",
                "method": "cone" if wall else "windrow" if heap_m3 > 40.0 else "estimate",
                "surcharge_limit_m3": f"{WALL_HEAP_LIMIT_M3 if wall else BAY_LIMIT_M3:.0f}",
            }
        )
    return rows


def stock_table(rng: Random, flow: SpoilFlow) -> list[Row]:
    """The heaps counted on the first working morning of each week and at the very end."""
    rows: list[Row] = []
    was: dict[str, float] = {}
    for counted_at, on_site_t in flow.stock:
        for stream in STREAMS:
            bank_m3 = on_site_t[stream] / TRUE_DENSITY_T_PER_M3[stream]
            loose_m3 = bank_m3 * TRUE_LOOSE_PER_BANK[stream] * rng.gauss(1.0, 0.04)
            rows += _heap_rows(counted_at, stream, max(loose_m3, 0.0), was)
    return rows
