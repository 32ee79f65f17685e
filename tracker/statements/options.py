"""Two options to compare, read strictly from a TOML file or the query of a link, and written back.

Both come as the same names: a table `[b.belt_out]` with `from` in a file is `b.belt_out.from` in a
link. Every wrong value is said at once, each with the name it stands under.
"""

from __future__ import annotations

import difflib
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import partial
from typing import Any
from urllib.parse import parse_qsl, urlencode

from tracker.domain.limits import check_between
from tracker.domain.options import (
    AddedShift,
    BeltChange,
    BeltOut,
    FleetChange,
    Option,
)
from tracker.domain.written import (
    clock_time,
    iso_date,
    plain_text,
    weekday_numbers,
    whole_number,
    whole_thousandths,
)
from tracker.errors import InputError, Problem

AS_SET_UP = Option()
SEED = 1
LONGEST_NAME = 60
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_SAID = 6  # problems that the sentence of an error names


@dataclass(frozen=True, slots=True)
class Comparison:
    """What is compared: both options, as of when (None: the last work date), by which chance.

    `known_at` leaves out what was recorded later, so that a link gives what it gave [UTC].
    """

    a: Option = AS_SET_UP
    b: Option = AS_SET_UP
    as_of: date | None = None
    seed: int = SEED
    known_at: datetime | None = None


class WrongOptions(InputError):
    """A comparison that cannot be made, for the reasons in `problems`, each under its name."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        said = [f"{p.field}: {p.message}" if p.field else p.message for p in problems]
        more = [f"And {len(said) - _SAID} more."] if len(said) > _SAID else []
        super().__init__(" ".join(said[:_SAID] + more), field=problems[0].field)
        self.problems = tuple(problems)


# --- one value -----------------------------------------------------------------------------------
def _text(value: object) -> str:
    text = plain_text(value)
    if not text or len(text) > LONGEST_NAME or "\n" in text or "\t" in text:
        raise InputError(f"A name of one line, with 1 to {LONGEST_NAME} characters, is wanted.")
    return text


def _clock(value: object) -> time:
    clock = clock_time(value)
    if clock.second or clock.microsecond:
        raise InputError(f"{clock} has seconds. Write it as HH:MM, such as 07:30.")
    return clock


def _moment(value: object) -> datetime:
    try:
        moment = value if isinstance(value, datetime) else datetime.fromisoformat(str(value))
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise InputError(
            f"“{value}” is no moment with its offset. Write it like 2026-10-27T18:00+00:00."
        )
    return moment.astimezone(UTC)


def _count(low: int, high: int, value: object) -> int:
    number = whole_number(value)
    check_between("It", number, low, high, "")
    return number


def _measure(low: float, high: float, unit: str, value: object) -> float:
    return check_between("It", whole_thousandths(value) / 1000.0, low, high, unit)


def _weekday_words(weekdays: Sequence[int]) -> str:
    return " ".join(_WEEKDAYS[day] for day in weekdays)


def _number_text(value: float) -> str:
    """A number of at most three decimals, as it is typed.

    >>> _number_text(18.0), _number_text(2.125)
    ('18', '2.125')
    """
    return f"{value:.3f}".rstrip("0").rstrip(".")


@dataclass(frozen=True, slots=True)
class OptionField:
    """One thing that can be changed: its name, words and unit, and how it is read and written."""

    key: str
    words: str
    unit: str
    read: Callable[[Any], Any]
    write: Callable[[Any], str] = str


FIELDS = (
    OptionField("name", "Name of this option", "", _text),
    OptionField("added_shift.name", "Name of the added shift", "", _text),
    OptionField("added_shift.weekdays", "Weekdays", "", weekday_numbers, _weekday_words),
    OptionField("added_shift.starts", "Starts", "local time", _clock, "{:%H:%M}".format),
    OptionField("added_shift.ends", "Ends", "local time", _clock, "{:%H:%M}".format),
    OptionField("added_shift.from", "From", "date", iso_date),
    OptionField("belt_out.belt", "Belt", "", _text),
    OptionField("belt_out.from", "Out from", "date", iso_date),
    OptionField("belt_out.to", "Out until, included", "date", iso_date),
    OptionField("belt_out.days", "Out for", "days", partial(_count, 1, 366)),
    OptionField("cap_day", "Cap a day", "movements", partial(_count, 0, 5000)),
    OptionField("cap_hour", "Cap an hour", "movements", partial(_count, 0, 500)),
    OptionField("payload_t", "Payload", "t", partial(_measure, 1.0, 60.0, "t"), _number_text),
    OptionField("zones_at_once", "Zones dug at once", "zones", partial(_count, 1, 100)),
    OptionField("fleet.fleet", "Fleet", "", _text),
    OptionField("fleet.lorries", "Lorries", "lorries", partial(_count, 1, 500)),
    OptionField("fleet.loaders", "Loaders", "loaders", partial(_count, 1, 20)),
    OptionField("belt.belt", "Belt", "", _text),
    OptionField("belt.width_m", "Belt width", "m", partial(_measure, 0.3, 2.0, "m"), _number_text),
    OptionField(
        "belt.speed_m_per_s",
        "Belt speed",
        "m/s",
        partial(_measure, 0.1, 8.0, "m/s"),
        _number_text,
    ),
)
_BY_KEY = {field.key: field for field in FIELDS}
_TABLES = tuple(dict.fromkeys(f.key.split(".")[0] for f in FIELDS if "." in f.key))
_NEEDED = {
    "added_shift": ("name", "weekdays", "starts", "ends"),
    "belt_out": ("belt", "from"),
    "fleet": ("fleet",),
    "belt": ("belt",),
}
_ONE_OF = {
    "belt_out": ("to", "days"),
    "fleet": ("lorries", "loaders"),
    "belt": ("width_m", "speed_m_per_s"),
}


# --- an option -----------------------------------------------------------------------------------
def option_of(written: Mapping[str, Any], place: str = "") -> Option:
    """The option that these names and values make; `place` stands before names in sentences.

    Values are text, or what a TOML file holds; blank text is left out. Raises WrongOptions with
    every problem.
    """
    problems: list[Problem] = []
    values: dict[str, Any] = {}
    for key, value in written.items():
        if isinstance(value, str) and not value.strip():
            continue
        try:
            values[key] = _read(key, value)
        except InputError as error:
            problems.append(Problem("", 0, place + key, str(value), str(error)))
    named = {key for key, value in written.items() if not isinstance(value, str) or value.strip()}
    problems += [Problem("", 0, place + key, "", said) for key, said in _left_out(named)]
    if problems:
        raise WrongOptions(problems)
    return _made(values)


def _read(key: str, value: Any) -> Any:
    if key not in _BY_KEY:
        near = difflib.get_close_matches(key, _BY_KEY, n=1)
        mean = f" Did you mean {near[0]}?" if near else ""
        raise InputError(f"Nothing of this name can be changed.{mean} Known: {', '.join(_BY_KEY)}.")
    if isinstance(value, (Mapping, list)) and key != "added_shift.weekdays":
        raise InputError("One value is wanted here, not a list or a table.")
    if isinstance(value, list):
        value = " ".join(str(part) for part in value)
    return _BY_KEY[key].read(value)


def _left_out(named: set[str]) -> Iterator[tuple[str, str]]:
    for table in _TABLES:
        given = {key.split(".")[1] for key in named if key.startswith(f"{table}.")}
        if not given:
            continue
        for needed in _NEEDED[table]:
            if needed not in given:
                words = _BY_KEY[f"{table}.{needed}"].words
                yield f"{table}.{needed}", f"“{words}” is left out. State it."
        either = _ONE_OF.get(table, ())
        if either and not given & set(either):
            yield f"{table}.{either[0]}", f"State {' or '.join(either)}, or leave {table} out."
    if {"belt_out.to", "belt_out.days"} <= named:
        yield "belt_out.days", "State either the last day or how many days, not both."


def _made(values: Mapping[str, Any]) -> Option:
    def group(table: str) -> dict[str, Any]:
        start = f"{table}."
        return {key.removeprefix(start): v for key, v in values.items() if key.startswith(start)}

    shift, out, fleet, belt = (group(table) for table in _TABLES)
    return Option(
        **{key: value for key, value in values.items() if "." not in key},
        added_shift=AddedShift(
            shift["name"], shift["weekdays"], shift["starts"], shift["ends"], shift.get("from")
        )
        if shift
        else None,
        belt_out=_belt_out(**out) if out else None,
        fleet=FleetChange(**fleet) if fleet else None,
        belt=BeltChange(**belt) if belt else None,
    )


def _belt_out(belt: str, to: date | None = None, days: int = 1, **first: date) -> BeltOut:
    last = to or first["from"] + timedelta(days=days - 1)
    return BeltOut(belt, first["from"], last)


def option_values(option: Option) -> dict[str, str]:
    """An option as names and texts, which `option_of` reads back as the same option."""
    shift, out, fleet, belt = option.added_shift, option.belt_out, option.fleet, option.belt
    values: dict[str, Any] = {
        "name": option.name or None,
        "cap_day": option.cap_day,
        "cap_hour": option.cap_hour,
        "payload_t": option.payload_t,
        "zones_at_once": option.zones_at_once,
    }
    if shift:
        values |= {
            "added_shift.name": shift.name,
            "added_shift.weekdays": shift.weekdays,
            "added_shift.starts": shift.starts,
            "added_shift.ends": shift.ends,
            "added_shift.from": shift.since,
        }
    if out:
        values |= {
            "belt_out.belt": out.belt,
            "belt_out.from": out.first_day,
            "belt_out.to": out.last_day,
        }
    if fleet:
        values |= {f"fleet.{n}": getattr(fleet, n) for n in ("fleet", "lorries", "loaders")}
    if belt:
        values |= {f"belt.{n}": getattr(belt, n) for n in ("belt", "width_m", "speed_m_per_s")}
    return {
        field.key: field.write(values[field.key])
        for field in FIELDS
        if values.get(field.key) is not None
    }


# --- a comparison --------------------------------------------------------------------------------
_READERS: Mapping[str, Callable[[Any], Any]] = {
    "as_of": iso_date,
    "seed": partial(_count, 0, 2**31 - 1),
    "known_at": _moment,
}


def comparison_of(written: Mapping[str, Any]) -> Comparison:
    """A comparison from names and values: as_of, seed, known_at, those of options under `a.`, `b.`.

    Raises WrongOptions with every problem.
    """
    problems: list[Problem] = []
    made: dict[str, Any] = {}
    for key, value in written.items():
        if key.partition(".")[0] in ("a", "b") and "." in key:
            continue
        try:
            if key not in _READERS:
                raise InputError(f"Only {', '.join(_READERS)} and the options a and b are known.")
            made[key] = _READERS[key](value)
        except InputError as error:
            problems.append(Problem("", 0, key, str(value), str(error)))
    for side in ("a", "b"):
        start = f"{side}."
        mine = {k.removeprefix(start): v for k, v in written.items() if k.startswith(start)}
        try:
            made[side] = option_of(mine, start)
        except WrongOptions as error:
            problems += error.problems
    if problems:
        raise WrongOptions(problems)
    return Comparison(**made)


def comparison_of_toml(text: str) -> Comparison:
    """The comparison that a file describes. Raises WrongOptions, InputError for no TOML."""
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            f"The file is not TOML: {error}. Write numbers with a point and texts in quotes."
        ) from None
    if not {"a", "b"} & set(tree):
        raise InputError(
            "The file has neither a table [a] nor a table [b]. Write what each option changes;"
            " an empty table is the site as it is set up."
        )
    return comparison_of(dict(_flat(tree)))


def _flat(tree: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    for key, value in tree.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{before}{key}.")
        else:
            yield before + key, value


def comparison_of_query(query: str) -> Comparison:
    """The comparison of a link. Raises WrongOptions."""
    pairs = parse_qsl(query.lstrip("?"))
    twice = sorted(key for key, times in Counter(key for key, _ in pairs).items() if times > 1)
    if twice:
        raise InputError(f"The link says {', '.join(twice)} twice. Copy it anew.", field=twice[0])
    return comparison_of(dict(pairs))


def query_of(comparison: Comparison) -> str:
    """The query of the link that opens a comparison again: `comparison_of_query` reads it back."""
    written: dict[str, str] = {}
    if comparison.as_of:
        written["as_of"] = comparison.as_of.isoformat()
    if comparison.seed != SEED:
        written["seed"] = str(comparison.seed)
    if comparison.known_at:
        written["known_at"] = comparison.known_at.isoformat()
    for side, option in (("a", comparison.a), ("b", comparison.b)):
        written |= {f"{side}.{key}": text for key, text in option_values(option).items()}
    return urlencode(written)
