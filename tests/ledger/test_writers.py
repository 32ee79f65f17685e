"""Several writers at once: threads of the dashboard, and another process on the same file."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing

import pytest

from tests.conftest import only_sqlite
from tests.ledger.samples import a_load, a_reading
from tracker.errors import AlreadySuperseded, DuplicateEntry
from tracker.ledger.questions import summed
from tracker.ledger.store import open_ledger

WRITES = 40


def test_two_threads_that_write_at_once_lose_nothing(ledger):
    def write(writer: str) -> None:
        for n in range(WRITES):
            ledger.append([a_load(f"{writer}-{n}"), a_reading(n, n * 10, belt=writer)], by=writer)

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(write, ["one", "two"]))
    assert summed(ledger, ["loads", "movements", "belt_kg"]) == {
        ("loads",): 2 * WRITES,
        ("movements",): 4 * WRITES,
        ("belt_kg",): 2 * (WRITES - 1) * 10,
    }
    assert len(ledger.current("lorry_loads")) == 2 * WRITES
    assert ledger.rebuild_totals()[1] == 0


def test_of_two_that_state_one_fact_at_once_one_is_refused(ledger):
    def write(writer: int) -> int:
        refused = 0
        for n in range(20):
            try:
                ledger.append([a_load(f"T-{n}", net_kg=writer)], by="gate")
            except DuplicateEntry:
                refused += 1
        return refused

    with ThreadPoolExecutor(2) as pool:
        assert sum(pool.map(write, [1, 2])) == 20
    assert summed(ledger, ["loads"]) == {("loads",): 20}


def test_of_two_that_correct_one_entry_at_once_one_is_refused(ledger):
    ledger.append([a_load("T-1", entry_id="a")], by="gate")

    def correct(net_kg: int) -> bool:
        try:
            ledger.supersede("a", a_load("T-1", net_kg=net_kg), reason="slip", by="gate")
        except AlreadySuperseded:
            return False
        return True

    with ThreadPoolExecutor(2) as pool:
        assert sorted(pool.map(correct, [1, 2])) == [False, True]
    assert len(ledger.current("lorry_loads")) == 1


ANOTHER_PROCESS = """
import sys
from tests.ledger.samples import a_load
from tracker.ledger.store import open_ledger

ledger = open_ledger(sys.argv[1])
print("ready", flush=True)
sys.stdin.readline()
for n in range(int(sys.argv[2])):
    ledger.append([a_load(f"other-{n}")], by="other")
ledger.close()
"""


@only_sqlite
def test_two_processes_that_write_to_the_same_file_lose_nothing(ledger, place):
    with subprocess.Popen(
        [sys.executable, "-c", ANOTHER_PROCESS, place, str(WRITES)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout.readline() == "ready\n"
        other.stdin.write("go\n")
        other.stdin.flush()
        for n in range(WRITES):
            ledger.append([a_load(f"mine-{n}")], by="mine")
        other.communicate(timeout=60)
    assert other.returncode == 0
    assert summed(ledger, ["loads"]) == {("loads",): 2 * WRITES}
    assert {load.ticket_number for load in ledger.current("lorry_loads")} == {
        f"{writer}-{n}" for writer in ("mine", "other") for n in range(WRITES)
    }


def test_a_reader_is_not_kept_waiting_by_a_writer(ledger, place):
    ledger.append([a_load("T-1")], by="gate")
    with ledger.writing(), closing(open_ledger(place)) as reader:
        ledger.append([a_load("T-2")], by="gate")
        assert len(reader.current("lorry_loads")) == 1
    assert len(ledger.current("lorry_loads")) == 2


def test_a_writer_that_fails_leaves_the_ledger_open_to_others(ledger):
    ledger.append([a_load("T-1")], by="gate")
    for _ in range(20):  # more often than the pool has connections
        with pytest.raises(DuplicateEntry):
            ledger.append([a_load("T-1")], by="gate")
    ledger.append([a_load("T-2")], by="gate")
    assert len(ledger.current("lorry_loads")) == 2
