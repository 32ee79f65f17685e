"""Spoil and balance of the demonstration against a second count of its files with plain pandas."""

from __future__ import annotations

from datetime import date

import pytest

from tests.statements import recount
from tracker.recording.demo import DEMO_DAY
from tracker.statements import balance_statement, spoil_statement

FIRST = date(2026, 3, 2)


@pytest.fixture(scope="module")
def season():
    return recount.season()


@pytest.fixture(scope="module")
def balance(demo):
    return balance_statement(demo, DEMO_DAY)


@pytest.fixture(scope="module")
def spoil(demo):
    return spoil_statement(demo, DEMO_DAY, since=FIRST)


def of_streams(statement, field):
    return {line.stream: getattr(line, field) for line in statement.totals}


def summed(rows, column):
    return rows.groupby("stream")[column].sum().to_dict()


def reused_t(season):
    """Ground placed again, in tonnes: weighed, or compacted / compacted_per_bank x density."""
    rows = recount.table("records/reuse.csv")
    bank_m3 = rows.compacted_m3 / rows.stream.map(season.streams.compacted_per_bank)
    rows["t"] = rows.mass_t.fillna(bank_m3 * rows.stream.map(season.streams.bank_density))
    return summed(rows, "t")


def stock_t(season):
    """The last count of each heap and stream, in tonnes."""
    rows = recount.table("records/stock.csv").sort_values("counted_at")
    last = rows.groupby(["location", "stream"]).tail(1).copy()
    bank_m3 = last.loose_m3 / last.stream.map(season.streams.loose_per_bank)
    last["t"] = bank_m3 * last.stream.map(season.streams.bank_density)
    return summed(last, "t")


def test_each_term_of_the_balance_is_what_the_files_add_up_to(season, balance):
    dug = summed(recount.dug(season), "dug_t")
    belt = summed(recount.belt_runs(season), "run_t")
    lorries = summed(recount.carried(season), "t")
    reused, stock = reused_t(season), stock_t(season)
    assert of_streams(balance, "dug_t") == pytest.approx(dug)
    for stream, line in ((line.stream, line) for line in balance.totals):
        assert line.belt_t == pytest.approx(belt.get(stream, 0.0))
        assert line.lorries_t == pytest.approx(lorries[stream])
        assert line.reused_t == pytest.approx(reused.get(stream, 0.0))
        # Counted at the end of the last day, so nothing is carried on.
        assert line.closing_t == pytest.approx(stock[stream])
        went = line.belt_t + line.lorries_t + line.reused_t + line.closing_t
        assert line.remainder_t == pytest.approx(line.dug_t + line.opening_t - went)


def test_left_and_right_of_every_month_differ_by_the_remainder_and_what_was_carried_on(demo):
    """Where a month ends without a count, the carried part stands on both sides."""
    months = balance_statement(demo, DEMO_DAY, grain="month").lines
    for line in months:
        came = line.dug_t + line.opening_t
        went = line.belt_t + line.lorries_t + line.reused_t + line.closing_t
        assert line.remainder_t is not None
        assert came - went == pytest.approx(line.remainder_t, abs=1e-6)
    of_clay = [line for line in months if line.stream == "stiff_clay"]
    whole = {line.stream: line for line in balance_statement(demo, DEMO_DAY).totals}
    assert sum(line.remainder_t for line in of_clay) == pytest.approx(
        whole["stiff_clay"].remainder_t
    )


def test_the_invented_season_balances_within_its_uncertainty(balance):
    assert {line.verdict for line in (*balance.totals, balance.total)} == {
        "explained by the uncertainty"
    }


def test_the_numbers_missing_are_those_between_the_first_and_the_last_ticket(season, spoil):
    numbers = season.loads[season.loads.ticket_issuer == "WB1"].ticket_number.astype(int)
    first, last = numbers.min(), numbers.max()
    issuer = next(line for line in spoil.issuers if line.issuer == "WB1")
    assert (issuer.first_number, issuer.last_number) == (str(first), str(last))
    missing = set(range(first, last + 1)) - set(numbers)
    assert issuer.missing == len(missing)
    assert {gap.missing_numbers for gap in spoil.gaps} == {str(n) for n in missing}


def test_loads_without_a_receipt_are_those_that_no_receipt_names(season, spoil):
    receipts = recount.table("records/receipts.csv")
    loads = recount.carried(season)
    loads = loads[loads.outcome != "rejected"]
    answered = loads.merge(receipts, on=["ticket_issuer", "ticket_number"])
    silent = len(loads) - answered[["ticket_issuer", "ticket_number"]].drop_duplicates().shape[0]
    assert sum(line.without_receipt for line in spoil.destinations) == silent
    # Before Tuesday 27 October, Monday and Saturday have shifts: what left by Friday is due.
    key = ["ticket_issuer", "ticket_number"]
    unanswered = loads.merge(receipts[key], on=key, how="left", indicator=True)
    unanswered = unanswered[unanswered._merge == "left_only"]
    due = unanswered[unanswered.left.dt.date <= date(2026, 10, 23)]
    assert len(spoil.missing_receipts) == len(due)


def test_dispatched_less_accepted_is_that_of_the_loads_that_were_answered(season, spoil):
    receipts = recount.table("records/receipts.csv")
    loads = recount.carried(season)
    loads = loads[loads.outcome != "rejected"]
    both = loads.merge(receipts, on=["ticket_issuer", "ticket_number"], suffixes=("", "_said"))
    accepted_t = both.accepted_t.where(both.outcome_said == "accepted", 0.0)
    apart_t = both.drop_duplicates(["ticket_issuer", "ticket_number"]).t.sum() - accepted_t.sum()
    assert sum(line.difference_t for line in spoil.destinations) == pytest.approx(apart_t)
