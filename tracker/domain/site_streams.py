"""Checks of a set-up's streams and lorries: factors, waste codes, plates."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.domain.site_rows import Rows, given, wrong
from tracker.errors import Problem

STANDARD_GRAVITY_M_PER_S2 = 9.80665  # BIPM, The International System of Units, 9th edition
MOST_LOOSE_PER_BANK = 2.5  # common practice, no source: beyond broken rock
DENSITY_RANGE_T_PER_M3 = (0.8, 3.5)  # common practice, no source: peat to heavy rock
ASTERISK_CODES = ("17 05 03", "17 05 05")  # hazardous entries of the List of Waste among soils


def factor_problems(rows: Rows) -> Iterator[Problem]:
    """Factors given in another form or unit, or out of order."""
    for row in rows["streams"]:
        for factor in ("loose_per_bank", "bank_density"):
            names = (f"{factor}_low", factor, f"{factor}_high")
            for name in names:
                hint = _factor_hint(factor, row[name]) if given(row, name) else ""
                if hint:
                    yield wrong("streams", row, name, hint)
            if given(row, *names) and not row[names[0]] <= row[factor] <= row[names[2]]:
                yield wrong(
                    "streams",
                    row,
                    factor,
                    f"{row[factor]:g} lies outside {row[names[0]]:g} to {row[names[2]]:g}. Put the"
                    " three numbers in the order low, value, high.",
                )
        compacted = row.get("compacted_per_bank")
        if compacted is not None and not 0.5 <= compacted <= MOST_LOOSE_PER_BANK:
            yield wrong(
                "streams",
                row,
                "compacted_per_bank",
                f"{compacted:g} is no ratio compacted / bank. Write it like 0.9 or 1.1.",
            )


def _factor_hint(factor: str, value: float) -> str:
    if factor == "loose_per_bank":
        return _bulking_hint(value)
    low, high = DENSITY_RANGE_T_PER_M3
    if low <= value <= high:
        return ""
    if low * 1000 <= value <= high * 1000:
        return f"{value:g} looks like kg/m³. Write t/m³: {value / 1000:.2f}."
    if low * STANDARD_GRAVITY_M_PER_S2 <= value <= high * STANDARD_GRAVITY_M_PER_S2:
        return (
            f"{value:g} looks like a weight in kN/m³. Write the density in t/m³:"
            f" {value / STANDARD_GRAVITY_M_PER_S2:.2f}."
        )
    return f"{value:g} t/m³ is no density of ground; it must be between {low:g} and {high:g} t/m³."


def _bulking_hint(value: float) -> str:
    if 1.0 <= value <= MOST_LOOSE_PER_BANK:
        return ""
    if MOST_LOOSE_PER_BANK < value <= 100 * (MOST_LOOSE_PER_BANK - 1):
        return (
            f"{value:g} looks like a percentage of swell. Write loose / bank:"
            f" {1 + value / 100:.2f}."
        )
    if 0.0 < value < 1.0:
        return (
            f"{value:g} is below 1. Write loose / bank: {1 + value:.2f} if it is the swell,"
            f" {1 / value:.2f} if it is bank / loose."
        )
    return f"{value:g} is no ratio loose / bank; it must be between 1 and {MOST_LOOSE_PER_BANK:g}."


def code_problems(rows: Rows) -> Iterator[Problem]:
    """Waste codes that contradict the regime, and streams nobody has classified."""
    for row in rows["streams"]:
        regime, code = row["regime"] or "", row["waste_code"] or ""
        if code in ASTERISK_CODES:
            yield wrong("streams", row, "waste_code", f"Code {code} keeps its asterisk: {code}*.")
        elif regime.endswith("waste") and row["waste_code"] == "":
            yield wrong("streams", row, "waste_code", f"A stream that is {regime} needs its code.")
        elif regime == "hazardous waste" and code and not code.endswith("*"):
            yield wrong("streams", row, "waste_code", f"{code} is no code of hazardous waste (*).")
        elif regime == "non-hazardous waste" and code.endswith("*"):
            yield wrong("streams", row, "regime", f"{code} is a code of hazardous waste.")
        if not (regime and row["classified_by"] and row["classification_reference"]):
            yield wrong(
                "streams",
                row,
                "regime",
                f"Stream {row['stream']} is not classified; no load of it can be recorded until"
                " regime, classified_by and classification_reference are filled.",
                "warning",
            )
    for row in rows["destinations"]:
        for code in row["waste_codes"] or ():
            if code in ASTERISK_CODES:
                yield wrong(
                    "destinations", row, "waste_codes", f"Code {code} keeps its asterisk: {code}*."
                )


def vehicle_problems(rows: Rows) -> Iterator[Problem]:
    """Lorries that cannot be."""
    for row in rows["vehicles"]:
        gross, payload, fill = row["plated_gross_t"], row["plated_payload_t"], row["fill"]
        if gross is not None and gross > 100:
            yield wrong(
                "vehicles",
                row,
                "plated_gross_t",
                f"{gross:g} t is no lorry. Write tonnes, not kilograms: {gross / 1000:g}.",
            )
        if gross is not None and payload is not None and payload >= gross:
            yield wrong(
                "vehicles",
                row,
                "plated_payload_t",
                f"A payload of {payload:g} t is not less than the plated gross of {gross:g} t.",
            )
        if fill is not None and not 0 < fill <= 1.2:
            hint = f" Write {fill / 100:g} for {fill:g} %." if fill > 1.2 else ""
            yield wrong("vehicles", row, "fill", f"Fill must be above 0 and at most 1.2.{hint}")
