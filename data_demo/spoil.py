"""Where the dug ground went: heaps emptied by belt and by lorry."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from random import Random

from data_demo.dig import Slice
from data_demo.season import (
    BELT_START,
    LAST_DAY,
    Shift,
    belt_runs,
    season_shifts,
)
from data_demo.site_tables import CLAY, GRAVEL, MADE_GROUND

STREAMS = (MADE_GROUND, GRAVEL, CLAY)
GRAVEL_SHARE_BY_LORRY = 0.35  # once the belt runs
BELT_CAPACITY_T = 1500.0  # in one shift
MEAN_NET_T, FULLEST_LOAD_T = 19.25, 28.0
CLAY_SHARE_BY_LORRY = 0.12  # from the day on which the barge berth had to be shared
BERTH_SHARED_FROM = date(2026, 9, 1)
# Gravel loads that were tipped on site as a piling mat around the shaft, and so never left.
PLACED_LOADS = {date(2026, 5, 12): 12, date(2026, 5, 14): 12, date(2026, 5, 15): 12}
LOADS_A_DAY = {date(2026, 7, 21): 44, date(2026, 7, 22): 62, date(2026, 8, 26): 61}  # cap: 60
MOST_LOADS, MOST_LOADS_SATURDAY, ARTIC_DAY = 59, 26, date(2026, 5, 21)


@dataclass(slots=True)
class Heaps:
    """What lies on site: tonnes awaiting lorry and belt by stream, and the zone last dug in it."""

    by_lorry_t: dict[str, float] = field(default_factory=lambda: dict.fromkeys(STREAMS, 0.0))
    by_belt_t: dict[str, float] = field(default_factory=lambda: dict.fromkeys(STREAMS, 0.0))
    zone: dict[str, str] = field(default_factory=dict)

    def total_t(self, stream: str) -> float:
        """All that lies on site of a stream [t]."""
        return self.by_lorry_t[stream] + self.by_belt_t[stream]


@dataclass(frozen=True, slots=True)
class LoadedLorry:
    """One lorry's load before it has a ticket: day, stream, zone and true net weight."""

    day: date
    stream: str
    zone: str
    net_t: float
    vehicle: str
    placed: bool = False  # on site, so that it never passed the gate


@dataclass(slots=True)
class SpoilFlow:
    """All that left site or lay on it, in the order it happened."""

    loads: list[LoadedLorry] = field(default_factory=list)
    belt: list[tuple[Shift, str, float]] = field(default_factory=list)
    stock: list[tuple[datetime, dict[str, float]]] = field(default_factory=list)


def _share_by_lorry(piece: Slice) -> float:
    """Part of a slice that is set apart for lorries, belt out or not."""
    day = piece.shift.work_date
    if day < BELT_START or piece.stream == MADE_GROUND:
        return 1.0
    if piece.stream == GRAVEL:
        return GRAVEL_SHARE_BY_LORRY
    return CLAY_SHARE_BY_LORRY if day >= BERTH_SHARED_FROM else 0.0


def _tip(heaps: Heaps, ground: list[Slice], part: float) -> None:
    """Put a part of what a shift dug on the heaps."""
    for piece in ground:
        mass_t, share = piece.mass_t * part, _share_by_lorry(piece)
        heaps.zone[piece.stream] = piece.zone
        heaps.by_lorry_t[piece.stream] += mass_t * share
        heaps.by_belt_t[piece.stream] += mass_t * (1.0 - share)


def _most_loads(rng: Random, day: date) -> int:
    if day.weekday() == 5:
        return MOST_LOADS_SATURDAY
    return LOADS_A_DAY.get(day, MOST_LOADS - rng.randrange(6))


def _rigid_net(rng: Random) -> float:
    """A net weight [t]: the loader aims below the plate and takes some off when over it."""
    return min(rng.gauss(MEAN_NET_T, 0.6), 20.0 - abs(rng.gauss(0.0, 0.1)))


def _send_lorries(rng: Random, heaps: Heaps, day: date) -> list[LoadedLorry]:
    """The loads of one day: heaps for lorries, and the belt's heaps too while it is out."""
    if day >= BELT_START and not belt_runs(day):
        for stream in STREAMS:
            heaps.by_lorry_t[stream] += heaps.by_belt_t[stream]
            heaps.by_belt_t[stream] = 0.0
    loads: list[LoadedLorry] = []
    most = _most_loads(rng, day)
    for stream in STREAMS:
        while len(loads) < most and heaps.by_lorry_t[stream] > FULLEST_LOAD_T:
            artic = day == ARTIC_DAY and stream == GRAVEL and len(loads) % 4 == 0
            net_t = rng.gauss(26.8, 0.4) if artic else _rigid_net(rng)
            heaps.by_lorry_t[stream] -= net_t
            vehicle = "artic_44" if artic else "rigid_32"
            loads.append(LoadedLorry(day, stream, heaps.zone[stream], net_t, vehicle))
    return _with_placed(loads, PLACED_LOADS.get(day, 0))


def _with_placed(loads: list[LoadedLorry], count: int) -> list[LoadedLorry]:
    """The loads of a day, its first gravel loads marked as placed on site."""
    gravel = [load for load in loads if load.stream == GRAVEL][:count]
    return [replace(load, placed=True) if load in gravel else load for load in loads]


def _run_belt(rng: Random, heaps: Heaps, shift: Shift) -> list[tuple[Shift, str, float]]:
    moved: list[tuple[Shift, str, float]] = []
    room_t = BELT_CAPACITY_T
    for stream in (GRAVEL, CLAY):
        mass_t = min(room_t, heaps.by_belt_t[stream] * rng.uniform(0.72, 0.95))
        if mass_t < 15.0:
            continue
        heaps.by_belt_t[stream] -= mass_t
        room_t -= mass_t
        moved.append((shift, stream, mass_t))
    return moved


def spoil_flow(rng: Random, slices: list[Slice]) -> SpoilFlow:
    """Follow the dug ground, shift by shift, onto heaps and off site."""
    heaps, flow = Heaps(), SpoilFlow()
    by_shift: dict[Shift, list[Slice]] = {}
    for piece in slices:
        by_shift.setdefault(piece.shift, []).append(piece)
    counted_week = -1
    for shift in season_shifts():
        day, ground = shift.work_date, by_shift.get(shift, [])
        week = day.isocalendar().week
        if shift.name == "day" and week != counted_week:
            _count(flow, heaps, datetime.combine(day, time(6, 40)))
            counted_week = week
        # Lorries carry what lay there in the morning and most of what the day shift digs.
        by_day = {"day": 0.7, "night": 0.0, "weekend": 0.0}[shift.name]
        _tip(heaps, ground, by_day)
        if shift.name != "night":
            flow.loads += _send_lorries(rng, heaps, day)
        _tip(heaps, ground, 1.0 - by_day)
        if belt_runs(day) and ground:
            flow.belt += _run_belt(rng, heaps, shift)
    _count(flow, heaps, datetime.combine(LAST_DAY, time(18, 45)))
    return flow


def _count(flow: SpoilFlow, heaps: Heaps, counted_at: datetime) -> None:
    flow.stock.append((counted_at, {stream: heaps.total_t(stream) for stream in STREAMS}))
