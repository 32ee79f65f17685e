"""Dig returns as the shifts wrote them: volumes with scatter, nil shifts with reasons, gaps."""

from __future__ import annotations

from datetime import timedelta
from random import Random

from data_demo.dig import TRUE_DENSITY_T_PER_M3, TRUE_LOOSE_PER_BANK, Slice
from data_demo.season import (
    BELT_START,
    BREACH_CLOSED_ID,
    CATCH_UP_NIGHTS,
    FIRST_DAY,
    LAST_DAY,
    SHIFT_MINUTES,
    STAGES_DUG,
    Shift,
    StageDug,
    belt_runs,
    hold_status,
    season_shifts,
)
from data_demo.site_tables import OPENS, ZONES, Row, design_stages

MISSING_CHANCE, SMALL_SHIFT_M3 = 0.02, 75.0
RETURNS_READ_HIGH = 1.003  # shifts report a little more than they dig
COUNTED_CAPACITY_M3 = 7.5  # loose volume of a muck skip as filled
COMMON_DELAYS = (
    ("plant_down", "excavator down"),
    ("obstruction", "obstruction in the ground, probing ahead"),
    ("weather", "wind over the crane's limit"),
    ("permit", "no permit to dig"),
)

COLUMNS = (
    *("work_date", "shift", "zone", "stage", "stream", "basis", "bank_m3", "count"),
    *("capacity_m3", "mass_t", "from_level_m", "to_level_m", "lowest_level_m", "nil_reason"),
    *("delays", "note", "entry_id"),
)


def _row(shift: Shift, zone: str, stage: int, **filled: str) -> Row:
    row = dict.fromkeys(COLUMNS, "")
    row |= {"work_date": str(shift.work_date), "shift": shift.name, "zone": zone}
    return row | {"stage": str(stage)} | filled


def _quantity(rng: Random, ground: Slice) -> Row:
    """Basis and quantity of one slice as a shift would state it."""
    bank_m3 = ground.bank_m3 * RETURNS_READ_HIGH
    basis = rng.choices(("measured", "counted", "weighed", "estimated"), (74, 14, 5, 7))[0]
    if basis == "counted" and bank_m3 > 80.0:
        loose_m3 = bank_m3 * TRUE_LOOSE_PER_BANK[ground.stream] * rng.gauss(1.0, 0.012)
        skips = round(loose_m3 / COUNTED_CAPACITY_M3)
        return {"basis": basis, "count": str(skips), "capacity_m3": f"{COUNTED_CAPACITY_M3}"}
    if basis == "weighed":
        mass_t = bank_m3 * TRUE_DENSITY_T_PER_M3[ground.stream] * rng.gauss(1.0, 0.008)
        return {"basis": basis, "mass_t": f"{mass_t:.1f}"}
    if basis == "estimated" and bank_m3 > 80.0:
        return {"basis": basis, "bank_m3": str(5 * round(bank_m3 * rng.gauss(1.0, 0.02) / 5))}
    return {"basis": "measured", "bank_m3": f"{bank_m3 * rng.gauss(1.0, 0.015):.1f}"}


def _delays(rng: Random, shift: Shift) -> str:
    """Lost minutes of a shift that dug nevertheless."""
    delays = []
    if rng.random() < 0.25:
        delays.append(f"{rng.choice(COMMON_DELAYS)[0]}:{rng.randrange(20, 155, 5)}")
    if shift.work_date < BELT_START:
        if shift.name == "day" and rng.random() < 0.3:
            delays.append(f"lorry_wait:{rng.randrange(20, 130, 5)}")
    elif not belt_runs(shift.work_date):
        delays.append(f"belt_down:{rng.randrange(90, 270, 10)}")
    elif rng.random() < 0.12:
        delays.append(f"belt_down:{rng.randrange(15, 95, 5)}")
    return "; ".join(delays)


def _dug_row(rng: Random, ground: Slice, delays: str) -> Row:
    row = _row(
        ground.shift,
        ground.zone,
        ground.stage,
        stream=ground.stream,
        **_quantity(rng, ground),
        from_level_m=f"{ground.from_m:.2f}",
        to_level_m=f"{ground.to_m:.2f}",
        lowest_level_m=f"{ground.lowest_m:.2f}",
        delays=delays,
    )
    if (ground.zone, ground.stage, ground.lowest_m) == ("B", 2, 96.15):
        row |= {"note": "over-dug strip along the south wall", "entry_id": BREACH_CLOSED_ID}
    if (ground.zone, ground.stage, ground.lowest_m) == ("D", 3, 90.41):
        row["note"] = "soft pocket scraped out in the north-east corner"
    return row


def _stage_at(zone: str, shift: Shift) -> StageDug:
    """The stage last begun in a zone."""
    begun = [d for d in STAGES_DUG if d.zone == zone and d.starts <= shift.work_date]
    return begun[-1]


def _waiting(zone: str, shift: Shift, last: StageDug) -> tuple[str, str]:
    """Reason and delays of a shift after a stage was reached and before the next is dug."""
    stages = design_stages(zone)
    _, support, hold_days = stages[last.stage - 1]
    if last.stage == len(stages):
        return "at formation: inspection, blinding and base slab", ""
    status = hold_status(zone, last.stage + 1, shift.work_date)
    if status == "suspended":
        reason = f"stage {last.stage + 1} suspended: prop load readings under review"
        return reason, _all_shift("permit", shift)
    if status == "released":
        return f"stage {last.stage + 1} released; digging crew in another zone", ""
    if shift.work_date > last.ends + timedelta(days=hold_days):
        return f"waiting for {support}, later than planned", _all_shift("support_late", shift)
    return f"waiting for {support}", ""


def _all_shift(cause: str, shift: Shift) -> str:
    return f"{cause}:{SHIFT_MINUTES[shift.name]}"


def _nil_row(rng: Random, zone: str, shift: Shift) -> Row:
    last = _stage_at(zone, shift)
    digging = shift.work_date <= last.ends
    if shift.name == "weekend" and shift.work_date not in CATCH_UP_NIGHTS:
        reason, delays = "planned maintenance of belt and plant", ""
    elif digging and shift.name == "weekend":
        reason, delays = "catch-up night in another zone", ""
    elif digging:
        cause, reason = rng.choices(COMMON_DELAYS, (5, 2, 2, 2))[0]
        delays = _all_shift(cause, shift)
    else:
        reason, delays = _waiting(zone, shift, last)
    return _row(shift, zone, last.stage, nil_reason=reason, delays=delays)


def _goes_missing(rng: Random, rows: list[Row], pieces: list[Slice]) -> bool:
    """Whether a return was never sent; one that dug much would be asked for until it came."""
    kept = any(r["note"] or r["work_date"] in (str(FIRST_DAY), str(LAST_DAY)) for r in rows)
    dug_m3 = sum(piece.bank_m3 for piece in pieces)
    return rng.random() < MISSING_CHANCE and not kept and dug_m3 < SMALL_SHIFT_M3


def returns_table(rng: Random, slices: list[Slice]) -> list[Row]:
    """The returns of every zone and shift from the day the zone opens, but for those never sent."""
    dug: dict[tuple[str, Shift], list[Slice]] = {}
    for ground in slices:
        dug.setdefault((ground.zone, ground.shift), []).append(ground)
    table: list[Row] = []
    for shift in season_shifts():
        for zone in ZONES:
            if str(shift.work_date) < OPENS[zone]:
                continue
            pieces = dug.get((zone, shift), [])
            delays = _delays(rng, shift)
            rows = [
                _dug_row(rng, piece, delays if piece is pieces[0] else "") for piece in pieces
            ] or [_nil_row(rng, zone, shift)]
            if not _goes_missing(rng, rows, pieces):
                table += rows
    return table
