"""Spoil and its balance as lines of text: the sentence first, then what it rests on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from tracker.cli.answers import table
from tracker.statements.balance_shapes import BalanceLine, BalanceStatement, HeapLine
from tracker.statements.spoil_shapes import MovedLine, SpoilStatement

LISTED = 10  # of each list; --json and --out give all


def balance_lines(s: BalanceStatement) -> list[str]:
    """The balance for reading."""
    lines = [*s.lines, *(s.totals if s.grain != "total" else ()), s.total]
    return [
        s.headline,
        *(f"{line.name}: {line.negative_stock}" for line in s.totals if line.negative_stock),
        "",
        *_balance_table(lines),
        "",
        s.endurance.sentence,
        *(
            f"  {rate.stream} alone: {rate.dug_loose_m3_per_h:,.1f} m³ loose a worked hour"
            + ("" if rate.hours is None else f", {rate.hours:,.1f} h")
            for rate in s.rates
        ),
        "",
        *heap_lines(s.heaps),
    ]


def _balance_table(lines: Sequence[BalanceLine]) -> list[str]:
    heads = ["period", "stream", "dug t", "+ opening t", "belt t", "+ lorries t", "+ re-used t"]
    heads += ["+ closing t", "unexplained t ± 2u", "of dug", ""]
    rows = [
        [
            line.label,
            line.name,
            f"{line.dug_t:,.0f}",
            f"{line.opening_t:z,.0f}",
            f"{line.belt_t:,.0f}",
            f"{line.lorries_t:,.0f}",
            f"{line.reused_t:,.0f}",
            f"{line.closing_t:z,.0f}",
            _plus_minus(line.remainder_t, line.u_remainder_t),
            "–" if line.percent_of_dug is None else f"{line.percent_of_dug:+z.1f} %",
            "; ".join(filter(None, (line.verdict, line.unseen))),
        ]
        for line in lines
    ]
    return table(heads, rows)


def _plus_minus(value: float | None, u: float | None) -> str:
    return "–" if value is None or u is None else f"{value:+z,.0f} ± {2 * u:,.0f}"


def heap_lines(heaps: Sequence[HeapLine]) -> list[str]:
    """Each heap beside its limit and the age of its count."""
    rows = [
        [
            heap.location,
            f"{heap.loose_m3:,.1f}",
            "none stated" if heap.surcharge_limit_m3 is None else f"{heap.surcharge_limit_m3:,.1f}",
            f"{heap.counted_on}",
            "OVER ITS LIMIT" if heap.over_limit else "",
        ]
        for heap in heaps
    ]
    return table(["heap", "m³ loose", "limit m³", "counted", ""], rows)


def spoil_lines(s: SpoilStatement) -> list[str]:
    """The spoil statement for reading."""
    return [
        s.headline,
        "",
        *_moved(s.moved),
        s.endurance.sentence,
        "",
        *heap_lines(s.heaps),
        "",
        *_destinations(s),
        *_some("Loads with no receipt", [_late(s, n) for n in range(len(s.missing_receipts))]),
        "",
        *_tickets(s),
        "",
        *_papers(s),
        "",
        *_belt(s),
    ]


def _some(heading: str, lines: Sequence[str]) -> list[str]:
    """A list under its heading with its count, the first lines of it."""
    more = [f"  … and {len(lines) - LISTED} more"] if len(lines) > LISTED else []
    return [f"{heading}: {len(lines)}.", *(f"  {line}" for line in lines[:LISTED]), *more]


def _moved(moved: Sequence[MovedLine]) -> list[str]:
    def known(value: float | None, decimals: int) -> str:
        return "–" if value is None else f"{value:,.{decimals}f}"

    rows = [
        [
            line.label,
            f"{line.belt_t:,.0f}",
            f"{line.lorry_t:,.0f}",
            f"{line.loads:,}",
            known(line.belt_running_h, 1),
            known(line.belt_kwh, 0),
            known(line.belt_kwh_per_t, 3),
        ]
        for line in moved
    ]
    return table(["", "belt t", "lorry t", "loads", "belt h", "kWh", "kWh/t"], rows)


def _destinations(s: SpoilStatement) -> list[str]:
    rows = [
        [
            d.name,
            f"{d.loads + d.carried_on:,}",
            f"{d.loads_rejected}",
            f"{d.dispatched_t:,.1f}",
            f"{d.accepted_t:,.1f}",
            f"{d.difference_t:+z,.2f}",
            f"{d.without_receipt_t:,.1f}",
            f"{d.without_receipt} ({d.overdue})",
        ]
        for d in s.destinations
    ]
    heads = ["destination", "loads", "rejected", "sent t", "accepted t", "sent less accepted t"]
    return table([*heads, "without receipt t", "loads (overdue)"], rows)


def _late(s: SpoilStatement, place: int) -> str:
    late = s.missing_receipts[place]
    return (
        f"{late.gate_date} {late.ticket} to {late.destination}, {late.days_waiting} days"
        f"  [{late.entry_id}]"
    )


def _tickets(s: SpoilStatement) -> list[str]:
    rows = [
        [
            f"{i.issuer} {i.book}".strip(),
            i.first_number,
            i.last_number,
            f"{i.tickets:,}",
            f"{i.gaps}",
            f"{i.missing}",
        ]
        for i in s.issuers
    ]
    gaps = [
        f"{g.issuer} {g.missing_numbers}: between {g.after_number} of {g.after_day} and"
        f" {g.before_number} of {g.before_day}  [{g.before_entry_id}]"
        for g in s.gaps
    ]
    kinds = Counter(finding.what for finding in s.tickets)
    found = [
        f"{f.gate_date} {f.ticket} {f.registration}: {f.what}, {f.sentence}  [{f.entry_id}]"
        for f in s.tickets
    ]
    chains = [
        f"{c.rejected_ticket} of {c.rejected_on or 'a date not known'}: {c.state}"
        + (f" as {c.sent_on_ticket} to {c.sent_on_to}" if c.sent_on_ticket else "")
        for c in s.chains
    ]
    return [
        *table(["tickets of", "from", "to", "tickets", "gaps", "numbers missing"], rows),
        *_some("Gaps", gaps),
        *_some("Rejected loads", chains),
        f"By what is wrong: {', '.join(f'{what} {n}' for what, n in kinds.items()) or 'nothing'}.",
        *_some("Loads to look at", found),
    ]


def _papers(s: SpoilStatement) -> list[str]:
    notes = [
        f"{n.note_number} ({n.form or n.state}): {n.loads} loads, {n.mass_t:,.0f} t"
        + (f", keep until {n.keep_until}" if n.keep_until else "")
        for n in s.notes
    ]
    found = [f"{f.day} {f.ticket} {f.rule}: {f.sentence}  [{f.entry_id}]" for f in s.papers]
    declared = [
        d.warning
        or f"{d.declarations}, {d.stream} to {d.destination}: {d.moved_t:,.0f} t of"
        f" {d.declared_t:,.0f} t moved ({d.percent:.1f} %)."
        for d in s.declarations
    ]
    ending = [
        f"{a.name} ({a.what}) {a.number}: {a.state}"
        + (f", {a.valid_to}" if a.valid_to else "")
        + f"; {a.loads} loads in the period"
        for a in s.authorisations
    ]
    return [
        *_some("Notes", notes),
        *_some("Papers that are wanting", found),
        *_some("Declarations of re-use", declared),
        *_some("Authorisations that end or are not known", ending),
    ]


def _belt(s: SpoilStatement) -> list[str]:
    events = [
        f"{r.read_at:%Y-%m-%d %H:%M} UTC {r.belt}: {r.event} at {r.totaliser_t:,.1f} t"
        f"  [{r.entry_id}]"
        for r in s.readings
        if r.event != "reading"
    ]
    unread = [
        f"{u.day} {u.belt}: {u.stream}, {u.dug_t:,.0f} t dug, {u.lorries_t:,.0f} t by lorry"
        for u in s.unread_days
    ]
    checks = [
        f"{c.work_date} {c.belt} {c.method}: shown {c.shown_t:z,.3f} t for {c.reference_t:,.3f} t,"
        f" error {c.error_t:+z,.3f} t, {c.verdict}  [{c.entry_id}]"
        for c in sorted(s.checks, key=lambda check: not check.verdict.startswith("more"))
    ]
    return [
        f"Belt readings in the period: {len(s.readings)}.",
        *_some("Resets, swaps, rollovers", events),
        *_some("Checks of the belt weigher", checks),
        *_some("Days dug without a belt reading (if it stood, a reading shows it)", unread),
    ]
