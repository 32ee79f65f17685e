"""What a troughed belt carries: cross-section of the load, effect of the slope, volume and mass.

The belt lies on one roller, or on three with the outer two raised. A named form says how the load
heaps above the edges of the belt; the two forms differ by half the heaped part, so every answer
names its form. Figures are those of a belt that runs straight, centred and evenly fed: spillage,
lumps, wet clay that sticks and uneven feed take from them, and the maker of the conveyor governs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from tracker.domain.limits import check_between, check_positive
from tracker.errors import InputError, OutsidePublishedRange, UnknownName

CONVEYOR_CAUTION = (
    "Computed for a straight, evenly fed belt: the maker's design, guards, emergency stops and the"
    " permit on site govern; a metered kWh or a weigher wins over these figures."
)
# Divisor of the tangent of the surcharge angle, by form.
FORMS = {"tan6": 6.0, "tan4": 4.0}
# What the sources of each form show an answer for (conveyor_table, iso5048_worked); the 2 m are
# where the usable width changes its formula (from memory, unconfirmed).
_COVERED = {
    "tan6": {"belt width": (0.0, 2.0, " m"), "trough angle": (0.0, 45.0, "°")},
    "tan4": {
        "belt width": (0.5, 1.6, " m"),
        "trough angle": (20.0, 45.0, "°"),
        "surcharge angle": (15.0, 15.0, "°"),
    },
}
# Belt width and length of each of three equal rollers [m] (conveyor_table).
_ROLLERS = ((0.5, 0.2), (0.8, 0.315), (1.2, 0.465), (1.6, 0.6))

Marks = tuple[OutsidePublishedRange, ...]


@dataclass(frozen=True, slots=True)
class BeltSection:
    """The load across the belt [m²], the heaped part above the trough and the part within it."""

    form: str
    surcharge_deg: float
    usable_width_m: float
    roller_m: float
    upper_area_m2: float
    lower_area_m2: float
    outside: Marks

    @property
    def area_m2(self) -> float:
        """Both parts together [m²]."""
        return self.upper_area_m2 + self.lower_area_m2


@dataclass(frozen=True, slots=True)
class BeltCapacity:
    """What a full belt carries, and what the slope leaves of the level belt's area [-]."""

    inclination_factor: float
    capacity_m3_per_h: float
    capacity_t_per_h: float
    outside: Marks


def marks(covered: dict[str, tuple[float, float, str]], **values: float) -> Marks:
    """A mark for each value beyond what its source covers; names are written with underscores."""
    found = []
    for name, value in values.items():
        words = name.replace("_", " ")
        low, high, unit = covered.get(words, (-math.inf, math.inf, ""))
        if not low <= value <= high:
            span = f"{low:g} to {high:g}" if low < high else f"{low:g}"
            sentence = (
                f"The {words} of {value:.4g}{unit} is beyond what the source covers, {span}{unit}:"
                " computed all the same, treat it as an estimate."
            )
            found.append(OutsidePublishedRange(sentence))
    return tuple(found)


def usable_width(belt_width_m: float) -> float:
    """Width of the belt that may carry the load [m].

    usable_width_m = 0.9 * belt_width_m - 0.05 up to 2 m; belt_width_m - 0.25 above

    Raises InputError if nothing is left to carry on. References: (iso5048, clause 6), second-hand;
    the part above 2 m from memory, unconfirmed.

    >>> round(usable_width(1.2), 3)
    1.03
    """
    width = check_positive("belt width", belt_width_m, "m")
    usable_m = 0.9 * width - 0.05 if width <= 2.0 else width - 0.25
    if usable_m <= 0.0:
        raise InputError(
            f"A belt of {width:g} m leaves no width to carry on; give the width in metres.",
            field="belt width",
        )
    return usable_m


def centre_roller(belt_width_m: float) -> float:
    """Length of the middle one of three equal rollers [m], on a line between the table's widths.

    Raises InputError beyond the table: there the length must be stated. References:
    (conveyor_table, table of capacities).

    >>> centre_roller(1.2)
    0.465
    """
    for (narrow_m, short_m), (wide_m, long_m) in pairwise(_ROLLERS):
        if narrow_m <= belt_width_m <= wide_m:
            share = (belt_width_m - narrow_m) / (wide_m - narrow_m)
            return short_m + share * (long_m - short_m)
    raise InputError(
        f"No roller length is published for a belt of {belt_width_m:g} m (0.5 to 1.6 m are)."
        " State the length of the middle roller.",
        field="roller",
    )


def belt_section(
    belt_width_m: float,
    trough_deg: float,
    surcharge_deg: float,
    roller_m: float | None = None,
    form: str = "tan6",
) -> BeltSection:
    """Cross-section of the load on a belt over three rollers, or over one when `trough_deg` is 0.

    side_m = (usable_width_m - roller_m) / 2
    upper_area_m2 = (roller_m + 2 * side_m * cos(trough))² * tan(surcharge) / 6    (`tan4`: / 4)
    lower_area_m2 = (roller_m + side_m * cos(trough)) * side_m * sin(trough)

    `surcharge_deg` is the angle of the moving load, less than that at rest [degrees]; `roller_m` is
    the length of the middle roller [m], by default that of three equal ones.
    `tan6` takes the heap as a parabola (ISO 5048:1989), `tan4` as a triangle (DIN 22101:1982).
    Raises InputError, UnknownName. Beyond the sources the answer is marked in `outside`.
    References: (iso5048, clause 6), (iso5048_worked, 1 example), (conveyor_table, 8 rows).

    >>> round(belt_section(1.2, 45.0, 20.0, roller_m=0.436).upper_area_m2, 4)
    0.0445
    """
    if form not in FORMS:
        raise UnknownName("form", form, FORMS)
    usable_m = usable_width(belt_width_m)
    check_between("trough angle", trough_deg, 0.0, 60.0, "°")
    check_between("surcharge angle", surcharge_deg, 0.0, 45.0, "°")
    flat = trough_deg == 0.0
    middle_m = usable_m if flat and roller_m is None else roller_m
    middle_m = centre_roller(belt_width_m) if middle_m is None else middle_m
    hint = "Give the length of the middle roller alone, in metres."
    check_between("roller", check_positive("roller", middle_m, "m"), 0.0, belt_width_m, "m", hint)
    side_m = max(usable_m - middle_m, 0.0) / 2.0
    trough, surcharge = math.radians(trough_deg), math.radians(surcharge_deg)
    across_m = min(middle_m, usable_m) + 2.0 * side_m * math.cos(trough)
    upper_m2 = across_m**2 * math.tan(surcharge) / FORMS[form]
    lower_m2 = (middle_m + side_m * math.cos(trough)) * side_m * math.sin(trough)
    outside = marks(
        _COVERED[form],
        belt_width=belt_width_m,
        trough_angle=trough_deg,
        surcharge_angle=surcharge_deg,
    )
    return BeltSection(form, surcharge_deg, usable_m, middle_m, upper_m2, lower_m2, outside)


def inclination_factor(section: BeltSection, slope_deg: float) -> float:
    """What a slope leaves of the level belt's cross-section [-].

    leaves_of_upper = sqrt((cos(slope)² - cos(surcharge)²) / (1 - cos(surcharge)²))
    inclination_factor = 1 - upper_area_m2 / area_m2 * (1 - leaves_of_upper)

    It follows from a surface that is nowhere steeper than the surcharge angle: what it falls along
    the belt it cannot rise across it, so cos(across) = cos(surcharge) / cos(slope), and the heap
    shrinks as tan(across) does. A slope as steep as the surcharge leaves nothing of the heap, a
    steeper one no more than the trough; there the load may run back, which `belt_capacity` marks.
    Raises InputError for a slope over 60 degrees or a section without area.
    References: derived; the same as (iso5048, clause 6), which is from memory, unconfirmed.

    >>> round(inclination_factor(belt_section(1.2, 35.0, 15.0), 10.0), 3)
    0.934
    """
    check_between("slope", abs(slope_deg), 0.0, 60.0, "°")
    if section.area_m2 <= 0.0:
        raise InputError("A flat belt with a surcharge angle of 0° carries nothing.")
    if slope_deg == 0.0:
        return 1.0
    level = math.cos(math.radians(section.surcharge_deg)) ** 2
    raised = max(math.cos(math.radians(slope_deg)) ** 2 - level, 0.0)
    leaves_of_upper = math.sqrt(raised / (1.0 - level)) if level < 1.0 else 0.0
    return 1.0 - section.upper_area_m2 / section.area_m2 * (1.0 - leaves_of_upper)


def belt_capacity(
    section: BeltSection,
    speed_m_per_s: float,
    loose_density_t_per_m3: float,
    slope_deg: float = 0.0,
) -> BeltCapacity:
    """What the belt carries when full over its usable width, by volume and by mass.

    capacity_m3_per_h = 3600 * area_m2 * speed_m_per_s * inclination_factor
    capacity_t_per_h = capacity_m3_per_h * loose_density_t_per_m3

    The density is that of the loose, moist load, less than that of the ground in the bank.
    Raises InputError. References: (iso5048, clause 6), (conveyor_table, 8 rows).

    >>> round(belt_capacity(belt_section(0.8, 20.0, 15.0, form="tan4"), 1.0, 1.6).capacity_m3_per_h)
    207
    """
    speed = check_positive("speed", speed_m_per_s, "m/s")
    density = checked_loose_density(loose_density_t_per_m3)
    factor = inclination_factor(section, slope_deg)
    volume_m3_per_h = 3600.0 * section.area_m2 * speed * factor
    covered = {"slope": (-section.surcharge_deg, section.surcharge_deg, "°")}
    outside = (*section.outside, *marks(covered, slope=slope_deg))
    return BeltCapacity(factor, volume_m3_per_h, volume_m3_per_h * density, outside)


def checked_loose_density(value: float) -> float:
    """Loose moist density, if it can be one: 0.3 to 3 t/m³ (bounds: common practice, no source).

    Raises OutOfRange that says what to write for kg/m³.
    """
    hint = "Give the moist density of the loose load on the belt."
    if 300.0 <= value <= 3000.0:
        hint = f"{value:g} looks like kg/m³: write {value / 1000.0:g} t/m³."
    return check_between("loose density", value, 0.3, 3.0, "t/m³", hint)


def slope_angle(length_m: float, lift_m: float) -> float:
    """Slope of a belt from its length along the slope and its lift, negative downwards [degrees].

    slope_deg = asin(lift_m / length_m)

    Raises InputError for a lift that is not less than the length.

    >>> round(slope_angle(100.0, 17.365), 2)
    10.0
    """
    length = check_positive("length", length_m, "m")
    if not abs(lift_m) < length:
        raise InputError(
            f"A lift of {lift_m:g} m needs a belt longer than {length:g} m. Check both, in metres.",
            field="lift",
        )
    return math.degrees(math.asin(lift_m / length))


def lift_power(t_per_h: float, lift_m: float) -> float:
    """Power that raises the load alone, without friction or drive [kW]; negative downwards.

    lift_power_kw = t_per_h * lift_m / 367

    The 367 is 3600 / 9.81 rounded. References: (lift_course, 1 formula).

    >>> round(lift_power(1000.0, 17.9), 2)
    48.77
    """
    return check_positive("mass flow", t_per_h, "t/h") * lift_m / 367.0
