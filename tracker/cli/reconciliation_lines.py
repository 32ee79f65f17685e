"""The reconciliation as lines of text: the answer first, then bars, periods and what is missing."""

from __future__ import annotations

from tracker.cli.answers import table
from tracker.statements.reconciliation_shapes import ALL, BeltDrift, ReconciliationStatement
from tracker.statements.reconciliation_words import COVER

SHOWN_RESIDUALS = 10
WORTH_SHOWING = 2.0  # of a standardised residual


def reconciliation_lines(s: ReconciliationStatement) -> list[str]:
    """The statement for reading."""
    said = [s.headline, s.suspect_words, s.probability_words, s.after_words]
    return [
        *(words for words in said if words),
        "",
        *_bars(s),
        "",
        *_periods(s),
        "",
        *_residuals(s),
        *(line.sentence for line in s.calibrations),
        *(drift.sentence if not drift.missing else _named(drift) for drift in s.drifts),
        "",
        *_proposals(s),
        f"Missing or unmatched: {len(s.missing)}.",
        *(f"  {line.sentence}" for line in s.missing),
    ]


def _named(drift: BeltDrift) -> str:
    return f"{drift.name}: {drift.missing}"


def _bars(s: ReconciliationStatement) -> list[str]:
    names = dict(s.streams)
    rows = [
        [
            f"{names.get(bar.stream, 'All streams')}: {bar.name}",
            f"{bar.bank_m3:z,.0f} ± {COVER * bar.u_bank_m3:,.0f}",
            f"{bar.mass_t:z,.0f} ± {COVER * bar.u_mass_t:,.0f}",
            bar.stated_in,
            f"lacks {bar.missing}" if bar.missing else "",
        ]
        for bar in sorted(s.bars, key=lambda bar: bar.stream != ALL)
    ]
    return table(["who says", "m³ bank ± 95 %", "t ± 95 %", "stated in", ""], rows)


def _periods(s: ReconciliationStatement) -> list[str]:
    rows = [
        [
            f"{line.period} {line.stream}",
            f"{line.to_count_m3:z,.0f}",
            _amount(line.returned_m3),
            f"{line.belt_t:,.0f}",
            f"{line.lorry_t:,.0f}",
            f"{line.reused_t:,.0f}",
            _amount(line.stock_m3),
            _amount(line.accepted_t),
            "–"
            if line.adjusted_m3 is None or line.u_adjusted_m3 is None
            else f"{line.adjusted_m3:z,.0f} ± {COVER * line.u_adjusted_m3:,.0f}",
            "–" if line.adjusted_t_per_m3 is None else f"{line.adjusted_t_per_m3:.3f}",
        ]
        for line in s.periods
    ]
    heads = ["to", "survey m³", "returns m³", "belt t", "lorries t", "re-used t", "heaps loose m³"]
    return table([*heads, "accepted t", "adjusted m³ ± 95 %", "t/m³"], rows)


def _amount(value: float | None) -> str:
    return "–" if value is None else f"{value:z,.0f}"


def _residuals(s: ReconciliationStatement) -> list[str]:
    large = sorted(s.residuals, key=lambda one: -abs(one.standardised))
    rows = [
        [
            f"{one.source}, {one.stream}, {one.period}",
            f"{one.stated:z,.1f}",
            f"{one.adjusted:z,.1f}",
            one.unit,
            f"{one.standardised:+z.1f}",
        ]
        for one in large[:SHOWN_RESIDUALS]
        if abs(one.standardised) >= WORTH_SHOWING
    ]
    if not rows:
        return []
    return [*table(["furthest off", "stated", "adjusted", "unit", "in sigma"], rows), ""]


def _proposals(s: ReconciliationStatement) -> list[str]:
    return [
        line
        for one in s.proposals
        for line in (f"{one.table}, {one.of}: {one.sentence}", f"  {one.heading}", f"  {one.row}")
    ]
