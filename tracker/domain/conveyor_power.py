"""What it takes to drive a belt conveyor: resistances to its motion, power, energy for a tonne.

The resistances are summed one by one, so the method holds for short belts too. Not counted: rollers
tilted forwards, ploughs and trippers, curves, starting, and cold or sticky ground. The mass and the
drag of what turns are seldom known early; `belt_drive` then scales those of one published example
by the belt's width (the scaling: common practice, no source) and names each as assumed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from tracker.domain.conveyor import (
    Marks,
    checked_loose_density,
    lift_power,
    marks,
    slope_angle,
    usable_width,
)
from tracker.domain.limits import check_between, check_not_negative, check_positive
from tracker.errors import InputError, UnknownName

GRAVITY_M_PER_S2 = 9.81  # as rounded in iso5048_worked, so that its figures come out
# Common range of the friction factor (from memory, unconfirmed).
_COVERED = {"friction factor": (0.016, 0.03, "")}
# The published example (iso5048_worked), for a belt of 1.2 m.
_EXAMPLE_WIDTH_M = 1.2
_EXAMPLE_OF_THAT_WIDTH = {
    "belt_kg_per_m": 16.44,
    "carry_kg_per_m": 15.5 / 1.2,  # mass of a set over its spacing
    "return_kg_per_m": 13.2 / 3.0,
    "skirt_gap_m": 0.75,
    "pulleys_n": 2 * 360.0,
}


@dataclass(frozen=True, slots=True)
class BeltDrive:
    """A belt on its rollers: where it goes, what turns with it, what rubs on it, what drives it.

    Defaults are those of a published example (iso5048_worked, 1 example), and none for skirts
    beyond the feed and for cleaners, whose number only the drawing tells. `efficiency` is that of
    coupling and gearbox; multiply it by the motor's own to have the energy at the meter.
    """

    belt_width_m: float
    length_m: float
    lift_m: float
    speed_m_per_s: float
    belt_kg_per_m: float
    carry_kg_per_m: float  # turning parts of the rollers under the load
    return_kg_per_m: float  # turning parts of the rollers under the empty belt
    skirt_gap_m: float  # between the skirts, inside
    pulleys_n: float  # bending of the belt around its pulleys, and their bearings
    friction: float = 0.02
    feed_speed_m_per_s: float = 0.0  # of the load along the belt as it lands
    load_on_belt_friction: float = 0.5
    load_on_skirt_friction: float = 0.7
    skirt_m: float = 0.0  # length of skirts beyond the feed
    cleaners: float = 0.0
    cleaner_friction: float = 0.6
    cleaner_thickness_m: float = 0.008
    cleaner_kpa: float = 30.0
    efficiency: float = 0.95 * 0.97

    def __post_init__(self) -> None:
        for name in ("belt_width_m", "length_m", "speed_m_per_s", "skirt_gap_m", "friction"):
            check_positive(name, getattr(self, name), _unit(name))
        check_positive("load_on_belt_friction", self.load_on_belt_friction, "-")
        for field in fields(self):
            if field.name != "lift_m":
                check_not_negative(field.name, getattr(self, field.name), _unit(field.name))
        usable_width(self.belt_width_m)
        slope_angle(self.length_m, self.lift_m)
        check_between("skirt_gap_m", self.skirt_gap_m, 0.0, self.belt_width_m, "m")
        check_between("friction", self.friction, 0.0, 0.2, "-", "Write 0.02, not 2 %.")
        check_between("efficiency", self.efficiency, 0.2, 1.0, "-", "Write 0.92, not 92 %.")
        check_between("feed_speed_m_per_s", self.feed_speed_m_per_s, 0.0, self.speed_m_per_s, "m/s")

    @property
    def outside(self) -> Marks:
        """A mark for each value beyond what the source covers."""
        return marks(_COVERED, friction_factor=self.friction)


@dataclass(frozen=True, slots=True)
class Resistances:
    """Forces that hold a belt back [N]; the slope's is negative where the load drives the belt."""

    main_n: float
    acceleration_n: float
    feed_skirt_n: float
    pulleys_n: float
    skirt_n: float
    cleaners_n: float
    slope_n: float

    @property
    def secondary_n(self) -> float:
        """At the feed and around the pulleys [N]."""
        return self.acceleration_n + self.feed_skirt_n + self.pulleys_n

    @property
    def special_n(self) -> float:
        """Of skirts beyond the feed and of cleaners [N]."""
        return self.skirt_n + self.cleaners_n

    @property
    def total_n(self) -> float:
        """All of them, at the drive pulley [N]."""
        return self.main_n + self.secondary_n + self.special_n + self.slope_n


@dataclass(frozen=True, slots=True)
class BeltPower:
    """Power of a belt under load and running empty [kW], and energy for a tonne carried."""

    belt_power_kw: float
    motor_power_kw: float
    lift_power_kw: float
    idle_power_kw: float
    kwh_per_t: float


def _unit(name: str) -> str:
    for ending, unit in (("m_per_s", "m/s"), ("kg_per_m", "kg/m"), ("_kpa", "kPa"), ("_n", "N")):
        if name.endswith(ending):
            return unit
    return "m" if name.endswith("_m") else "-"


def belt_drive(
    belt_width_m: float,
    length_m: float,
    lift_m: float,
    speed_m_per_s: float,
    **given: float | None,
) -> tuple[BeltDrive, dict[str, float]]:
    """A conveyor from what is known, the rest as in a published example; and what was so assumed.

    assumed[name] = example[name] * belt_width_m / 1.2 for masses, gap of skirts and drag of pulleys

    `given` are fields of `BeltDrive`; None counts as not given. Raises InputError, UnknownName.
    References: (iso5048_worked, 1 example); the scaling is common practice, no source.

    >>> drive, assumed = belt_drive(1.0, 60.0, 8.0, 2.0, friction=0.025)
    >>> round(drive.belt_kg_per_m, 1), "friction" in assumed
    (13.7, False)
    """
    places = (belt_width_m, length_m, lift_m, speed_m_per_s)
    known = {name: value for name, value in given.items() if value is not None}
    names = [field.name for field in fields(BeltDrive)][len(places) :]
    for name in known:
        if name not in names:
            raise UnknownName("property of a conveyor", name, names)
    scale = check_positive("belt_width_m", belt_width_m, "m") / _EXAMPLE_WIDTH_M
    scaled = {name: value * scale for name, value in _EXAMPLE_OF_THAT_WIDTH.items()}
    drive = BeltDrive(*places, **(scaled | known))
    return drive, {name: getattr(drive, name) for name in names if name not in known}


def resistances(
    drive: BeltDrive, t_per_h: float, loose_density_t_per_m3: float = 1.0
) -> Resistances:
    """What holds the belt back, part by part; 0 t/h is a belt that runs empty.

    kg_per_s = t_per_h / 3.6;  load = kg_per_s / speed;  m3_per_s = t_per_h / density / 3600
    main_n = friction * length * g * (carry + return + (2 * belt + load) * cos(slope))
    acceleration_n = kg_per_s * (speed - feed_speed)
    feed_m = (speed² - feed_speed²) / (2 * g * load_on_belt_friction)
    feed_skirt_n, skirt_n = load_on_skirt_friction * g * m3_per_s * kg_per_s * metres
                            / (mean speed there * skirt_gap)²
    cleaners_n = cleaners * belt_width * thickness * pressure * cleaner_friction
    slope_n = load * g * lift

    Masses per metre in kg/m, g = 9.81 m/s². A friction factor beyond 0.016 to 0.03 is marked (from
    memory, unconfirmed). It holds for belts that climb or lie level; one that its load drives turns
    more easily, so its brake must hold more (from memory).
    Raises InputError. References: (iso5048, clause 4), (iso5048_worked, 1 example).

    >>> drive, _ = belt_drive(1.2, 143.0, 0.0, 4.8)
    >>> round(resistances(drive, 2300.0, 0.85).main_n, 2)
    5142.73
    """
    kg_per_s = check_not_negative("mass flow", t_per_h, "t/h") / 3.6
    m3_per_s = kg_per_s / 1000.0 / checked_loose_density(loose_density_t_per_m3)
    speed, feed = drive.speed_m_per_s, drive.feed_speed_m_per_s
    load_kg_per_m = kg_per_s / speed
    slope = math.radians(slope_angle(drive.length_m, drive.lift_m))
    lying = (2.0 * drive.belt_kg_per_m + load_kg_per_m) * math.cos(slope)
    moved_kg = drive.length_m * (drive.carry_kg_per_m + drive.return_kg_per_m + lying)
    feed_m = (speed**2 - feed**2) / (2.0 * GRAVITY_M_PER_S2 * drive.load_on_belt_friction)
    pressed = drive.load_on_skirt_friction * GRAVITY_M_PER_S2 * m3_per_s * kg_per_s
    scraped_m2 = drive.cleaners * drive.belt_width_m * drive.cleaner_thickness_m
    return Resistances(
        main_n=drive.friction * GRAVITY_M_PER_S2 * moved_kg,
        acceleration_n=kg_per_s * (speed - feed),
        feed_skirt_n=pressed * feed_m / ((speed + feed) / 2.0 * drive.skirt_gap_m) ** 2,
        pulleys_n=drive.pulleys_n,
        skirt_n=pressed * drive.skirt_m / (speed * drive.skirt_gap_m) ** 2,
        cleaners_n=scraped_m2 * drive.cleaner_kpa * 1000.0 * drive.cleaner_friction,
        slope_n=load_kg_per_m * GRAVITY_M_PER_S2 * drive.lift_m,
    )


def motor_power(drive: BeltDrive, total_n: float) -> float:
    """Power that the motor gives, or takes back from a belt that its load drives [kW].

    motor_power_kw = total_n * speed / 1000 / efficiency;  where negative: * efficiency

    References: (iso5048, clause 5), (iso5048_worked, 1 example).

    >>> drive, _ = belt_drive(1.2, 143.0, 0.0, 4.8)
    >>> round(motor_power(drive, 13232.32), 2)
    68.93
    """
    belt_power_kw = total_n * drive.speed_m_per_s / 1000.0
    if belt_power_kw < 0.0:
        return belt_power_kw * drive.efficiency
    return belt_power_kw / drive.efficiency


def belt_power(
    drive: BeltDrive,
    t_per_h: float,
    loose_density_t_per_m3: float,
    idle_share: float = 0.0,
) -> BeltPower:
    """Power under a steady load and empty, and energy for a tonne with the empty hours in it.

    kwh_per_t = (motor_power_kw + idle_power_kw * idle_share / (1 - idle_share)) / t_per_h

    `idle_share` is the share of the running hours in which the belt runs empty [-]. What a belt
    driven by its load gives back is not counted as gained. Metered kWh win over this figure.
    Raises InputError. References: (iso5048, clause 5); idle running follows from a load of 0.

    >>> drive, _ = belt_drive(1.0, 120.0, 15.0, 2.0)
    >>> round(belt_power(drive, 400.0, 1.5).kwh_per_t, 3)
    0.061
    """
    flow = check_positive("mass flow", t_per_h, "t/h")
    hint = "Write 0.3, not 30 %."
    if not 0.0 <= idle_share < 1.0:
        raise InputError(
            f"idle_share is {idle_share:g}; it must be from 0 to less than 1. {hint}",
            field="idle_share",
        )
    total_n = resistances(drive, flow, loose_density_t_per_m3).total_n
    motor_kw = motor_power(drive, total_n)
    idle_kw = motor_power(drive, resistances(drive, 0.0).total_n)
    used_kw = max(motor_kw, 0.0) + idle_kw * idle_share / (1.0 - idle_share)
    return BeltPower(
        belt_power_kw=total_n * drive.speed_m_per_s / 1000.0,
        motor_power_kw=motor_kw,
        lift_power_kw=lift_power(flow, drive.lift_m),
        idle_power_kw=idle_kw,
        kwh_per_t=used_kw / flow,
    )


def sag_tension(load_kg_per_m: float, roller_spacing_m: float, sag_share: float = 0.01) -> float:
    """Least tension at which the belt sags no more than a share of the roller spacing [N].

    sag_tension_n = roller_spacing_m * load_kg_per_m * 9.81 / (8 * sag_share)

    `load_kg_per_m` is belt and load together. Raises InputError.
    References: (iso5048, clause 5), (iso5048_worked, 1 example).

    >>> round(sag_tension(16.44 + 133.1, 1.2))
    22005
    """
    load = check_positive("load", load_kg_per_m, "kg/m")
    spacing = check_positive("roller spacing", roller_spacing_m, "m")
    share = check_between("sag", check_positive("sag", sag_share, "-"), 0.0, 0.05, "-")
    return spacing * load * GRAVITY_M_PER_S2 / (8.0 * share)


def pulley_resistance(
    belt_width_m: float,
    belt_thickness_m: float,
    pulley_m: float,
    bearing_m: float,
    pulley_kg: float,
    tensions_n: tuple[float, float],
) -> float:
    """What one pulley takes from a textile belt half way round it: bending, and its bearings [N].

    mean_n = (tensions_n[0] + tensions_n[1]) / 2
    bending_n = 9 * belt_width * (140 + 0.01 * mean_n / belt_width) * belt_thickness / pulley
    bearing_n = 0.005 * bearing / pulley * hypot(tensions_n[0] + tensions_n[1], pulley_kg * 9.81)

    All lengths in metres. The pull of the belt is taken as level, so at right angles to the weight.
    The standard leaves out the bearing of a driving pulley (from memory, unconfirmed); the example
    counts it. Belts of steel cord bend otherwise: not covered.
    Raises InputError. References: (iso5048, clause 4), second-hand; (iso5048_worked, 1 example).

    >>> round(pulley_resistance(1.2, 0.0125, 0.5, 0.12, 800.0, (22005.0, 22005.0)))
    141
    """
    width, thickness = belt_width_m, belt_thickness_m
    sizes = {"belt width": width, "belt thickness": thickness, "pulley": pulley_m}
    for name, size_m in (sizes | {"bearing": bearing_m}).items():
        check_positive(name, size_m, "m")
    check_not_negative("pulley mass", pulley_kg, "kg")
    pull_n = sum(check_not_negative("tension", tension_n, "N") for tension_n in tensions_n)
    bending_n = 9.0 * width * (140.0 + 0.01 * pull_n / 2.0 / width) * thickness / pulley_m
    held_n = math.hypot(pull_n, pulley_kg * GRAVITY_M_PER_S2)
    return bending_n + 0.005 * bearing_m / pulley_m * held_n
