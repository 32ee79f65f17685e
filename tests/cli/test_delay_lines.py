"""The statements of delays and of hold points on the command line."""

from __future__ import annotations

AS_OF = ["--as-of", "2026-11-02"]


def test_delays_say_what_each_cause_took_and_who_can_remove_it(season):
    said = season.done("statement", "delays", *AS_OF).splitlines()
    data = season.json("statement", "delays", *AS_OF)
    assert said[0] == data["headline"]
    assert "which nobody" in said[0] or "nobody on site" in said[0]
    (rain,) = data["lines"]
    row = next(x for x in said if x.startswith("Rain"))
    assert row.split()[1:4] == ["nobody", "1", "9.0"]
    assert row.endswith("leads")
    assert f"{rain['lost_bank_m3']:,.0f}" in row
    assert any(x.startswith("  zone A: ") for x in said)


def test_the_period_of_the_delays_can_be_chosen(season):
    data = season.json("statement", "delays", *AS_OF, "--since", "2026-10-26")
    assert (data["since"], data["lines"]) == ("2026-10-26", [])
    assert "says nothing of holds" in season.refused("statement", "holds", "--since", "2026-10-26")


def test_holds_list_every_hold_point_and_the_formation_of_every_zone(season):
    said = season.done("statement", "holds", *AS_OF).splitlines()
    data = season.json("statement", "holds", *AS_OF)
    assert said[0] == data["headline"]
    assert len(data["holds"]) == 8
    for hold in data["holds"]:
        assert any(x.startswith(f"{hold['zone']} {hold['hold']} ") for x in said)
    for zone in data["formation"]:
        assert any(x.endswith(zone["sentence"]) for x in said)
    assert any("It was suspended on Wed 28 Oct 2026 15:00 for 21 h" in x["sentence"]
               for x in data["holds"])  # fmt: skip
