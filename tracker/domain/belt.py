"""A belt of the set-up in figures: what it carries, stated or by its geometry, and what it takes.

`conveyor` and `conveyor_power` hold the relations; what they leave out holds here too.
"""

from __future__ import annotations

from functools import lru_cache

from tracker.domain.conveyor import belt_capacity, belt_section, slope_angle
from tracker.domain.conveyor_power import belt_drive, belt_power
from tracker.domain.site import Belt
from tracker.errors import InputError


def belt_t_per_h(belt: Belt, loose_density_t_per_m3: float | None = None) -> tuple[float, str]:
    """What a belt carries while it runs full [t/h], and whether stated or by its geometry.

    Raises InputError where it has neither.
    """
    if belt.capacity_t_per_h is not None:
        return belt.capacity_t_per_h, "stated"
    return geometric_t_per_h(belt, loose_density_t_per_m3), "by its geometry"


def geometric_t_per_h(belt: Belt, loose_density_t_per_m3: float | None = None) -> float:
    """Capacity of a belt from width, trough, surcharge, speed, slope [t/h]. Raises InputError."""
    density = belt.loose_density_t_per_m3 or loose_density_t_per_m3
    sizes = ("width_m", "trough_deg", "surcharge_deg", "speed_m_per_s")
    width, trough, surcharge, speed, loose = _given(belt, sizes, density)
    sloped = belt.length_m is not None and belt.lift_m is not None
    slope_deg = slope_angle(belt.length_m or 0.0, belt.lift_m or 0.0) if sloped else 0.0
    return _full_belt(width, trough, surcharge, speed, loose, slope_deg)


@lru_cache(maxsize=64)
def _full_belt(
    width: float, trough: float, surcharge: float, speed: float, loose: float, slope_deg: float
) -> float:
    section = belt_section(width, trough, surcharge)
    return belt_capacity(section, speed, loose, slope_deg).capacity_t_per_h


def geometric_kwh_per_t(
    belt: Belt, t_per_h: float, loose_density_t_per_m3: float | None = None
) -> float:
    """Energy for a tonne at a steady flow, by the geometry of the belt [kWh/t].

    Empty running is not counted. What `conveyor_power.belt_drive` takes from a published example
    (masses, rollers, friction) is taken here too. Raises InputError.
    """
    density = belt.loose_density_t_per_m3 or loose_density_t_per_m3
    sizes = ("width_m", "length_m", "lift_m", "speed_m_per_s")
    width, length, lift, speed, loose = _given(belt, sizes, density)
    drive, _ = belt_drive(width, length, lift, speed)
    return belt_power(drive, t_per_h, loose).kwh_per_t


def _given(belt: Belt, names: tuple[str, ...], density: float | None) -> list[float]:
    """These sizes of a belt and the loose density. Raises InputError that names what is missing."""
    values = {name: getattr(belt, name) for name in names} | {"loose_density_t_per_m3": density}
    missing = [name for name, value in values.items() if value is None]
    if missing:
        raise InputError(
            f"Belt {belt.belt} has no {', '.join(missing)}: fill these columns of belts.csv."
        )
    return list(values.values())
