"""The capacity statement on the command line."""

from __future__ import annotations


def test_the_days_stand_with_what_governed_them_and_why(season):
    said = season.done("statement", "capacity", "--as-of", "2026-11-02", "--since", "2026-10-22")
    lines = said.splitlines()
    assert lines[2].startswith("Since Thu 22 Oct 2026, of ")
    assert any(x.startswith("2026-10-30 Fri") and x.endswith("calendar") for x in lines)
    assert any(x.startswith("Limits of Tue 2026-11-03") for x in lines)
    assert any("cap of 5 movements a day less usual other traffic" in x for x in lines)
    assert "A limit with “all” is shared by all zones" in said
    assert "A limit computed here permits nothing" in said


def test_as_data_each_day_has_its_cause(season):
    data = season.json("statement", "capacity", "--as-of", "2026-11-02")
    friday = [day for day in data["days"] if day["work_date"] == "2026-10-30"]
    assert {day["governs"] for day in friday} == {"calendar"}
    assert {line["what"] for line in data["measured"]} >= {"kwh_per_t", "belt_t_per_h"}
