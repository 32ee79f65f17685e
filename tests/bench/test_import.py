"""A million loads imported and checked, against bare parsing and executemany of the same rows.

The bar is held against a plain connection to the ledger's own table, whose indexes and guards every
row has to pass whoever inserts it. The ratio to a table with neither is printed beside it: reading
and checking a row in Python costs many times what such a table does.
"""

from __future__ import annotations

import csv
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import date, datetime, time, timedelta
from itertools import count
from pathlib import Path

from tests.bench.conftest import least_s
from tracker.ledger.store import open_ledger
from tracker.recording.entry import record

LOADS = 1_000_000
LORRIES = 2500
AT_MOST = 5.0  # times bare parsing and executemany
MOST_MB = 1024


def write_loads(path: Path) -> None:
    """Loads of stiff clay: each lorry once in two hours of every working day, all in order."""
    numbers = count(1)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(
            ["ticket_issuer", "ticket_number", "gate_in_at", "gate_out_at", "carrier", "vehicle",
             "registration", "stream", "route", "gross_t", "tare_t", "net_t", "weight_basis",
             "transfer_note"]
        )  # fmt: skip
        day = date(2026, 3, 2)
        while True:
            for slot in range(5) if day.weekday() < 5 else ():
                opens = datetime.combine(day, time(7, 40)) + slot * timedelta(hours=2)
                for lorry in range(LORRIES):
                    number = next(numbers)
                    if number > LOADS:
                        return
                    came = opens + timedelta(seconds=2 * lorry)
                    left = came + timedelta(minutes=20)
                    tare_kg = 11_500 + lorry % 400
                    net_kg = 18_500 + number % 1400
                    writer.writerow(
                        ["WB1", f"B{number}", came.isoformat(), left.isoformat(), "carrier_1",
                         "rigid_32", f"BENCH-{lorry}", "stiff_clay", "R-LORRY-CLAY",
                         (tare_kg + net_kg) / 1000, tare_kg / 1000, net_kg / 1000, "weighed",
                         "N-1"]
                    )  # fmt: skip
            day += timedelta(days=1)


NOTE = {
    "note_number": "N-1", "form": "season", "made_out_at": "2026-03-02 06:00",
    "valid_from": "2026-03-02", "valid_to": "2027-03-01", "stream": "stiff_clay",
    "waste_code": "17 05 04", "description": "stiff clay", "container": "loose", "place": "gate",
    "transferor": "invented contractor", "transferor_status": "producer", "carrier": "carrier_1",
    "destination": "restoration", "industry_code": "43.12", "hierarchy_confirmed": "yes",
    "signed_out_by": "A", "signed_in_by": "B",
}  # fmt: skip
# Run by itself, so that its greatest memory is that of the import.
IMPORT = """
import resource, sys, time
from tracker.ledger.store import open_ledger
from tracker.recording.files import import_file
book = open_ledger(sys.argv[1])
start = time.perf_counter()
report = import_file(book, "loads", sys.argv[2], by="bench")
print(time.perf_counter() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
      report.recorded, len(report.problems))
"""


def test_a_million_loads_are_imported_and_checked(tmp_path, empty_site, say):
    """Against parsing the same file bare and one executemany of it; each once, since it is long."""
    file = tmp_path / "loads.csv"
    write_loads(file)
    book = empty_site()
    record(book, "notes", NOTE, by="bench")
    place = book._engine.url.database
    book.close()
    command = [sys.executable, "-c", IMPORT, place, str(file)]
    words = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
    import_s, memory_mb = float(words[0]), float(words[1])
    assert (int(words[2]), int(words[3])) == (LOADS, 0)
    with closing(sqlite3.connect(place)) as stored:
        rows = stored.execute("SELECT * FROM lorry_loads").fetchall()
        columns = [c[1] for c in stored.execute("PRAGMA table_info(lorry_loads)")]

    def parse_and_insert(own_table: bool) -> None:
        bare_place = tmp_path / f"bare{own_table}.sqlite"
        if own_table:
            open_ledger(bare_place, create=True).close()
        with file.open(encoding="utf-8", newline="") as lines:
            assert sum(1 for _ in csv.DictReader(lines)) == LOADS
        with closing(sqlite3.connect(bare_place)) as bare:
            if not own_table:
                bare.execute(f"CREATE TABLE lorry_loads ({', '.join(columns)})")
            marks = ", ".join("?" * len(columns))
            bare.executemany(f"INSERT INTO lorry_loads VALUES ({marks})", rows)
            bare.commit()

    plain_s, guarded_s = least_s(
        lambda: parse_and_insert(False), lambda: parse_and_insert(True), repeats=1
    )
    say(
        f"import of {LOADS:,} loads: {import_s:.0f} s, {memory_mb:.0f} MB (at most {MOST_MB});"
        f" parsed bare and inserted into the ledger's table: {guarded_s:.0f} s, ratio"
        f" {import_s / guarded_s:.2f} (at most {AT_MOST:g}); into a table without index or guard:"
        f" {plain_s:.0f} s, ratio {import_s / plain_s:.1f}"
    )
    assert memory_mb < MOST_MB
    assert import_s / guarded_s <= AT_MOST
