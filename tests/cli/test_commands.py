"""What every command has: help with an example, --json, and a sentence on bad input."""

from __future__ import annotations

from typing import Any

import pytest
import typer

from tests.cli.conftest import Here
from tracker.cli import _app

TOP = typer.main.get_command(_app).commands


def _commands(group: dict[str, Any], before: str = "") -> dict[str, Any]:
    """Words that call a command -> the command, those of groups as well."""
    found: dict[str, Any] = {}
    for name, command in group.items():
        inner = getattr(command, "commands", None)
        found |= _commands(inner, f"{before}{name} ") if inner else {f"{before}{name}": command}
    return found


COMMANDS = _commands(TOP)


@pytest.mark.parametrize("words", list(COMMANDS))
def test_every_command_shows_an_example_in_its_help(here: Here, words: str):
    said = " ".join(here.done(*words.split(), "--help").split())
    assert f"Example: spoil {words}" in said


@pytest.mark.parametrize("words", list(COMMANDS))
def test_every_command_can_print_json(words: str):
    assert "--json" in {text for option in COMMANDS[words].params for text in option.opts}


@pytest.mark.parametrize("words", list(COMMANDS))
def test_every_command_refuses_an_option_that_it_has_not(here: Here, words: str):
    assert "--no-such-option" in here.refused(*words.split(), "--no-such-option")


def test_the_list_of_commands_says_where_to_start(here: Here):
    said = here.done("--help")
    assert "Start with `spoil demo`." in said
    assert "the permit on site governs" in said
    for name in TOP:
        assert name in said
