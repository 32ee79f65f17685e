"""How soon the command line answers, against importing the library that it is made with."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.bench.conftest import least_s

AT_MOST = 2.0  # times the import of typer


def test_help_comes_about_as_soon_as_its_library_is_imported(tmp_path: Path, say):
    # Compiled once, as an installed program is, whatever this environment says of it.
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    env["PYTHONPYCACHEPREFIX"] = str(tmp_path)

    def run(code: str) -> None:
        command = [sys.executable, "-c", code]
        subprocess.run(command, check=True, capture_output=True, timeout=60, env=env)

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
