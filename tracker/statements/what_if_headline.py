"""What one option buys against another: the headline, and the differences one by one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tracker.domain.programme.governing import DIG, GATE, LORRIES, TURN, WORDS
from tracker.statements.forecast_shapes import OptionFormation, OptionResult
from tracker.statements.forecast_words import chance_words
from tracker.statements.what_if_words import AS_SET_UP
from tracker.statements.words import count_words

HARDLY = 0.01  # of the movements: a difference that nobody need act on; common practice, no source
_PLURAL = (GATE, LORRIES, TURN)
_LATE = date.max  # of a date after the calendar that was walked


def headline(a: OptionResult, b: OptionResult, *, alike: bool) -> str:
    """What B buys against A, in days, movements and what governs."""
    if alike:
        return f"A and B are the same, {a.name}: change something in one of them."
    subject = b.name[:1].upper() + b.name[1:]
    if a.name != AS_SET_UP:
        subject = f"B ({b.name}) against A ({a.name})"
    before, after = _moved_most(a, b)
    days = gain(before, after)
    return (
        f"{subject} {_bought(before, after, days)}{_movements(a, b, days)};"
        f" {_governing(a, b, before.excavation)}."
    )


def gain(before: OptionFormation, after: OptionFormation) -> int | None:
    """Days by which the second P80 comes earlier; None where one is beyond the calendar."""
    if before.p80 is None or after.p80 is None:
        return None
    return (before.p80 - after.p80).days


def _moved_most(a: OptionResult, b: OptionResult) -> tuple[OptionFormation, OptionFormation]:
    """The excavation whose P80 moves most; of those alike, the last to reach formation."""

    def moved(pair: tuple[OptionFormation, OptionFormation]) -> tuple[int, date]:
        before, after = (formation.p80 or _LATE for formation in pair)
        return abs((before - after).days), after

    return max(zip(a.formation, b.formation, strict=True), key=moved)


def _bought(before: OptionFormation, after: OptionFormation, days: int | None) -> str:
    if before.p80 is None and after.p80 is None:
        return (
            f"does not bring formation of {before.name} within the calendar that was walked, at"
            " four chances in five"
        )
    if days is None:
        verb = "puts" if after.p80 is None else "brings"
        where = "beyond" if after.p80 is None else "within"
        return (
            f"{verb} formation of {before.name} {where} the calendar that was walked (P80"
            f" {_date(after.p80)} instead of {_date(before.p80)})"
        )
    if not days:
        return f"changes no P80 date of formation ({before.name}: {_date(after.p80)})"
    return (
        f"{'buys' if days > 0 else 'costs'} {count_words(abs(days), 'day')} to formation of"
        f" {before.name} (P80 {_date(after.p80)} instead of"
        f" {_date(before.p80)}{_at_other_chances(before, after, days)})"
    )


def _at_other_chances(before: OptionFormation, after: OptionFormation, days: int) -> str:
    """What is gained at P50 and P20, where it is not the same as at P80."""
    said = []
    for name in ("p50", "p20"):
        first, second = getattr(before, name), getattr(after, name)
        if first and second and (first - second).days != days:
            moved = (first - second).days
            word = "" if moved == 0 else " earlier" if moved > 0 else " later"
            said.append(f"{name.upper()} {count_words(abs(moved), 'day')}{word}")
    return f"; {', '.join(said)}" if said else ""


def _movements(a: OptionResult, b: OptionResult, days: int | None) -> str:
    if a.movements is None or b.movements is None:
        return ""
    more, verb = round(b.movements - a.movements), "costs" if days and days > 0 else "changes"
    if not more:
        return f" and {verb} no movement"
    if abs(more) <= HARDLY * a.movements:
        verb = "saves" if more < 0 else verb
        return f" and {verb} hardly a movement ({more:+,})"
    return f", with {count_words(abs(more), 'movement')} {'more' if more > 0 else 'fewer'}"


def _governing(a: OptionResult, b: OptionResult, excavation: str) -> str:
    first, second = (governs_most(one, excavation) for one in (a, b))
    if first == second:
        return f"{_govern(first)} both"
    return f"{_govern(first)} A, {_govern(second)} B"


def _govern(cause: str) -> str:
    return f"{WORDS.get(cause, cause)} {'govern' if cause in _PLURAL else 'governs'}"


def governs_most(result: OptionResult, excavation: str) -> str:
    """The cause that governs most of the shifts ahead in an excavation."""
    shares = {g.cause: g.share for g in result.governs if g.excavation == excavation}
    return max(shares, key=lambda cause: shares[cause], default=DIG)


def _date(day: date | None) -> str:
    return f"{day.day} {day:%b %Y}" if day else "later"


# --- one by one ----------------------------------------------------------------------------------
def differences(a: OptionResult, b: OptionResult) -> tuple[str, ...]:
    """What differs between two options, one sentence a figure."""
    said = [_date_difference(x, y) for x, y in zip(a.formation, b.formation, strict=True)]
    figures: Sequence[tuple[str, float | None, float | None, str]] = (
        ("By belt", a.belt_t, b.belt_t, "t"),
        ("By lorry from the site", a.lorry_t, b.lorry_t, "t"),
        ("Movements", a.movements, b.movements, ""),
        ("Energy of belts", a.energy_kwh, b.energy_kwh, "kWh"),
        ("Carbon", a.carbon_kgco2e, b.carbon_kgco2e, "kg CO2e"),
    )
    for name, first, second, unit in figures:
        if first is None or second is None:
            continue
        more = round(second - first)
        if more:
            word = "more" if more > 0 else "less" if unit else "fewer"
            said.append(f"{name}: B has {abs(more):,}{f' {unit}' if unit else ''} {word}.")
    return tuple(said)


def _date_difference(a: OptionFormation, b: OptionFormation) -> str:
    days = gain(a, b)
    if days is None:
        return f"Formation of {a.name}: P80 {_date(a.p80)} in A, {_date(b.p80)} in B."
    moved = count_words(abs(days), "day")
    when = f"{moved} {'earlier' if days > 0 else 'later'}" if days else "on the same day"
    chance = ""
    if a.chance_of_target is not None and b.chance_of_target is not None:
        chance = (
            f" The chance of the target is {chance_words(a.chance_of_target)} in A and"
            f" {chance_words(b.chance_of_target)} in B."
        )
    return f"Formation of {a.name} at four chances in five: B {when}.{chance}"
