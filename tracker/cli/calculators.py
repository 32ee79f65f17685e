"""Calculators that need no ledger: convert ground, size a load, carbon of a load or of electricity.

Numbers come in as text, so that `1,5` is refused with a sentence and never read as 15.
"""

from __future__ import annotations

from typing import Annotated

import typer

from tracker.cli.answers import number, optional_number, plain, show, spoken
from tracker.cli.solids import solids
from tracker.domain.factors import Factor
from tracker.errors import FactorMissing, InputError

calculators = typer.Typer(no_args_is_help=True)
carbon = typer.Typer(no_args_is_help=True, help="Carbon of a lorry load or of electricity.")
calculators.add_typer(solids, name="solid")
calculators.add_typer(carbon, name="carbon")

AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object, unrounded.")]
Text = str | None

BankM3 = Annotated[Text, typer.Option("--bank-m3", metavar="M3", help="Volume in the ground.")]
LooseM3 = Annotated[Text, typer.Option("--loose-m3", metavar="M3", help="Volume after digging.")]
CompactedM3 = Annotated[
    Text, typer.Option("--compacted-m3", metavar="M3", help="Volume when placed.")
]
MassT = Annotated[Text, typer.Option("--mass-t", metavar="T", help="Moist mass.")]
LoosePerBank = Annotated[Text, typer.Option(metavar="RATIO", help="Loose / bank, such as 1.30.")]
SwellPercent = Annotated[Text, typer.Option(metavar="%", help="Growth on digging, such as 30.")]
CompactedPerBank = Annotated[
    Text, typer.Option(metavar="RATIO", help="Compacted / bank, such as 0.90.")
]
BankDensity = Annotated[
    Text, typer.Option(metavar="T/M3", help="Moist density in the ground, such as 2.0.")
]
Material = Annotated[
    Text, typer.Option(metavar="NAME", help="Published factors of a material, such as stiff clay.")
]
PlatedT = Annotated[str, typer.Option(metavar="T", help="Plated payload.")]
BodyM3 = Annotated[str, typer.Option("--body-m3", metavar="M3", help="Body volume.")]
Swell = Annotated[str, typer.Option("--loose-per-bank", metavar="RATIO", help="Loose / bank.")]
Density = Annotated[
    str, typer.Option("--bank-density", metavar="T/M3", help="Moist density as dug.")
]
Fill = Annotated[
    str, typer.Option(metavar="RATIO", help="Filled share of the body, to 1.2 heaped.")
]
VehicleClass = Annotated[
    str, typer.Option(metavar="CLASS", help="rigid_over_17t, artic_over_33t or all_hgv.")
]
PayloadT = Annotated[str, typer.Option("--payload-t", metavar="T", help="Carried by the load.")]
MaxPayloadT = Annotated[str, typer.Option("--max-payload-t", metavar="T", help="Plated payload.")]
Km = Annotated[str, typer.Option(metavar="KM", help="Distance one way.")]
Year = Annotated[str, typer.Option(metavar="YEAR", help="Edition of the factors, such as 2025.")]
Kwh = Annotated[str, typer.Option(metavar="KWH", help="Metered or modelled energy.")]

# Each unit of the same ground, and the factor that leads to it from the bank volume.
_FACTOR_OF = {
    "bank_m3": None,
    "loose_m3": "loose_per_bank",
    "compacted_m3": "compacted_per_bank",
    "mass_t": "bank_density_t_per_m3",
}


def add_to(app: typer.Typer) -> None:
    """Add the calculators to the command line, each under its own name."""
    app.add_typer(calculators)


@calculators.command()
@spoken
def convert(
    bank_m3: BankM3 = None,
    loose_m3: LooseM3 = None,
    compacted_m3: CompactedM3 = None,
    mass_t: MassT = None,
    loose_per_bank: LoosePerBank = None,
    swell_percent: SwellPercent = None,
    compacted_per_bank: CompactedPerBank = None,
    bank_density: BankDensity = None,
    material: Material = None,
    as_json: AsJson = False,
) -> None:
    """The same ground as bank, loose and compacted volume and as moist tonnes.

    Give one quantity, and the factors or a material; a factor given wins over the material's.
    Example: spoil convert --bank-m3 100 --loose-per-bank 1.30 --bank-density 2.0
    """
    given = {
        "bank_m3": optional_number("--bank-m3", bank_m3),
        "loose_m3": optional_number("--loose-m3", loose_m3),
        "compacted_m3": optional_number("--compacted-m3", compacted_m3),
        "mass_t": optional_number("--mass-t", mass_t),
    }
    factors, notes = _factors(
        optional_number("--loose-per-bank", loose_per_bank),
        optional_number("--swell-percent", swell_percent),
        optional_number("--compacted-per-bank", compacted_per_bank),
        optional_number("--bank-density", bank_density),
        material,
    )
    data = _every_unit(given, factors)
    show(data, as_json, [*_convert_lines(data), *notes])


def _factors(
    loose_per_bank: float | None,
    swell_percent: float | None,
    compacted_per_bank: float | None,
    bank_density: float | None,
    material: str | None,
) -> tuple[dict[str, Factor | None], tuple[str, ...]]:
    """The factors by name, checked, and the notes of those taken from the material."""
    from tracker.domain import ground
    from tracker.domain.reference_tables import material_factors

    if swell_percent is not None:
        if loose_per_bank is not None:
            raise InputError("Give --loose-per-bank or --swell-percent, not both.")
        loose_per_bank = ground.loose_per_bank_from_swell_percent(swell_percent)
    factors: dict[str, Factor | None] = dict.fromkeys(filter(None, _FACTOR_OF.values()))
    notes: tuple[str, ...] = ()
    if material is not None:
        published = material_factors(material)
        factors = {name: getattr(published, name) for name in factors}
        notes = published.notes
    replaced = {
        "loose_per_bank": loose_per_bank,
        "compacted_per_bank": compacted_per_bank,
        "bank_density_t_per_m3": bank_density,
        "repose_deg": 0.0,
    }
    gone = tuple(f"{name}:" for name, value in replaced.items() if value is not None)
    notes = tuple(note for note in notes if not note.startswith(gone))
    if loose_per_bank is not None:
        factors["loose_per_bank"] = Factor(ground.checked_loose_per_bank(loose_per_bank), "-")
    if compacted_per_bank is not None:
        checked = ground.checked_compacted_per_bank(compacted_per_bank)
        factors["compacted_per_bank"] = Factor(checked, "-")
    if bank_density is not None:
        checked = ground.checked_bank_density(bank_density)
        factors["bank_density_t_per_m3"] = Factor(checked, "t/m³")
    return factors, notes


def _every_unit(
    given: dict[str, float | None], factors: dict[str, Factor | None]
) -> dict[str, float | None]:
    """The one quantity given in every unit, and u_ of each that has a range behind it."""
    from tracker.domain.ground import product, quotient

    named = [(unit, amount) for unit, amount in given.items() if amount is not None]
    if len(named) != 1:
        raise InputError("Give exactly one of --bank-m3, --loose-m3, --compacted-m3, --mass-t.")
    unit, amount = named[0]
    bank, u_bank = amount, 0.0
    if unit != "bank_m3":
        factor = factors[_FACTOR_OF[unit] or ""]
        if factor is None:
            raise FactorMissing(_no_factor(unit))
        bank, u_bank = quotient(amount, 0.0, factor)
    data: dict[str, float | None] = {"bank_m3": bank, "u_bank_m3": u_bank}
    for other, name in _FACTOR_OF.items():
        factor = factors[name] if name else None
        if factor is not None:
            data[other], data[f"u_{other}"] = product(bank, u_bank, factor)
    data.update({unit: amount, f"u_{unit}": 0.0})
    uncertain = {f"u_{u}": data[f"u_{u}"] for u in _FACTOR_OF if data.get(f"u_{u}")}
    return {u: data.get(u) for u in _FACTOR_OF} | uncertain


def _no_factor(unit: str) -> str:
    option = {
        "loose_m3": "--loose-per-bank, --swell-percent",
        "compacted_m3": "--compacted-per-bank",
        "mass_t": "--bank-density",
    }[unit]
    return f"No factor leads from {unit} to the bank volume: give {option} or a --material with it."


def _convert_lines(data: dict[str, float | None]) -> list[str]:
    units = {"bank_m3": "m³ bank", "loose_m3": "m³ loose", "compacted_m3": "m³ compacted"}
    lines = []
    for key in _FACTOR_OF:
        u = data.get(f"u_{key}")
        spread = f"  (standard uncertainty {u:,.3f})" if u else ""
        lines.append(f"{plain(data[key], units.get(key, 't moist'))}{spread}")
    return lines


@calculators.command()
@spoken
def payload(
    plated_t: PlatedT,
    body_m3: BodyM3,
    loose_per_bank: Swell,
    bank_density: Density,
    fill: Fill = "1",
    bank_m3: BankM3 = None,
    as_json: AsJson = False,
) -> None:
    """What one lorry carries, whether weight or volume governs, and loads and movements.

    Example: spoil payload --plated-t 20 --body-m3 12 --loose-per-bank 1.30 --bank-density 2.0
    """
    from tracker.domain import haulage

    density = number("--bank-density", bank_density)
    plated, body = number("--plated-t", plated_t), number("--body-m3", body_m3)
    swell = number("--loose-per-bank", loose_per_bank)
    load = haulage.payload(plated, body, swell, density, number("--fill", fill))
    bank = optional_number("--bank-m3", bank_m3)
    loads = None if bank is None else haulage.loads_needed(bank * density, load.payload_t)
    passages = None if loads is None else haulage.movements(loads)
    data = {
        "payload_t": load.payload_t,
        "bank_m3_per_load": load.bank_m3_per_load,
        "loose_m3_per_load": load.loose_m3_per_load,
        "governs": load.governs,
        "loads": loads,
        "movements": passages,
    }
    lines = [
        f"{plain(load.payload_t, 't a load')}: {load.governs} governs.",
        f"{plain(load.bank_m3_per_load, 'm³ bank')}, {plain(load.loose_m3_per_load, 'm³ loose')}.",
    ]
    if loads is not None:
        lines.append(f"{loads:,} loads, {passages:,} movements through the gate.")
    show(data, as_json, [*lines, haulage.OVERLOAD_CAUTION])


@carbon.command()
@spoken
def lorry(
    vehicle: VehicleClass,
    payload_t: PayloadT,
    max_payload_t: MaxPayloadT,
    km: Km,
    year: Year,
    as_json: AsJson = False,
) -> None:
    """Carbon of one load, laden out and empty back; per t.km is by tonnes carried one way.

    Example: spoil carbon lorry --vehicle rigid_over_17t --payload-t 18.5 --max-payload-t 20
    --km 25 --year 2025
    """
    from tracker.domain.carbon import lorry_carbon
    from tracker.domain.reference_tables import OGL_ATTRIBUTION

    edition = _year(year)
    carried, largest = number("--payload-t", payload_t), number("--max-payload-t", max_payload_t)
    load = lorry_carbon(vehicle, carried, largest, number("--km", km), edition)
    data = {
        "operation_kgco2e": load.operation_kgco2e,
        "supply_kgco2e": load.supply_kgco2e,
        "total_kgco2e": load.total_kgco2e,
        "total_kgco2e_per_t": load.total_kgco2e_per_t,
        "operation_kgco2e_per_tkm": load.operation_kgco2e_per_tkm,
        "total_kgco2e_per_tkm": load.total_kgco2e_per_tkm,
    }
    lines = [
        f"{plain(load.operation_kgco2e, 'kg CO2e')} operation a load, out and back",
        f"{plain(load.supply_kgco2e, 'kg CO2e')} supply of the fuel",
        f"{plain(load.total_kgco2e, 'kg CO2e')} in total, {load.total_kgco2e_per_t:.4f} kg/t,"
        f" {load.total_kgco2e_per_tkm:.5f} kg/t.km",
        f"UK Government GHG conversion factors {edition}. {OGL_ATTRIBUTION}",
    ]
    show(data, as_json, lines)


@carbon.command()
@spoken
def electricity(kwh: Kwh, year: Year, as_json: AsJson = False) -> None:
    """Carbon of UK grid electricity: generation, losses on the way, supply chain of both.

    Example: spoil carbon electricity --kwh 1000 --year 2025
    """
    from tracker.domain.carbon import electricity_carbon
    from tracker.domain.reference_tables import OGL_ATTRIBUTION

    edition = _year(year)
    energy = electricity_carbon(number("--kwh", kwh), edition)
    data = {
        "generation_kgco2e": energy.generation_kgco2e,
        "losses_kgco2e": energy.losses_kgco2e,
        "supply_kgco2e": energy.supply_kgco2e,
        "total_kgco2e": energy.total_kgco2e,
    }
    lines = [f"{plain(value, 'kg CO2e')} {key.split('_')[0]}" for key, value in data.items()]
    source = f"UK Government GHG conversion factors {edition}. {OGL_ATTRIBUTION}"
    show(data, as_json, [*lines, source])


def _year(text: str) -> int:
    if text.isdecimal() and len(text) == 4:
        return int(text)
    raise InputError(f"--year is “{text}”; write the edition of the factors, such as 2025.")
