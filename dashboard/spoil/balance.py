"""The balance as the page shows it: bars, what they rest on, heaps and how long they last."""

from __future__ import annotations

from typing import Any

from dash import html

from dashboard import theme
from dashboard.components import (
    Head,
    Part,
    block,
    chart_note,
    graph,
    key_figures,
    mark,
    notice,
    record_link,
    table,
)
from dashboard.figures.balance import balance_figure, balance_summary, explained
from dashboard.ids import SpoilShown
from tracker.statements.balance_shapes import BalanceLine, BalanceStatement, EnduranceView, HeapLine


def balance_panel(statement: BalanceStatement, width_px: int = theme.WIDE_PX) -> html.Div:
    """Both sides of the balance by stream, with tables of its terms, its heaps and its stocks."""
    figure = balance_figure(statement, width_px)
    return html.Div(
        [
            *(
                notice(f"{x.name}. {x.negative_stock}")
                for x in statement.totals
                if x.negative_stock
            ),
            block(
                "Balance of the spoil",
                graph(SpoilShown.BALANCE, "What came and where it went, by stream", figure),
                *chart_note(balance_summary(statement), term_rows(statement)),
                stock_rows(statement),
            ),
            block("Heaps", heap_rows(statement.heaps), endurance_words(statement.endurance)),
        ]
    )


def term_rows(statement: BalanceStatement) -> Any:
    """Every term of every line, in tonnes and in bank volume."""
    lines = [*statement.lines, *(statement.totals if statement.grain != "total" else ())]
    lines.append(statement.total)
    return html.Div(
        [
            table("Spoil balance, t moist", _heads("t"), [_terms(x, "t") for x in lines]),
            table("Spoil balance, m³ bank", _heads("m³"), [_terms(x, "bank_m3") for x in lines]),
        ]
    )


def _heads(unit: str) -> list[Head]:
    names = ("Dug", "Stock before", "By belt", "By lorry", "Re-used", "Stock after")
    terms = [Head(f"{name}, {unit}", numeric=True) for name in names]
    remainder = Head(f"Unexplained ± 2u, {unit}", numeric=True)
    return [Head("Period, stream"), *terms, remainder, Head("Says")]


def _terms(line: BalanceLine, unit: str) -> tuple[str, ...]:
    terms = ("dug", "opening", "belt", "lorries", "reused", "closing")
    remainder = getattr(line, f"remainder_{unit}")
    u = getattr(line, f"u_remainder_{unit}")
    return (
        line.name if line.label == "total" else f"{line.label}, {line.name}",
        *(theme.number(getattr(line, f"{term}_{unit}")) for term in terms),
        theme.NO_NUMBER
        if remainder is None
        else f"{theme.number(remainder)} ± {theme.number(2.0 * u)}",
        line.verdict,
    )


def stock_rows(statement: BalanceStatement) -> Any:
    """When the stock at both ends was counted, and whether the records ever went below nothing."""
    rows = [
        (
            line.name,
            _counted(line.opening_counted_on),
            _counted(line.closing_counted_on),
            theme.day(line.oldest_count_on),
            theme.number(line.lowest_stock_t),
            mark(line.verdict, "done" if explained(line) else "warning"),
        )
        for line in statement.totals
    ]
    heads = [
        Head("Stream"),
        Head("Stock before counted"),
        Head("Stock after counted"),
        Head("Oldest count in it"),
        Head("Lowest stock by the records, t", True),
        Head("Verdict"),
    ]
    return table("Counts that the balance rests on", heads, rows)


def _counted(on: Any) -> str:
    return theme.day(on) if on else "never: taken as nothing"


def heap_rows(heaps: tuple[HeapLine, ...]) -> Any:
    """Each heap beside the limit of the temporary works coordinator."""
    rows = [
        (
            heap.location,
            theme.number(heap.loose_m3, decimals=1),
            "none stated"
            if heap.surcharge_limit_m3 is None
            else theme.number(heap.surcharge_limit_m3, decimals=1),
            mark("over its limit: stop and ask the temporary works coordinator", "breach")
            if heap.over_limit
            else theme.number(heap.free_m3, decimals=1),
            f"{theme.day(heap.counted_on)}, {_age(heap.days_old)}",
            heap.by_stream,
            _links(heap.entry_ids),
        )
        for heap in heaps
    ]
    heads = [
        Head("Heap"),
        Head("Loose, m³", True),
        Head("Limit, m³ loose", True),
        Head("Free, m³", True),
        Head("Counted"),
        Head("Of"),
        Head("Counts", short=True),
    ]
    return table("Stock by location, beside its surcharge limit", heads, rows)


def _links(entry_ids: tuple[str, ...]) -> html.Span:
    """A link to each of some rows, numbered where there are several."""
    alone = len(entry_ids) == 1
    parts: list[Any] = []
    for number, entry_id in enumerate(entry_ids, start=1):
        parts += [record_link(entry_id, "See the row" if alone else f"Row {number}"), " "]
    return html.Span(parts)


def _age(days: int) -> str:
    return "today" if not days else f"{days} day{'' if days == 1 else 's'} ago"


def endurance_words(view: EnduranceView) -> Part:
    """How long digging goes on once the belt stops, or why nobody can say."""
    if view.hours is None:
        return html.P(view.sentence, className="summary")
    lorries = (
        "lorries within the cap keep pace"
        if view.with_lorries_h is None and view.lorry_loose_m3_per_h is not None
        else "no cap says what lorries may take"
        if view.with_lorries_h is None or view.lorry_loose_m3_per_h is None
        else f"{theme.number(view.with_lorries_h, 'h', 1)} with lorries up to the cap"
    )
    return html.Div(
        [
            key_figures(
                [
                    ("If the belt stops", theme.number(view.hours, "worked h", 1), lorries),
                    (
                        "Free in the heaps",
                        theme.number(view.free_loose_m3, "m³ loose"),
                        "below the limits stated, at the last counts",
                    ),
                    (
                        "Dug of what goes by belt",
                        theme.number(view.dug_loose_m3_per_h, "m³ loose/h", 1),
                        f"a worked hour, over {theme.number(view.worked_hours, 'h')}",
                    ),
                ]
            ),
            html.P(view.sentence, className="summary"),
        ]
    )
