"""The command line: one file a group of commands; heavy imports only inside the commands."""

from __future__ import annotations

import typer

from tracker.cli import (
    calculators,
    capacity,
    entries,
    files,
    serving,
    statements,
    surveys,
    volume,
    what_if,
)

_app = typer.Typer(
    name="spoil",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # boxes take longer to draw than the rest of the help to read
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Keep a ledger of excavated ground: volumes by level, tonnes, movements, carbon.",
    epilog="Start with `spoil demo`. Levels: the permit on site governs, not this tool.",
)
for group in (serving, files, entries, statements, calculators, capacity, volume, surveys, what_if):
    group.add_to(_app)


def main() -> None:
    """Run the command line."""
    _app()
