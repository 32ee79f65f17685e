"""100,000 loads imported from a CSV, against a bare executemany of the same parsed rows.

The bar is held against a plain connection to the ledger's own table, whose indexes and guards every
row has to pass whoever inserts it. The ratio to a table with neither is printed beside it: reading
and checking a row in Python costs many times what such a table does.
"""

from __future__ import annotations

import csv
import sqlite3
from contextlib import closing
from datetime import date, datetime, time, timedelta
from itertools import count
from pathlib import Path

from tests.bench.conftest import least_s
from tracker.ledger.store import open_ledger
from tracker.recording.files import import_file

LOADS = 100_000
LORRIES = 400
AT_MOST = 5.0  # times the bare executemany


def write_loads(path: Path) -> None:
    """Loads of stiff clay: each lorry once in two hours of every working day, all in order."""
    numbers = count(1)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(
            ["ticket_issuer", "ticket_number", "gate_in_at", "gate_out_at", "carrier", "vehicle",
             "registration", "stream", "route", "gross_t", "tare_t", "net_t", "weight_basis"]
        )  # fmt: skip
        day = date(2026, 3, 2)
        while True:
            for slot in range(5) if day.weekday() < 5 else ():
                opens = datetime.combine(day, time(7, 40)) + slot * timedelta(hours=2)
                for lorry in range(LORRIES):
                    number = next(numbers)
                    if number > LOADS:
                        return
                    came = opens + timedelta(seconds=15 * lorry)
                    left = came + timedelta(minutes=20)
                    tare_kg = 11_500 + lorry
                    net_kg = 18_500 + number % 1400
                    writer.writerow(
                        ["WB1", f"B{number}", came.isoformat(), left.isoformat(), "carrier_1",
                         "rigid_32", f"BENCH-{lorry}", "stiff_clay", "R-LORRY-CLAY",
                         (tare_kg + net_kg) / 1000, tare_kg / 1000, net_kg / 1000, "weighed"]
                    )  # fmt: skip
            day += timedelta(days=1)


def test_100_000_loads_import_in_a_few_times_a_bare_executemany(tmp_path, empty_site, say):
    write_loads(tmp_path / "loads.csv")
    book = empty_site()

    def take() -> None:
        report = import_file(empty_site(), "loads", tmp_path / "loads.csv", by="bench")
        assert (report.recorded, report.problems) == (LOADS, [])

    assert import_file(book, "loads", tmp_path / "loads.csv", by="bench").recorded == LOADS
    with closing(sqlite3.connect(book._engine.url.database)) as stored:
        rows = stored.execute("SELECT * FROM lorry_loads").fetchall()
        columns = [c[1] for c in stored.execute("PRAGMA table_info(lorry_loads)")]
    names = count()

    def insert(make_table: bool) -> None:
        place = tmp_path / f"bare{next(names)}.sqlite"
        if not make_table:
            open_ledger(place, create=True).close()
        with closing(sqlite3.connect(place)) as bare:
            if make_table:
                bare.execute(f"CREATE TABLE lorry_loads ({', '.join(columns)})")
            marks = ", ".join("?" * len(columns))
            bare.executemany(f"INSERT INTO lorry_loads VALUES ({marks})", rows)
            bare.commit()

    plain_s, guarded_s, import_s = least_s(
        lambda: insert(True), lambda: insert(False), take, repeats=3
    )
    say(
        f"import of {LOADS:,} loads: {import_s:.2f} s; bare executemany into the ledger's table:"
        f" {guarded_s:.2f} s, ratio {import_s / guarded_s:.2f} (at most {AT_MOST:g}); into a table"
        f" without index or guard: {plain_s:.2f} s, ratio {import_s / plain_s:.1f}"
    )
    assert import_s / guarded_s <= AT_MOST
