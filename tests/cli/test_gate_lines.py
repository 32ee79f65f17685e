"""The gate statement on the command line."""

from __future__ import annotations

TRAFFIC = {
    "passed_at": "2026-10-22 09:10",
    "purpose": "concrete",
    "vehicles": "4",
    "direction": "both",
}


def test_the_gate_says_what_went_beyond_with_the_loads_behind_it(season):
    lines = season.done("statement", "gate", "--as-of", "2026-11-02").splitlines()
    assert lines[0].startswith("The gate is closed for the day.")
    assert "Gate window: 07:00 to 19:00. As it stands: end of the day." in lines
    assert any(line.startswith("Cap a day, both ways: 3 of 5 movements used") for line in lines)
    assert any("6 movements on Thu 22 Oct 2026, 1 more than the cap of 5" in x for x in lines)
    assert any("Load gate 1 (INV 1) [t1], Load gate 2 (INV 2) [t2]" in x for x in lines)
    assert "Nothing is booked for the two weeks ahead." in lines


def test_a_breach_that_was_closed_is_marked_so(season):
    said = season.done("statement", "gate", "--as-of", "2026-11-02")
    assert "closed: Load gate 6 (INV 5) passed on Sun 25 Oct 2026 at 23:50 and 00:20" in said


def test_other_traffic_counts_and_bookings_stand_ahead(pit):
    pit.done("import", "traffic", pit.write("traffic.csv", [TRAFFIC]))
    booked = {
        "booking": "pour", "gate_date": "2026-10-23", "from_hour": "8", "to_hour": "10",
        "purpose": "concrete", "movements_in": "1", "movements_out": "1", "booked_by": "foreman",
    }  # fmt: skip
    pit.done("import", "bookings", pit.write("bookings.csv", [booked]))
    data = pit.json("statement", "gate", "--as-of", "2026-10-22")
    assert (data["caps"][0]["used"], data["caps"][0]["other"]) == (8, 8)
    assert [b["about"] for b in data["breaches"]] == ["day 2026-10-22"]
    said = pit.done("statement", "gate", "--as-of", "2026-10-22")
    assert "Fri 23 Oct 2026: 2 movements booked (concrete 2)." in said
    day = pit.done("statement", "day", "--as-of", "2026-10-22")
    assert "8 movements of 5 allowed, 8 of them other traffic" in day


def test_the_period_of_the_breaches_is_an_option(season):
    words = ["statement", "gate", "--as-of", "2026-11-02", "--since", "2026-11-01"]
    data = season.json(*words)
    assert data["since"] == "2026-11-01"
    assert {b["day"] for b in data["breaches"]} == {"2026-11-01", "2026-11-02"}
