"""Rows about what a shift dug: dig returns."""

from __future__ import annotations

from datetime import date

from tracker.domain.calendar import shift_times
from tracker.domain.ground import ground_of, stated_quantity
from tracker.domain.levels import design_volume, plan_area
from tracker.domain.site import Shift, Stream, Zone
from tracker.errors import UnknownName
from tracker.ledger.entries import Delay, DigReturn, Entry
from tracker.recording.fields import Fields
from tracker.recording.levels import read_level

LEVELS = ("from_level_m", "to_level_m", "lowest_level_m")
QUANTITIES = ("bank_m3", "count", "capacity_m3", "mass_t")
CARRIES = {
    "measured": ("bank_m3",),
    "estimated": ("bank_m3",),
    "counted": ("count", "capacity_m3"),
    "weighed": ("mass_t",),
}
# Common practice, no source.
LARGEST_CAPACITY_M3 = 40.0  # of a skip, a bucket or a lorry body
THICKNESS_MISMATCH = 0.4  # share of the volume that the levels suggest
IMPOSSIBLE = 3.0  # times the volume of the whole zone between the levels of a shift
DEEP_SPOT_M = 1.0  # below the general level: a sump or a pile trim at most
LEVEL_READING_M = 0.05  # how well a general level of a shift is known


def read_return(row: Fields) -> Entry | None:
    """A dig return, or None with the reasons kept in the row."""
    work_date = row.day("work_date")
    shift = read_shift(row, work_date)
    zone = row.named("zone", row.setup.zones)
    stage = read_stage(row, zone)
    levels = {name: read_level(row, name, zone) for name in LEVELS}
    _check_descent(row, levels)
    quantities = {
        name: row.whole(name) if name == "count" else row.thousandths(name) for name in QUANTITIES
    }
    nil_reason = row.text("nil_reason")
    basis, stream = _read_basis(row, nil_reason, quantities)
    delays = _read_delays(row, shift, work_date)
    if zone and work_date and work_date < zone.opens:
        row.warn("work_date", f"Zone {zone.zone} opens only on {zone.opens}.")
    if zone and stage and stream and not row.failed:
        _check_volume(row, zone, stage, stream, quantities, levels)
    if row.failed or not (work_date and shift and zone and stage):
        return None
    return row.made(
        DigReturn,
        work_date=work_date,
        shift=shift.shift,
        zone=zone.zone,
        stage=stage,
        stream=stream.stream if stream else "",
        basis=basis,
        bank_l=quantities["bank_m3"],
        count=quantities["count"],
        capacity_l=quantities["capacity_m3"],
        mass_kg=quantities["mass_t"],
        from_level_mm=levels["from_level_m"],
        to_level_mm=levels["to_level_m"],
        lowest_level_mm=levels["lowest_level_m"],
        nil_reason=nil_reason,
        delays=delays,
    )


def read_shift(row: Fields, work_date: date | None) -> Shift | None:
    """The shift of a row, which has begun; says so if the calendar does not expect it."""
    shift = row.named("shift", row.setup.shifts)
    if shift is None or work_date is None:
        return shift
    if not row.setup.works(shift, work_date):
        row.warn(
            "shift",
            f"The calendar has no {shift.shift} shift on {work_date:%A} {work_date}. If it was"
            " worked, leave it; if not, correct the date.",
        )
    start, _ = shift_times(shift, work_date, row.setup.site.time_zone)
    if start > row.sheet.now and work_date <= row.clock.local(row.sheet.now).date():
        row.wrong("shift", f"The {shift.shift} shift of {work_date} has not begun yet.")
    return shift


def read_stage(row: Fields, zone: Zone | None) -> int | None:
    """The number of a stage that the zone has."""
    number = row.whole("stage")
    if number is None or zone is None or (zone.zone, number) in row.setup.stages:
        return number
    have = ", ".join(str(s.stage) for s in row.setup.site.stages_of(zone.zone))
    row.wrong("stage", f"Zone {zone.zone} has no stage {number}; it has {have}.")
    return None


def _check_descent(row: Fields, levels: dict[str, int | None]) -> None:
    start, end, lowest = levels["from_level_m"], levels["to_level_m"], levels["lowest_level_m"]
    if start is not None and end is not None and end > start:
        row.wrong(
            "to_level_m",
            f"The shift ends at {end / 1000:g} m, above its start at {start / 1000:g} m. Swap the"
            " two or correct the sign.",
        )
    for name, upper in (("end", end), ("start", start)):
        if upper is not None and lowest is not None and lowest > upper:
            row.wrong(
                "lowest_level_m",
                f"The deepest point at {lowest / 1000:g} m is above the level at the {name} of the"
                f" shift, {upper / 1000:g} m. Give the deepest point anywhere in the zone.",
            )
            return
    if end is not None and lowest is not None and end - lowest > DEEP_SPOT_M * 1000:
        row.warn(
            "lowest_level_m",
            f"The deepest point at {lowest / 1000:g} m is {(end - lowest) / 1000:.2f} m below the"
            f" level at the end of the shift, {end / 1000:g} m. Correct it if it is a slip.",
        )


def _read_basis(
    row: Fields, nil_reason: str, quantities: dict[str, int | None]
) -> tuple[str, Stream | None]:
    """Basis and stream of a dug shift; neither of a nil one."""
    basis = row.choice("basis", tuple(CARRIES))
    stream = row.named("stream", row.setup.streams)
    filled = [name for name in QUANTITIES if quantities[name] is not None]
    blank = not row.text("basis") and all(row.value(name) is None for name in QUANTITIES)
    if nil_reason:
        if filled or basis:
            row.wrong(
                "nil_reason",
                "A nil shift has no basis and no quantity. Leave the reason empty if ground was"
                " dug, or remove the rest.",
            )
        if stream:
            row.warn("stream", "A nil shift has no stream; it is left out.")
        return "", None
    if blank:
        row.wrong(
            "nil_reason",
            "Nothing says what was dug. Give basis and quantity, or for a nil shift the reason why"
            " nothing was dug.",
        )
        return "", None
    if not row.text("stream"):
        row.wrong("stream", "A shift that dug names its material stream.")
    if not row.text("basis"):
        row.wrong("basis", "Say how the quantity is known: measured, counted, weighed, estimated.")
    if basis:
        _check_carried(row, basis, quantities)
    return basis, stream


def _check_carried(row: Fields, basis: str, quantities: dict[str, int | None]) -> None:
    for name in QUANTITIES:
        amount = quantities[name]
        if name not in CARRIES[basis]:
            if amount is not None:
                row.wrong(
                    name,
                    f"A {basis} quantity is given in {' and '.join(CARRIES[basis])}; leave {name}"
                    " empty or change the basis.",
                )
        elif row.value(name) is None:
            row.wrong(name, f"A {basis} quantity needs {name}.")
        elif amount == 0:
            row.wrong(name, "Nothing was dug: record a nil shift with its reason instead.")
    capacity_l = quantities["capacity_m3"]
    if basis == "counted" and capacity_l and capacity_l > LARGEST_CAPACITY_M3 * 1000:
        row.wrong(
            "capacity_m3",
            f"{capacity_l / 1000:g} m³ is the volume of one skip, bucket or lorry, at most"
            f" {LARGEST_CAPACITY_M3:g} m³. Write m³, not litres, and one of them, not all.",
        )


def _read_delays(row: Fields, shift: Shift | None, work_date: date | None) -> tuple[Delay, ...]:
    delays: list[Delay] = []
    for part in filter(None, (p.strip() for p in row.text("delays").split(";"))):
        cause, _, minutes = (p.strip() for p in part.partition(":"))
        if not minutes.isascii() or not minutes.isdigit() or not 0 < int(minutes) <= 10_000:
            row.wrong("delays", f"“{part}” is no delay. Write cause:minutes, such as rain:30.")
        elif cause not in row.setup.causes:
            row.wrong("delays", str(UnknownName("delay cause", cause, row.setup.causes)))
        elif any(d.cause == cause for d in delays):
            row.wrong("delays", f"{cause} is given twice. Add its minutes up.")
        else:
            delays.append(Delay(cause, int(minutes)))
    lost_min = sum(d.minutes for d in delays)
    if shift and work_date and lost_min > row.setup.shift_minutes(shift, work_date):
        row.wrong(
            "delays",
            f"{lost_min} min are lost; the {shift.shift} shift of {work_date} has only"
            f" {row.setup.shift_minutes(shift, work_date)} min. Correct the minutes.",
        )
    return tuple(delays)


def bank_volume(stream: Stream, quantities: dict[str, int | None]) -> float:
    """Bank volume that the quantities of a return stand for, at the assumed factors [m³]."""
    if quantities["bank_m3"] is not None:
        return quantities["bank_m3"] / 1000
    if quantities["mass_t"] is not None:
        basis, amount = "weighed", quantities["mass_t"]
    else:
        basis, amount = "counted", (quantities["count"] or 0) * (quantities["capacity_m3"] or 0)
    return stated_quantity(ground_of(stream), basis, amount / 1000).bank_m3


def _check_volume(
    row: Fields,
    zone: Zone,
    stage: int,
    stream: Stream,
    quantities: dict[str, int | None],
    levels: dict[str, int | None],
) -> None:
    bank_m3 = bank_volume(stream, quantities)
    column = next(name for name in reversed(QUANTITIES) if quantities[name] is not None)
    whole_m3 = row.setup.zone_volume_m3(zone.zone)
    if bank_m3 > 1.2 * whole_m3:
        kilograms = column == "mass_t" and bank_m3 / 1000 <= whole_m3
        row.wrong(
            column,
            f"This is {bank_m3:,.0f} m³ bank, more than all of zone {zone.zone}"
            f" ({whole_m3:,.0f} m³). "
            + ("Write tonnes, not kilograms." if kilograms else "Check the number and its unit."),
        )
        return
    if stream.stream not in {g.stream for g in row.setup.site.ground_of(zone.zone)}:
        row.warn("stream", f"The set-up has no {stream.stream} in zone {zone.zone}.")
    _check_stage(row, zone, stage, levels)
    _check_thickness(row, zone, column, bank_m3, levels)


def _check_stage(row: Fields, zone: Zone, stage: int, levels: dict[str, int | None]) -> None:
    end, design = levels["to_level_m"], row.setup.stages[zone.zone, stage].design_level_m
    last = (zone.zone, stage + 1) not in row.setup.stages
    if end is not None and end / 1000 < design - LEVEL_READING_M and not last:
        row.warn(
            "stage",
            f"The shift ends at {end / 1000:g} m, below stage {stage} at {design:g} m. Correct the"
            " stage if the ground is of the next one.",
        )


def _check_thickness(
    row: Fields, zone: Zone, column: str, bank_m3: float, levels: dict[str, int | None]
) -> None:
    start, end = levels["from_level_m"], levels["to_level_m"]
    if start is None or end is None or end >= start:
        return
    expected_m3 = design_volume(zone, start / 1000, end / 1000)
    doubt_m3 = LEVEL_READING_M * plan_area(zone, end / 1000)
    off_m3 = abs(bank_m3 - expected_m3)
    if bank_m3 > IMPOSSIBLE * expected_m3 + doubt_m3:
        unit = " Write tonnes, not kilograms." if column == "mass_t" else ""
        row.wrong(
            column,
            f"{bank_m3:,.0f} m³ bank cannot come from {start / 1000:g} m to {end / 1000:g} m: the"
            f" whole zone holds {expected_m3:,.0f} m³ there.{unit} Correct the number or a level.",
        )
        return
    if off_m3 > THICKNESS_MISMATCH * expected_m3 and off_m3 > doubt_m3:
        row.warn(
            column,
            f"{bank_m3:,.0f} m³ bank is far from the {expected_m3:,.0f} m³ between"
            f" {start / 1000:g} m and {end / 1000:g} m over the whole zone. Leave it if only a part"
            " of the zone was dug.",
        )
