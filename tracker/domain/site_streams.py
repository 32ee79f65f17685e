"""Checks of a set-up's streams and lorries: factors, waste codes, plates."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.domain.ground import (
    checked_bank_density,
    checked_compacted_per_bank,
    checked_loose_per_bank,
)
from tracker.domain.site_rows import Row, Rows, given, wrong
from tracker.errors import OutOfRange, Problem

ASTERISK_CODES = ("17 05 03", "17 05 05")  # hazardous entries of the List of Waste among soils


_CHECKED = {
    "loose_per_bank_low": checked_loose_per_bank,
    "loose_per_bank": checked_loose_per_bank,
    "loose_per_bank_high": checked_loose_per_bank,
    "bank_density_low": checked_bank_density,
    "bank_density": checked_bank_density,
    "bank_density_high": checked_bank_density,
    "compacted_per_bank": checked_compacted_per_bank,
}


def factor_problems(rows: Rows) -> Iterator[Problem]:
    """Factors given in another form or unit, or out of order."""
    for row in rows["streams"]:
        for column, check in _CHECKED.items():
            try:
                if given(row, column):
                    check(row[column])
            except OutOfRange as error:
                yield wrong("streams", row, column, str(error))
        yield from _disorder(row, "loose_per_bank")
        yield from _disorder(row, "bank_density")


def _disorder(row: Row, factor: str) -> Iterator[Problem]:
    names = (f"{factor}_low", factor, f"{factor}_high")
    if not given(row, *names):
        return
    low, value, high = (row[name] for name in names)
    if not low <= value <= high:
        yield wrong(
            "streams",
            row,
            factor,
            f"{value:g} lies outside {low:g} to {high:g}. Put the three numbers in the order low,"
            " value, high.",
        )


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
