"""What stands in the form of two options, as the names and texts that the reader takes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from tracker.errors import InputError, Problem
from tracker.statements.options import Comparison, WrongOptions, comparison_of

Held = Iterable[tuple[Mapping[str, str], Any]]  # (id of a control, what stands in it)
BASE = ("as_of", "known_at", "seed")  # of a link: kept while its options are changed
BLANK = "Nothing is stated here. Fill it in, or switch this change off."


def name_of(id: Mapping[str, str]) -> str:
    """The name of a control as the reader knows it: `b.belt_out.days`.

    >>> name_of({"type": "whatif-field", "side": "b", "key": "belt_out-days"})
    'b.belt_out.days'
    """
    return f"{id['side']}.{id['key'].replace('-', '.')}"


def part_of(name: str) -> str:
    """The change that a name belongs to.

    >>> part_of("b.belt_out.days"), part_of("a.cap_day")
    ('b.belt_out', 'a.cap_day')
    """
    return ".".join(name.split(".")[:2])


def written(fields: Held, switches: Held) -> dict[str, str]:
    """The names and texts of the changes that are switched on, blank ones included."""
    on = {f"{id['side']}.{id['part']}" for id, checked in switches if checked}
    on |= {"a.name", "b.name"}
    named = ((name_of(id), value) for id, value in fields)
    return {
        name: "" if value is None else str(value) for name, value in named if part_of(name) in on
    }


def compared(values: Mapping[str, str], link: Mapping[str, str]) -> Comparison:
    """The comparison of the form, as of when a link said.

    A change that is switched on and left blank is refused, so that nobody takes it as compared.
    Raises WrongOptions.
    """
    problems: list[Problem] = [Problem("", 0, name, "", BLANK) for name in _blank(values)]
    base = {key: link[key] for key in BASE if key in link}
    try:
        found = comparison_of({**base, **values})
    except WrongOptions as error:
        problems += error.problems
    if problems:
        raise WrongOptions(problems)
    return found


def _blank(values: Mapping[str, str]) -> Iterator[str]:
    """The first field of each change that is switched on without a value."""
    by_part: dict[str, list[str]] = {}
    for name in values:
        by_part.setdefault(part_of(name), []).append(name)
    for part, names in by_part.items():
        if not part.endswith(".name") and not any(values[name].strip() for name in names):
            yield names[0]


def beside(error: InputError, names: Sequence[str]) -> tuple[dict[str, str], list[str]]:
    """Name -> sentence beside its field, and the sentences that belong to none of the fields."""
    problems: Sequence[Problem] = getattr(error, "problems", ())
    said: dict[str, str] = {}
    rest = [] if problems else [str(error)]
    for problem in problems:
        name = problem.field.replace("belt_out.to", "belt_out.days")
        if name in names:
            said[name] = f"{said.get(name, '')} {problem.message}".strip()
        else:
            rest.append(f"{problem.field}: {problem.message}" if problem.field else problem.message)
    return said, rest
