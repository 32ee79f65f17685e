"""Running commands as people do, in a folder of their own, with the set-up of a small pit."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from tests.cli.samples import rows_of
from tests.statements import paper
from tracker.cli import _app


class Here:
    """A folder in which commands run; each is given as one line of words."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def run(self, *words: str) -> Result:
        """Run `spoil` with these words."""
        return CliRunner().invoke(_app, list(words))

    def done(self, *words: str) -> str:
        """What a command prints that must succeed."""
        result = self.run(*words)
        assert result.exit_code == 0, result.output
        return result.stdout

    def json(self, *words: str) -> Any:
        """The one JSON object that a command prints with --json."""
        return json.loads(self.done(*words, "--json"))

    def refused(self, *words: str) -> str:
        """What a command says on stderr that must be refused: exit code 2 and no traceback."""
        result = self.run(*words)
        assert result.exit_code == 2, result.output
        assert isinstance(result.exception, SystemExit)
        assert "Traceback" not in result.output
        return result.stderr.strip()

    def write(self, name: str, rows: list[dict[str, str]]) -> str:
        """A CSV of rows in the folder; gives its name."""
        with (self.folder / name).open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(dict.fromkeys(key for row in rows for key in row)))
            writer.writeheader()
            writer.writerows(rows)
        return name

    def read(self, name: str) -> list[dict[str, str]]:
        """The rows of a CSV in the folder."""
        with (self.folder / name).open(encoding="utf-8-sig", newline="") as file:
            return list(csv.DictReader(file))


def with_set_up(folder: Path) -> Here:
    """A folder with the tables of the paper pit in setup/, and nothing else."""
    (folder / "setup").mkdir()
    place = Here(folder)
    for name, rows in paper.FIRST.items():
        place.write(f"setup/{name}.csv", rows)
    return place


def with_ledger(folder: Path) -> Here:
    """The same with a ledger that has the set-up and the baseline."""
    place = with_set_up(folder)
    place.done("init", "--setup", "setup")
    place.done("import", "baseline", place.write("baseline.csv", rows_of("baseline")))
    return place


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Here:
    """A folder with a set-up and no ledger."""
    _enter(tmp_path, monkeypatch)
    return with_set_up(tmp_path)


@pytest.fixture
def pit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Here:
    """A folder with a ledger that has the set-up and the baseline."""
    _enter(tmp_path, monkeypatch)
    return with_ledger(tmp_path)


@pytest.fixture(scope="session")
def season_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the season of the paper pit under the first set-up alone, made once."""
    folder = tmp_path_factory.mktemp("season")
    with pytest.MonkeyPatch.context() as patch:
        _enter(folder, patch)
        place = with_ledger(folder)
        for kind in paper.KINDS:
            if kind != "baseline":
                place.done("import", kind, place.write(f"{kind}.csv", rows_of(kind)))
    return folder


@pytest.fixture
def season(season_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Here:
    """The season, to be read and not written to."""
    _enter(season_folder, monkeypatch)
    return Here(season_folder)


def _enter(folder: Path, patch: pytest.MonkeyPatch) -> None:
    patch.chdir(folder)
    patch.setenv("SPOIL_BY", "tester")
    patch.delenv("SPOIL_LEDGER", raising=False)
