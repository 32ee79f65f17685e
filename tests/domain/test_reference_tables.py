from datetime import date

import pytest

from tracker.domain import reference_tables as tables
from tracker.domain.ground import Ground
from tracker.domain.sources import SOURCES
from tracker.errors import FactorMissing, InputError, UnknownName


def test_each_material_offered_has_usable_factors_with_sources():
    for name in tables.material_names():
        found = tables.material_factors(name)
        factors = [
            found.loose_per_bank,
            found.bank_density_t_per_m3,
            found.compacted_per_bank,
            found.repose_deg,
        ]
        known = [factor for factor in factors if factor is not None]
        assert known
        assert all(SOURCES[factor.source_key].confirmed != "from memory" for factor in known)


def test_stiff_clay_has_all_that_a_stream_needs():
    clay = tables.material_factors("stiff clay")
    assert Ground(clay.loose_per_bank, clay.bank_density_t_per_m3, clay.compacted_per_bank)
    assert (clay.loose_per_bank.low, clay.loose_per_bank.high) == (1.25, 1.30)
    assert any("test yours" in note for note in clay.notes)


def test_a_published_range_without_a_centre_takes_its_midpoint_and_says_so():
    clay = tables.material_factors("clay (wide range)")
    assert clay.loose_per_bank.value == pytest.approx(1.45)
    assert "midpoint" in clay.notes[0]


@pytest.mark.parametrize("name", ["clay (military handbook)", "stiff overconsolidated clay"])
def test_figures_from_memory_are_never_a_default(name):
    assert name not in tables.material_names()
    with pytest.raises(FactorMissing, match="from memory only"):
        tables.material_factors(name)


def test_an_unknown_material_suggests_a_near_one():
    with pytest.raises(UnknownName, match="Did you mean “stiff clay”"):
        tables.material_factors("stif clay")


def test_a_missing_year_names_the_year_and_the_nearest_published_one():
    with pytest.raises(FactorMissing, match=r"in 2026.*nearest published year is 2025"):
        tables.ghg_factor(2026, "HGV diesel Rigid (>17 tonnes)", "TTW", "0% Laden", "km")
    with pytest.raises(FactorMissing, match=r"in 2021.*nearest published year is 2022"):
        tables.ghg_factor(2021, "UK electricity", "T&D", "", "kWh")


def test_an_unknown_item_or_boundary_is_told_apart():
    with pytest.raises(UnknownName, match="Did you mean “UK electricity”"):
        tables.ghg_factor(2025, "UK electricty", "generation", "", "kWh")
    with pytest.raises(FactorMissing, match="No edition holds"):
        tables.ghg_factor(2025, "UK electricity", "TTW", "", "kWh")


def test_a_factor_carries_its_unit_and_edition():
    factor = tables.ghg_factor(2024, "Gas oil", "TTW", "", "litres")
    assert (factor.value, factor.unit, factor.source_key) == (
        2.75541,
        "kg CO2e/litres",
        "ghg_2024",
    )


def test_editions_of_a_factor_are_listed_oldest_first():
    assert tables.ghg_years("UK electricity", "generation", "", "kWh") == (
        2022,
        2023,
        2024,
        2025,
        2026,
    )


@pytest.mark.parametrize(
    ("nation", "cls", "day", "gbp_per_t"),
    [
        ("England", "standard", date(2026, 3, 31), 126.15),
        ("Northern Ireland", "standard", date(2026, 4, 1), 130.75),
        ("Wales", "lower", date(2025, 4, 1), 6.30),
        ("Scotland", "lower", date(2025, 10, 1), 4.05),
    ],
)
def test_landfill_tax_goes_by_nation_class_and_day(nation, cls, day, gbp_per_t):
    assert tables.landfill_tax_rate(nation, cls, day).value == gbp_per_t


def test_landfill_tax_is_never_filled_in():
    with pytest.raises(FactorMissing, match="Held: 2025-04-01 to 2026-03-31"):
        tables.landfill_tax_rate("Scotland", "lower", date(2026, 4, 1))
    with pytest.raises(FactorMissing, match="from memory only"):
        tables.landfill_tax_rate("England", "standard", date(2023, 5, 1))
    with pytest.raises(UnknownName):
        tables.landfill_tax_rate("France", "lower", date(2026, 4, 1))
    with pytest.raises(UnknownName):
        tables.landfill_tax_rate("England", "reduced", date(2026, 4, 1))


def test_waste_codes_keep_their_asterisk():
    assert tables.waste_code("17 05 03*").hazardous
    assert not tables.waste_code("17 05 04").hazardous
    with pytest.raises(InputError, match=r"write 17 05 03\* if that is meant"):
        tables.waste_code("17 05 03")
    with pytest.raises(InputError, match="without an asterisk"):
        tables.waste_code("17 05 04*")
    with pytest.raises(UnknownName):
        tables.waste_code("99 99 99")


def test_mixed_demolition_waste_is_no_spoil():
    assert [code for code, row in tables.waste_codes().items() if not row.spoil] == ["17 09 04"]


def test_the_attribution_of_the_open_licence_is_complete():
    assert tables.OGL_ATTRIBUTION == (
        "Contains public sector information licensed under the Open Government Licence v3.0."
    )
