"""Write every table of the invented site: `python -m data_demo.generate [--out DIR]`.

The seed is fixed, so the files come out the same byte for byte.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Sequence
from pathlib import Path
from random import Random

from data_demo.belt_and_heaps import belt_checks_table, belt_table, reuse_table, stock_table
from data_demo.dig import dug_ground
from data_demo.gate import bookings_table, traffic_table
from data_demo.late_and_receipts import late_table, part_late, receipts_table
from data_demo.others_say import (
    baseline_table,
    closures_table,
    holds_table,
    surveys_table,
    weekly_surveys_table,
)
from data_demo.papers import declarations_table, notes_table
from data_demo.programme import formation_table, plan_table
from data_demo.returns import returns_table
from data_demo.scans import point_tables, survey_files_table
from data_demo.season import SEED
from data_demo.site_tables import Row, setup_tables
from data_demo.spoil import spoil_flow
from data_demo.tickets import tickets_table
from data_demo.ways_out import (
    belts_table,
    fleets_table,
    hoists_table,
    receiving_table,
    stops_table,
)


def subject_random(subject: str) -> Random:
    """A generator of its own for each subject, so that a change in one leaves the others alone."""
    return Random(f"{SEED} {subject}")


def site_tables() -> dict[str, list[Row]]:
    """Every table of the set-up, by name, with what the ways out can take."""
    return setup_tables() | {
        "belts": belts_table(),
        "hoists": hoists_table(),
        "fleets": fleets_table(),
        "receiving": receiving_table(),
        "stops": stops_table(),
    }


def record_tables() -> dict[str, list[Row]]:
    """Every file of records, by name."""
    slices = dug_ground(subject_random("dig"))
    flow = spoil_flow(subject_random("spoil"), slices)
    tickets = tickets_table(subject_random("tickets"), flow)
    on_time, late = part_late(subject_random("late"), tickets)
    return {
        "returns": returns_table(subject_random("returns"), slices),
        "belt": belt_table(subject_random("belt"), flow),
        "loads": on_time,
        "loads_late": late_table(subject_random("untidy"), on_time, late),
        "stock": stock_table(subject_random("stock"), flow),
        "holds": holds_table(),
        "surveys": _by_time(
            surveys_table(subject_random("surveys"), slices),
            weekly_surveys_table(subject_random("weekly surveys"), slices),
        ),
        "receipts": receipts_table(subject_random("receipts"), tickets),
        "baseline": baseline_table(),
        "closures": closures_table(),
        "notes": notes_table(tickets),
        "declarations": declarations_table(),
        "reuse": reuse_table(subject_random("reuse"), flow),
        "belt_checks": belt_checks_table(subject_random("belt checks")),
        "traffic": traffic_table(subject_random("traffic"), tickets),
        "bookings": bookings_table(),
        "plan": plan_table(),
        "formation": formation_table(),
    }


def _by_time(scans: list[Row], weekly: list[Row]) -> list[Row]:
    rows = [*(row | {"note": ""} for row in scans), *weekly]
    return sorted(rows, key=lambda row: (row["surveyed_at"], row["zone"]))


def survey_tables() -> dict[str, list[Row]]:
    """The list of surveys with points, and the points of each, by name."""
    return {"surveys": survey_files_table()} | point_tables(
        subject_random, dug_ground(subject_random("dig"))
    )


def write_table(path: Path, rows: list[Row]) -> None:
    """Write rows as CSV: UTF-8, commas, one newline a row."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, fieldnames=list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def write_all(folder: Path) -> int:
    """Write `setup/`, `records/` and `surveys/` into a folder; the number of rows written."""
    count = 0
    parts = {"setup": site_tables(), "records": record_tables(), "surveys": survey_tables()}
    for name, tables in parts.items():
        (folder / name).mkdir(parents=True, exist_ok=True)
        for table, rows in tables.items():
            write_table(folder / name / f"{table}.csv", rows)
            count += len(rows)
    return count


def main(arguments: Sequence[str] | None = None) -> None:
    """Read the command line and write the files."""
    parser = argparse.ArgumentParser(prog="python -m data_demo.generate", description=__doc__)
    parser.add_argument(
        "--out",
        type=Path,
        default=Path(__file__).parent,
        help="folder to write the files into (default: the folder of this file)",
    )
    folder: Path = parser.parse_args(arguments).out
    print(f"Wrote {write_all(folder)} rows into {folder}.")


if __name__ == "__main__":
    main()
