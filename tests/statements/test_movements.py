"""The movements statement of the paper pit, against what a reader works out from paper.py."""

from __future__ import annotations

from datetime import date

import pytest

from tests.statements import paper
from tracker.errors import InputError, NotEnoughData
from tracker.statements import movements_statement

# By lorry [t]: R-TIP 18 + 17 + 18 (without weight: 12 m3 / 1.2 x 1.8) + 19 (sent on) = 72
#               R-ROAD 19.5 + 19 + 20 + 18 + 20.4 = 96.9 (ticket 4 was refused)
# By belt [t]: 100 + 50 | reset | 60 + 20 + 10 + 30 = 270
BY_LORRY_T, BY_BELT_T = 72 + 96.9, 270
ALL_T = BY_LORRY_T + BY_BELT_T  # 438.9


def stated(book, grain: str, **options):
    return movements_statement(book, paper.LAST_DAY, grain=grain, **options)


def by_label(statement, *names: str):
    return {line.label: tuple(getattr(line, name) for name in names) for line in statement.lines}


def test_loads_and_movements_of_the_whole_period(book):
    total = stated(book, "total").total
    assert (total.loads, total.movements) == (9, 18)  # ten tickets, one of them sent on
    assert total.belt_t == pytest.approx(BY_BELT_T)
    assert total.lorry_t == pytest.approx(BY_LORRY_T)
    assert total.spoil_t == pytest.approx(ALL_T)
    assert total.weighed_lorry_t == pytest.approx(BY_LORRY_T - 17 - 18)


def test_avoided_is_the_baseline_less_what_was_made_with_a_range_by_payload(book):
    total = stated(book, "total").total
    assert total.baseline_loads == pytest.approx(ALL_T / 18)
    assert total.baseline_movements == pytest.approx(2 * ALL_T / 18)
    assert total.avoided_loads == pytest.approx(ALL_T / 18 - 9)
    assert total.avoided_movements == pytest.approx(2 * ALL_T / 18 - 18)
    assert total.avoided_movements_low == pytest.approx(2 * ALL_T / 20 - 18)  # fuller lorries
    assert total.avoided_movements_high == pytest.approx(2 * ALL_T / 16 - 18)


def test_weights_are_shared_out_into_weighed_and_not(book):
    total = stated(book, "total")
    assert total.weighed_percent == pytest.approx(100 * (270 + 133.9) / 438.9)
    # Weighed are tickets 1, 5, 6, 7, 8, 9 and 10.
    assert total.observed_payload_loads == 7
    assert total.observed_payload_t == pytest.approx(133.9 / 7)
    assert total.basis.quality == (
        "Receipts dated in the period confirm 0 t; 169 t left by lorry. Belt tonnes are those of"
        " its weigher, as read.",
        "Loads without weight: 1, counted at the usual payload of their vehicle (18 t).",
        "Loads rejected: 1; they moved and count as movements, their tonnes do not.",
    )


def test_days_take_each_passage_of_the_gate_on_its_local_date(book):
    assert by_label(stated(book, "day"), "loads", "movements") == {
        "Thu 22 Oct 2026": (3, 6),
        "Fri 23 Oct 2026": (1, 2),
        "Sat 24 Oct 2026": (0, 1),
        "Sun 25 Oct 2026": (2, 3),
        "Mon 26 Oct 2026": (0, 0),
        "Sat 31 Oct 2026": (0, 1),
        "Sun 1 Nov 2026": (1, 2),
        "Mon 2 Nov 2026": (2, 3),
    }


def test_weeks_begin_on_monday_and_a_belt_run_keeps_its_work_date(book):
    weeks = by_label(stated(book, "week"), "loads", "movements", "belt_t", "lorry_t")
    assert weeks == {
        "week of Mon 19 Oct 2026": (6, 12, pytest.approx(150), pytest.approx(53 + 19 + 38.5)),
        "week of Mon 26 Oct 2026": (1, 3, pytest.approx(60 + 20 + 10), pytest.approx(20)),
        "week of Mon 2 Nov 2026": (2, 3, pytest.approx(30), pytest.approx(18 + 20.4)),
    }


def test_months_part_at_midnight_on_site(book):
    months = by_label(stated(book, "month"), "loads", "movements", "spoil_t")
    assert months == {
        "Oct 2026": (6, 13, pytest.approx(240 + 110.5)),  # ticket 8 came in on 31 October ...
        "Nov 2026": (3, 5, pytest.approx(30 + 58.4)),  # ... and left on 1 November
    }


def test_periods_are_cut_at_the_ends_of_what_is_asked(book):
    lines = stated(book, "week", since=date(2026, 10, 24)).lines
    assert [(line.starts, line.ends) for line in lines] == [
        (date(2026, 10, 24), date(2026, 10, 25)),
        (date(2026, 10, 26), date(2026, 11, 1)),
        (date(2026, 11, 2), date(2026, 11, 2)),
    ]
    assert (lines[0].loads, lines[0].movements) == (2, 4)


def test_days_reach_back_a_month_and_weeks_half_a_year_unless_told(book):
    march = date(2027, 3, 1)
    assert movements_statement(book, march, grain="day").since == date(2027, 1, 30)
    may = date(2027, 5, 1)
    assert movements_statement(book, may, grain="week").since == date(2026, 11, 1)
    assert movements_statement(book, march, grain="month").since == date(2026, 10, 19)


def test_routes_say_where_it_went_and_the_road_legs_that_remain(book):
    routes = {r.route: r for r in stated(book, "total").routes}
    assert {name: (r.mass_t, r.loads) for name, r in routes.items()} == {
        "R-BELT": (pytest.approx(270), 0),
        "R-ROAD": (pytest.approx(96.9), 6),
        "R-TIP": (pytest.approx(72), 3),
    }
    assert routes["R-BELT"].onward_road_legs == "2 km by lorry from jetty to quarry"
    assert routes["R-TIP"].destination_kind == "landfill"


def test_lorries_beyond_the_belts_end_are_counted_and_not_claimed(book):
    total = stated(book, "total")
    assert total.onward_loads == pytest.approx(270 / 18)
    # Baseline 438.9 / 18 x 40 km; driven 6 x 40 + 3 x 20 km, and 15 x 2 km beyond the belt's
    # end; all of it there and back.
    expected_km = 2 * (ALL_T / 18 * 40 - (6 * 40 + 3 * 20) - 270 / 18 * 2)
    assert total.avoided_lorry_km == pytest.approx(expected_km)


def test_without_empty_return_the_kilometres_count_one_way(own):
    enter_baseline(own, "one way", "2026-10-20", empty_return="no")
    load(own, "1", "2026-10-22 08:00", net_t="18")
    assert movements_statement(own, paper.LAST_DAY).avoided_lorry_km == pytest.approx(40 - 40)
    load(own, "2", "2026-10-22 10:00", route="R-TIP", net_t="18")
    assert movements_statement(own, paper.LAST_DAY).avoided_lorry_km == pytest.approx(40 - 20)


def test_the_claim_carries_its_own_basis(book):
    claim = stated(book, "total").claim
    for part in (
        "Paper pit, Mon 19 Oct 2026 to Mon 2 Nov 2026:",
        "31 lorry movements (15 loads; range 26 to 37 movements for payloads of 20 to 16 t)",
        "at the site gate against the baseline “all by road” frozen on Mon 19 Oct 2026",
        "18 t a load, 40 km by road to Invented quarry, empty return",
        "439 t left, 92.0 % of it weighed; 270 t went by conveyor, which alone stands for 30",
        "9 loads and 18 movements were made",
        "observed mean payload 19.13 t over 7 loads",
        "beyond the belt's end 30 movements (15 loads of 18 t, 2 km) still run by road",
        "dig returns 79.5 % complete",
    ):
        assert part in claim


def test_the_claim_says_how_complete_the_returns_are_or_that_none_were_due(own):
    load(own, "1", "2026-10-20 08:00", net_t="18")
    early = movements_statement(own, date(2026, 10, 21))
    assert early.claim.endswith("; no dig returns were due yet.")
    assert movements_statement(own, paper.LAST_DAY).claim.endswith("; dig returns 0.0 % complete.")


def test_where_the_range_reaches_nothing_no_avoided_movement_is_claimed(own):
    load(own, "1", "2026-10-22 08:00", net_t="19")
    statement = movements_statement(own, paper.LAST_DAY)
    # 19 t: 1.9 movements at 20 t a load, 2.375 at 16 t; 2 were made.
    assert statement.total.avoided_movements_low < 0 < statement.total.avoided_movements_high
    assert "no avoided lorry movement can be claimed" in statement.claim


def test_nothing_moved_is_a_sentence(own):
    statement = movements_statement(own, paper.LAST_DAY)
    assert statement.claim == "No spoil left the site in the period, so nothing was avoided."
    assert statement.weighed_percent is None
    assert statement.observed_payload_t is None
    assert (statement.lines, statement.total.spoil_t) == ((statement.total,), 0)


def test_a_new_baseline_restates_and_the_old_one_still_stands_as_known_before(own, clock):
    load(own, "1", "2026-10-22 08:00", net_t="18")
    before = movements_statement(own, paper.LAST_DAY)
    then, clock.moment = clock.moment, clock.moment.replace(hour=12)
    enter_baseline(own, "fuller", "2026-10-30", payload_t="20")
    assert movements_statement(own, paper.LAST_DAY).total.baseline_loads == pytest.approx(18 / 20)
    assert movements_statement(own, paper.LAST_DAY).baseline.baseline == "fuller"
    assert movements_statement(own, paper.LAST_DAY, known_at=then).total == before.total
    # It was frozen on 30 October: the statement of an earlier day still rests on the first.
    assert movements_statement(own, date(2026, 10, 25)).baseline.baseline == "all by road"


def test_loads_without_weight_take_the_usual_payload_by_the_set_up_of_their_day(own):
    paper.adopt(own, paper.second_setup(), "second", paper.SECOND_FROM)
    load(own, "1", "2026-10-28 08:00")
    assert movements_statement(own, paper.LAST_DAY).total.lorry_t == pytest.approx(12 / 1.25 * 2.0)
    load(own, "2", "2026-10-29 08:00")
    assert movements_statement(own, paper.LAST_DAY).total.lorry_t == pytest.approx(
        12 / 1.25 * 2.0 + 12 / 1.5 * 2.2
    )


def test_a_route_that_a_later_set_up_no_longer_has_stays_in_the_statement(own):
    load(own, "1", "2026-10-22 08:00", route="R-TIP", net_t="18")
    fewer = paper.second_setup()
    for table in ("routes", "legs"):
        fewer[table] = [row for row in fewer[table] if row["route"] != "R-TIP"]
    fewer["destinations"] = fewer["destinations"][:1]
    paper.adopt(own, fewer, "without the tip", paper.SECOND_FROM)
    (route,) = movements_statement(own, paper.LAST_DAY).routes
    assert (route.route, route.destination) == ("R-TIP", "Invented tip")


@pytest.mark.parametrize("grain", ["day", "week", "month", "total"])
def test_movements_are_twice_the_loads_over_the_whole_of_a_period(book, grain):
    statement = stated(book, grain)
    assert statement.total.movements == 2 * statement.total.loads


def test_what_cannot_be_asked_is_refused_with_a_sentence(own):
    with pytest.raises(InputError, match="Grain “fortnight” is unknown; use day, week, month"):
        movements_statement(own, paper.LAST_DAY, grain="fortnight")
    with pytest.raises(InputError, match="swap the dates"):
        movements_statement(own, date(2026, 10, 22), since=date(2026, 10, 23))


def test_without_a_baseline_nothing_is_called_avoided(empty):
    paper.adopt(empty, paper.FIRST, "first")
    with pytest.raises(NotEnoughData, match="spoil import baseline"):
        movements_statement(empty, paper.LAST_DAY)


# --- short ways to write entries -----------------------------------------------------------------
def load(book, number: str, left: str, route: str = "R-ROAD", **weights: str) -> str:
    return paper.enter(
        book,
        "loads",
        ticket_number=number,
        gate_out_at=left,
        stream="clay",
        route=route,
        **weights,
    )


def enter_baseline(book, name: str, frozen_on: str, **fields: str) -> None:
    given = {k: v for k, v in paper.BASELINE[0].items() if k != "entered"}
    paper.enter(book, "baseline", **(given | {"baseline": name, "frozen_on": frozen_on} | fields))
