"""What a forecast says in sentences: dates at their chance, what governs, what is assumed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from tracker.domain.programme.forecast import AssumedRelease, RateNeeded
from tracker.domain.programme.governing import HOLD, WORDS
from tracker.statements.stage_record import StageRecord
from tracker.statements.words import date_words

LEAST_SHARE = 0.1  # of the shifts, for a second cause to be spoken of
LATER = "later than the calendar goes"


def day_words(day: date | None) -> str:
    """A forecast date, or that the calendar ends before it."""
    return LATER if day is None else date_words(day)


def chance_words(chance: float) -> str:
    """A chance in percent, never 0 or 100: walks are a sample.

    >>> chance_words(0.0), chance_words(0.25), chance_words(1.0)
    ('below 1 %', '25 %', 'above 99 %')
    """
    if chance < 0.01:
        return "below 1 %"
    return "above 99 %" if chance > 0.99 else f"{100.0 * chance:.0f} %"


def cause_words(cause: str, support: str = "") -> str:
    """What governs in words; the hold by the support it waits for, where that is known."""
    if cause == HOLD and support:
        return f"the hold for {support}"
    return WORDS.get(cause, cause)


def main_cause(shares: Mapping[str, float]) -> str:
    """The cause with the largest share."""
    return max(shares, key=shares.__getitem__)


def governs_words(shares: Mapping[str, float], support: str) -> str:
    """The main cause with its share, and the next one where it counts."""
    first, *others = sorted(shares, key=shares.__getitem__, reverse=True)
    words = f"{cause_words(first, support)} ({100.0 * shares[first]:.0f} % of its shifts)"
    if others and shares[others[0]] >= LEAST_SHARE:
        words += f", then {cause_words(others[0], support)} ({100.0 * shares[others[0]]:.0f} %)"
    return f"what governs is {words}"


def formation_words(called: str, p80: date | None, governs: str) -> str:
    """The sentence of the project manager."""
    when = f"by {day_words(p80)}" if p80 is not None else LATER
    return f"Formation of {called} {when} at four chances in five; {governs}."


def against_words(
    planned: date | None, of_plan: float | None, target: date | None, of_target: float | None
) -> str:
    """The chances of plan and target, each with its date; empty where there is neither."""
    parts = []
    if planned is not None and of_plan is not None:
        both = "plan and the target" if planned == target else "plan"
        parts.append(f"{chance_words(of_plan)} by the {both}, {date_words(planned)}")
    if target is not None and of_target is not None and planned != target:
        parts.append(f"{chance_words(of_target)} by the target, {date_words(target)}")
    return f" Chance: {'; '.join(parts)}." if parts else ""


def release_words(
    release: AssumedRelease, needed: tuple[date | None, ...], stage: StageRecord, condition: str
) -> str:
    """One assumed release with its dates."""
    hold = f"the hold for {stage.above}" if stage.above else "the permit to dig"
    p20, p50, p80 = (day_words(day) for day in needed)
    suspended = " It is suspended." if stage.suspended_at is not None else ""
    late = (
        " It has outlasted all that its length is drawn from: taken as released at once."
        if release.overdue
        else ""
    )
    on = f" To be released: {condition.rstrip('.')}." if condition else ""
    return (
        f"Zone {release.zone} stage {release.stage}: {hold} is assumed released for the shift of"
        f" {p50} (P20 {p20}, P80 {p80}). Nobody has released it.{suspended}{late}{on}"
    )


def needed_words(name: str, needed: RateNeeded) -> str:
    """What output would meet a target."""
    target = date_words(needed.target)
    if needed.ratio is None or needed.bank_m3 is None:
        return (
            f"{name}: no rate of digging meets the target of {target} at four chances in five;"
            " holds, calendar and limits take too long by themselves."
        )
    if needed.ratio <= 1.0:
        return (
            f"{name}: {needed.bank_m3:,.0f} m³ a zone and shift would meet the target of {target}"
            f" at four chances in five, {100.0 * needed.ratio:.0f} % of the recent rate."
        )
    return (
        f"{name}: to meet the target of {target} at four chances in five, a zone must give"
        f" {needed.bank_m3:,.0f} m³ a shift, {needed.ratio:.2f} times the recent rate."
    )
