"""The spoil balance of the paper pit, against what a reader works out from paper.py."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from tests.statements import paper
from tracker.errors import InputError, NotEnoughData
from tracker.statements import balance_statement

U = 0.2 / math.sqrt(12.0)  # of every density and bulking of the paper pit
THURSDAY, FRIDAY, SATURDAY = (date(2026, 10, day) for day in (22, 23, 24))

# Clay, all of the season. Measured 100 + 100 + 100 + 250 + 10 + 25 + 290 + 30 + 15 = 920 m3 and
# estimated 50 m3, at 2.0 t/m3; weighed 200 t; from 29 October 30 m3 loose / 1.5 x 2.2 = 44 t.
CLAY_DUG_T = (920 + 50) * 2.0 + 200 + 44
CLAY_BELT_T, CLAY_LORRIES_T = 270, 19 + 19.5 + 19 + 20 + 18 + 20.4
# Made ground: 100 m3 measured, 120 m3 loose / 1.2, 10 m3 measured, at 1.8 t/m3.
MADE_DUG_T, MADE_LORRIES_T = (100 + 100 + 10) * 1.8, 18 + 17 + 18


def of(statement, stream, label="total"):
    (line,) = [x for x in statement.lines if (x.stream, x.label) == (stream, label)]
    return line


def dig(book, day, bank_m3, shift="day", **fields):
    given = {"zone": "B", "stage": "1", "stream": "clay", "basis": "measured"} | fields
    return paper.enter(book, "returns", work_date=day, shift=shift, bank_m3=bank_m3, **given)


def read(book, at, totaliser_t, **fields):
    day = at[:10]
    given = {"work_date": day, "shift": "day", "belt": "belt-1", "stream": "clay"} | fields
    return paper.enter(book, "belt", read_at=at, totaliser_t=totaliser_t, **given)


def count(book, at, loose_m3, location="H1", stream="clay", method="survey", **fields):
    return paper.enter(
        book,
        "stock",
        counted_at=at,
        location=location,
        stream=stream,
        loose_m3=loose_m3,
        method=method,
        **fields,
    )


@pytest.fixture
def counted(own):
    """Counted before Thursday (20 t) and after Friday (100 t); 200 t dug and 120 t by belt."""
    count(own, "2026-10-22 06:30", "12.5")
    dig(own, "2026-10-22", "60")
    read(own, "2026-10-22 07:00", "1000")
    read(own, "2026-10-22 19:00", "1080")
    dig(own, "2026-10-23", "40")
    read(own, "2026-10-23 19:00", "1120")
    count(own, "2026-10-23 19:30", "62.5")
    return own


# --- terms ---------------------------------------------------------------------------------------
def test_everything_dug_and_everything_that_left_stands_in_the_balance(book):
    statement = balance_statement(book, paper.LAST_DAY)
    clay, made = of(statement, "clay"), of(statement, "made")
    assert (clay.dug_t, clay.belt_t) == (pytest.approx(CLAY_DUG_T), pytest.approx(CLAY_BELT_T))
    assert clay.lorries_t == pytest.approx(CLAY_LORRIES_T)
    assert clay.dug_bank_m3 == pytest.approx(970 + 100 + 20)
    assert clay.remainder_t == pytest.approx(CLAY_DUG_T - CLAY_BELT_T - CLAY_LORRIES_T)
    assert (made.dug_t, made.lorries_t) == (
        pytest.approx(MADE_DUG_T),
        pytest.approx(MADE_LORRIES_T),
    )
    assert made.percent_of_dug == pytest.approx(100 * (1 - MADE_LORRIES_T / MADE_DUG_T))
    assert statement.total.remainder_t == pytest.approx(clay.remainder_t + made.remainder_t)


def test_the_uncertainty_adds_each_error_once(book):
    clay = of(balance_statement(book, paper.LAST_DAY), "clay")
    parts = (
        970 * U,  # density of the first set-up, of all that was stated in m3
        20 * U,  # of the second
        20 / 1.5 * U * 2.2,  # bulking of the second
        0.02 * 920 * 2.0,
        0.10 * 50 * 2.0,
        0.05 * 44,
        0.005 * 200,
        0.01 * CLAY_BELT_T,
        0.003 * CLAY_LORRIES_T,
        0.0327 * math.sqrt(6),
    )
    assert clay.u_remainder_t == pytest.approx(math.hypot(*parts))
    assert clay.verdict == "more dug than accounted for"


def test_loads_estimated_and_without_weight_are_less_sure(book):
    made = of(balance_statement(book, paper.LAST_DAY), "made")
    parts = (
        210 * U,  # density
        100 / 1.2 * U * 1.8,  # bulking
        0.02 * 110 * 1.8,
        0.05 * 180,
        0.003 * 18,
        0.0327,
        0.10 * 17,  # estimated
        0.10 * 18,  # the usual payload
    )
    assert made.u_remainder_t == pytest.approx(math.hypot(*parts))


def test_a_rejected_load_counts_its_weight_once(own):
    for number, route, more in (
        ("4", "R-ROAD", {"outcome": "rejected"}),
        ("5", "R-TIP", {"reconsigned_from": "4"}),
    ):
        paper.enter(
            own,
            "loads",
            ticket_number=number,
            gate_out_at="2026-10-23 11:20",
            stream="clay",
            route=route,
            net_t="19",
            **more,
        )
    assert of(balance_statement(own, FRIDAY), "clay").lorries_t == pytest.approx(19)


# --- stock ---------------------------------------------------------------------------------------
def test_stock_at_both_ends_closes_the_balance(counted):
    clay = of(balance_statement(counted, FRIDAY, since=THURSDAY), "clay")
    assert (clay.opening_t, clay.dug_t) == (pytest.approx(20), pytest.approx(200))
    assert (clay.belt_t, clay.closing_t) == (pytest.approx(120), pytest.approx(100))
    assert clay.remainder_t == pytest.approx(0)
    assert clay.verdict == "explained by the uncertainty"
    assert clay.opening_counted_on == date(2026, 10, 21)
    assert clay.closing_counted_on == FRIDAY


def test_factors_err_the_same_way_in_what_was_dug_and_in_stock(counted):
    clay = of(balance_statement(counted, FRIDAY, since=THURSDAY), "clay")
    parts = (
        (100 + 10 - 50) * U,  # density: dug and opening less closing
        (10 - 50) / 1.25 * U * 2.0,  # bulking: opening less closing
        0.02 * 100 * 2.0,
        0.01 * 120,
        0.03 * 20,  # one count
        0.03 * 100,  # another
    )
    assert clay.u_remainder_t == pytest.approx(math.hypot(*parts))


def test_from_a_count_to_the_end_of_the_period_the_records_carry_the_stock_on(counted):
    dig(counted, "2026-10-24", "20")  # 40 t, of which 15 t leave
    read(counted, "2026-10-24 19:00", "1135")
    saturday = of(balance_statement(counted, SATURDAY, since=THURSDAY), "clay")
    friday = of(balance_statement(counted, FRIDAY, since=THURSDAY), "clay")
    assert saturday.closing_t == pytest.approx(100 + 40 - 15)
    assert saturday.remainder_t == pytest.approx(0)
    assert saturday.u_remainder_t == pytest.approx(friday.u_remainder_t)
    assert (saturday.dug_t, saturday.closing_counted_on) == (pytest.approx(240), FRIDAY)


def test_a_remainder_found_by_a_later_count_belongs_to_the_days_since_the_count_before(counted):
    dig(counted, "2026-10-24", "20")
    read(counted, "2026-10-24 19:00", "1135")
    count(counted, "2026-10-24 20:00", "75")  # 120 t, where 125 t should lie
    alone = of(balance_statement(counted, SATURDAY, since=SATURDAY), "clay")
    assert (alone.opening_t, alone.closing_t) == (pytest.approx(100), pytest.approx(120))
    assert alone.remainder_t == pytest.approx(5)


def test_without_a_new_count_nothing_is_said_to_agree(counted):
    dig(counted, "2026-10-24", "20")
    line = of(balance_statement(counted, SATURDAY, since=SATURDAY), "clay")
    assert (line.remainder_t, line.u_remainder_bank_m3, line.percent_of_dug) == (None, None, None)
    assert line.verdict == "not checked: no heap counted anew by Sat 24 Oct 2026"
    assert line.closing_t == pytest.approx(140)


def test_returns_alone_are_balanced_against_nothing_and_the_missing_records_are_named(own):
    dig(own, "2026-10-22", "100")
    statement = balance_statement(own, FRIDAY, since=THURSDAY)
    verdict = (
        "not checked: no belt run, lorry load, re-use or heap count is recorded in the period to"
        " balance against"
    )
    for line in (of(statement, "clay"), statement.total):
        assert (line.dug_t, line.verdict) == (pytest.approx(200), verdict)
        assert (line.remainder_t, line.u_remainder_t, line.unseen) == (None, None, "")
    assert statement.headline.endswith(f"0 t in stock after. N{verdict[1:]}.")


@pytest.mark.parametrize("other", ["belt", "load", "re-use", "count"])
def test_one_record_of_any_other_kind_is_something_to_balance_against(own, other):
    dig(own, "2026-10-22", "100")
    if other == "belt":
        read(own, "2026-10-22 07:00", "0")
        read(own, "2026-10-22 19:00", "50")
    elif other == "load":
        left = {"gate_out_at": "2026-10-22 11:20", "stream": "clay", "route": "R-ROAD"}
        paper.enter(own, "loads", ticket_number="1", net_t="19", **left)
    elif other == "re-use":
        reuse(own, "weighed", "20")
    else:
        count(own, "2026-10-22 20:00", "30")
    clay = of(balance_statement(own, FRIDAY, since=THURSDAY), "clay")
    assert clay.verdict == "more dug than accounted for"


def test_a_verdict_that_nothing_is_missing_says_which_loss_would_not_show(counted):
    statement = balance_statement(counted, FRIDAY, since=THURSDAY)
    clay = of(statement, "clay")
    least_t = 2.0 * clay.u_remainder_t
    said = f"a loss under {least_t:,.0f} t ({least_t / 2.0:.1f} % of what was dug) cannot be seen"
    assert clay.unseen == f"{said} here"
    assert statement.headline.endswith(
        f" A{said[1:]} here; the reconciliation, where there are surveys, sees smaller ones."
    )
    dig(counted, "2026-10-23", "60", shift="night")
    more = balance_statement(counted, FRIDAY, since=THURSDAY)
    assert (of(more, "clay").verdict, of(more, "clay").unseen) == (
        "more dug than accounted for",
        "",
    )
    assert "cannot be seen" not in more.headline


def test_the_date_of_a_headline_keeps_its_capitals(counted):
    dig(counted, "2026-10-24", "20")
    assert balance_statement(counted, SATURDAY, since=SATURDAY).headline.endswith(
        "Not checked: no heap counted anew by Sat 24 Oct 2026."
    )


def test_a_count_in_the_night_stands_for_the_work_date_before(own):
    count(own, "2026-10-23 02:00", "10")
    line = of(balance_statement(own, THURSDAY, since=THURSDAY), "clay")
    assert line.closing_counted_on == THURSDAY


def test_each_heap_keeps_its_latest_count(own):
    count(own, "2026-10-22 06:30", "10", location="H1")
    count(own, "2026-10-22 06:30", "20", location="H2")
    count(own, "2026-10-23 20:00", "35", location="H2")
    line = of(balance_statement(own, FRIDAY, since=THURSDAY), "clay")
    assert line.closing_t == pytest.approx(45 / 1.25 * 2.0)
    # H1 was not counted again: it is on both sides and cancels with its error.
    assert line.remainder_t == pytest.approx(-15 / 1.25 * 2.0)
    assert (line.closing_counted_on, line.oldest_count_on) == (FRIDAY, date(2026, 10, 21))


def test_more_left_than_was_dug_is_said_as_such(own):
    dig(own, "2026-10-22", "10")
    read(own, "2026-10-22 07:00", "0")
    read(own, "2026-10-22 19:00", "500")
    dig(own, "2026-10-23", "300")
    line = of(balance_statement(own, FRIDAY), "clay")
    assert (line.lowest_stock_t, line.lowest_stock_on) == (pytest.approx(-480), THURSDAY)
    assert line.negative_stock.startswith("By the records 480 t more had left by the end of Thu 22")
    assert "a load, a reading or a return is missing" in line.negative_stock
    assert line.remainder_t == pytest.approx(2 * 310 - 500)  # at the end nothing would show it


def test_stock_below_nothing_within_its_uncertainty_is_not_held_against_anybody(own):
    dig(own, "2026-10-22", "100")
    read(own, "2026-10-22 07:00", "0")
    read(own, "2026-10-22 19:00", "201")
    line = of(balance_statement(own, THURSDAY), "clay")
    assert (line.lowest_stock_t, line.negative_stock) == (pytest.approx(-1), "")


# --- periods -------------------------------------------------------------------------------------
def test_weeks_and_months_add_up_to_the_whole(book):
    whole = balance_statement(book, paper.LAST_DAY).total
    for grain in ("week", "month"):
        lines = balance_statement(book, paper.LAST_DAY, grain=grain).lines
        for name in ("dug_t", "belt_t", "lorries_t", "remainder_t"):
            assert sum(getattr(x, name) for x in lines) == pytest.approx(getattr(whole, name))
        assert len({x.label for x in lines}) == (3 if grain == "week" else 2)


def test_a_stream_that_nothing_happened_to_has_no_line(book):
    lines = balance_statement(book, paper.LAST_DAY, grain="week").lines
    assert [(x.label, x.stream) for x in lines] == [
        ("week of Mon 19 Oct 2026", "clay"),
        ("week of Mon 19 Oct 2026", "made"),
        ("week of Mon 26 Oct 2026", "clay"),
        ("week of Mon 2 Nov 2026", "clay"),
    ]


def test_nothing_recorded_is_a_sentence(own):
    statement = balance_statement(own, paper.LAST_DAY)
    assert statement.headline.endswith("nothing dug, nothing moved and nothing in stock.")
    assert (statement.lines, statement.heaps, statement.rates) == ((), (), ())
    assert "No heap has a stated limit" in statement.endurance.sentence


def test_the_balance_is_that_which_was_known(counted, clock):
    then, clock.moment = clock.moment, clock.moment + timedelta(hours=1)
    before = balance_statement(counted, FRIDAY)
    read(counted, "2026-10-23 21:00", "1200", shift="night")
    assert balance_statement(counted, FRIDAY, known_at=then).total == before.total
    assert balance_statement(counted, FRIDAY).total.belt_t == pytest.approx(200)


def test_what_cannot_be_asked_is_refused_with_a_sentence(own, empty):
    with pytest.raises(InputError, match="Grain “day” is unknown; use total, month, week"):
        balance_statement(own, paper.LAST_DAY, grain="day")
    with pytest.raises(InputError, match="swap the dates"):
        balance_statement(own, THURSDAY, since=FRIDAY)
    assert balance_statement(own, THURSDAY, since=date.min).since == date(2026, 10, 19)
    assert balance_statement(own, date(2026, 1, 1)).since == date(2026, 1, 1)


def test_without_a_set_up_there_is_no_balance(empty):
    with pytest.raises(NotEnoughData, match="No set-up yet"):
        balance_statement(empty, paper.LAST_DAY)


# --- heaps and endurance -------------------------------------------------------------------------
def test_a_heap_shows_its_limit_and_how_old_its_count_is(own):
    count(own, "2026-10-22 10:00", "30", location="by the wall", surcharge_limit_m3="100")
    count(own, "2026-10-23 10:00", "20", location="by the wall", stream="made")
    count(own, "2026-10-23 10:00", "500", location="yard")
    wall, yard = balance_statement(own, SATURDAY).heaps
    assert (wall.loose_m3, wall.surcharge_limit_m3, wall.free_m3) == (50, 100, 50)
    assert (wall.counted_on, wall.days_old, wall.over_limit) == (THURSDAY, 2, False)
    assert wall.by_stream == "Clay 30.0 m³ (survey); Made ground 20.0 m³ (survey)"
    assert (yard.surcharge_limit_m3, yard.free_m3, yard.over_limit) == (None, None, False)
    count(own, "2026-10-24 10:00", "120", location="by the wall", surcharge_limit_m3="90")
    wall = balance_statement(own, SATURDAY).heaps[0]
    assert (wall.surcharge_limit_m3, wall.free_m3, wall.over_limit) == (90, 0, True)


def test_the_heaps_last_as_long_as_their_free_space_and_the_digging_allow(counted):
    count(counted, "2026-10-23 20:00", "62.5", surcharge_limit_m3="100")
    found = balance_statement(counted, FRIDAY).endurance
    # 100 m3 bank, 125 m3 loose, in two day shifts of 12 h. Cap 5 movements a day, none used.
    assert found.worked_hours == pytest.approx(24)
    assert found.dug_loose_m3_per_h == pytest.approx(125 / 24)
    assert found.free_loose_m3 == pytest.approx(37.5)
    assert found.hours == pytest.approx(37.5 / (125 / 24))
    # 2.5 loads in 12 h, each 12 m3 loose by the body.
    lorries = 5 / 12 / 2 * 12
    assert found.lorry_loose_m3_per_h == pytest.approx(lorries)
    assert found.with_lorries_h == pytest.approx(37.5 / (125 / 24 - lorries))
    assert "the heaps are full after 7.2 worked hours" in found.sentence
    assert found.sentence.endswith("worked hours with lorries up to the cap.")


def test_movements_made_as_it_is_leave_less_to_the_lorries(counted):
    count(counted, "2026-10-23 20:00", "62.5", surcharge_limit_m3="100")
    for number in ("1", "2", "3", "4"):
        paper.enter(
            counted,
            "loads",
            ticket_number=number,
            gate_out_at=f"2026-10-23 1{number}:00",
            stream="clay",
            route="R-ROAD",
            net_t="18",
        )
    found = balance_statement(counted, FRIDAY).endurance
    # 8 movements in two days: 4 of 5 are used.
    assert found.lorry_loose_m3_per_h == pytest.approx(1 / 12 / 2 * 12)


def test_without_a_limit_or_a_rate_the_reason_stands_instead_of_hours(counted):
    found = balance_statement(counted, FRIDAY).endurance
    assert (found.hours, "ask the temporary works coordinator" in found.sentence) == (None, True)
    count(counted, "2026-10-23 20:00", "62.5", surcharge_limit_m3="100")
    long_after = balance_statement(counted, date(2026, 12, 1)).endurance
    assert (long_after.hours, long_after.worked_hours) == (None, 0)
    assert "there is no rate" in long_after.sentence


def test_a_heap_without_a_limit_adds_no_space_and_is_named(counted):
    count(counted, "2026-10-23 20:00", "62.5", surcharge_limit_m3="100")
    count(counted, "2026-10-23 20:00", "1", location="yard")
    assert "yard: no limit stated, so no space counted." in (
        balance_statement(counted, FRIDAY).endurance.sentence
    )


# --- re-use, caps by direction -------------------------------------------------------------------
def reuse(book, basis, amount, at="2026-10-23 12:00", stream="clay"):
    column = {"bank": "bank_m3", "compacted": "compacted_m3", "weighed": "mass_t"}[basis]
    fields = {"placed_at": at, "stream": stream, "location": "ramp", "basis": basis}
    return paper.enter(book, "reuse", **fields, **{column: amount})


def with_compacted(factor):
    tables = paper.second_setup()
    tables["streams"][0] |= {"compacted_per_bank": factor}
    tables["streams"][1] |= {"compacted_per_bank": ""}
    return tables


def test_ground_placed_again_on_site_is_accounted_for(empty):
    paper.adopt(empty, with_compacted("0.9"), "compacted")
    dig(empty, "2026-10-22", "100")
    reuse(empty, "bank", "10")
    reuse(empty, "weighed", "22", at="2026-10-23 13:00")
    reuse(empty, "compacted", "9", at="2026-10-23 14:00")
    clay = of(balance_statement(empty, FRIDAY), "clay")
    assert clay.reused_bank_m3 == pytest.approx(10 + 22 / 2.2 + 9 / 0.9)
    assert clay.reused_t == pytest.approx(22 + 22 + 22)
    assert clay.remainder_t == pytest.approx(220 - 66)
    # Density: on the 100 m3 dug less the 10 and 9 / 0.9 m3 re-used by volume.
    parts = (80 * U, 0.02 * 220, 0.02 * (22 + 22), 0.005 * 22)
    assert clay.u_remainder_t == pytest.approx(math.hypot(*parts))


@pytest.mark.parametrize(
    ("caps", "loads_an_hour"),
    [
        (("day|12|both|c", "hour|1|both|c"), 1 / 2),
        (("day|6|out|c",), 6 / 12),
        (("day|6|in|c", "day|24|out|c"), 6 / 12),
    ],
)
def test_lorries_are_held_to_the_tightest_cap_whatever_it_counts(empty, caps, loads_an_hour):
    tables = paper.second_setup()
    tables["caps"] = paper.rows("per|movements|direction|reference", *caps)
    paper.adopt(empty, tables, "caps")
    dig(empty, "2026-10-22", "100")
    read(empty, "2026-10-22 07:00", "0")
    read(empty, "2026-10-22 19:00", "150")
    count(empty, "2026-10-22 20:00", "10", surcharge_limit_m3="100")
    found = balance_statement(empty, THURSDAY).endurance
    # A load is 12 m3 loose by the body: 17.6 t, less than the 20 t of the plate.
    assert found.lorry_loose_m3_per_h == pytest.approx(loads_an_hour * 12)
