"""Ground ahead: what is released of it, and what waits."""

from __future__ import annotations

from tests.statements import pit
from tracker.statements.date_limits import DateLimits
from tracker.statements.frame import framed
from tracker.statements.governed import zone_words
from tracker.statements.ground_ahead import ground_ahead
from tracker.statements.ways import ground_left


def test_released_ground_is_apart_from_what_waits_for_a_hold(empty, clock):
    clock.moment = pit.ENTERED
    pit.enter(empty)
    frame = framed(empty, pit.AS_OF, None)
    box = ground_ahead(frame, ground_left(frame))["BOX"]
    assert (box.open_zones, box.held_zones) == (["B"], ["A"])
    assert round(box.released_m3) == 362  # B from 99.62 to 96 m
    assert round(box.held_m3) == 800  # A from 104 to 96 m
    assert box.dig(300.0) == 300.0
    assert round(box.dig(300.0)) == 62
    assert (box.any_released, box.any_left) == (False, True)


def test_without_any_limit_there_is_no_least_one():
    assert DateLimits(12.0, [], None, {}).least_m3(["A"]) == (None, False)


def test_zones_are_named_in_a_row():
    assert [zone_words(z) for z in (["A"], ["A", "B"])] == ["zone A", "zones A and B"]
