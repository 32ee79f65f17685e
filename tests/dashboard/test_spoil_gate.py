"""The gate as the page Spoil out shows it: its figure, its numbers, what went beyond."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from dashboard import theme
from dashboard.figures.gate import NOTHING, SHUT, gate_figure, gate_summary, hour_numbers
from dashboard.spoil.gate import breaches_list, gate_figures, gate_panel, hours_rows
from dashboard.spoil.look import movements_figure as movements_today
from tests.dashboard import examples
from tests.dashboard.pieces import ids_of, parts_of, texts_of
from tracker.statements.gate_shapes import (
    DayAhead,
    GateBreach,
    GateCapLine,
    GateHourLine,
    GateOpening,
    GatePass,
    GateStatement,
)

DAY = date(2026, 10, 27)


def hour(number, spoil=4, other=0, awaited=0, left=10, over=False):
    stage = "over" if number < 11 else "running" if number == 11 else "ahead"
    half = spoil // 2
    return GateHourLine(
        number,
        stage,
        half,
        spoil - half,
        other,
        0,
        awaited,
        0,
        awaited,
        spoil + other,
        60,
        left,
        over,
    )


def cap(per="hour", movements=16, **changes):
    given = GateCapLine(
        per, "both", 11 if per == "hour" else None, movements, "invented condition", 60, 50, 10,
        20, movements - 80, None, None, None, None, "A sentence.",
    )  # fmt: skip
    return replace(given, **changes)


BEHIND = GatePass("day 2026-10-26", "e1", "lorry_loads", "Load gate 7 (INV 7)", "08:05", "08:40", 2)
ALSO = GatePass("day 2026-10-26", "e2", "gate_traffic", "6 vehicles, concrete", "09:10", "", 12)
BREACH = GateBreach(
    "over_movement_cap", "day 2026-10-26", date(2026, 10, 26), None, "both", 126, 120,
    "invented condition", False, "126 movements on Mon 26 Oct 2026, 6 too many.", (BEHIND, ALSO),
)  # fmt: skip
STATEMENT = GateStatement(
    basis=examples.BASIS,
    headline="60 of 120 movements used, 20 more booked, 40 left.",
    since=date(2026, 9, 28),
    at="11:30",
    gate_window="07:30 to 18:30",
    windows=(GateOpening(7.5, 18.5),),
    permissions=("letter 1",),
    hours=(
        *(hour(n) for n in range(7, 9)),
        hour(9, spoil=12, other=6, left=-2, over=True),
        hour(10, other=4),
        hour(11),
        *(hour(n, spoil=0, awaited=5) for n in range(12, 19)),
    ),
    caps=(cap("day", 120, left=40), cap()),
    loads_left=20,
    forecast="At the rate of today the day comes to about 110 (100 to 120) movements.",
    warnings=("Booked beyond the cap of 16 an hour from 13:00: spread them.",),
    breaches=(BREACH,),
    ahead=(
        DayAhead(
            date(2026, 10, 29),
            "07:30 to 18:30",
            96,
            "concrete 96",
            120,
            12,
            60,
            "A pour leaves 12 loads.",
            ("Spread them.",),
        ),
    ),
)
EMPTY = replace(STATEMENT, hours=(), caps=(), warnings=(), breaches=(), ahead=(), loads_left=None)


# --- the figure ----------------------------------------------------------------------------------
@pytest.mark.parametrize("width_px", [358, 1180])
def test_the_hours_are_drawn_for_the_width_they_are_given(width_px):
    figure = gate_figure(STATEMENT, width_px)
    assert figure.layout.width == width_px
    assert tuple(figure.layout.xaxis.range) == (6, 20)


def test_bars_stand_on_their_hour_spoil_below_other_below_booked():
    spoil, other, booked = gate_figure(STATEMENT).data
    nine = list(spoil.x).index(9.5)
    assert (spoil.y[nine], other.y[nine], booked.y[nine]) == (12, 6, 0)
    assert booked.y[-1] == 5
    assert booked.marker.pattern.shape == "/"


def test_only_an_hour_above_the_cap_is_vermilion_and_says_so():
    spoil, _, booked = gate_figure(STATEMENT).data
    assert spoil.marker.color.count(theme.BREACH) == 1
    assert booked.text[list(spoil.x).index(9.5)] == "over cap"
    exact = replace(STATEMENT, hours=(hour(9, spoil=16, left=0),))
    assert gate_figure(exact).data[0].marker.color == (theme.INK,)


def test_the_cap_the_moment_and_the_shut_hours_are_drawn():
    figure = gate_figure(STATEMENT)
    shut = [(s.x0, s.x1) for s in figure.layout.shapes if s.fillcolor == SHUT]
    assert shut == [(6, 7.5), (18.5, 20)]
    texts = [a.text for a in figure.layout.annotations]
    assert "cap 16 an hour" in texts
    assert "11:30" in texts
    over = gate_figure(replace(STATEMENT, at="end of the day"))
    assert "11:30" not in [a.text for a in over.layout.annotations]


def test_a_day_without_anything_says_so():
    assert gate_figure(EMPTY).layout.annotations[0].text == NOTHING
    assert gate_summary(EMPTY) == NOTHING


def test_the_summary_counts_spoil_other_traffic_and_what_is_booked():
    assert gate_summary(STATEMENT) == (
        "28 movements of spoil and 10 of other traffic, 35 more booked. 1 hour is over the cap of"
        " an hour. At the rate of today the day comes to about 110 (100 to 120) movements."
    )


def test_the_numbers_of_an_hour_say_what_is_left():
    words = hour_numbers(hour(12, spoil=0, awaited=5, left=11))
    assert "booked 5 in, 0 out; 5 still to come" in words
    assert "11 left" in words
    assert "2 more than the cap" in hour_numbers(hour(9, left=-2))


# --- the panel -----------------------------------------------------------------------------------
def test_the_panel_says_used_booked_and_left_of_each_cap():
    words = texts_of(gate_figures(STATEMENT))
    assert "Movements a day, both ways 60 of 120 20 booked, 40 left" in words
    assert "Room for spoil 20 loads gate 07:30 to 18:30" in words
    over = replace(STATEMENT, caps=(cap(used=18, booked=0, left=-2),))
    assert "18 of 16 2 over the cap" in texts_of(gate_figures(over))


def test_the_panel_has_headline_warning_figure_rows_and_days_ahead():
    panel = gate_panel(STATEMENT, 1180)
    words = texts_of(panel)
    for said in (
        STATEMENT.headline,
        *STATEMENT.warnings,
        "96 concrete 96 120 12 60 Spread them.",
        "By permission: letter 1.",
        BREACH.sentence,
    ):
        assert said in words
    assert ids_of(panel) == ["spoil-gate-hours"]
    assert "09:00 6 / 6 6 / 0 0 / 0 18 −2" in texts_of(hours_rows(STATEMENT))


def test_each_breach_leads_to_the_loads_behind_it():
    (line,) = breaches_list(STATEMENT)
    links = [part.href for part in parts_of(line) if hasattr(part, "href")]
    assert links == [
        "/records?entry=e1",
        "/records?entry=e2",
        "/records?kind=lorry_loads&since=2026-10-26&until=2026-10-26",
    ]
    assert "in 08:05, out 08:40: 2 movements" in texts_of(line)
    assert "Open" in texts_of(line)
    closed = replace(STATEMENT, breaches=(replace(BREACH, closed=True),))
    assert "Closed with a reason" in texts_of(breaches_list(closed))


def test_a_breach_of_one_row_leads_straight_to_it():
    (line,) = breaches_list(replace(STATEMENT, breaches=(replace(BREACH, passes=(BEHIND,)),)))
    assert [p.href for p in parts_of(line) if hasattr(p, "href")] == ["/records?entry=e1"]


def test_older_breaches_stand_behind_a_disclosure():
    many = replace(STATEMENT, breaches=(BREACH,) * 8)
    parts = breaches_list(many)
    assert len(parts) == 6
    assert "3 older ones" in texts_of(parts[-1])


def test_a_gate_without_caps_or_breaches_says_so():
    words = texts_of(gate_panel(EMPTY, 358))
    assert "no cap is set up" in words
    assert "No cap was passed, and nobody passed outside the window." in words
    assert "Bookings of the next two weeks: none." in words


def test_a_cap_of_an_hour_is_no_cap_of_a_day_while_no_hour_is_used():
    unused = replace(STATEMENT, caps=(cap(hour=None), cap("day", 120)))
    texts = texts_of(gate_figures(unused))
    assert "Movements an hour, both ways" in texts
    assert texts.count("Movements a day, both ways") == 1
    assert movements_today(unused)[1] == "60 of 120"
