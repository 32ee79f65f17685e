"""Two options as the page shows them: figures side by side, what governs, what is assumed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import Part, basis_block, cautions, matrix
from tracker.statements.forecast_shapes import OptionFormation, OptionResult, WhatIfStatement
from tracker.statements.forecast_words import chance_words

LEAST_SHARE = 0.005  # below it a cause is not named


def headline(statement: WhatIfStatement) -> str:
    """The sentence that says the most important thing."""
    return statement.headline


def range_rows(statement: WhatIfStatement) -> Any:
    """The dates behind the bars."""
    a, b = statement.options
    rows = [row for pair in zip(a.formation, b.formation, strict=True) for row in _dates(pair)]
    return matrix("Formation", "Date", ("A", "B", "B is"), rows)


def _dates(pair: tuple[OptionFormation, OptionFormation]) -> Iterator[tuple[str, str, str, str]]:
    a, b = pair
    for name in ("p20", "p50", "p80"):
        first, second = getattr(a, name), getattr(b, name)
        moved = (second - first).days if first and second else None
        yield (
            f"{a.name}, {name.upper()}",
            theme.short_day(first),
            theme.short_day(second),
            _earlier(moved),
        )
    if a.target:
        yield (
            f"{a.name}, by {theme.short_day(a.target)}",
            *(chance_words(f.chance_of_target or 0.0) for f in pair),
            "",
        )


def _earlier(days: int | None) -> str:
    if not days:
        return theme.NO_NUMBER if days is None else "the same"
    return f"{abs(days)} d {'later' if days > 0 else 'earlier'}"


def sides(statement: WhatIfStatement) -> list[Part]:
    """What each option changes, the figures of both side by side, the differences in words."""
    a, b = statement.options
    return [
        html.Dl(
            [
                html.Div([html.Dt(f"{side}: {one.name}"), html.Dd(_changes(one))])
                for side, one in (("A", a), ("B", b))
            ],
            className="option-changes",
        ),
        matrix("Of the ground still to be dug", "Figure", ("A", "B", "B − A"), _figures(a, b)),
        html.Ul([html.Li(words) for words in statement.differences], className="reading"),
    ]


def _changes(one: OptionResult) -> str:
    return " ".join(one.changes) or "Nothing is changed: the site as it is set up."


def _figures(a: OptionResult, b: OptionResult) -> list[tuple[str, str, str, str]]:
    of: Sequence[tuple[str, Callable[[OptionResult], float | None], str]] = (
        ("Ground left", lambda x: x.bank_m3, "m³"),
        ("Mass", lambda x: x.mass_t, "t"),
        ("By belt", lambda x: x.belt_t, "t"),
        ("By lorry from the site", lambda x: x.lorry_t, "t"),
        ("Loads", lambda x: x.loads, ""),
        ("Movements", lambda x: x.movements, ""),
        ("Energy of belts", lambda x: x.energy_kwh, "kWh"),
        ("Carbon", lambda x: x.carbon_kgco2e, "kg CO2e"),
    )
    rows = []
    for name, value, unit in of:
        first, second = value(a), value(b)
        more = None if first is None or second is None else second - first
        named = f"{name}, {unit}" if unit else name
        rows.append((named, theme.number(first), theme.number(second), theme.number(more)))
    return rows


# --- what governs --------------------------------------------------------------------------------
def governs(statement: WhatIfStatement) -> list[Part]:
    """What governs the shifts ahead as shares, and what the ways out take in a usual weekday."""
    a, b = statement.options
    parts: list[Part] = []
    for formation in a.formation:
        parts.append(
            matrix(
                f"{formation.name}: share of the shifts ahead",
                "Governed by",
                ("A", "B"),
                _shares(formation.excavation, a, b),
            )
        )
    limits = _limits(a, b)
    parts.append(
        matrix("Most in a usual weekday, m³ bank", "Limit", ("A", "B"), limits)
        if limits
        else html.P("No limit is set up but the rate of digging.", className="beside")
    )
    parts.append(_how(statement))
    return parts


def _shares(excavation: str, a: OptionResult, b: OptionResult) -> list[tuple[str, str, str]]:
    by_side = [
        {g.words: g.share for g in one.governs if g.excavation == excavation} for one in (a, b)
    ]
    causes = {words for shares in by_side for words, share in shares.items() if share > LEAST_SHARE}
    in_order = sorted(causes, key=lambda words: -max(s.get(words, 0.0) for s in by_side))
    return [
        (words, *(theme.percent(100.0 * s.get(words, 0.0)) for s in by_side)) for words in in_order
    ]


def _limits(a: OptionResult, b: OptionResult) -> list[tuple[str, str, str]]:
    by_side = [{name: bank_m3 for name, bank_m3, _ in one.limits} for one in (a, b)]
    names = dict.fromkeys(name for side in by_side for name in side)
    return [(name, *(theme.number(side.get(name)) for side in by_side)) for name in names]


def _how(statement: WhatIfStatement) -> html.Details:
    items = [
        html.Li(f"{side}, {name}: {how}")
        for side, one in zip("AB", statement.options, strict=True)
        for name, _, how in one.limits
    ]
    said = html.Ul(items, className="reading") if items else html.P("No limit is set up.")
    return html.Details([html.Summary("How the limits are reckoned"), said], className="rows")


# --- what stands behind it -----------------------------------------------------------------------
def assumed(statement: WhatIfStatement) -> list[Part]:
    """What is assumed, once where it is so in both options; and the formulae."""
    a, b = statement.options
    both = [words for words in a.assumed if words in b.assumed]
    items = [*both]
    for side, one in (("A", a), ("B", b)):
        items += [f"In {side}: {words}" for words in one.assumed if words not in both]
    formulae = html.Dl(
        [html.Div([html.Dt(name), html.Dd(text)]) for name, text in statement.formulae],
        className="formulae",
    )
    return [
        html.Ul([html.Li(words) for words in items], className="reading"),
        html.Details([html.Summary("The formulae and their sources"), formulae], className="rows"),
    ]


def stands_on(statement: WhatIfStatement) -> list[Part]:
    """Cautions and basis."""
    return [cautions(statement.basis), basis_block(statement.basis)]
