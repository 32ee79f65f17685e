"""The set-up read from its tables: what is refused, with which sentence."""

from __future__ import annotations

from datetime import time

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
        ("caps", 0, "direction", "inward", "not one of: both, in, out"),
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


# --- the gate ------------------------------------------------------------------------------------
HEADINGS = "reference|valid_from|valid_to|weekdays|opens|closes|per|direction|movements"


def with_permissions(tables, *lines):
    columns = HEADINGS.split("|")
    tables["gate_permissions"] = [
        dict(zip(columns, line.split("|"), strict=True)) for line in lines
    ]
    return tables


def test_permissions_of_the_gate_are_read(tables):
    lines = (
        "letter 1|2026-10-01|2026-10-02|Thu|18:30|22:00|||",
        "letter 2|2026-10-01|2026-10-02||||day||160",
        "letter 3|2026-10-01|2026-10-02||||hour|in|0",
    )
    built, problems = site_from_tables(with_permissions(tables, *lines))
    assert [p.severity for p in problems] == ["warning"]  # made ground is not classified
    opened, of_day, of_hour = built.gate_permissions
    assert (opened.weekdays, opened.closes, opened.movements) == ((3,), time(22), None)
    assert (of_day.per, of_day.direction, of_day.movements) == ("day", "both", 160)
    assert (of_hour.direction, of_hour.movements, of_hour.opens) == ("in", 0, None)


@pytest.mark.parametrize(
    ("line", "column", "sentence"),
    [
        ("|2026-10-01|2026-10-02||18:30|22:00|||", "reference", "must be filled"),
        ("l|01/10/2026|2026-10-02||18:30|22:00|||", "valid_from", "2026-10-01"),
        ("l|2026-10-02|2026-10-01||18:30|22:00|||", "valid_to", "Swap the dates"),
        ("l|2026-10-01|2026-10-02||22:00|02:00|||", "closes", "a row for each of the two days"),
        ("l|2026-10-01|2026-10-02||22:00||||", "opens", "Give both, opens and closes"),
        ("l|2026-10-01|2026-10-02||||day||", "per", "Give both, per and movements"),
        ("l|2026-10-01|2026-10-02||||||160", "movements", "Give both, per and movements"),
        ("l|2026-10-01|2026-10-02||||day||-1", "movements", "negative"),
        ("l|2026-10-01|2026-10-02||||week||160", "per", "not one of: day, hour"),
        ("l|2026-10-01|2026-10-02||18:30|22:00|day||160", "per", "Write a row for each"),
        ("l|2026-10-01|2026-10-02||||||", "opens", "It permits nothing"),
        ("l|2026-10-01|2026-10-02|Funday|18:30|22:00|||", "weekdays", "no list of weekdays"),
    ],
)
def test_each_slip_of_a_permission_is_named(tables, line, column, sentence):
    found = errors(with_permissions(tables, line))
    assert ("gate_permissions", column) in {(p.file, p.field) for p in found}
    assert any(sentence in p.message for p in found), [str(p) for p in found]


@pytest.mark.parametrize(
    ("other", "overlaps"),
    [
        ("m|2026-10-05|2026-10-09||||day||90", True),
        ("m|2026-10-06|2026-10-09||||day||90", False),
        ("m|2026-10-01|2026-10-09||||day|in|90", False),
        ("m|2026-10-01|2026-10-09||||hour||9", False),
        ("m|2026-10-01|2026-10-09|Sat Sun|||day||90", False),
        ("m|2026-10-01|2026-10-09|Fri Sat|||day||90", True),
    ],
)
def test_two_permissions_may_not_set_the_same_cap_on_the_same_day(tables, other, overlaps):
    one = "l|2026-10-01|2026-10-05|Mon-Fri|||day||160"
    found = errors(with_permissions(tables, one, other))
    assert [p.row for p in found if "sets the same cap" in p.message] == [3] * overlaps
    assert len(found) == overlaps


def test_a_permission_to_pass_where_no_windows_are_set_up_is_warned_of(tables):
    del tables["windows"]
    built, problems = site_from_tables(
        with_permissions(tables, "l|2026-10-01|2026-10-02||18:30|22:00|||")
    )
    assert built is not None
    assert any("changes nothing" in p.message for p in problems)


def test_caps_of_both_ways_in_and_out_stand_beside_one_another(tables):
    cap = tables["caps"][0]
    tables["caps"] += [cap | {"direction": "in"}, cap | {"direction": "out"}]
    built, _ = site_from_tables(tables)
    assert [c.direction for c in built.caps] == ["both", "in", "out"]
    tables["caps"].append(cap | {"direction": "both"})
    assert ["stated in row 2 already" in p.message for p in errors(tables)] == [True]


# --- what the ways out can carry -----------------------------------------------------------------
CAPACITIES = {
    "stops": {
        "kind": "belt", "about": "belt-1", "first_day": "2026-03-02", "last_day": "2026-12-31",
        "weekdays": "Wed", "starts": "06:00", "ends": "08:00", "reason": "maintenance",
    },
    "belts": {
        "belt": "belt-1", "running_share": "0.6", "source": "invented", "width_m": "0.8",
        "trough_deg": "30", "surcharge_deg": "15", "speed_m_per_s": "1.6",
        "loose_density_t_per_m3": "1.5", "length_m": "600", "lift_m": "-4",
    },
    "hoists": {
        "hoist": "crane", "zones": "A; B", "skip_m3": "6", "fill": "0.9", "lifts_per_h": "8",
        "source": "invented",
    },
    "fleets": {
        "fleet": "tippers", "vehicle": "rigid", "routes": "R-ROAD; R-TIP", "lorries": "8",
        "loaders": "1", "load_min": "9", "away_min": "130", "source": "invented",
    },
    "receiving": {
        "destination": "quarry", "weekdays": "Mon-Fri", "opens": "07:00", "closes": "17:00",
        "daily_t": "1500",
    },
}  # fmt: skip


def with_capacities(tables):
    return tables | {name: [dict(row)] for name, row in CAPACITIES.items()}


def test_capacities_are_read(tables):
    head = tables["site"][0] | {"zones_at_once": "2", "public_holidays": "no"}
    stages = [row | {"hold_condition": "props at 20 MPa"} for row in tables["stages"]]
    zones = [row | {"exposure_limit_h": "48"} for row in tables["zones"]]
    given = with_capacities(tables) | {"site": [head], "stages": stages, "zones": zones}
    built, problems = site_from_tables(given)
    assert built is not None, problems
    assert (built.zones_at_once, built.public_holidays) == (2, False)
    assert built.stages[0].hold_condition == "props at 20 MPa"
    assert built.zones[0].exposure_limit_h == 48.0
    assert built.stops[0].weekdays == (2,)
    assert built.stops[0].ends == time(8)
    assert built.belts[0].capacity_t_per_h is None
    assert built.belts[0].lift_m == -4.0
    assert built.hoists[0].zones == ("A", "B")
    assert built.fleets[0].routes == ("R-ROAD", "R-TIP")
    assert built.receiving[0].daily_t == 1500.0


def test_without_capacities_a_site_has_none(site):
    assert (site.stops, site.belts, site.hoists, site.fleets, site.receiving) == ((),) * 5
    assert site.zones_at_once is None
    assert site.zones[0].exposure_limit_h is None


@pytest.mark.parametrize(
    ("table", "column", "text", "sentence"),
    [
        ("stops", "about", "belt-2", "Did you mean “belt-1”?"),
        ("stops", "about", "", "Name the belt that stops"),
        ("stops", "kind", "site", "names nothing else"),
        ("stops", "kind", "barge", "not one of: site, gate"),
        ("stops", "last_day", "2026-03-01", "ends before it begins"),
        ("stops", "starts", "", "Give both times"),
        ("belts", "belt", "belt-2", "Did you mean “belt-1”?"),
        ("belts", "speed_m_per_s", "", "there is no speed_m_per_s"),
        ("belts", "running_share", "60", "at most the whole shift"),
        ("belts", "trough_deg", "90", "from 0 to 60"),
        ("belts", "width_m", "0", "more than 0"),
        ("hoists", "zones", "A; X", "“X” is not known"),
        ("hoists", "fill", "90", "0 to 1.2"),
        ("hoists", "lifts_per_h", "0", "more than 0"),
        ("fleets", "vehicle", "artic", "“artic” is not known"),
        ("fleets", "routes", "R-BELT", "leaves the site by belt"),
        ("fleets", "routes", "R-RAOD", "Did you mean “R-ROAD”?"),
        ("fleets", "away_min", "2.2", "shortest believable one of rigid, 60 min"),
        ("fleets", "lorries", "0", "more than 0"),
        ("receiving", "destination", "quary", "Did you mean “quarry”?"),
        ("receiving", "closes", "06:00", "closes before 07:00"),
        ("receiving", "daily_t", "1,5", "comma"),
    ],
)
def test_each_slip_in_a_capacity_is_named(tables, table, column, text, sentence):
    given = with_capacities(tables)
    given[table][0][column] = text
    assert [p.file for p in errors(given) if sentence in p.message] == [table]


@pytest.mark.parametrize(
    ("table", "column"), [("site", "zones_at_once"), ("zones", "exposure_limit_h")]
)
def test_a_limit_of_nothing_is_refused(tables, table, column):
    tables[table][0][column] = "0"
    assert [p.field for p in errors(tables)] == [column]


@pytest.mark.parametrize(
    ("table", "changes", "sentence"),
    [
        ("stops", {"last_day": "2026-03-03"}, "None of these weekdays lies from 2026-03-02 to"),
        ("belts", {"capacity_t_per_h": "2550"}, "2550 t/h is more than a belt of this section"),
        ("fleets", {"lorries": "2", "loaders": "21"}, "21 loaders for 2 lorries. Swap them?"),
        ("zones", {"exposure_limit_h": "4800"}, "4800 h is 200 days. Give hours, such as 48"),
    ],
)
def test_a_figure_that_is_hard_to_believe_is_said_and_taken(tables, table, changes, sentence):
    given = with_capacities(tables)
    given[table][0] |= changes
    built, problems = site_from_tables(given)
    assert built is not None
    assert [p.file for p in problems if sentence in p.message] == [table]
    assert {p.severity for p in problems if sentence in p.message} == {"warning"}


def test_hours_of_a_receiver_that_overlap_are_said(tables):
    given = with_capacities(tables)
    given["receiving"].append(given["receiving"][0] | {"weekdays": "Mon", "opens": "16:00"})
    built, problems = site_from_tables(given)
    assert built is not None
    assert any("Row 2 has hours of quarry that overlap" in p.message for p in problems)
    given["receiving"][1] |= {"opens": "17:00", "closes": "18:00"}
    assert not any("overlap" in p.message for p in site_from_tables(given)[1])


def test_a_problem_with_a_list_shows_it_as_it_was_written(tables):
    given = with_capacities(tables)
    given["hoists"][0]["zones"] = "A; X"
    assert [p.value for p in errors(given)] == ["A; X"]
