"""How soon the command line answers, against importing the library that it is made with."""

from __future__ import annotations

import subprocess
import sys

from tests.bench.conftest import least_s

AT_MOST = 2.0  # times the import of typer


def run(code: str) -> None:
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, timeout=60)


def test_help_comes_about_as_soon_as_its_library_is_imported(say):
    library_s, help_s = least_s(
        lambda: run("import typer"),
        lambda: run("import sys, tracker.cli as c; sys.argv = ['spoil', '--help']; c.main()"),
        repeats=15,
    )
    say(
        f"spoil --help: {1000 * help_s:.0f} ms; import typer: {1000 * library_s:.0f} ms;"
        f" ratio {help_s / library_s:.2f} (at most {AT_MOST:g})"
    )
    assert help_s / library_s <= AT_MOST
