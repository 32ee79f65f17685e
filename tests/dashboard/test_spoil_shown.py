"""What the page Spoil out shows of its statements: the balance, tickets, receipts, papers, belt."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from dashboard import theme
from dashboard.figures.balance import (
    EMPTY,
    balance_figure,
    balance_summary,
    explained,
    remainder_words,
)
from dashboard.spoil.balance import balance_panel, endurance_words
from dashboard.spoil.integrity import (
    MOST_ROWS,
    belt_block,
    moved_figures,
    overdue_rows,
    receipts_block,
    tickets_block,
)
from dashboard.spoil.papers import papers_block
from tests.dashboard.pieces import ids_of, parts_of, texts_of
from tracker.statements import balance_statement, spoil_statement

AS_OF, FIRST = date(2026, 10, 27), date(2026, 3, 2)


@pytest.fixture(scope="module")
def balance(demo):
    return balance_statement(demo, AS_OF)


@pytest.fixture(scope="module")
def spoil(demo):
    return spoil_statement(demo, AS_OF, since=FIRST)


def with_total(statement, place, **changes):
    totals = list(statement.totals)
    totals[place] = replace(totals[place], **changes)
    return replace(statement, totals=tuple(totals))


def hrefs_of(part):
    return [x.href for x in parts_of(part) if getattr(x, "href", None)]


def marks_of(part):
    """(words, look) of every coloured mark."""
    return [
        (texts_of(x), x.className)
        for x in parts_of(part)
        if str(getattr(x, "className", "")).startswith("mark ")
    ]


# --- the bars ------------------------------------------------------------------------------------
@pytest.mark.parametrize("width_px", [358, 1240])
def test_both_sides_of_the_balance_end_at_the_same_tonnes(balance, width_px):
    figure = balance_figure(balance, width_px)
    assert figure.layout.width == width_px
    ends = {}
    for bar in (trace for trace in figure.data if trace.type == "bar"):
        for place, mass_t in zip(bar.y, bar.x, strict=True):
            ends[place] = ends.get(place, 0.0) + mass_t
    for row in range(len(balance.totals)):
        assert ends[3 * row] == pytest.approx(ends[3 * row + 1])


def test_the_whiskers_are_twice_the_uncertainty_about_what_is_accounted_for(balance):
    (ranges,) = [trace for trace in balance_figure(balance).data if trace.type == "scatter"]
    assert list(ranges.error_x.array) == [2 * line.u_remainder_t for line in balance.totals]
    line = balance.totals[0]
    went_t = line.belt_t + line.lorries_t + line.reused_t + line.closing_t
    assert ranges.x[0] == pytest.approx(went_t)
    ends = [x + u for x, u in zip(ranges.x, ranges.error_x.array, strict=True)]
    assert balance_figure(balance).layout.xaxis.range[1] > max(ends)


def test_a_remainder_that_nothing_explains_stands_out_and_says_so(balance):
    changed = with_total(balance, 1, remainder_t=3000.0, verdict="more dug than accounted for")
    bars = [trace for trace in balance_figure(changed).data if trace.type == "bar"]
    assert list(bars[-1].marker.color) == [theme.PAPER, theme.WARNING, theme.PAPER]
    words = " ".join(a.text for a in balance_figure(changed).layout.annotations)
    assert "unexplained +3,000 ±" in words
    assert "more dug than accounted for" in words
    assert not explained(changed.totals[1])


def test_a_stream_that_no_count_checks_has_neither_remainder_nor_whiskers(balance):
    verdict = "not checked: no heap counted anew by Tue 27 Oct 2026"
    changed = with_total(balance, 2, remainder_t=None, u_remainder_t=None, verdict=verdict)
    figure = balance_figure(changed)
    (ranges,) = [trace for trace in figure.data if trace.type == "scatter"]
    assert len(ranges.x) == 2
    assert remainder_words(changed.totals[2]) == verdict
    assert any(verdict in a.text for a in figure.layout.annotations)


def test_the_summary_says_each_stream_with_its_uncertainty(balance):
    said = balance_summary(balance)
    for line in balance.totals:
        assert f"{line.name}: {remainder_words(line)}" in said
    assert said.endswith("± is twice the standard uncertainty, about 95 %.")


def test_a_period_without_spoil_is_a_sentence(balance):
    nothing = replace(balance, totals=(), lines=(), heaps=())
    assert balance_summary(nothing) == EMPTY
    assert EMPTY in [a.text for a in balance_figure(nothing).layout.annotations]
    assert EMPTY in texts_of(balance_panel(nothing))


# --- the panel -----------------------------------------------------------------------------------
def test_the_panel_has_every_term_every_heap_and_the_endurance(balance):
    panel = balance_panel(balance, 800)
    words = texts_of(panel)
    assert ids_of(panel) == ["spoil-balance"]
    for line in balance.totals:
        for mass_t in (line.dug_t, line.belt_t, line.lorries_t, line.closing_t):
            assert theme.number(mass_t) in words
    assert balance.endurance.sentence in words
    for heap in balance.heaps:
        assert heap.location in words
        assert f"/records?entry={heap.entry_ids[0]}" in hrefs_of(panel)
    unlimited = replace(balance.heaps[0], surcharge_limit_m3=None, free_m3=None)
    assert "none stated" in texts_of(balance_panel(replace(balance, heaps=(unlimited,))))


def test_a_heap_over_its_limit_and_a_stock_below_nothing_cannot_be_missed(balance):
    heap = replace(balance.heaps[1], over_limit=True, free_m3=0.0)
    changed = replace(balance, heaps=(balance.heaps[0], heap))
    changed = with_total(changed, 0, negative_stock="By the records 480 t more had left.")
    panel = balance_panel(changed)
    over = "over its limit: stop and ask the temporary works coordinator"
    assert (over, "mark breach") in marks_of(panel)
    notices = [
        texts_of(x) for x in parts_of(panel) if getattr(x, "className", "").startswith("not")
    ]
    assert notices == ["Made ground. By the records 480 t more had left."]


def test_the_endurance_says_what_lorries_change_or_why_there_are_no_hours(balance):
    view = replace(balance.endurance, hours=6.4, with_lorries_h=20.0, lorry_loose_m3_per_h=3.0)
    assert "20.0 h with lorries up to the cap" in texts_of(endurance_words(view))
    keep_pace = replace(view, with_lorries_h=None)
    assert "lorries within the cap keep pace" in texts_of(endurance_words(keep_pace))
    no_cap = replace(keep_pace, lorry_loose_m3_per_h=None)
    assert "no cap says what lorries may take" in texts_of(endurance_words(no_cap))
    refused = replace(view, hours=None, sentence="No heap has a stated limit.")
    assert texts_of(endurance_words(refused)) == "No heap has a stated limit."


# --- tables --------------------------------------------------------------------------------------
def test_what_left_stands_with_hours_and_energy(spoil):
    words = texts_of(moved_figures(spoil))
    assert theme.number(spoil.moved[1].belt_t, "t") in words
    assert "kWh/t" in words
    unread = replace(spoil.moved[0], belt_running_h=None, belt_kwh=None, belt_kwh_per_t=None)
    said = texts_of(moved_figures(replace(spoil, moved=(unread, spoil.moved[1]))))
    assert "running hours not read; meter not read" in said


def test_receipts_show_what_is_overdue_with_a_link_to_each_load(spoil):
    block = receipts_block(spoil)
    for line in spoil.destinations:
        assert line.name in texts_of(block)
        assert theme.number(line.accepted_t, decimals=1) in texts_of(block)
    first = spoil.missing_receipts[0]
    assert f"/records?entry={first.entry_id}" in hrefs_of(block)


def test_a_long_list_says_how_much_of_it_is_shown(spoil):
    one = spoil.missing_receipts[0]
    many = replace(spoil, missing_receipts=(one,) * 100)
    assert f"the first {MOST_ROWS} of 100" in texts_of(overdue_rows(many))
    assert len(hrefs_of(overdue_rows(many))) == MOST_ROWS


def test_tickets_show_gaps_findings_and_chains(spoil):
    block = tickets_block(spoil)
    words = texts_of(block)
    for gap in spoil.gaps:
        assert f"{gap.issuer} {gap.missing_numbers}" in words
        assert f"/records?entry={gap.before_entry_id}" in hrefs_of(block)
    for finding in spoil.tickets:
        assert finding.sentence in words
    assert ("above the plate", "mark breach") in marks_of(block)
    assert ("sent on", "mark done") in marks_of(block)


def test_nothing_to_look_at_is_said(spoil):
    clean = replace(spoil, tickets=(), gaps=(), gaps_found=0, chains=(), issuers=())
    words = texts_of(tickets_block(clean))
    assert "No load of the period stands out." in words
    assert "Gaps in the numbers: none." in words


def test_papers_show_what_is_wanting_and_how_long_notes_are_kept(spoil):
    words = texts_of(papers_block(spoil))
    for finding in spoil.papers:
        assert finding.sentence in words
    for line in spoil.authorisations:
        assert f"{line.name} {line.what} {line.number}" in words
    kept = next(line for line in spoil.notes if line.keep_until)
    assert theme.day(kept.keep_until) in words


def test_a_note_for_which_no_law_is_known_says_so(spoil):
    note = next(line for line in spoil.notes if line.entry_id and line.loads)
    elsewhere = replace(spoil, notes=(replace(note, keep_until=None),))
    assert "as the governing law says" in texts_of(papers_block(elsewhere))


def test_a_declaration_that_is_used_up_cannot_be_missed(spoil):
    (line, *_) = spoil.declarations
    used = replace(line, percent=101.0, reached_percent=100, warning="Stop: no more may go.")
    block = papers_block(replace(spoil, declarations=(used,)))
    assert ("101.0 %: 100 % reached", "mark breach") in marks_of(block)
    assert "Stop: no more may go." in texts_of(block)
    plenty = replace(line, percent=20.0, reached_percent=0, warning="")
    assert "20.0 %" in texts_of(papers_block(replace(spoil, declarations=(plenty,))))


def test_an_authorisation_that_ended_is_marked_as_a_breach(spoil):
    (line, *_) = spoil.authorisations
    ended = replace(line, days_left=-1, state="ended")
    assert ("ended", "mark breach") in marks_of(
        papers_block(replace(spoil, authorisations=(ended,)))
    )


def test_the_belt_shows_events_checks_and_days_without_a_reading(spoil):
    block = belt_block(spoil)
    words = texts_of(block)
    assert ("reset", "mark planned") in marks_of(block)
    assert {verdict for verdict, _ in marks_of(block)} >= {c.verdict for c in spoil.checks}
    for day in spoil.unread_days:
        assert theme.day(day.day) in words
    assert f"the first {MOST_ROWS} of {len(spoil.readings)}" in words
