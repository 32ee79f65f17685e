"""The set-up read from its tables: what is refused, with which sentence."""

from __future__ import annotations

import pytest

from tracker.domain import site_tables
from tracker.domain.site_checks import problems_of
from tracker.domain.site_levels import outline_problems
from tracker.domain.site_streams import factor_problems
from tracker.domain.site_tables import TABLES, site_from_tables
from tracker.recording.setup_columns import OPTIONAL_TABLES, SETUP


def errors(tables):
    built, problems = site_from_tables(tables)
    found = [p for p in problems if p.severity == "error"]
    assert (built is None) == bool(found)
    return found


def test_the_tables_read_are_the_tables_of_the_templates():
    assert {name: tuple(c.name for c in table) for name, table in SETUP.items()} == TABLES
    for name, table in SETUP.items():
        optional = {c.name for c in table if not c.required}
        assert optional == set(site_tables._OPTIONAL.get(name, ())), name
    assert set(OPTIONAL_TABLES) == set(site_tables._MAY_BE_ABSENT)


def test_a_sound_set_up_becomes_a_site(tables):
    built, problems = site_from_tables(tables)
    assert built is not None
    assert [p.severity for p in problems] == ["warning"]  # made ground is not classified
    assert built.formation_level_m("A") == 96.0
    assert built.route("R-BELT").belt == "belt-1"
    assert built.stream("clay").loose_per_bank.high == 1.4


def test_rows_in_any_order_give_the_same_site(tables):
    built, _ = site_from_tables(tables)
    for name in ("stages", "ground", "legs"):
        tables[name].reverse()
    assert site_from_tables(tables)[0] == built


@pytest.mark.parametrize(
    ("table", "row", "column", "text", "sentence"),
    [
        ("streams", 0, "loose_per_bank", "30", "write 1.3 as loose / bank"),
        ("streams", 0, "loose_per_bank", "0.3", "write 1.3;"),
        ("streams", 0, "bank_density", "19", "kN/m³: write 1.94 t/m³"),
        ("streams", 0, "bank_density", "1900", "kg/m³: write 1.9 t/m³"),
        ("streams", 0, "bank_density", "1.5", "outside 1.9 to 2.1"),
        ("streams", 0, "waste_code", "170504", "Write 17 05 04"),
        ("streams", 0, "waste_code", "17 05 03", "keeps its asterisk: 17 05 03*"),
        ("streams", 0, "waste_code", "17 05 03*", "code of hazardous waste"),
        ("streams", 0, "regime", "inert", "not one of"),
        ("stages", 1, "design_level_m", "101", "Levels go down"),
        ("stages", 1, "design_level_m", "96,5", "comma"),
        ("stages", 1, "stage", "3", "1 to 2 from the top without a gap"),
        ("stages", 1, "planned_finish", "2026-03-01", "finish before it starts"),
        ("stages", 1, "planned_start", "05/11/2026", "2026-11-05"),
        ("stages", 1, "zone", "a", "“a” is not known. Known: A, B"),
        ("ground", 1, "upper_level_m", "101", "leaves a gap below the band of 1.000 m"),
        ("ground", 1, "upper_level_m", "103", "overlaps the band above by 1.000 m"),
        ("ground", 1, "lower_level_m", "97", "above formation"),
        ("ground", 0, "upper_level_m", "103.5", "ground level is 104.000 m"),
        ("ground", 2, "lower_level_m", "105", "Swap them or correct the sign"),
        ("ground", 2, "stream", "clya", "Did you mean “clay”?"),
        ("zones", 0, "outline", "0 0; 10", "no corner"),
        ("site", 0, "time_zone", "London", "Europe/London"),
        ("site", 0, "first_date", "", "must be filled"),
        ("shifts", 1, "ends", "07:30", "overlaps shift day"),
        ("shifts", 1, "weekdays", "Mon Funday", "no list of weekdays"),
        ("windows", 0, "closes", "07:00", "closes before"),
        ("carriers", 0, "valid_to", "2025-01-01", "lapses before it begins"),
        ("legs", 0, "belt", "", "names its belt"),
        ("legs", 2, "vehicle", "", "names its vehicle"),
        ("legs", 1, "factor_source", "", "needs its source"),
        ("legs", 1, "leg", "3", "without a gap"),
        ("routes", 0, "destination", "quary", "Did you mean “quarry”?"),
        ("vehicles", 0, "plated_gross_t", "32000", "Write tonnes, not kilograms: 32"),
        ("vehicles", 0, "plated_payload_t", "33", "not less than the plated gross"),
        ("vehicles", 0, "fill", "90", "Write 0.9 for 90 %"),
        ("vehicles", 0, "body_m3", "0", "more than 0"),
        ("zones", 1, "zone", "A", "stated in row 2 already"),
        ("causes", 0, "name", "=1+1", "formula"),
    ],
)
def test_each_slip_is_named_where_it_is(tables, table, row, column, text, sentence):
    tables[table][row][column] = text
    found = errors(tables)
    said = [p for p in found if sentence in p.message]
    assert said, [str(p) for p in found]
    assert said[0].file == table


def test_all_problems_come_at_once(tables):
    tables["streams"][0]["loose_per_bank"] = "30"
    tables["stages"][0]["planned_start"] = "tomorrow"
    tables["ground"][2]["stream"] = "peat"
    tables["site"][0]["name"] = ""
    del tables["causes"]
    fields = {(p.file, p.row, p.field) for p in errors(tables)}
    assert {
        ("streams", 2, "loose_per_bank"),
        ("stages", 2, "planned_start"),
        ("ground", 4, "stream"),
        ("site", 2, "name"),
        ("set-up", 0, ""),
    } <= fields


def test_a_waste_code_keeps_its_asterisk(tables):
    tables["streams"][0] |= {"regime": "hazardous waste", "waste_code": "17 05 03*"}
    built, _ = site_from_tables(tables)
    assert built is not None
    assert built.stream("clay").waste_code == "17 05 03*"


def test_tables_that_may_be_absent_may_be_absent(tables):
    for name in OPTIONAL_TABLES:
        tables.pop(name, None)
    assert errors(tables) == []


def test_an_empty_set_up_is_problems_and_no_traceback():
    assert len(errors({})) >= len(SETUP) - len(OPTIONAL_TABLES)


@pytest.mark.parametrize(
    ("outline", "sentence"),
    [
        ("0 0; 10 0", "three corners"),
        ("0 0; 10 10; 10 0; 0 10", "crosses itself"),
        ("0 0; 12 0; 12 10; 0 10", "lies over zone A by 20.00 m²"),
    ],
)
def test_an_outline_is_a_polygon_of_its_own(tables, outline, sentence):
    tables["zones"][0]["outline"] = outline
    found = outline_problems(site_tables.parsed_tables(tables)["zones"])
    assert [sentence in p.message for p in found] == [True]


def test_zones_that_share_an_edge_do_not_overlap(tables):
    assert outline_problems(site_tables.parsed_tables(tables)["zones"]) == []


def test_checks_pass_over_values_that_could_not_be_read(tables):
    for table in tables.values():
        for row in table:
            for column in row:
                row[column] = "?"
    rows = site_tables.parsed_tables(tables)
    assert all(p.row for p in problems_of(rows))
    assert list(factor_problems(rows)) == []
