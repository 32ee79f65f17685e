"""The packaged tables: materials, UK greenhouse gas factors, landfill tax, waste codes.

Nothing is filled in: a number that the publisher did not give, or that is held from memory only, is
an error that says what is there instead.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib import resources

from tracker.domain.factors import Factor
from tracker.domain.sources import SOURCES
from tracker.errors import FactorMissing, InputError, UnknownName

OGL_ATTRIBUTION = (
    "Contains public sector information licensed under the Open Government Licence v3.0."
)
FROM_MEMORY = "from memory"

GhgKey = tuple[int, str, str, str, str]  # year, item, boundary, load, unit of measure


@dataclass(frozen=True, slots=True)
class MaterialFactors:
    """What is published for one material; None where nothing is. `notes` carry the cautions."""

    material: str
    loose_per_bank: Factor | None = None
    bank_density_t_per_m3: Factor | None = None
    compacted_per_bank: Factor | None = None
    repose_deg: Factor | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WasteCode:
    """One List of Waste code as text, asterisk kept. `spoil` is false for mixed demolition waste.

    The table names codes; it never classifies ground. A competent person does, with a reference.
    """

    code: str
    description: str
    hazardous: bool
    spoil: bool
    source_key: str
    confirmed: str


def _rows(table: str) -> list[dict[str, str]]:
    file = resources.files("tracker.domain") / "reference" / f"{table}.csv"
    return list(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))


# --- materials -----------------------------------------------------------------------------------
@lru_cache(maxsize=1)
def _materials() -> dict[str, list[dict[str, str]]]:
    materials: dict[str, list[dict[str, str]]] = {}
    for row in _rows("materials"):
        materials.setdefault(row["material"], []).append(row)
    return materials


def material_names() -> tuple[str, ...]:
    """The materials that have at least one confirmed factor, in the order of the table."""
    return tuple(
        name
        for name, rows in _materials().items()
        if any(row["confirmed"] != FROM_MEMORY for row in rows)
    )


@lru_cache(maxsize=64)
def material_factors(material: str) -> MaterialFactors:
    """The factors published for a material.

    Where only a range is published the value is its midpoint, which is the expectation when all
    values in the range are equally likely (jcgm100, 4.3.7), and a note says so.

    Raises UnknownName, or FactorMissing for a material whose figures are held from memory only.

    >>> material_factors("stiff clay").loose_per_bank.value
    1.3
    """
    if material not in _materials():
        raise UnknownName("material", material, material_names())
    rows = _materials()[material]
    confirmed = [row for row in rows if row["confirmed"] != FROM_MEMORY]
    if not confirmed:
        held = "; ".join(f"{r['quantity']} {r['value']} ({r['source_key']})" for r in rows)
        raise FactorMissing(
            f"“{material}” is held from memory only ({held}): a check, never a default."
            " Enter your own figures with their source."
        )
    factors = {row["quantity"]: _material_factor(row) for row in confirmed}
    return MaterialFactors(
        material,
        factors.get("loose_per_bank"),
        factors.get("bank_density_t_per_m3"),
        factors.get("compacted_per_bank"),
        factors.get("repose_deg"),
        tuple(f"{row['quantity']}: {_material_note(row)}" for row in confirmed),
    )


def _material_factor(row: dict[str, str]) -> Factor:
    low = float(row["low"]) if row["low"] else None
    high = float(row["high"]) if row["high"] else None
    value = row["value"] or (float(row["low"]) + float(row["high"])) / 2.0
    return Factor(float(value), row["unit"], low, high, row["source_key"])


def _material_note(row: dict[str, str]) -> str:
    where = f"{SOURCES[row['source_key']].title} ({row['confirmed']})"
    midpoint = "" if row["value"] else "midpoint of the published range"
    return "; ".join(part for part in (where, midpoint, row["note"]) if part)


# --- greenhouse gas factors ----------------------------------------------------------------------
@lru_cache(maxsize=1)
def _ghg_factors() -> dict[GhgKey, Factor]:
    return {
        (int(row["year"]), row["item"], row["boundary"], row["load"], row["uom"]): Factor(
            float(row["kgco2e_per_uom"]),
            f"kg CO2e/{row['uom']}",
            source_key=row["source_key"],
        )
        for row in _rows("uk_ghg_factors")
    }


def ghg_factor(year: int, item: str, boundary: str, load: str, uom: str) -> Factor:
    """One UK Government factor of one edition [kg CO2e per uom].

    `boundary` is TTW (operation) or WTT (supply), or a part of electricity; `load` is such as
    `0% Laden`, or empty. Raises UnknownName for an item that is in no edition, FactorMissing for a
    year without it, naming the nearest year that has it.

    >>> ghg_factor(2025, "UK electricity", "generation", "", "kWh").value
    0.177
    """
    factors = _ghg_factors()
    factor = factors.get((year, item, boundary, load, uom))
    if factor is not None:
        return factor
    items = {key[1] for key in factors}
    if item not in items:
        raise UnknownName("emission item", item, items)
    what = " ".join(part for part in (item, boundary, load) if part)
    years = ghg_years(item, boundary, load, uom)
    if not years:
        raise FactorMissing(
            f"No edition holds a factor for {what} per {uom}. Check the four words."
        )
    # Of two years equally near, the earlier: it was in force first.
    nearest = min(years, key=lambda known: (abs(known - year), known))
    raise FactorMissing(
        f"No factor is held for {what} per {uom} in {year}. The nearest published year is"
        f" {nearest}: choose {nearest} explicitly if that edition may stand for {year}."
    )


def ghg_years(item: str, boundary: str, load: str, uom: str) -> tuple[int, ...]:
    """The editions that hold this factor, oldest first."""
    return tuple(sorted(k[0] for k in _ghg_factors() if k[1:] == (item, boundary, load, uom)))


# --- landfill tax --------------------------------------------------------------------------------
def landfill_tax_rate(nation: str, cls: str, day: date) -> Factor:
    """The landfill tax rate in force in a nation on the day of disposal [GBP/t].

    `cls` is standard or lower. For disposals to landfill only; an exposure for the project, not tax
    advice: the tax authority of the nation decides rate and class.

    Raises UnknownName, or FactorMissing where no rate is held or it is held from memory only.

    >>> landfill_tax_rate("England", "lower", date(2026, 4, 1)).value
    8.65
    """
    rows = [r for r in _landfill_tax() if nation in r["nation"].split(" and ")]
    if not rows:
        known = {name for r in _landfill_tax() for name in r["nation"].split(" and ")}
        raise UnknownName("nation", nation, known)
    if cls not in ("standard", "lower"):
        raise UnknownName("landfill tax class", cls, ("standard", "lower"))
    for row in rows:
        if row["class"] == cls and row["valid_from"] <= day.isoformat() <= row["valid_to"]:
            if row["confirmed"] == FROM_MEMORY:
                raise FactorMissing(
                    f"The {cls} landfill tax rate of {nation} on {day} is held from memory only"
                    f" ({row['rate_gbp_per_t']} GBP/t, unconfirmed). Take it from the publisher."
                )
            return Factor(float(row["rate_gbp_per_t"]), "GBP/t", source_key=row["source_key"])
    held = ", ".join(f"{r['valid_from']} to {r['valid_to']}" for r in rows if r["class"] == cls)
    raise FactorMissing(
        f"No {cls} landfill tax rate of {nation} is held for {day}. Held: {held}."
        " Take the rate of that day from the publisher."
    )


@lru_cache(maxsize=1)
def _landfill_tax() -> tuple[dict[str, str], ...]:
    return tuple(_rows("landfill_tax"))


# --- waste codes ---------------------------------------------------------------------------------
@lru_cache(maxsize=1)
def waste_codes() -> dict[str, WasteCode]:
    """The List of Waste codes that excavated ground meets, by code."""
    return {
        row["code"]: WasteCode(
            row["code"],
            row["description"],
            row["hazardous"] == "yes",
            row["spoil"] == "yes",
            row["source_key"],
            row["confirmed"],
        )
        for row in _rows("waste_codes")
    }


def waste_code(code: str) -> WasteCode:
    """One List of Waste code, written with its spaces and its asterisk.

    Raises InputError for an asterisk too few or too many, UnknownName for a code not in the table.

    >>> waste_code("17 05 03*").hazardous
    True
    """
    codes = waste_codes()
    if code in codes:
        return codes[code]
    twin = code.removesuffix("*") if code.endswith("*") else f"{code}*"
    if twin in codes:
        with_or_without = "with" if twin.endswith("*") else "without"
        raise InputError(
            f"“{code}” is in the List of Waste {with_or_without} an asterisk: write {twin} if that"
            f" is meant ({codes[twin].description}).",
            field="waste_code",
        )
    raise UnknownName("waste code", code, codes)
