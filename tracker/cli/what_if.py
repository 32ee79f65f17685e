"""What if: two options of a file compared side by side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.answers import show, spoken, table
from tracker.cli.places import (
    PLACE,
    AsJson,
    AsOf,
    KnownAt,
    LedgerPlace,
    a_day,
    a_moment,
    a_work_date,
    opened,
)
from tracker.errors import InputError

if TYPE_CHECKING:
    from datetime import date

    from tracker.statements.forecast_shapes import OptionResult, WhatIfStatement

EXAMPLE = """\
# Two options to compare. An empty one is the site as it is set up. Leave out what does not change.
# as_of = 2026-10-27      # the last work date recorded, if left out
# seed = 1                # of the chance, the same for both options

[a]

[b]
# name = "Saturdays"
# cap_day = 100           # movements, both ways together
# cap_hour = 14
# payload_t = 18.5        # of every lorry from the site, never above the plate
# zones_at_once = 3

[b.added_shift]
name = "saturday"
weekdays = "Sat"          # or "Mon-Fri Sun"
starts = "08:00"
ends = "16:00"
# from = 2026-11-07

# [b.belt_out]
# belt = "main"
# from = 2026-11-02
# days = 5                # or to = 2026-11-06, included

# [b.fleet]
# fleet = "rigids"
# lorries = 9
# loaders = 2

# [b.belt]                # needs the geometry of the belt in belts.csv
# belt = "main"
# width_m = 1.2
# speed_m_per_s = 2.5
"""
File = Annotated[
    Path | None, typer.Argument(metavar="FILE.toml", help="The two options; see --example.")
]
Example = Annotated[bool, typer.Option("--example", help="Print a file to start from.")]


def add_to(app: typer.Typer) -> None:
    """Add the command to the command line."""
    app.command(
        "whatif",
        epilog="Example: spoil whatif --example > saturday.toml, then spoil whatif saturday.toml",
    )(whatif)


@spoken
def whatif(
    file: File = None,
    ledger: LedgerPlace = PLACE,
    as_of: AsOf = "",
    known_at: KnownAt = "",
    example: Example = False,
    as_json: AsJson = False,
) -> None:
    """Compare two options: days to formation, movements, carbon, energy, what governs."""
    if example:
        typer.echo(EXAMPLE, nl=False)
        return
    from tracker.cli.lines import breaches_first
    from tracker.statements.export import as_data
    from tracker.statements.options import comparison_of_toml
    from tracker.statements.what_if import what_if_of

    comparison = comparison_of_toml(_text(file))
    book = opened(ledger)
    day = a_day("--as-of", as_of) or comparison.as_of or a_work_date("--as-of", "", book)
    moment = a_moment("--known-at", known_at, book) or comparison.known_at
    made = what_if_of(book, replace(comparison, as_of=day, known_at=moment), as_of=day)
    show(as_data(made), as_json, [*breaches_first(book, day, moment), *what_if_lines(made)])


def _text(file: Path | None) -> str:
    if file is None:
        raise InputError("Name a file with two options. `spoil whatif --example` prints one.")
    try:
        return file.read_text("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"{file} is not UTF-8 text. Save it as UTF-8.") from None
    except OSError as error:
        raise InputError(f"Cannot read {file}: {error.strerror}. Check the name.") from None


def what_if_lines(s: WhatIfStatement) -> list[str]:
    """A comparison for reading: headline, both options side by side, what governs, formulae."""
    a, b = s.options
    sides = (("A", a), ("B", b))
    return [
        s.headline,
        "",
        *(f"{side} {one.name}: {' '.join(one.changes) or 'as set up.'}" for side, one in sides),
        "",
        *table(["", "A", "B"], [*_dates(a, b), *_figures(a, b)]),
        "",
        *s.differences,
        "",
        *(f"Governs {side}: {_governs(one)}" for side, one in sides),
        *(f"Limits of a usual weekday, {side}: {_limits(one)}" for side, one in sides),
        "",
        *(f"Assumed in {side}: {words}" for side, one in sides for words in one.assumed),
        "",
        *(f"{name}: {formula}" for name, formula in s.formulae),
        "",
        f"On the dashboard: /what-if?{s.link}",
        "",
        *s.basis.lines,
        *s.basis.cautions,
    ]


def _dates(a: OptionResult, b: OptionResult) -> list[list[str]]:
    from tracker.statements.forecast_words import chance_words

    rows = []
    for one, other in zip(a.formation, b.formation, strict=True):
        both = (one, other)
        rows.append([f"formation of {one.name} P20", *(_day(x.p20) for x in both)])
        rows.append(["  P50", *(_day(x.p50) for x in both)])
        rows.append(["  P80", *(_day(x.p80) for x in both)])
        rows.append(["  days to P80", *(_number(x.days_to_p80) for x in both)])
        if one.target:
            chances = (chance_words(x.chance_of_target or 0.0) for x in both)
            rows.append([f"  by {_day(one.target)}", *chances])
    return rows


def _figures(a: OptionResult, b: OptionResult) -> list[list[str]]:
    figures: tuple[tuple[str, Callable[[OptionResult], float | None]], ...] = (
        ("ground left, m³ bank", lambda x: x.bank_m3),
        ("mass, t", lambda x: x.mass_t),
        ("by belt, t", lambda x: x.belt_t),
        ("by lorry from the site, t", lambda x: x.lorry_t),
        ("loads", lambda x: x.loads),
        ("movements", lambda x: x.movements),
        ("energy of belts, kWh", lambda x: x.energy_kwh),
        ("carbon, kg CO2e", lambda x: x.carbon_kgco2e),
    )
    return [[name, _number(of(a)), _number(of(b))] for name, of in figures]


def _governs(result: OptionResult) -> str:
    parts = []
    for excavation in dict.fromkeys(line.excavation for line in result.governs):
        mine = [x for x in result.governs if x.excavation == excavation and x.share >= 0.005]
        said = ", ".join(f"{line.words} {100 * line.share:.0f} %" for line in mine)
        parts.append(f"{excavation}: {said}" if excavation else said)
    return "; ".join(parts) + "."


def _limits(result: OptionResult) -> str:
    if not result.limits:
        return "none is set up."
    return "; ".join(f"{name} {bank_m3:,.0f} m³ bank" for name, bank_m3, _ in result.limits) + "."


def _day(day: date | None) -> str:
    return f"{day.day} {day:%b %Y}" if day else "later"


def _number(value: float | None) -> str:
    return "–" if value is None else f"{value:,.0f}"
