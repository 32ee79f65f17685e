import pytest

from tests.statements.paper import FIRST
from tracker.domain.site_tables import site_from_tables
from tracker.domain.surface.coverage import Gates, gates_of


def adopted(*gates):
    rows = [dict(zip(("gate", "amber", "red"), gate, strict=True)) for gate in gates]
    return site_from_tables(FIRST | {"gates": rows})


def test_a_set_up_without_gates_has_the_usual_ones():
    site, _ = adopted()
    assert gates_of(site) == Gates()


def test_a_stated_gate_replaces_the_usual_one_and_leaves_the_others():
    site, problems = adopted(("covered", "99", "95"), ("control", "0.01", "0.03"))
    assert problems == []
    found = gates_of(site)
    assert (found.covered_amber_percent, found.covered_red_percent) == (99.0, 95.0)
    assert (found.control_amber_m, found.control_red_m) == (0.01, 0.03)
    assert found.returns_red_percent == Gates().returns_red_percent


@pytest.mark.parametrize(
    "gate",
    [("covered", "90", "98"), ("wall", "20", "10"), ("returns", "0", "5"), ("control", "-1", "2")],
)
def test_a_gate_whose_red_is_the_softer_limit_is_refused(gate):
    site, problems = adopted(gate)
    assert site is None
    assert "Red must be the harder limit" in problems[0].message


def test_a_gate_twice_or_of_another_name_is_refused():
    assert adopted(("wall", "5", "10"), ("wall", "5", "20"))[0] is None
    site, problems = adopted(("fog", "1", "2"))
    assert site is None
    assert "not one of" in problems[0].message
