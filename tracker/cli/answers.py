"""How every command speaks: an answer as lines or as JSON, an error as one sentence."""

from __future__ import annotations

import functools
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, ParamSpec, TypeVar

import typer

from tracker.domain.written import decimal_number
from tracker.errors import InputError, Problem, TrackerError

P = ParamSpec("P")
R = TypeVar("R")


def show(data: Mapping[str, Any], as_json: bool, lines: Iterable[str]) -> None:
    """Print the data as one JSON object, numbers unrounded, or else the lines."""
    if as_json:
        typer.echo(json.dumps(data, ensure_ascii=False, allow_nan=False, default=str))
        return
    for line in lines:
        typer.echo(line)


def spoken(command: Callable[P, R]) -> Callable[P, R]:
    """Turn a TrackerError of a command into its sentence on stderr and exit code 2.

    An error of several problems says each of them on a line of its own.
    """

    @functools.wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            return command(*args, **kwargs)
        except TrackerError as error:
            problems: Sequence[Problem] = getattr(error, "problems", ())
            said = [f"{p.field}: {p.message}" if p.field else p.message for p in problems]
            typer.echo("\n".join(said or [str(error)]), err=True)
            raise typer.Exit(2) from None

    return run


def level(option: str, text: str) -> float:
    """The number given for an option, of either sign. Raises InputError that names the option."""
    try:
        return decimal_number(text)
    except InputError as error:
        raise InputError(f"{option}: {error}", field=option) from None


def number(option: str, text: str) -> float:
    """The number given for an option, not negative. Raises InputError that names the option."""
    value = level(option, text)
    if value < 0.0:
        raise InputError(f"{option} is {text}; it must be 0 or more.", field=option)
    return value


def optional_number(option: str, text: str | None) -> float | None:
    """The number given for an option, or None if it was left out."""
    return None if text is None else number(option, text)


def numbers(option: str, text: str) -> list[float]:
    """The numbers given for an option, separated by commas, with points for decimals."""
    return [number(option, part) for part in text.split(",")]


def plain(value: float | None, unit: str) -> str:
    """A number for reading, to three decimals, or a dash where it is not known."""
    return "–" if value is None else f"{value:,.3f} {unit}"


def metres(level_m: float | None) -> str:
    """A level to the millimetre, or a dash where it is not known."""
    return "–" if level_m is None else f"{level_m:.3f}"


def table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows under their headings, the first column to the left, the others to the right."""
    widths = [max(map(len, column)) for column in zip(headings, *rows, strict=True)]
    return [
        "  ".join(
            cell.ljust(width) if not place else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in (headings, *rows)
    ]
