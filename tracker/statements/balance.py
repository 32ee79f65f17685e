"""The spoil balance: what was dug against where it went, by stream and period."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from operator import attrgetter
from typing import TYPE_CHECKING

from tracker.domain.balance import (
    BELT_U,
    EXPLAINED,
    LOAD_U_T,
    PAYLOAD_U,
    STOCK_U,
    WEIGHBRIDGE_U,
    Amount,
    Net,
    net,
)
from tracker.domain.survey_check import RETURN_U
from tracker.statements.balance_shapes import BalanceLine, BalanceStatement
from tracker.statements.endurance import belt_endurance
from tracker.statements.flows import SIGNS, Flow, flows
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.periods import Period, first_day, periods
from tracker.statements.stock import SURCHARGE_CAUTION, Counted, counts, heaps, standing
from tracker.statements.words import date_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

BALANCE_CAUTION = (
    "A remainder within its uncertainty is not proof that the records are right, and one beyond it"
    " does not say which of them is wrong: see the reconciliation."
)
NOTHING_AGAINST = (
    "no belt run, lorry load, re-use or heap count is recorded in the period to balance against"
)
REFER = "the reconciliation, where there are surveys, sees smaller ones"
_DAY = timedelta(days=1)
Signed = list[tuple[int, Amount]]
_day_of = attrgetter("day")


@dataclass(frozen=True, slots=True)
class _Stream:
    """All that was recorded of one stream."""

    stream: str
    name: str
    flows: Sequence[Flow]  # by day
    counts: Sequence[Counted]

    def between(self, since: date, until: date) -> Sequence[Flow]:
        """What came and went between two dates."""
        first = bisect_left(self.flows, since, key=_day_of)
        return self.flows[first : bisect_right(self.flows, until, key=_day_of)]

    def signed(self, since: date, until: date) -> Signed:
        """The same as amounts with their signs."""
        return [flow.signed for flow in self.between(since, until)]

    def term(self, name: str, since: date, until: date) -> Signed:
        """One term of it, without its sign."""
        return [(1, flow.part) for flow in self.between(since, until) if flow.term == name]

    def stock(self, day: date) -> list[Counted]:
        """The counts that stand at the end of a day."""
        return list(standing(self.counts, day).values())


@dataclass(frozen=True, slots=True)
class _Stock:
    """The stock of a stream at the end of a day: as last counted, carried on by the records."""

    counted_on: date | None  # end of the day of the newest count
    oldest_on: date | None
    counted: Signed
    carried: Signed  # what came and went between that day and the day asked for


@dataclass(frozen=True, slots=True)
class _Window:
    """The stocks of one stream at both ends of a period, and what a comparison of them rests on.

    It runs from count to count: what came and went between a count and the boundary stands on both
    sides of the balance and checks nothing.
    """

    of: _Stream
    period: Period
    opening: _Stock
    closing: _Stock

    @property
    def checked(self) -> bool:
        """Whether a count ends the window, or no heap was ever counted."""
        newer = self.closing.counted_on != self.opening.counted_on
        return newer or self.closing.counted_on is None

    @property
    def has_other_side(self) -> bool:
        """Whether anything is recorded that what was dug can be held against."""
        moved = self.of.between(self.period.starts, self.period.ends)
        return self.closing.counted_on is not None or any(flow.term != "dug" for flow in moved)

    @property
    def active(self) -> bool:
        """Whether anything was dug, moved or counted anew in the period."""
        moved = self.of.between(self.period.starts, self.period.ends)
        return bool(moved) or self.closing.counted_on != self.opening.counted_on

    @property
    def starts(self) -> date:
        """The first day after the opening count; without one, of the period."""
        counted = self.opening.counted_on
        return self.period.starts if counted is None else counted + _DAY

    def books(self, until: date) -> Signed:
        """The stock at the end of a day by the opening count and all that came and went since."""
        return [*self.opening.counted, *self.of.signed(self.starts, until)]

    @property
    def remainder(self) -> Signed:
        """Stock by the books less stock as counted."""
        ends = self.closing.counted_on or self.period.ends
        return [*self.books(ends), *((-sign, part) for sign, part in self.closing.counted)]


def balance_statement(
    ledger: LedgerReads,
    as_of: date,
    *,
    since: date | None = None,
    grain: str = "total",
    known_at: datetime | None = None,
) -> BalanceStatement:
    """Dug and opening stock against belt, lorries, re-use and closing stock, with what remains.

    Raises NotEnoughData without a set-up, InputError for an unknown grain or swapped dates,
    FactorMissing where something was re-used compacted and no factor says how much ground that was.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        start = first_day(frame.site.first_date, since, as_of)
        whole, parts = periods(start, as_of, "total")[0], periods(start, as_of, grain)
        found = counts(frame)
        streams = _streams(frame, whole, found)
        windows = [w for w in (_window(one, whole) for one in streams) if w.active]
        totals = _lines(streams, whole)
        lines = totals if grain == "total" else [x for p in parts for x in _lines(streams, p)]
        total = _line("", "All streams", whole, windows)
        lying = heaps(frame, found)
        view, rates = belt_endurance(frame, lying)
        return BalanceStatement(
            basis=basis(
                frame,
                start,
                quality=_quality(windows),
                cautions=(BALANCE_CAUTION, SURCHARGE_CAUTION),
            ),
            since=start,
            until=as_of,
            grain=grain,
            headline=_headline(total),
            lines=tuple(lines),
            totals=tuple(totals),
            total=total,
            heaps=lying,
            endurance=view,
            rates=rates,
        )


def _streams(frame: Frame, whole: Period, found: Sequence[Counted]) -> list[_Stream]:
    """Every stream that was dug, moved or counted, with its records since the count before."""
    newest: dict[str, date] = {}
    for one in standing(found, whole.starts - _DAY).values():
        newest[one.count.stream] = max(one.day, newest.get(one.count.stream, date.min))
    first = min([whole.starts, *(day + _DAY for day in newest.values())])
    moved = flows(frame, first, whole.ends)
    names = {*moved, *(one.count.stream for one in found)}
    known = {s.stream: s.name for _, site in frame.set_ups for s in site.streams}
    return [
        _Stream(
            name, known[name], moved.get(name, []), [c for c in found if c.count.stream == name]
        )
        for name in known
        if name in names
    ]


def _window(of: _Stream, period: Period) -> _Window:
    return _Window(of, period, _stock(of, period.starts - _DAY), _stock(of, period.ends))


def _stock(of: _Stream, day: date) -> _Stock:
    counted = of.stock(day)
    if not counted:
        return _Stock(None, None, [], [])
    newest = max(one.day for one in counted)
    return _Stock(
        newest,
        min(one.day for one in counted),
        [(1, one.part) for one in counted],
        of.signed(newest + _DAY, day),
    )


# --- lines ---------------------------------------------------------------------------------------
def _lines(streams: Iterable[_Stream], period: Period) -> list[BalanceLine]:
    windows = [_window(one, period) for one in streams]
    return [_line(w.of.stream, w.of.name, period, [w]) for w in windows if w.active]


def _line(stream: str, name: str, period: Period, of: Sequence[_Window]) -> BalanceLine:
    terms = {term: _term_net(of, term, period) for term in SIGNS}
    opening, closing = _stock_net(w.opening for w in of), _stock_net(w.closing for w in of)
    checked = all(window.checked for window in of) and _has_other_side(of)
    remainder = net(part for window in of for part in window.remainder) if checked else None
    lowest_on, lowest = _lowest(of, period)
    counted = [w.closing for w in of if w.closing.counted_on]
    return BalanceLine(
        stream=stream,
        name=name,
        label=period.label,
        starts=period.starts,
        ends=period.ends,
        **{f"{term}_t": found.mass_t for term, found in terms.items()},
        **{f"{term}_bank_m3": found.bank_m3 for term, found in terms.items()},
        opening_t=opening.mass_t,
        opening_bank_m3=opening.bank_m3,
        closing_t=closing.mass_t,
        closing_bank_m3=closing.bank_m3,
        remainder_t=remainder.mass_t if remainder else None,
        u_remainder_t=remainder.u_mass_t if remainder else None,
        remainder_bank_m3=remainder.bank_m3 if remainder else None,
        u_remainder_bank_m3=remainder.u_bank_m3 if remainder else None,
        percent_of_dug=_percent(remainder, terms["dug"]),
        verdict=_verdict(remainder, of, period),
        unseen=_unseen(remainder, terms["dug"]),
        opening_counted_on=min(
            (w.opening.counted_on for w in of if w.opening.counted_on), default=None
        ),
        closing_counted_on=min((s.counted_on for s in counted if s.counted_on), default=None),
        oldest_count_on=min((s.oldest_on for s in counted if s.oldest_on), default=None),
        lowest_stock_t=lowest.mass_t,
        lowest_stock_on=lowest_on,
        negative_stock=_negative(lowest_on, lowest),
    )


def _term_net(of: Sequence[_Window], term: str, period: Period) -> Net:
    return net(part for w in of for part in w.of.term(term, period.starts, period.ends))


def _stock_net(stocks: Iterable[_Stock]) -> Net:
    return net(part for stock in stocks for part in (*stock.counted, *stock.carried))


def _percent(remainder: Net | None, dug: Net) -> float | None:
    return 100.0 * remainder.mass_t / dug.mass_t if remainder and dug.mass_t else None


def _has_other_side(of: Sequence[_Window]) -> bool:
    return any(window.has_other_side for window in of)


def _verdict(remainder: Net | None, of: Sequence[_Window], period: Period) -> str:
    if not of:
        return "nothing dug, moved or counted"
    if not _has_other_side(of):
        return f"not checked: {NOTHING_AGAINST}"
    if remainder is None:
        return f"not checked: no heap counted anew by {date_words(period.ends)}"
    return remainder.verdict


def _unseen(remainder: Net | None, dug: Net) -> str:
    """The smallest loss that would have shown, where the uncertainty explains the remainder."""
    if remainder is None or remainder.verdict != EXPLAINED or not remainder.u_mass_t:
        return ""
    least_t = 2.0 * remainder.u_mass_t
    share = f" ({100.0 * least_t / dug.mass_t:.1f} % of what was dug)" if dug.mass_t else ""
    return f"a loss under {least_t:,.0f} t{share} cannot be seen here"


def _lowest(of: Sequence[_Window], period: Period) -> tuple[date, Net]:
    """The day of a period at whose end the stock by the records was least, and that stock."""
    before = [part for window in of for part in window.books(period.starts - _DAY)]
    by_day: dict[date, float] = {}
    for window in of:
        for flow in window.of.between(period.starts, period.ends):
            by_day[flow.day] = by_day.get(flow.day, 0.0) + net([flow.signed]).mass_t
    stock_t = lowest_t = net(before).mass_t
    lowest_on = period.starts - _DAY
    for day in sorted(by_day):
        stock_t += by_day[day]
        if stock_t < lowest_t:
            lowest_t, lowest_on = stock_t, day
    return lowest_on, net(part for window in of for part in window.books(lowest_on))


def _negative(day: date, stock: Net) -> str:
    if stock.mass_t >= -2.0 * stock.u_mass_t or not stock.mass_t:
        return ""
    return (
        f"By the records {-stock.mass_t:,.0f} t more had left by the end of {date_words(day)} than"
        " was dug and in stock: a load, a reading or a return is missing, or one is counted twice."
    )


# --- words ---------------------------------------------------------------------------------------
def _headline(total: BalanceLine) -> str:
    period = f"{date_words(total.starts)} to {date_words(total.ends)}"
    if not any((total.dug_t, total.belt_t, total.lorries_t, total.reused_t, total.opening_t)):
        return f"{period}: nothing dug, nothing moved and nothing in stock."
    went = (
        f"{period}: {total.dug_bank_m3:,.0f} m³ bank ({total.dug_t:,.0f} t) dug and"
        f" {total.opening_t:z,.0f} t in stock before, against {total.belt_t:,.0f} t by belt,"
        f" {total.lorries_t:,.0f} t by lorry, {total.reused_t:,.0f} t re-used on site and"
        f" {total.closing_t:z,.0f} t in stock after."
    )
    if total.remainder_t is None or total.u_remainder_t is None:
        return f"{went} {_sentence(total.verdict)}"
    unseen = f" {_sentence(f'{total.unseen}; {REFER}')}" if total.unseen else ""
    return (
        f"{went} Unexplained: {total.remainder_t:z,.0f} ± {2.0 * total.u_remainder_t:,.0f} t"
        f" ({total.verdict}; ± is twice the standard uncertainty).{unseen}"
    )


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _quality(windows: Sequence[_Window]) -> list[str]:
    """Which uncertainties were taken, where the stock is cut off, and how old its counts are."""
    returns = ", ".join(f"{basis} {100 * u:g} %" for basis, u in RETURN_U.items())
    methods = ", ".join(f"{method} {100 * u:g} %" for method, u in STOCK_U.items())
    return [
        f"Standard uncertainties, common practice, no source: returns {returns}; belt weigher"
        f" {100 * BELT_U:g} %; weighbridge {100 * WEIGHBRIDGE_U:g} % for all loads alike; usual"
        f" payload {100 * PAYLOAD_U:g} %; count of a heap {methods}, any other method as an"
        f" estimate. One net weight {1000 * LOAD_U_T:g} kg (SI 1995/1907, class III in service,"
        " e 20 kg)."
        " Factors as the set-up states their range; the same factor errs alike on both sides.",
        "Dug, belt and re-use count on their work date, lorries on the calendar day on which they"
        " left: loads of a night shift after midnight count on the next day.",
        "A count of a heap stands for the end of the last work date whose first shift had begun;"
        " from there to the end of the period the stock is carried on by the records, which checks"
        " nothing: the remainder is that from count to count.",
        *(_cut_off(window) for window in windows),
    ]


def _cut_off(window: _Window) -> str:
    """When the stock at both ends of a period was counted."""
    ends = (window.opening, window.closing)
    before, after = (
        f"counted {date_words(stock.counted_on)}"
        if stock.counted_on
        else "never counted, so taken as nothing"
        for stock in ends
    )
    oldest = window.closing.oldest_on
    aged = (
        f", its oldest heap {date_words(oldest)}"
        if oldest and oldest != window.closing.counted_on
        else ""
    )
    return f"Stock of {window.of.name}: before {before}; after {after}{aged}."
