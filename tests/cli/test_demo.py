"""demo, run as people run it: the invented site, whole, once, and apart from real ledgers."""

from __future__ import annotations

import os
import subprocess
import sys

from tracker.recording.demo import DEMO_DAY

SPOIL = [sys.executable, "-c", "from tracker.cli import main; main()"]


def test_the_demo_is_built_once_and_gives_each_user_a_headline(here):
    first = here.done("demo", "--no-serve")
    assert "loads.csv: 2,365 of 2,365 rows recorded" in first
    assert "loads_late.csv: 40 of 46 rows recorded, 7 problems kept out, such as: " in first
    assert "The site is invented." in first
    again = here.json("demo", "--no-serve")
    assert (again["as_of"], again["dashboard"]) == (DEMO_DAY.isoformat(), None)
    assert again["site_team"].startswith("Zone D: lowest level 90.410 m is 0.190 m below")
    for who in ("site_team", "sustainability_lead", "project_manager"):
        assert again[who] in first
    assert "rows recorded" not in here.done("demo", "--no-serve")
    assert here.json("export", "loads", "--ledger", "demo.sqlite")["rows"] == 2405


def test_the_demo_leaves_a_real_ledger_alone(pit):
    said = pit.refused("demo", "--no-serve", "--ledger", "site.sqlite")
    assert "has the set-up “setup” and not that of the demonstration" in said
    assert pit.json("export", "loads")["rows"] == 0


def test_the_demo_refuses_a_place_that_cannot_be_one(here):
    assert "cannot be opened" in here.refused("demo", "--no-serve", "--ledger", "no/demo.sqlite")
    assert "port" in here.refused("demo", "--no-serve", "--port", "99999").lower()


def test_the_command_runs_from_any_folder(here):
    done = subprocess.run(
        [*SPOIL, "demo", "--no-serve"], cwd=here.folder, stdin=subprocess.DEVNULL,
        env=os.environ | {"PYTHONWARNINGS": "error"},
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert "Project manager: Walled box in five zones" in done.stdout


def test_a_refusal_leaves_no_traceback(here):
    done = subprocess.run(
        [*SPOIL, "statement", "day"], cwd=here.folder, stdin=subprocess.DEVNULL,
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "There is no ledger at site.sqlite. Run `spoil init` to make one.\n"
