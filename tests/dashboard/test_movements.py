from dataclasses import replace

from dashboard.pages import movements
from tests.dashboard import examples
from tests.dashboard.pieces import texts_of
from tracker.recording.demo import DEMO_DAY
from tracker.statements import carbon_statement, movements_statement


def test_avoided_movements_are_never_said_without_their_range():
    words = movements.headline(examples.movements())
    assert "lorry movements avoided at the site gate, range" in words


def test_beside_the_avoided_figure_stands_all_it_rests_on():
    words = texts_of(movements.support(examples.movements()))
    for needed in (
        "42,436 t",
        "98.0 % of it weighed",
        "1,660 movements",
        "830 loads, 2 movements each",
        "19 t (18 to 20)",
        "observed 19.20 t over 810 weighed loads",
        "2,760 movements",
        "3,400 movements",
        "empty return counted",
        "2 Mar 2026",
    ):
        assert needed in words, needed


def test_the_rows_end_with_the_total():
    rows = movements.period_rows(examples.movements()).data["body"]
    assert len(rows) == 4
    assert rows[-1][0] == "Total"
    assert rows[-1][3] == "1,660"


def test_carbon_is_shown_by_leg_by_option_and_by_route_name():
    shown = movements.carbon_shown(examples.carbon(), 1240, {"R-BELT": "Belt and barge"})
    assert "invented factor" in texts_of(shown["note"])
    assert "Belt and barge" in texts_of(shown["routes"])
    assert "2025 edition" in texts_of(shown["basis"])
    assert "OGL v3.0" in texts_of(shown["basis"])


def test_break_even_is_shown_once_a_fixed_carbon_was_stated():
    without = movements.carbon_routes(examples.carbon(), {})
    stated = replace(examples.carbon(), fixed_kgco2e=84000.0, break_even_t=21900.0)
    assert len(without) == 1
    words = texts_of(movements.carbon_routes(stated, {}))
    assert "Break-even of the belt's own 84,000 kg CO2e: 21,900 t." in words


def test_the_demonstration_makes_a_claim_that_carries_its_basis(demo):
    statement = movements_statement(demo, DEMO_DAY)
    shown = movements.movements_shown(statement, 1240)
    assert "frozen on" in shown["claim"]
    assert len(shown["bars"].data[0].x) == len(statement.lines)


def test_the_demonstration_shows_every_leg(demo):
    statement = carbon_statement(demo, DEMO_DAY)
    shown = movements.carbon_shown(statement, 358, {})
    assert len(shown["carbon"].layout.yaxis.ticktext) == len(statement.legs)


def test_a_period_may_be_given_either_way_round():
    assert movements._period("2026-10-27", "2026-10-01") == movements._period(
        "2026-10-01", "2026-10-27"
    )
