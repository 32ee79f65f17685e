"""What a reconciliation says in sentences: the answer, the suspect, what could not be told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from scipy.stats import chi2

from tracker.domain.reconcile.adjusted import Reconciliation
from tracker.domain.reconcile.suspects import Pattern, Suspect
from tracker.ledger.entries import BeltCheck
from tracker.statements.reconciliation_season import LORRIES, NOT_WEIGHED
from tracker.statements.reconciliation_shapes import Bar, Seen, SuspectView
from tracker.statements.words import date_words

UNLIKELY = 0.01
WORTH_SAYING_PERCENT = 25.0
FACTORS = ("t/m³", "loose/bank")
COVER = 1.96  # standard uncertainties of an interval of 95 %
_KNOWN = {
    "survey": "the surveys",
    "returns": "the shift returns",
    LORRIES: "the lorry tickets",
    NOT_WEIGHED: "the loads that were not weighed",
    "stock": "the counts of the heaps",
    "re-use": "the re-use on site",
    "dug after survey": "what was dug between survey and count",
}


def source_name(source: str, streams: Mapping[str, str], receivers: Mapping[str, str]) -> str:
    """A source as people call it."""
    factors = {"density of ": "the assumed density of ", "bulking of ": "the bulking of "}
    for start, words in factors.items():
        if source.startswith(start):
            stream = source.removeprefix(start)
            return words + streams.get(stream, stream).lower()
    if source.startswith("receipts"):
        receiver = source.removeprefix("receipts").strip()
        return f"the receipts of {receivers.get(receiver, receiver or 'the receiver')}"
    return _KNOWN.get(source) or belt_name(source)


def belt_name(belt: str) -> str:
    """A belt as people call it.

    >>> belt_name("BELT1"), belt_name("north")
    ('BELT1', 'belt north')
    """
    return belt if belt.lower().startswith("belt") else f"belt {belt}"


def often(chance: float) -> str:
    """How often something comes by chance.

    >>> often(0.0123), often(0.4)
    ('about once in 81 times', '40 times in a hundred')
    """
    if chance < 1e-4:
        return "less than once in 10,000 times"
    if chance < 0.1:
        return f"about once in {float(f'{1.0 / chance:.2g}'):,.0f} times"
    return "nearly always" if chance > 0.99 else f"{100.0 * chance:.0f} times in a hundred"


def period_words(period: str) -> str:
    """The date of the survey that ends a period."""
    return date_words(date.fromisoformat(period))


def number(value: float, unit: str = "") -> str:
    """A number to a sensible digit; of a density or a ratio to the thousandth.

    >>> number(12345.6), number(2.466), number(2.0321, "t/m³")
    ('12,346', '2.5', '2.032')
    """
    if unit in FACTORS:
        return f"{value:.3f}"
    return f"{value:,.0f}" if abs(value) >= 10.0 else f"{value:.1f}"


def listed(words: Sequence[str]) -> str:
    """Words as a list in a sentence.

    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


# --- the suspect ---------------------------------------------------------------------------------
def suspect_sentence(suspect: Suspect, name: str, stream: str) -> str:
    """What would have to be wrong, by how much, in one sentence."""
    where = f" for {stream.lower()}" if stream and stream.lower() not in name else ""
    u = COVER * suspect.u_error
    when = period_words(suspect.period)
    others = (
        f"{number(suspect.stated, suspect.unit)} {suspect.unit} stated,"
        f" {number(suspect.left_out, suspect.unit)} ±"
        f" {number(COVER * suspect.u_left_out, suspect.unit)} by all others"
    )
    match suspect.pattern:
        case Pattern.LEVEL | Pattern.DATUM:
            side = "low" if suspect.error > 0 else "high"
            of = "every survey from" if suspect.pattern is Pattern.DATUM else "the survey of"
            on = " on" if suspect.pattern is Pattern.DATUM else ""
            return (
                f"Likeliest: {of} {when}{on} lies {abs(1000 * suspect.error):.0f} ± {1000 * u:.0f}"
                f" mm too {side} ({others})."
            )
        case Pattern.ONE:
            return f"Likeliest: one figure of {name}{where}, to {when}: {others}."
        case _:
            side = "high" if suspect.error > 0 else "low"
            since = (
                "" if suspect.pattern is Pattern.THROUGHOUT else f", from the period to {when} on"
            )
            return (
                f"Likeliest: {name}{where} would be"
                f" {abs(100 * suspect.error):.1f} ± {100 * u:.1f} % too {side}{since} ({others})."
            )


def not_told_words(suspect: SuspectView) -> str:
    """What is always said beside a suspect: how surely, and from whom it cannot be told."""
    surely = f"With all that was tried, chance alone would name somebody {often(suspect.chance)}."
    if suspect.not_told_from:
        others = listed(suspect.not_told_from)
        alike = f"The records do not tell it from an error of {others}: check these as well."
    else:
        alike = "No other source explains the records nearly as well."
    return (
        f"{surely} {alike} The figure of all together still contains it: quote it only once the"
        " suspect is settled."
    )


def seen_words(seen: Sequence[Seen]) -> str:
    """What could have been found, where nobody is named."""
    known = [one for one in seen if one.smallest_percent is not None]
    receipts = [one for one in known if one.source.startswith("receipts")]
    parts = [
        f"{one.smallest_percent:.1f} % in {one.name}"
        for one in sorted(known, key=lambda one: one.smallest_percent or 0.0)
        if one not in receipts and (one.smallest_percent or 0.0) <= WORTH_SAYING_PERCENT
    ]
    if receipts:
        most = max(one.smallest_percent or 0.0 for one in receipts)
        parts.append(f"{most:.1f} % in the receipts of any receiver")
    blind = [one.name for one in seen if one.smallest_percent is None]
    words = "Nobody is named."
    if parts:
        words += f" A lasting error would have been seen, nine times in ten, from {listed(parts)}."
    if blind:
        words += f" Nothing checks {listed(blind)}."
    return words


def suspect_view(
    suspect: Suspect, names: Mapping[str, str], streams: Mapping[str, str], alike: Iterable[str]
) -> SuspectView:
    """A suspect with its words."""
    others = tuple(names.get(other, other) for other in alike)
    name = names.get(suspect.source, suspect.source)
    return SuspectView(
        source=suspect.source,
        name=name,
        pattern=suspect.pattern.value,
        period=suspect.period,
        stream=suspect.stream,
        error=suspect.error,
        u_error=suspect.u_error,
        error_unit=suspect.error_unit,
        stated=suspect.stated,
        left_out=suspect.left_out,
        u_left_out=suspect.u_left_out,
        unit=suspect.unit,
        chance=suspect.chance,
        times_stated=suspect.times_stated,
        not_told_from=others,
        sentence=suspect_sentence(suspect, name, streams.get(suspect.stream, suspect.stream)),
    )


# --- the answer ----------------------------------------------------------------------------------
def probability_words(answer: Reconciliation) -> str:
    """How often chance alone gives as much misfit, in words."""
    much = often(answer.probability)
    small = answer.suspect is None and chi2.cdf(answer.chi_square, answer.degrees) < UNLIKELY
    generous = (
        " That is less than chance gives: the uncertainties are stated more generously than these"
        " records need, and errors are found later than they could be."
        if small
        else ""
    )
    return (
        f"All statements together misfit by chi-square {answer.chi_square:,.0f} on"
        f" {answer.degrees:,} degrees of freedom: chance alone gives as much {much}, if every"
        f" stated uncertainty is right.{generous}"
    )


def answer_words(bars: Mapping[str, Bar], until: date, whole: str, after_m3: float) -> str:
    """Who says what of all ground dug, and by how much the weighers differ from the surveys.

    `after_m3` is what the returns add between the last survey and the count of the heaps.
    """
    survey, weighed = bars["survey"], bars["weighed"]
    apart = weighed.bank_m3 - survey.bank_m3
    u = (weighed.u_bank_m3**2 + survey.u_bank_m3**2) ** 0.5
    share = 100.0 * abs(apart) / survey.bank_m3 if survey.bank_m3 > 0.0 else None
    percent = "" if share is None else f" ({share:.1f} %)"
    lacks = f" The weighed figure lacks {weighed.missing}." if weighed.missing else ""
    within = "within" if abs(apart) <= COVER * u else "more than"
    added = (
        f" ({number(survey.bank_m3 - after_m3)} at the survey itself, {number(after_m3)} added from"
        " the returns up to the count of the heaps)"
        if after_m3 > 0.5
        else ""
    )
    return (
        f"To {date_words(until)} the surveys say {number(survey.bank_m3)} m³ bank were dug{whole}"
        f"{added}; belt, lorries and heaps say {number(weighed.bank_m3)} m³:"
        f" {number(abs(apart))} m³{percent} {'more' if apart > 0 else 'less'}, {within} what their"
        f" uncertainties allow (± {number(COVER * u)} m³).{lacks}"
    )


def unclaimed_words(receipts: int, mass_t: float) -> str:
    """That receivers answered tickets that nobody has."""
    if not receipts:
        return ""
    return (
        f" {receipts} receipts, {mass_t:,.0f} t, answer tickets that no load has: as many loads are"
        " not on record."
    )


def checks_words(failed: Sequence[BeltCheck]) -> str:
    """What checks of the belt weighers found beyond what was allowed."""
    if not failed:
        return ""
    said = [f"{c.belt} {_off_words(c)} on {date_words(c.work_date)}" for c in failed]
    return f" But checks of the weigher found {listed(said)}, more than was allowed."


def _off_words(check: BeltCheck) -> str:
    if not check.reference_kg:
        return f"{check.shown_kg / 1000:+.2f} t off with the belt empty"
    return f"{100.0 * (check.shown_kg / check.reference_kg - 1.0):+.1f} % off with weighed material"
