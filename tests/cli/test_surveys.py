"""Surveys on the command line: a look at the report, then the record; lists, statements, limits."""

from __future__ import annotations

import json

import pytest

from tests.cli.conftest import Here
from tests.survey_points import floor_points, write_points

AT = ("--surveyed-at", "2026-10-23 06:30", "--order", "ENZ")


@pytest.fixture
def box(pit: Here) -> Here:
    """The pit with a shift's return and a file of points; zone A is released to 100 m."""
    pit.done("record", "holds", "decided_at=2026-10-21 15:00", "zone=A", "hold=1",
             "status=released", "permit=P", "decided_by=coordinator")  # fmt: skip
    pit.done("record", "returns", "work_date=2026-10-22", "shift=day", "zone=A", "stage=1",
             "stream=clay", "basis=measured", "bank_m3=200", "from_level_m=104",
             "to_level_m=102", "lowest_level_m=102")  # fmt: skip
    write_points(pit.folder / "s1.csv", floor_points((102.1, 103.5)))
    return pit


def imported(box: Here, name="S1", file="s1.csv", *more: str):
    return box.json("survey", "import", file, "--survey", name, *AT, "--accept", *more)


def test_without_a_yes_the_report_is_shown_and_nothing_recorded(box: Here):
    said = box.done("survey", "import", "s1.csv", "--survey", "S1", *AT)
    assert "Points used: 800 of 800" in said
    assert "A  " in said
    assert "190.0 ± " in said
    assert "the temporary works coordinator govern" in said
    assert "Nothing is recorded yet" in said
    assert box.json("survey", "list")["surveys"] == []


def test_accepted_it_is_recorded_and_listed_with_its_file(box: Here):
    found = imported(box)
    assert found["recorded"] is True
    assert [zone["dug_m3"] for zone in found["zones"]] == pytest.approx([190.0, 50.0])
    (listed,) = box.json("survey", "list")["surveys"]
    assert (listed["survey"], listed["file"], listed["sha256"]) == ("S1", "s1.csv", found["sha256"])
    assert "S1" in box.done("survey", "list", "--excavation", "BOX")
    assert "s1.csv" in box.done("history", found["entry_id"])


def test_someone_at_the_keyboard_is_asked_after_the_report(box: Here, monkeypatch):
    monkeypatch.setattr("tracker.cli.surveys._somebody_there", lambda: True)
    from typer.testing import CliRunner

    from tracker.cli import _app

    words = ["survey", "import", "s1.csv", "--survey", "S1", *AT]
    no = CliRunner().invoke(_app, words, input="n\n")
    assert "Record this survey? [y/N]: n" in no.output
    assert box.json("survey", "list")["surveys"] == []
    yes = CliRunner().invoke(_app, words, input="y\n")
    assert yes.output.index("Points used") < yes.output.index("Record this survey?")
    assert "Recorded survey S1 as entry" in yes.output


def test_a_column_order_left_out_is_proposed_aloud(box: Here):
    said = box.done("survey", "import", "s1.csv", "--survey", "S1", "--surveyed-at",
                    "2026-10-23 06:30")  # fmt: skip
    assert "Column order of s1.csv taken as ENZ" in said


def test_a_survey_below_the_permitted_level_says_so_before_and_after(box: Here):
    write_points(box.folder / "deep.csv", floor_points((99.5, 103.5)))
    said = box.done("survey", "import", "deep.csv", "--survey", "S1", *AT, "--accept")
    assert "0.500 m below the permitted 100.000 m" in said
    assert "BREACH" in box.done("survey", "show")
    assert "BREACH" in box.done("statement", "day", "--as-of", "2026-10-23")


def test_show_states_volumes_quality_and_the_returns_beside_them(box: Here):
    imported(box)
    said = box.done("survey", "show", "S1")
    assert "240 ± 4 m³ bank dug since the ground. The returns say 200 m³ (-16.7 %)" in said
    assert "A stage 1" in said
    assert "Standard uncertainty: points" in said
    found = box.json("survey", "show", "S1")
    assert found["total"]["net_m3"] == pytest.approx(240.0)
    box.done("survey", "show", "--out", "s1.xlsx")
    assert (box.folder / "s1.xlsx").read_bytes()[:2] == b"PK"


def test_volumes_between_two_surveys(box: Here):
    imported(box)
    write_points(box.folder / "s2.csv", floor_points((101.1, 103.5)))
    later = ("--survey", "S2", "--surveyed-at", "2026-10-24 20:00", "--order", "ENZ", "--accept")
    box.json("survey", "import", "s2.csv", *later)
    found = box.json("survey", "show", "S2", "--since", "S1")
    assert found["total"]["net_m3"] == pytest.approx(100.0)
    assert "not made before" in box.refused("survey", "show", "S1", "--since", "S2")


def test_limits_are_stated_anew_with_a_reason(box: Here):
    imported(box)
    found = box.json("survey", "check", "S1")
    assert (found["amber_percent"], found["red_percent"]) == (3.0, 6.0)
    west = next(v for v in found["volumes"] if (v["zone"], v["stage"]) == ("A", None))
    assert west["severity"] == "amber"
    assert "reason" in box.refused("survey", "check", "S1", "--red", "5")
    found = box.json("survey", "check", "S1", "--red", "5", "--reason", "contract clause 12")
    west = next(v for v in found["volumes"] if (v["zone"], v["stage"]) == ("A", None))
    assert (found["red_percent"], west["severity"]) == (5.0, "red")


def test_a_survey_of_a_part_laid_over_the_one_before(box: Here):
    imported(box)
    write_points(box.folder / "part.csv", floor_points((101.6, 103.5)))
    (box.folder / "ring.csv").write_text("2,2\n8,2\n8,8\n2,8\n")
    part = ("survey", "import", "part.csv", "--survey", "S2", "--surveyed-at", "2026-10-24 20:00",
            "--order", "ENZ", "--boundary", "ring.csv")  # fmt: skip
    assert "not the file that a survey" in box.refused(*part, "--earlier", "part.csv")
    box.done(*part, "--earlier", "s1.csv", "--accept")
    assert "18.0 m³ were dug in zone A since S1" in box.done("survey", "show", "S2")


def test_a_control_patch_is_held_to_the_earlier_file(box: Here):
    imported(box)
    write_points(box.folder / "s2.csv", floor_points((101.1, 103.44)))
    (box.folder / "patch.csv").write_text("12,2\n18,2\n18,8\n12,8\n")
    said = box.done("survey", "import", "s2.csv", "--survey", "S2", "--surveyed-at",
                    "2026-10-24 20:00", "--order", "ENZ", "--control", "patch.csv", "--earlier",
                    "s1.csv")  # fmt: skip
    assert "Red: Ground that was not dug differs by -0.060 m" in said


def test_a_withdrawn_survey_is_gone_from_the_list(box: Here):
    entry = imported(box)["entry_id"]
    box.done("withdraw", entry, "--reason", "wrong benchmark")
    assert box.json("survey", "list")["surveys"] == []
    assert "No survey of" in box.refused("survey", "show")


@pytest.mark.parametrize(
    ("file", "text", "said"),
    [
        ("empty.csv", "", "empty|no points|no line"),
        ("one.csv", "5,5,102\n", "three"),
        ("line.csv", "1,1,102\n2,2,102\n3,3,102\n4,4,102\n", "inside|line"),
        ("far.csv", "530000,180000,102\n530001,180000,102\n530000,180001,102\n", "None of|outside"),
        ("nan.csv", "1,1,nan\n2,2,102\n3,1,102\n", "nan|no number"),
        ("absent.csv", None, "There is no file"),
    ],
)
def test_a_bad_file_gets_a_sentence_and_stores_nothing(box: Here, file, text, said):
    import re

    if text is not None:
        (box.folder / file).write_text(text)
    words = box.refused("survey", "import", file, "--survey", "S1", *AT, "--accept")
    assert re.search(said, words), words
    assert box.json("survey", "list")["surveys"] == []


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--u-datum", "-1", "--u-datum"),
        ("--thin", "x", "--thin"),
        ("--thin", "0", "--thin"),
        ("--datum", "local", "site"),
        ("--surveyed-at", "23/10/2026 06:30", "not a date and time"),
        ("--excavation", "HOLE", "BOX"),
    ],
)
def test_a_bad_answer_is_refused_with_its_option_or_its_choices(box: Here, option, value, said):
    words = ["survey", "import", "s1.csv", "--survey", "S1", *AT]
    if option in words:
        del words[words.index(option) : words.index(option) + 2]
    assert said in box.refused(*words, option, value)


def test_json_of_the_report_is_one_object_without_rounding(box: Here):
    said = json.loads(box.done("survey", "import", "s1.csv", "--survey", "S1", *AT, "--json"))
    assert said["recorded"] is False
    assert said["coverage"]["area_m2"] == pytest.approx(200.0)
    assert said["rejected"]["outside"] == 0
