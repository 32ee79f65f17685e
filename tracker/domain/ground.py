"""Bank, loose and compacted volume and moist tonnes of the same ground, with their uncertainty.

    loose_m3     = bank_m3 * loose_per_bank
    compacted_m3 = bank_m3 * compacted_per_bank
    mass_t       = bank_m3 * bank_density_t_per_m3      (never by way of the bulking)

Each result carries its standard uncertainty, u(y)² = Σ (∂y/∂x)² u(x)² with the inputs independent
(jcgm100, 5.1.2, equation 10). A factor that states no range counts as exact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from tracker.domain.factors import Factor
from tracker.domain.limits import check_between, check_not_negative, check_positive
from tracker.domain.site import Stream
from tracker.errors import FactorMissing, InputError, UnknownName

STANDARD_GRAVITY_M_PER_S2 = 9.80665  # by definition (si_brochure)


def checked_loose_per_bank(value: float) -> float:
    """Loose / bank, if it can be one: 1 to 2.5 (bounds: common practice, no source).

    Raises OutOfRange that says what to write for a percentage, a change or a load factor.
    """
    hint = ""
    if value > 2.5:
        hint = (
            f"If {value:g} is a percentage of swell, write {1 + value / 100:.4g} as loose / bank."
        )
    elif 0.0 < value < 1.0:
        hint = (
            f"If {value:g} is the change in volume, write {1 + value:.4g};"
            f" if it is bank / loose, write {1 / value:.4g}."
        )
    return check_between("loose_per_bank", value, 1.0, 2.5, "loose m³ per bank m³", hint)


def checked_bank_density(value: float) -> float:
    """Moist bank density, if it can be one: 0.8 to 3.5 t/m³ (bounds: common practice, no source).

    Raises OutOfRange that says what to write for kN/m³ or kg/m³.
    """
    hint = "Give the moist density of the ground before digging."
    if 8.0 <= value <= 35.0:
        weight = value / STANDARD_GRAVITY_M_PER_S2
        hint = f"{value:g} looks like kN/m³: write {weight:.3g} t/m³."
    elif 500.0 <= value <= 3500.0:
        hint = f"{value:g} looks like kg/m³: write {value / 1000:.4g} t/m³."
    return check_between("bank_density_t_per_m3", value, 0.8, 3.5, "t/m³", hint)


def checked_compacted_per_bank(value: float) -> float:
    """Compacted / bank, if it can be one: 0.5 to 1.6 (bounds: common practice, no source).

    Raises OutOfRange that says what to write for a percentage.
    """
    hint = f"If it is a percentage of the bank volume, write {value / 100:.4g}."
    return check_between(
        "compacted_per_bank",
        value,
        0.5,
        1.6,
        "compacted m³ per bank m³",
        hint if value > 1.6 else "",
    )


def loose_per_bank_from_swell_percent(swell_percent: float) -> float:
    """Loose / bank from the growth in volume on digging [%].

    loose_per_bank = 1 + swell_percent / 100

    Raises OutOfRange for a ratio given as a percentage.

    >>> loose_per_bank_from_swell_percent(30)
    1.3
    """
    if swell_percent == 0.0:
        return 1.0
    hint = ""
    if 0.0 < swell_percent < 1.0:
        hint = f"If {swell_percent:g} is the change in volume, write {100 * swell_percent:g} %."
    elif 1.0 <= swell_percent < 2.0:
        hint = f"If {swell_percent:g} is loose / bank, give it as loose_per_bank."
    check_between("swell_percent", swell_percent, 2.0, 150.0, "%", hint)
    return 1.0 + swell_percent / 100.0


def bank_per_loose(loose_per_bank: float) -> float:
    """The load factor, bank / loose: what a loose volume was in the ground [-]."""
    return 1.0 / checked_loose_per_bank(loose_per_bank)


def loose_density_t_per_m3(bank_density_t_per_m3: float, loose_per_bank: float) -> float:
    """Moist density in the lorry, on the belt or in the heap [t/m³ loose]."""
    return checked_bank_density(bank_density_t_per_m3) / checked_loose_per_bank(loose_per_bank)


@dataclass(frozen=True, slots=True)
class Ground:
    """The factors of one kind of ground. Raises OutOfRange for one in the wrong unit."""

    loose_per_bank: Factor
    bank_density_t_per_m3: Factor
    compacted_per_bank: Factor | None = None

    def __post_init__(self) -> None:
        checked_loose_per_bank(self.loose_per_bank.value)
        checked_bank_density(self.bank_density_t_per_m3.value)
        if self.compacted_per_bank is not None:
            checked_compacted_per_bank(self.compacted_per_bank.value)


@dataclass(frozen=True, slots=True)
class Quantity:
    """The same ground in every unit, with standard uncertainties (u_); None without a factor."""

    bank_m3: float
    loose_m3: float
    compacted_m3: float | None
    mass_t: float
    u_bank_m3: float
    u_loose_m3: float
    u_compacted_m3: float | None
    u_mass_t: float


def product(amount: float, u_amount: float, factor: Factor) -> tuple[float, float]:
    """amount * factor, and its standard uncertainty.

    u² = (factor * u_amount)² + (amount * u_factor)²   (jcgm100, 5.1.2, equation 10)
    """
    u_factor = factor.standard_uncertainty
    return amount * factor.value, math.hypot(factor.value * u_amount, amount * u_factor)


def quotient(amount: float, u_amount: float, factor: Factor) -> tuple[float, float]:
    """amount / factor, and its standard uncertainty.

    u² = (u_amount / factor)² + (amount * u_factor / factor²)²   (jcgm100, 5.1.2, equation 10)
    """
    result = amount / factor.value
    u_factor = factor.standard_uncertainty
    return result, math.hypot(u_amount, result * u_factor) / factor.value


def quantity_from_bank(ground: Ground, bank_m3: float, u_bank_m3: float = 0.0) -> Quantity:
    """The ground that filled this bank volume [m³]; a difference may be negative.

    Raises InputError for a number that is not finite.

    >>> clay = Ground(Factor(1.30, "-"), Factor(2.0, "t/m³"))
    >>> quantity_from_bank(clay, 100.0).mass_t
    200.0
    """
    _check_amount("bank_m3", bank_m3, u_bank_m3)
    return _in_every_unit(ground, bank_m3, u_bank_m3)


def quantity_from_loose(ground: Ground, loose_m3: float, u_loose_m3: float = 0.0) -> Quantity:
    """The ground that fills this loose volume [m³]. Raises InputError if it is not finite."""
    _check_amount("loose_m3", loose_m3, u_loose_m3)
    bank = quotient(loose_m3, u_loose_m3, ground.loose_per_bank)
    return replace(_in_every_unit(ground, *bank), loose_m3=loose_m3, u_loose_m3=u_loose_m3)


def quantity_from_mass(ground: Ground, mass_t: float, u_mass_t: float = 0.0) -> Quantity:
    """The ground that weighs this much, moist [t]. Raises InputError if it is not finite."""
    _check_amount("mass_t", mass_t, u_mass_t)
    bank = quotient(mass_t, u_mass_t, ground.bank_density_t_per_m3)
    return replace(_in_every_unit(ground, *bank), mass_t=mass_t, u_mass_t=u_mass_t)


def quantity_from_compacted(
    ground: Ground, compacted_m3: float, u_compacted_m3: float = 0.0
) -> Quantity:
    """The ground that fills this compacted volume [m³].

    Raises InputError if it is not finite, FactorMissing if the ground has no compacted_per_bank.
    """
    _check_amount("compacted_m3", compacted_m3, u_compacted_m3)
    if ground.compacted_per_bank is None:
        raise FactorMissing(
            "No compacted_per_bank is set for this ground: give one with its source, or give the"
            " bank volume."
        )
    bank = quotient(compacted_m3, u_compacted_m3, ground.compacted_per_bank)
    whole = _in_every_unit(ground, *bank)
    return replace(whole, compacted_m3=compacted_m3, u_compacted_m3=u_compacted_m3)


def ground_of(stream: Stream) -> Ground:
    """The factors of a stream of the set-up, as the conversions take them."""
    return Ground(stream.loose_per_bank, stream.bank_density_t_per_m3, stream.compacted_per_bank)


def stated_quantity(ground: Ground, basis: str, amount: float) -> Quantity:
    """What a return states, in every unit.

    The amount is bank m³ if measured or estimated, loose m³ if counted, t if weighed.
    Raises InputError if the amount is not finite, UnknownName for another basis.
    """
    if basis not in _STATED_IN:
        raise UnknownName("basis", basis, _STATED_IN)
    return _STATED_IN[basis](ground, amount)


_STATED_IN = {
    "measured": quantity_from_bank,
    "estimated": quantity_from_bank,
    "counted": quantity_from_loose,
    "weighed": quantity_from_mass,
}


def _check_amount(field: str, amount: float, u_amount: float) -> None:
    if not (math.isfinite(amount) and math.isfinite(u_amount) and u_amount >= 0.0):
        raise InputError(
            f"{field} is {amount:g} with standard uncertainty {u_amount:g}; both must be finite"
            " numbers and the uncertainty not negative.",
            field=field,
        )


def _in_every_unit(ground: Ground, bank_m3: float, u_bank_m3: float) -> Quantity:
    loose_m3, u_loose_m3 = product(bank_m3, u_bank_m3, ground.loose_per_bank)
    mass_t, u_mass_t = product(bank_m3, u_bank_m3, ground.bank_density_t_per_m3)
    compacted_m3 = u_compacted_m3 = None
    if ground.compacted_per_bank is not None:
        compacted_m3, u_compacted_m3 = product(bank_m3, u_bank_m3, ground.compacted_per_bank)
    return Quantity(
        bank_m3, loose_m3, compacted_m3, mass_t, u_bank_m3, u_loose_m3, u_compacted_m3, u_mass_t
    )


def moisture_content(water_mass: float, dry_mass: float) -> float:
    """Moisture content on dry weight, as a ratio; both masses in one unit [-].

    moisture_content = water_mass / dry_mass

    Never on wet weight, which gives a lower figure for the same ground.
    """
    check_not_negative("water_mass", water_mass, "of the mass unit used")
    return water_mass / check_positive("dry_mass", dry_mass, "of the mass unit used")


def dry_density_t_per_m3(bank_density_t_per_m3: float, moisture_content: float) -> float:
    """Dry density from moist density and moisture content on dry weight [t/m³] (das_pge, ch. 3).

    dry_density = bank_density / (1 + moisture_content)
    """
    moist = check_positive("bank_density_t_per_m3", bank_density_t_per_m3, "t/m³")
    return moist / (1.0 + _checked_moisture(moisture_content))


def moist_density_t_per_m3(dry_density_t_per_m3: float, moisture_content: float) -> float:
    """Moist density from dry density and moisture content on dry weight [t/m³] (das_pge, ch. 3).

    bank_density = dry_density * (1 + moisture_content)
    """
    dry = check_positive("dry_density_t_per_m3", dry_density_t_per_m3, "t/m³")
    return dry * (1.0 + _checked_moisture(moisture_content))


def void_ratio(dry_density_t_per_m3: float, particle_density_t_per_m3: float) -> float:
    """Volume of voids over volume of solids [-] (das_pge, ch. 3).

    void_ratio = particle_density / dry_density - 1
    """
    dry = check_positive("dry_density_t_per_m3", dry_density_t_per_m3, "t/m³")
    solid = check_positive("particle_density_t_per_m3", particle_density_t_per_m3, "t/m³")
    if solid <= dry:
        raise InputError(
            f"A dry density of {dry:g} t/m³ leaves no voids at a particle density of {solid:g}"
            " t/m³. Check both.",
            field="dry_density_t_per_m3",
        )
    return solid / dry - 1.0


def saturation(
    moisture_content: float, void_ratio: float, particle_density_t_per_m3: float
) -> float:
    """Share of the voids that water fills, taking water as 1 t/m³ [-] (das_pge, ch. 3).

    saturation = moisture_content * particle_density / void_ratio
    """
    solid = check_positive("particle_density_t_per_m3", particle_density_t_per_m3, "t/m³")
    voids = check_positive("void_ratio", void_ratio, "-")
    return _checked_moisture(moisture_content) * solid / voids


def _checked_moisture(moisture_content: float) -> float:
    hint = f"If it is a percentage, write {moisture_content / 100:.4g}."
    return check_between(
        "moisture_content", moisture_content, 0.0, 3.0, "-", hint if moisture_content > 3.0 else ""
    )
