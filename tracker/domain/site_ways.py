"""What the ways out of a site can carry: belts, hoists, lorry fleets, and what receivers take."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time


@dataclass(frozen=True, slots=True)
class Belt:
    """A conveyor: its stated capacity, or the geometry from which one is reckoned.

    Where both are there, the stated one holds and the other stands beside it. `running_share` is
    how much of a shift it runs under load [-].
    """

    belt: str
    capacity_t_per_h: float | None
    running_share: float
    source: str
    width_m: float | None = None
    trough_deg: float | None = None
    surcharge_deg: float | None = None
    speed_m_per_s: float | None = None
    loose_density_t_per_m3: float | None = None
    length_m: float | None = None
    lift_m: float | None = None


@dataclass(frozen=True, slots=True)
class Hoist:
    """A crane or hoist that lifts the ground of some zones: loose skip volume and lifts an hour."""

    hoist: str
    zones: tuple[str, ...]
    skip_m3: float
    fill: float
    lifts_per_h: float
    source: str


@dataclass(frozen=True, slots=True)
class Fleet:
    """Lorries of one kind that serve some routes, by plan.

    `load_min` is at the loader, `away_min` from leaving it to being back at it [min].
    """

    fleet: str
    vehicle: str
    routes: tuple[str, ...]  # empty: every route that begins with a lorry
    lorries: int
    loaders: int
    load_min: float
    away_min: float
    source: str


@dataclass(frozen=True, slots=True)
class Receiving:
    """When a destination takes spoil on some weekdays, local time, and the most in a day [t]."""

    destination: str
    weekdays: tuple[int, ...]  # 0 = Monday
    opens: time
    closes: time
    daily_t: float | None
    reference: str
