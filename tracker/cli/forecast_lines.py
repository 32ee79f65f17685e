"""The forecast as lines of text: the dates first, then why."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from tracker.cli.answers import table
from tracker.statements.forecast_shapes import DateLine, EarnedLine, ForecastStatement, PlanVersion
from tracker.statements.forecast_words import chance_words

ASK_BACKTEST = "How often such dates have held on this site: --backtest."
_OF_DATES = ["formation of", "P20", "P50", "P80", "plan", "chance", "target", "chance", "governs"]
_OF_PLANS = ["plan", "of", "frozen on", "recorded on", "finish"]
_OF_EARNED = ["ahead + or behind -", "plan", "working days", "ES", "AT", "SPI(t)"]


def forecast_lines(s: ForecastStatement) -> list[str]:
    """The forecast for reading: when, against what, what governs, what is assumed, with what."""
    return [
        s.headline,
        s.earlier_sentence or ("" if s.refused else ASK_BACKTEST),
        "",
        *(_forecast(s) if not s.refused else []),
        *table(_OF_EARNED, [_earned(line) for line in s.earned]),
        "",
        *table(_OF_PLANS, [_plan(line, s) for line in s.plans]),
        "",
        *(line.missing for line in s.plans if line.missing),
        *_earlier(s),
    ]


def _forecast(s: ForecastStatement) -> Iterator[str]:
    names = {line.excavation: line.name for line in s.dates if not line.zone}
    words = {(g.zone or g.excavation, g.cause): g.words for g in s.governs}
    yield from table(_OF_DATES, [_date(line, words) for line in s.dates])
    yield ""
    yield "What governs, as shares of the shifts to formation:"
    places = dict.fromkeys((g.excavation, g.zone) for g in s.governs)
    for excavation, zone in places:
        mine = [g for g in s.governs if (g.excavation, g.zone) == (excavation, zone)]
        shares = ", ".join(f"{g.words} {100.0 * g.share:.0f} %" for g in mine if g.share >= 0.005)
        yield f"  {f'zone {zone}' if zone else names[excavation]}: {shares}"
    if s.releases:
        yield "Assumed releases:"
        yield from (f"  {line.sentence}" for line in s.releases)
    yield from (line.sentence for line in s.needed)
    yield "Rates a zone and shift:"
    for rate in s.rates:
        own = ", borrowed" if rate.borrowed else ""
        yield f"  {rate.group}: {rate.bank_m3_per_shift:,.0f} m³ in {rate.shifts} shifts{own}"
    yield ""


def _date(line: DateLine, words: dict[tuple[str, str], str]) -> list[str]:
    """An excavation by its name, its zones and stages set in."""
    called = line.name
    if line.stage is not None:
        called = f"    {line.zone} stage {line.stage}"
    elif line.zone:
        called = f"  zone {line.zone}"
    target = None if line.stage is not None else line.target
    return [
        called,
        *(_day(day) for day in (line.p20, line.p50, line.p80, line.planned_finish)),
        _percent(line.chance_of_plan),
        _day(target) if target else "",
        _percent(line.chance_of_target) if target else "",
        words.get((line.zone or line.excavation, line.governs), line.governs),
    ]


def _plan(line: PlanVersion, s: ForecastStatement) -> list[str]:
    """When a plan was frozen; when it was recorded only where that was another day."""
    names = {e.excavation: e.name for e in s.earned if not e.zone}
    return [
        f"{line.plan} (current)" if line.current else line.plan,
        names.get(line.excavation, line.excavation),
        line.frozen_on.isoformat(),
        "" if line.recorded_on is None else line.recorded_on.isoformat(),
        line.finishes.isoformat(),
    ]


def _earned(line: EarnedLine) -> list[str]:
    return [
        f"  zone {line.zone}" if line.zone else line.name,
        line.plan,
        f"{line.ahead_days:+.1f}",
        f"{line.earned_days:.1f}",
        str(line.actual_days),
        "–" if line.spi_t is None else f"{line.spi_t:.2f}",
    ]


def _day(day: date | None) -> str:
    return "later" if day is None else day.isoformat()


def _percent(chance: float | None) -> str:
    return "–" if chance is None else chance_words(chance)


def _earlier(s: ForecastStatement) -> list[str]:
    """How earlier forecasts held, date by date."""
    heads = ["forecast on", "of", "P20", "P80", "dug out", ""]
    rows = [
        [
            line.made_on.isoformat(),
            line.excavation or f"{line.zone} stage {line.stage}",
            _day(line.p20),
            _day(line.p80),
            "not yet" if line.reached_on is None else line.reached_on.isoformat(),
            "held" if line.held else "late",
        ]
        for line in s.earlier
    ]
    return table(heads, rows) if rows else []
