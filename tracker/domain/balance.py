"""What was dug against where it went: the balance of a stream, and how long heaps last.

    dug + opening stock = belt + lorries + re-used on site + closing stock + remainder

The remainder is what the records do not explain.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from tracker.domain.factors import Factor
from tracker.domain.ground import Ground
from tracker.errors import FactorMissing, NotEnoughData, UnknownName

# Relative standard uncertainty of what a heap holds, by how it was counted; of what a belt weigher
# and a weighbridge show; of a lorry's usual payload (common practice, no source).
STOCK_U: Mapping[str, float] = MappingProxyType(
    {"cone": 0.10, "windrow": 0.10, "survey": 0.03, "estimate": 0.30}
)
BELT_U = 0.01
WEIGHBRIDGE_U = 0.003  # its calibration, the same for every load
LOAD_U_T = 0.0327  # of one net weight by two passes: class III, e 20 kg (si1995_1907, schedule 2)
PAYLOAD_U = 0.10

EXPLAINED = "explained by the uncertainty"
UNITS = ("bank", "loose", "compacted", "mass")


@dataclass(frozen=True, slots=True)
class Amount:
    """Ground as it was recorded, in one of UNITS [m³ or t], and what may be wrong with it.

    `errors` are (what errs, standard uncertainty in the unit of the amount). Errors of one name are
    the same error wherever it turns up: it adds up, and cancels between the sides of a balance.
    The factors of one stream err alike, those of two streams apart.
    """

    amount: float
    unit: str
    ground: Ground
    errors: tuple[tuple[str, float], ...] = ()
    stream: str = ""


@dataclass(frozen=True, slots=True)
class Net:
    """A sum of amounts in bank m³ and t, each with its standard uncertainty (u_)."""

    bank_m3: float
    u_bank_m3: float
    mass_t: float
    u_mass_t: float

    @property
    def verdict(self) -> str:
        """What a remainder says, at twice its standard uncertainty."""
        if abs(self.mass_t) <= 2.0 * self.u_mass_t:
            return EXPLAINED
        return "more dug than accounted for" if self.mass_t > 0 else "more left than was dug"


def net(parts: Iterable[tuple[int, Amount]]) -> Net:
    """The sum of amounts, each added (+1) or taken away (-1).

    bank_m3 = sum of sign * amount / unit_per_bank_m3;  mass_t = bank_m3 * bank_density_t_per_m3
    u² = sum over errors and factors of (sum of sign * partial derivative * u)²
    (jcgm100, 5.2.2 equation 13, for errors that are either the same or independent)

    A factor errs alike in every amount that is converted with it, so it cancels as far as what came
    and what went were stated in the same unit. Raises FactorMissing, UnknownName.
    """
    bank_m3 = mass_t = 0.0
    u_bank: dict[object, float] = defaultdict(float)
    u_mass: dict[object, float] = defaultdict(float)
    for sign, part in parts:
        factor, density = _unit_per_bank(part), part.ground.bank_density_t_per_m3
        volume_m3 = sign * part.amount / factor.value
        bank_m3 += volume_m3
        mass_t += volume_m3 * density.value
        for name, u in part.errors:
            u_bank[name] += sign * u / factor.value
            u_mass[name] += sign * u / factor.value * density.value
        per_factor_m3 = -volume_m3 / factor.value * factor.standard_uncertainty
        u_bank[part.unit, factor, part.stream] += per_factor_m3
        if part.unit != "mass":  # what was weighed has a mass that rests on no factor
            u_mass[part.unit, factor, part.stream] += per_factor_m3 * density.value
            per_density_t = volume_m3 * density.standard_uncertainty
            u_mass["mass", density, part.stream] += per_density_t
    return Net(bank_m3, math.hypot(*u_bank.values()), mass_t, math.hypot(*u_mass.values()))


def _unit_per_bank(part: Amount) -> Factor:
    """How much of the amount's unit one bank m³ is."""
    ground = part.ground
    if part.unit == "compacted" and ground.compacted_per_bank is None:
        raise FactorMissing(
            f"{part.amount:,.1f} m³ compacted were re-used, and no compacted_per_bank is set for"
            " this ground: put one with its source into the set-up."
        )
    factors = {
        "bank": _ONE,
        "loose": ground.loose_per_bank,
        "compacted": ground.compacted_per_bank,
        "mass": ground.bank_density_t_per_m3,
    }
    factor = factors.get(part.unit)
    if factor is None:
        raise UnknownName("unit", part.unit, UNITS)
    return factor


_ONE = Factor(1.0, "-")


def stock_u(method: str) -> float:
    """Relative standard uncertainty of a count; a method without one counts as an estimate [-]."""
    return STOCK_U.get(method.strip().lower(), STOCK_U["estimate"])


@dataclass(frozen=True, slots=True)
class Endurance:
    """How long digging can go on while the belt stands, in worked hours.

    `with_lorries_h` is None where lorries within the cap keep pace with the digging.
    """

    free_loose_m3: float
    dug_loose_m3_per_h: float
    lorry_loose_m3_per_h: float
    hours: float
    with_lorries_h: float | None


def endurance(
    free_loose_m3: float | None, dug_loose_m3_per_h: float | None, lorry_loose_m3_per_h: float = 0.0
) -> Endurance:
    """Hours until heaps reach their limits once the belt stops.

    hours = free_loose_m3 / dug_loose_m3_per_h
    with_lorries_h = free_loose_m3 / (dug_loose_m3_per_h - lorry_loose_m3_per_h)

    All per worked hour. `free_loose_m3` is None where no heap has a limit, `dug_loose_m3_per_h`
    None where nothing was dug. A heap that is over its limit has no free space.
    Raises NotEnoughData.

    >>> endurance(120.0, 60.0, 20.0).with_lorries_h
    3.0
    """
    if free_loose_m3 is None:
        raise NotEnoughData(
            "No heap has a stated limit, so nobody can say how much it may still take: ask the"
            " temporary works coordinator and record the limit with the next count."
        )
    if not dug_loose_m3_per_h:
        raise NotEnoughData(
            "Nothing that goes by belt was dug in the days before, so there is no rate to say how"
            " fast the heaps would fill."
        )
    free_m3, surplus = max(0.0, free_loose_m3), dug_loose_m3_per_h - lorry_loose_m3_per_h
    return Endurance(
        free_m3,
        dug_loose_m3_per_h,
        lorry_loose_m3_per_h,
        free_m3 / dug_loose_m3_per_h,
        free_m3 / surplus if surplus > 0 else None,
    )
