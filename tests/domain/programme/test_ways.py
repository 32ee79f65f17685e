"""How the tonnes go when a way is shut: by what else their stream has, by its fall-back, or not."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.statements.paper import FIRST
from tracker.domain.programme.ways import Share, Shut, Ways, carried, loads_per_t
from tracker.domain.site_tables import site_from_tables
from tracker.errors import InputError

SITE, _ = site_from_tables(FIRST)
WAYS = Ways(
    shares=(Share("clay", "R-BELT", 0.8), Share("made", "R-TIP", 0.2)),
    bank_density_t_per_m3=2.0,
    fall_back={"clay": "R-ROAD"},
)
BELT_OUT = {"R-BELT": Shut("belt", "belt-1")}


def shares(found) -> dict[tuple[str, str], float]:
    return {(s.stream, s.route): pytest.approx(s.share) for s in found.shares}


def test_nothing_changes_while_nothing_is_shut():
    assert carried(SITE, WAYS, {}).shares == WAYS.shares


def test_a_belt_that_is_out_hands_its_tonnes_to_the_fall_back_and_says_where_they_go():
    found = carried(SITE, WAYS, BELT_OUT)
    assert shares(found) == {("clay", "R-ROAD"): 0.8, ("made", "R-TIP"): 0.2}
    assert found.instead == ("belt-1 is shut: clay goes by R-ROAD to quarry.",)
    tip = replace(WAYS, fall_back={"clay": "R-TIP"})
    assert carried(SITE, tip, BELT_OUT).instead == (
        "belt-1 is shut: clay goes by R-TIP to tip, not to quarry.",
    )


def test_ways_that_the_stream_has_already_come_before_the_fall_back():
    mixed = replace(WAYS, shares=(*WAYS.shares[:1], Share("clay", "R-TIP", 0.2)))
    assert shares(carried(SITE, mixed, BELT_OUT)) == {("clay", "R-TIP"): 1.0}


def test_without_a_fall_back_the_tonnes_are_stuck():
    found = carried(SITE, replace(WAYS, fall_back={}), BELT_OUT)
    assert found.stuck == {("belt", "belt-1"): 0.8}
    assert shares(found) == {("made", "R-TIP"): 0.2}


def test_a_fall_back_that_is_shut_as_well_takes_nothing():
    both_shut = BELT_OUT | {"R-ROAD": Shut("gate", "")}
    assert carried(SITE, WAYS, both_shut).stuck == {("belt", "belt-1"): 0.8}


def test_a_belt_stopped_for_a_part_hands_over_that_part_or_waits():
    quarter = {"R-BELT": Shut("belt", "belt-1", 0.25)}
    found = carried(SITE, WAYS, quarter)
    assert shares(found) == {
        ("clay", "R-BELT"): 0.6, ("clay", "R-ROAD"): 0.2, ("made", "R-TIP"): 0.2,
    }  # fmt: skip
    assert "25 % of clay" in found.instead[0]
    assert carried(SITE, replace(WAYS, fall_back={}), quarter).shares == WAYS.shares


@given(
    st.sets(st.sampled_from(["R-BELT", "R-ROAD", "R-TIP"])),
    st.floats(0.05, 1.0),
    st.booleans(),
)
def test_no_tonne_is_lost_or_made(names, part, has_fall_back):
    shut = {name: Shut("stop", "invented", part) for name in sorted(names)}
    ways = WAYS if has_fall_back else replace(WAYS, fall_back={})
    found = carried(SITE, ways, shut)
    total = sum(s.share for s in found.shares) + sum(found.stuck.values())
    assert total == pytest.approx(1.0)


def test_loads_for_a_tonne_go_by_the_lorry_of_each_route():
    # clay 12 m3 / 1.25 x 2.0 = 19.2 t, made ground 12 / 1.2 x 1.8 = 18 t
    by_lorry = [Share("clay", "R-ROAD", 0.5), Share("made", "R-TIP", 0.5)]
    assert loads_per_t(SITE, WAYS, by_lorry) == pytest.approx(0.5 / 19.2 + 0.5 / 18.0)


def test_a_payload_that_is_given_holds_but_never_above_the_plate():
    assert WAYS.with_payload(SITE, 15.0).payload_t(SITE, "rigid", "clay") == 15.0
    assert WAYS.with_payload(SITE, 23.0).payload_t(SITE, "rigid", "clay") == 20.0
    assert WAYS.payload_t(SITE, "rigid", "clay") == pytest.approx(19.2)


def test_an_older_set_up_knows_fewer_routes():
    older = replace(SITE, routes=tuple(r for r in SITE.routes if r.route != "R-ROAD"))
    assert WAYS.known_to(SITE) is WAYS
    assert WAYS.known_to(older).fall_back == {}
    assert WAYS.known_to(replace(SITE, routes=())).shares == ()


def test_shares_need_a_density_and_a_size():
    with pytest.raises(InputError, match="bank_density_t_per_m3"):
        Ways(shares=(Share("clay", "R-BELT", 1.0),))
    with pytest.raises(InputError, match="share of clay by R-BELT"):
        Ways(shares=(Share("clay", "R-BELT", 0.0),), bank_density_t_per_m3=2.0)
