"""What an entry means, said back before it is saved."""

from __future__ import annotations

import pytest

from tracker.recording.entry import record
from tracker.recording.preview import preview, usual_vehicle
from tracker.recording.setups import Setup

RETURN = {
    "work_date": "2026-04-07", "shift": "day", "zone": "A", "stage": "1", "stream": "clay",
    "basis": "measured", "bank_m3": "100",
}  # fmt: skip


@pytest.mark.parametrize(
    "amount",
    [
        {"basis": "measured", "bank_m3": "100"},
        {"basis": "counted", "bank_m3": "", "count": "13", "capacity_m3": "10"},
        {"basis": "weighed", "bank_m3": "", "mass_t": "200"},
    ],
)
def test_every_basis_is_said_in_every_unit(book, now, amount):
    echo = preview(book, "returns", RETURN | amount, now=now)
    assert echo.problems == ()
    assert (echo.bank_m3, echo.loose_m3, echo.mass_t) == pytest.approx((100.0, 130.0, 200.0))
    assert echo.loads == 10  # 20 t by the plate; 14 m³ of body would hold 21.5 t
    assert "20 movements" in echo.sentences[1]
    assert book.current("dig_returns") == []


def test_the_uncertainty_is_that_of_the_factors_used(book, now):
    echo = preview(book, "returns", RETURN, now=now)
    assert echo.u_bank_m3 == 0.0
    assert echo.u_loose_m3 == pytest.approx(100 * 0.2 / 12**0.5)
    assert echo.u_mass_t == pytest.approx(100 * 0.2 / 12**0.5)


def test_what_would_be_refused_is_said_and_has_no_quantities(book, now):
    echo = preview(book, "returns", RETURN | {"bank_m3": "240,5"}, now=now)
    assert echo.bank_m3 is None
    assert [(p.field, p.severity) for p in echo.problems] == [("bank_m3", "error")]


def test_a_breach_is_said_before_saving(book, now):
    echo = preview(book, "returns", RETURN | {"lowest_level_m": "103"}, now=now)
    assert "Stop and ask" in echo.problems[0].message
    assert echo.bank_m3 == 100.0


def test_a_nil_shift_is_said_as_one(book, now):
    blank = {"basis": "", "bank_m3": "", "stream": "", "nil_reason": "high wind"}
    echo = preview(book, "returns", RETURN | blank, now=now)
    assert echo.sentences == ("Nil shift in zone A: nothing was dug, high wind.",)
    assert echo.mass_t is None


def test_a_load_is_one_load_and_two_movements(book, now):
    load = {"ticket_issuer": "W", "ticket_number": "1", "gate_out_at": "2026-04-07 09:40",
            "carrier": "haul", "vehicle": "rigid", "stream": "clay", "route": "R-ROAD",
            "net_t": "19.4"}  # fmt: skip
    echo = preview(book, "loads", load, now=now)
    assert echo.sentences == ("One load, two movements, 19.400 t net to quarry.",)


def test_other_kinds_have_their_problems_said(book, now):
    assert preview(book, "stock", {}, now=now).problems != ()


def test_the_usual_lorry_is_that_of_the_first_lorry_leg(site):
    assert usual_vehicle(Setup(site)).vehicle == "rigid"


# --- hold points ---------------------------------------------------------------------------------
HOLD = {
    "decided_at": "2026-04-07 06:00", "zone": "A", "hold": "1", "status": "released",
    "permit": "PTD-1", "decided_by": "coordinator",
}  # fmt: skip


def changed(book, now, **fields):
    (said,) = preview(book, "holds", HOLD | fields, now=now).sentences
    return said


def test_a_decision_says_how_the_permitted_level_changes_and_from_when(book, now):
    release = "The permitted level of zone A goes from 104.000 to 100.000 m, from Tue 7 Apr 2026"
    assert changed(book, now) == f"{release} 06:00."
    entry = record(book, "holds", HOLD, by="tests", now=now).entry_id
    later = {"decided_at": "2026-04-08 06:00"}
    assert "goes from 100.000 to 104.000 m" in changed(book, now, **later, status="suspended")
    assert "stays at 100.000 m" in changed(book, now, **later)
    amended = preview(book, "holds", HOLD, now=now, instead_of=entry)
    assert amended.sentences == (f"{release} 06:00.",)


def test_a_release_of_formation_says_the_area_accepted_in_all(book, now):
    formation = {"hold": "formation", "accepted_m2": "60"}
    said = "Formation of zone A accepted goes from 0 to 60 m² of 100 m², from Tue 7 Apr 2026 06:00."
    assert changed(book, now, **formation) == said
    record(book, "holds", HOLD | formation, by="tests", now=now)
    more = formation | {"decided_at": "2026-04-08 06:00", "accepted_m2": "100"}
    assert "goes from 60 to 100 m²" in changed(book, now, **more)
