"""The house rules: arrows go down, ids and sources have one home, nothing grows too large.

Whoever breaks a rule for a reason writes the exception here, with the reason.
"""

from __future__ import annotations

import ast
import csv
import re
import subprocess
import sys
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
import typer

from tracker.domain.sources import SOURCES

ROOT = Path(__file__).parents[1]
PACKAGES = ("tracker", "dashboard", "data_demo")
MODULES = {
    file.relative_to(ROOT): ast.parse(file.read_text("utf-8"))
    for package in PACKAGES
    for file in sorted((ROOT / package).rglob("*.py"))
}
TESTS = {
    file: ast.parse(file.read_text("utf-8")) for file in sorted((ROOT / "tests").rglob("*.py"))
}
PAGES = {
    file.stem: tree
    for file, tree in MODULES.items()
    if file.parent == Path("dashboard/pages") and file.stem != "__init__"
}


def assert_none(found: Iterable[str]) -> None:
    """So that a failure lists every place, one a line."""
    listed = "\n".join(found)
    assert listed == "", f"\n{listed}"


# --- floors --------------------------------------------------------------------------------------
def test_arrows_go_down_only():
    linter = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    done = subprocess.run(
        [sys.executable, "-c", linter, "--no-cache", "--no-logo"],
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert " 0 broken." in done.stdout


def test_the_contract_on_pages_names_every_page():
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    contracts = {c["id"]: c for c in settings["tool"]["importlinter"]["contracts"]}
    with_path = {
        f"dashboard.pages.{name}" for name, tree in PAGES.items() if "PATH" in _assigned(tree)
    }
    assert set(contracts["pages"]["modules"]) == with_path


def test_importing_the_command_line_loads_nothing_heavy():
    """So that `spoil --help` answers at once."""
    loaded = subprocess.run(
        [sys.executable, "-c", "import sys, tracker.cli; print(*sys.modules)"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    ).stdout.split()
    heavy = {"pandas", "numpy", "sqlalchemy", "dash", "plotly", "shapely", "scipy", "matplotlib"}
    assert "tracker.cli.calculators" in loaded
    assert heavy.isdisjoint(loaded)


def _assigned(tree: ast.Module) -> set[str]:
    """Names that a module assigns at its top."""
    return {
        node.id
        for statement in tree.body
        if isinstance(statement, ast.Assign)
        for node in ast.walk(statement)
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)
    }


# --- screens -------------------------------------------------------------------------------------
def _calls(tree: ast.AST, *names: str) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            called = node.func
            name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
            if not names or name in names:
                yield node


def test_only_the_components_make_a_chart():
    makers = {str(file) for file, tree in MODULES.items() if any(_calls(tree, "Graph"))}
    assert makers == {"dashboard/components.py"}


def _is_literal_id(value: ast.expr) -> bool:
    if isinstance(value, ast.Dict):  # the type of a pattern is its id; the index may be anything
        return any(
            isinstance(key, ast.Constant) and key.value == "type" and _is_literal_id(part)
            for key, part in zip(value.keys, value.values, strict=True)
        )
    return isinstance(value, ast.JoinedStr) or (
        isinstance(value, ast.Constant) and value.value not in ("", None)
    )


def _literal_ids(tree: ast.Module) -> list[int]:
    """Lines of a page that write an id out instead of naming it."""
    given = [k.value for call in _calls(tree) for k in call.keywords if k.arg == "id"]
    given += [call.args[0] for call in _calls(tree, "Input", "Output", "State") if call.args]
    return [value.lineno for value in given if _is_literal_id(value)]


@pytest.mark.parametrize("page", PAGES)
def test_no_page_writes_an_id_out(page):
    assert _literal_ids(PAGES[page]) == []


def test_a_literal_id_would_be_found():
    page = ast.parse(
        "html.Div(id='a')\nInput('b', 'value')\nOutput({'type': 'c', 'index': 1}, 'x')\n"
        "html.Div(id=Ids.A)\nInput(Ids.B, 'value')\nState({'type': Ids.C, 'index': 'd'}, 'x')\n"
    )
    assert sorted(_literal_ids(page)) == [1, 2, 3]


def _ids() -> dict[str, str]:
    """`Page.MEMBER` -> id in the browser."""
    return {
        f"{node.name}.{member.targets[0].id}": member.value.value
        for node in MODULES[Path("dashboard/ids.py")].body
        if isinstance(node, ast.ClassDef)
        for member in node.body
        if isinstance(member, ast.Assign)
    }


def test_each_id_is_given_once():
    ids = _ids()
    assert len(ids) > 50
    assert_none(value for value, times in Counter(ids.values()).items() if times > 1)


def test_each_id_is_used():
    code = "".join(
        (ROOT / file).read_text("utf-8") for file in MODULES if file.parts[0] == "dashboard"
    )
    # A set of ids that is handed on whole is used by their names: `close_dialog(TodayClose)`.
    shared = (ROOT / "dashboard/closing.py").read_text("utf-8")
    whole = set(re.findall(r"\((\w+Close)\)", code))
    assert_none(
        name
        for name in _ids()
        if not re.search(rf"\b{re.escape(name)}\b", code)
        and not (
            name.split(".")[0] in whole and re.search(rf"\bids\.{name.split('.')[1]}\b", shared)
        )
    )


# --- sources -------------------------------------------------------------------------------------
def _tables_cite() -> set[str]:
    return {
        row["source_key"]
        for file in (ROOT / "tracker" / "domain" / "reference").glob("*.csv")
        for row in csv.DictReader(file.read_text("utf-8").splitlines())
    }


def _published_checks_cite() -> set[str]:
    return {
        key
        for file in (ROOT / "tests" / "published").glob("test_*.py")
        for keys in re.findall(r"^Source key: (.+)\.$", file.read_text("utf-8"), re.MULTILINE)
        for key in keys.split(", ")
    }


def _docstrings(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            yield ast.get_docstring(node) or ""


PLACE = r"(?:\d|table|ch\.|cl\.|clause|annex|example|chapter|page|schedule|condition|equation)"


def _code_cites() -> set[str]:
    """Keys in docstrings, as in `(ec7, 9.3.2.2)`, and those given as `source_key`."""
    cited: set[str] = set()
    for file, tree in MODULES.items():
        if file.parts[0] == "tracker":
            for text in _docstrings(tree):
                prose = re.sub("^ *>>> .*$", "", text, flags=re.MULTILINE)
                cited.update(re.findall(rf"\(([a-z][a-z0-9_]+), {PLACE}", prose))
            cited.update(
                keyword.value.value
                for call in _calls(tree)
                for keyword in call.keywords
                if keyword.arg == "source_key" and isinstance(keyword.value, ast.Constant)
            )
    return cited


def test_each_source_that_is_cited_exists():
    cited = _tables_cite() | _published_checks_cite() | _code_cites()
    assert {"ec7", "jcgm100", "ghg_2025"} <= cited
    assert_none(sorted(cited - set(SOURCES)))


def test_each_source_is_cited_somewhere():
    """In a table, in the text of the tracker, or by a check of a published value."""
    tracker = "\n".join(
        (ROOT / file).read_text("utf-8")
        for file in MODULES
        if file.parts[0] == "tracker" and file.name != "sources.py"
    )
    cited = _tables_cite() | _published_checks_cite() | set(re.findall("[a-z0-9_]+", tracker))
    assert_none(sorted(set(SOURCES) - cited))


# --- sizes ---------------------------------------------------------------------------------------
LONGEST_MODULE, LONGEST_FUNCTION = 400, 40
# What may be longer, and why.
LONG_MODULES = {
    "dashboard/ids.py": "a list, one id a line; each stands once because all stand here",
    "tracker/ledger/migrations/versions/v0001_first_schema.py": "written by Alembic, never edited",
}
LONG_FUNCTIONS = {
    "tracker/ledger/migrations/versions/v0001_first_schema.py upgrade": "written by Alembic",
    "tracker/ledger/migrations/versions/v0001_first_schema.py downgrade": "written by Alembic",
    "tracker/ledger/migrations/versions/v0002_survey_surfaces.py upgrade": "written by Alembic",
    "tracker/ledger/migrations/versions/v0003_spoil_out.py upgrade": "written by Alembic",
    "tracker/ledger/migrations/versions/v0004_plan_and_formation.py upgrade": "written by Alembic",
    "tracker/cli/surveys.py import_": "a line to ask each question, and a line to pass it on",
}


def test_no_module_is_over_400_lines():
    lines = {str(file): len((ROOT / file).read_text("utf-8").splitlines()) for file in MODULES}
    assert_none(
        f"{file}: {n}"
        for file, n in lines.items()
        if n > LONGEST_MODULE and file not in LONG_MODULES
    )


def _lines(function: ast.FunctionDef) -> int:
    """Lines of a function without its docstring and without the functions inside it."""
    within = [node for node in ast.walk(function) if isinstance(node, ast.FunctionDef)]
    outermost = [
        inner
        for inner in within[1:]
        if not any(inner in ast.walk(other) for other in within[1:] if other is not inner)
    ]
    docstring = ast.get_docstring(function, clean=False)
    return (
        function.end_lineno
        - function.lineno
        + 1
        - (len(docstring.splitlines()) if docstring else 0)
        - sum(inner.end_lineno - inner.lineno + 1 for inner in outermost)
    )


def test_no_function_is_over_40_lines():
    lines = {
        f"{file} {function.name}": _lines(function)
        for file, tree in MODULES.items()
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef)
    }
    assert_none(
        f"{name}: {n}"
        for name, n in lines.items()
        if n > LONGEST_FUNCTION and name not in LONG_FUNCTIONS
    )


# --- tests ---------------------------------------------------------------------------------------
# What no test imports, and the test that runs it all the same.
THROUGH = {
    "tracker/domain/site_rows.py": "tests/recording/test_setup_tables.py",
    "tracker/domain/site_gate.py": "tests/recording/test_setup_tables.py",
    "tracker/domain/site_capacity.py": "tests/recording/test_setup_tables.py",
    "tracker/domain/site_hours.py": "tests/recording/test_setup_tables.py",
    "tracker/domain/site_ways.py": "tests/recording/test_setup_tables.py",
    "tracker/ledger/tickets.py": "tests/statements/test_tickets.py",
    "tracker/ledger/migrations/env.py": "tests/ledger/test_schema.py",
    "tracker/ledger/migrations/versions/v0001_first_schema.py": "tests/ledger/test_schema.py",
    "tracker/ledger/migrations/versions/v0002_survey_surfaces.py": "tests/ledger/test_schema.py",
    "tracker/ledger/migrations/versions/v0003_spoil_out.py": "tests/ledger/test_schema.py",
    "tracker/ledger/migrations/versions/v0004_plan_and_formation.py": "tests/ledger/test_schema.py",
    "tracker/cli/solids.py": "tests/cli/test_calculators.py",
    "tracker/ledger/base.py": "tests/ledger/test_entries.py",
    "tracker/ledger/limits.py": "tests/statements/test_exceptions.py",
    "tracker/ledger/programme_entries.py": "tests/ledger/test_entries.py",
    "dashboard/progress/ahead.py": "tests/dashboard/test_browser_progress.py",
    "tracker/ledger/spoil_entries.py": "tests/ledger/test_entries.py",
    "tracker/statements/exception_shapes.py": "tests/statements/test_exceptions.py",
    "tracker/statements/exceptions_papers.py": "tests/statements/test_exceptions.py",
    "tracker/statements/exceptions_holds.py": "tests/statements/test_holds.py",
    "tracker/statements/hold_points.py": "tests/statements/test_holds.py",
    "tracker/statements/formation.py": "tests/statements/test_holds.py",
    "tracker/domain/programme/governing.py": "tests/domain/programme/test_capacities.py",
    "tracker/domain/programme/way_limits.py": "tests/domain/programme/test_capacities.py",
    "tracker/statements/governed.py": "tests/statements/test_capacity.py",
    "tracker/statements/governed_shifts.py": "tests/statements/test_delays.py",
    "tracker/statements/zone_shifts.py": "tests/statements/test_delays.py",
    "tracker/statements/capacity_shapes.py": "tests/statements/test_delays.py",
    "tracker/cli/spoil_lines.py": "tests/cli/test_statements.py",
    "tracker/cli/survey_lines.py": "tests/cli/test_surveys.py",
    "tracker/recording/survey_earlier.py": "tests/recording/test_surveys.py",
    "tracker/recording/survey_questions.py": "tests/recording/test_surveys.py",
    "tracker/statements/balance_shapes.py": "tests/statements/test_balance.py",
    "tracker/statements/endurance.py": "tests/statements/test_balance.py",
    "tracker/statements/flows.py": "tests/statements/test_balance.py",
    "tracker/statements/periods.py": "tests/statements/test_balance.py",
    "tracker/statements/stock.py": "tests/statements/test_balance.py",
    "tracker/statements/survey_against_returns.py": "tests/statements/test_survey.py",
    "tracker/statements/survey_shapes.py": "tests/statements/test_survey.py",
    "tracker/statements/surveyed.py": "tests/statements/test_survey.py",
    "tracker/statements/curve.py": "tests/statements/test_progress.py",
    "tracker/statements/dug.py": "tests/statements/test_progress.py",
    "tracker/statements/exceptions.py": "tests/statements/test_day.py",
    "tracker/statements/caps.py": "tests/statements/test_gate.py",
    "tracker/statements/gate_breaches.py": "tests/statements/test_gate.py",
    "tracker/statements/gate_words.py": "tests/statements/test_gate.py",
    "tracker/statements/frame.py": "tests/statements/test_day.py",
    "tracker/statements/levels.py": "tests/statements/test_day.py",
    "tracker/statements/reconciliation_bars.py": "tests/statements/test_reconciliation.py",
    "tracker/statements/reconciliation_calibration.py": "tests/statements/test_reconciliation.py",
    "tracker/statements/reconciliation_drift.py": "tests/statements/test_reconciliation.py",
    "tracker/statements/reconciliation_inputs.py": "tests/statements/test_reconciliation.py",
    "tracker/statements/reconciliation_missing.py": "tests/statements/test_reconciliation.py",
    "tracker/statements/reconciliation_season.py": "tests/statements/test_reconciliation.py",
    "tracker/statements/reconciliation_words.py": "tests/statements/test_reconciliation.py",
    "tracker/statements/spoil.py": "tests/statements/test_movements.py",
    "tracker/statements/belt.py": "tests/statements/test_spoil_out.py",
    "tracker/statements/papers.py": "tests/statements/test_spoil_out.py",
    "tracker/statements/receivers.py": "tests/statements/test_spoil_out.py",
    "tracker/statements/spoil_shapes.py": "tests/statements/test_spoil_out.py",
    "tracker/statements/ticket_findings.py": "tests/statements/test_spoil_out.py",
    "tracker/statements/words.py": "tests/statements/test_movements.py",
    "dashboard/surveys/report.py": "tests/dashboard/test_survey_recording.py",
    "dashboard/ids.py": "tests/test_architecture.py",
}


def _imported(tree: ast.Module) -> set[str]:
    """Dotted names that a test imports, at its top or within."""
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
            names.update(f"{node.module}.{alias.name}" for alias in node.names)
    return names


def test_each_module_has_a_test():
    """A test that imports it, or one of its name in the folder of its name."""
    imported = {name for tree in TESTS.values() for name in _imported(tree)}
    untested = []
    for file in MODULES:
        dotted = ".".join(file.with_suffix("").parts).removesuffix(".__init__")
        folder = Path("tests", *file.parts[:-1] if file.parts[0] != "tracker" else file.parts[1:-1])
        of_its_name = ROOT / folder / f"test_{file.name}"
        empty = file.name == "__init__.py" and len(MODULES[file].body) <= 1
        tested = dotted in imported or of_its_name.exists() or str(file) in THROUGH
        if file.parts[0] != "data_demo" and not empty and not tested:
            untested.append(str(file))
    assert_none(untested)


def test_exceptions_are_of_things_that_exist():
    files = {str(file) for file in MODULES}
    excepted = {*LONG_MODULES, *THROUGH, *(name.split()[0] for name in LONG_FUNCTIONS)}
    assert excepted <= files
    assert all((ROOT / test).exists() for test in THROUGH.values())


def test_test_names_are_sentences():
    short = [
        f"{file.relative_to(ROOT)} {node.name}"
        for file, tree in TESTS.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        and node.name.startswith("test_")
        and node.name.count("_") < 3
    ]
    assert_none(short)


# --- documents -----------------------------------------------------------------------------------
def _commands(command: Any, *names: str) -> Iterator[str]:
    parts = getattr(command, "commands", None)
    if parts is None:
        yield " ".join(names)
    for name, part in (parts or {}).items():
        yield from _commands(part, *names, name)


def test_each_command_is_in_the_readme():
    readme = (ROOT / "README.md").read_text("utf-8")
    cli = import_module("tracker.cli")
    commands = list(_commands(typer.main.get_command(cli._app), "spoil"))
    assert len(commands) > 10
    assert_none(command for command in commands if not _is_named(command, readme))


def _is_named(command: str, readme: str) -> bool:
    """Alone, or in a row of its group: `spoil solid pit`, or `spoil solid` ... `pit`."""
    *group, name = command.split()
    words = name.replace("-", "[- ]")
    rows = (row for row in readme.splitlines() if f"`{' '.join(group)}" in row)
    return f"`{command}" in readme or any(re.search(rf"\b{words}", row) for row in rows)


def test_each_module_is_in_the_guide_for_developers():
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    assert_none(
        str(file)
        for file in MODULES
        if file.name != "__init__.py" and not re.search(rf"(?<!\w){re.escape(file.name)}", guide)
    )


def test_nothing_names_the_machine_it_was_written_on():
    places = re.compile(r"(?<![\w.])/(work|tmp|home|root)/|\bshared/")
    found = [
        f"{file.relative_to(ROOT)}:{number}"
        for folder in (*PACKAGES, "tests", ".ci")
        for file in sorted((ROOT / folder).rglob("*"))
        if file.suffix in {".py", ".md", ".js", ".css", ".csv", ".toml"} or file.name == "run"
        for number, line in enumerate(file.read_text("utf-8").splitlines(), 1)
        if places.search(line)
    ]
    assert_none(found)
