"""The volume of a survey as people meet it: files in, one answer or one sentence out."""

import json
import math

import numpy as np
import pytest
import typer
from typer.testing import CliRunner

from tests.recording.points.files import landxml, rows_text
from tests.recording.points.test_cloud import scan
from tracker.cli import bars
from tracker.cli.volume import add_to

APP = typer.Typer()
add_to(APP)
EAST, NORTH, SIDE = 530_000.0, 180_000.0, 50.0
KEYS = [
    "net_m3",
    "bands",
    "area_m2",
    "covered_percent",
    "wall_extrapolated_percent",
    "long_edge_percent",
    "points_in",
    "points_used",
    "rejected",
    "second_method_difference_percent",
    "u_random_m3",
    "u_level_m3",
    "u_edge_m3",
    "u_interpolation_m3",
    "u_combined_m3",
]


def level_points(level_m, count=3000, seed=1):
    """Points of level ground inside the wall."""
    chance = np.random.default_rng(seed)
    x, y = chance.uniform(0.3, SIDE - 0.3, (2, count))
    return np.column_stack([EAST + x, NORTH + y, np.full(count, level_m)])


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    corners = [(0, 0), (SIDE, 0), (SIDE, SIDE), (0, SIDE)]
    (tmp_path / "wall.csv").write_text("".join(f"{EAST + x},{NORTH + y}\n" for x, y in corners))
    (tmp_path / "before.csv").write_text(rows_text(level_points(2.0, seed=2)))
    (tmp_path / "after.csv").write_text(rows_text(level_points(-5.5)))
    west = [[EAST, NORTH], [EAST + 20, NORTH], [EAST + 20, NORTH + SIDE], [EAST, NORTH + SIDE]]
    east = [[EAST + 20, NORTH], [EAST + SIDE, NORTH], [EAST + SIDE, NORTH + SIDE], west[2]]
    features = [
        {"type": "Feature", "properties": {"zone": zone},
         "geometry": {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}}
        for zone, ring in (("W", west), ("E", east))
    ]  # fmt: skip
    (tmp_path / "zones.geojson").write_text(
        json.dumps({"type": "FeatureCollection", "features": features})
    )
    return tmp_path


def run(*words):
    return CliRunner().invoke(APP, ["--outline", "wall.csv", *words])


def answer(*words):
    result = run(*words, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def sentence(*words):
    result = run(*words)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert isinstance(result.exception, SystemExit)
    assert "Traceback" not in result.stderr
    return result.stderr.strip().splitlines()[-1]


def test_a_flat_dig_is_area_times_depth_with_every_key(folder):
    data = answer("--after", "after.csv", "--order", "ENZ", "--from-level", "2")
    assert list(data) == KEYS
    assert data["net_m3"] == pytest.approx(SIDE**2 * 7.5, rel=1e-9)
    assert data["area_m2"] == pytest.approx(SIDE**2)
    assert data["covered_percent"] == pytest.approx(100.0)
    assert data["points_in"] == data["points_used"] == 3000
    assert data["second_method_difference_percent"] == pytest.approx(0.0, abs=1e-6)
    assert data["u_level_m3"] == pytest.approx(25.0)
    assert data["u_edge_m3"] == pytest.approx(4 * SIDE * 7.5 * 0.01)
    parts = [data[f"u_{part}_m3"] for part in ("random", "level", "edge", "interpolation")]
    assert data["u_combined_m3"] == pytest.approx(math.hypot(*parts))


def test_two_surveys_by_zone_and_level_sum_to_the_net_volume(folder):
    data = answer(
        "--after", "after.csv", "--before", "before.csv", "--order", "ENZ",
        "--zones", "zones.geojson", "--levels", "2,0,-3,-5.5",
    )  # fmt: skip
    assert data["net_m3"] == pytest.approx(SIDE**2 * 7.5, rel=1e-9)
    west = [band for band in data["bands"] if band["zone"] == "W"]
    assert [(b["from_level_m"], b["to_level_m"]) for b in west] == [(2, 0), (0, -3), (-3, -5.5)]
    assert [b["net_m3"] for b in west] == pytest.approx([2000.0, 3000.0, 2500.0])
    assert sum(b["net_m3"] for b in data["bands"]) == pytest.approx(data["net_m3"], rel=1e-12)
    assert data["points_in"] == 6000
    assert all(band["u_m3"] > 0 for band in data["bands"])


def test_without_levels_bands_are_whole_metres(folder):
    data = answer("--after", "after.csv", "--order", "ENZ", "--from-level", "2")
    assert [b["to_level_m"] for b in data["bands"]] == [1, 0, -1, -2, -3, -4, -5, -6]


def test_other_formats_give_the_same_volume(folder):
    points = level_points(-5.5, 500)
    corners = [(EAST + x, NORTH + y, -5.5) for x in (0, SIDE) for y in (0, SIDE)]
    scan(folder / "after.laz", points)
    (folder / "after.xml").write_text(landxml(corners, [(0, 1, 2), (1, 2, 3)]))
    for name in ("after.laz", "after.xml"):
        data = answer("--after", name, "--from-level", "2")
        assert data["net_m3"] == pytest.approx(SIDE**2 * 7.5, rel=1e-9)


def test_feet_and_datum_are_stated(folder):
    (folder / "feet.csv").write_text(rows_text(level_points(-105.5) / 0.3048, number="{:.7f}"))
    data = answer("--after", "feet.csv", "--order", "ENZ", "--unit", "ft", "--datum-shift", "100",
                  "--from-level", "2")  # fmt: skip
    assert data["net_m3"] == pytest.approx(SIDE**2 * 7.5, rel=1e-6)


def test_thinning_and_filtering_are_counted(folder):
    points = level_points(-5.5, 20_000)
    points[:150, 2] += 2.0
    (folder / "after.csv").write_text(rows_text(points))
    data = answer("--after", "after.csv", "--order", "ENZ", "--from-level", "2", "--thin", "0.5",
                  "--filter-ground")  # fmt: skip
    assert data["rejected"]["above_ground"] == 150
    assert data["rejected"]["thinned"] > 5000
    assert data["points_used"] + sum(data["rejected"].values()) == data["points_in"]
    assert data["net_m3"] == pytest.approx(SIDE**2 * 7.5, rel=1e-9)


def test_uncertainties_follow_what_is_stated(folder):
    words = ("--after", "after.csv", "--order", "ENZ", "--from-level", "2")
    wide = answer(*words, "--u-datum", "0.03", "--u-wall", "0.05", "--u-point", "0.02")
    plain = answer(*words)
    assert wide["u_level_m3"] == pytest.approx(3 * plain["u_level_m3"])
    assert wide["u_edge_m3"] == pytest.approx(5 * plain["u_edge_m3"])
    assert wide["u_random_m3"] == pytest.approx(2 * plain["u_random_m3"])


def test_in_words_the_answer_says_what_governs(folder):
    result = run("--after", "after.csv", "--order", "ENZ", "--from-level", "2")
    assert result.exit_code == 0
    assert "Net 18,750.000 m³ bank ±" in result.stdout
    assert "100.0 % covered" in result.stdout
    assert "permit on site" in result.stdout


def test_a_shift_between_surveys_shows_where_nothing_was_dug(folder):
    def survey(shift_m, seed):
        street = level_points(4.0, 2000, seed) + np.array([60.0, 0.0, shift_m])
        return np.concatenate([level_points(-5.0 + shift_m, seed=seed), street])

    (folder / "after.csv").write_text(rows_text(survey(0.07, 1)))
    (folder / "before.csv").write_text(rows_text(survey(0.0, 2)))
    corners = ((61, 1), (108, 1), (108, 48), (61, 48))
    (folder / "street.csv").write_text("".join(f"{EAST + x},{NORTH + y}\n" for x, y in corners))
    words = ("--after", "after.csv", "--before", "before.csv", "--order", "ENZ")
    result = run(*words, "--control", "street.csv", "--json")
    assert "lies +0.070 m from the earlier" in result.stderr
    assert "Red: Ground that was not dug" in result.stderr
    assert list(json.loads(result.stdout)) == KEYS


def test_an_order_that_was_not_stated_is_said_aloud_and_json_stays_whole(folder):
    result = run("--after", "after.csv", "--from-level", "2", "--json")
    assert "taken as ENZ" in result.stderr
    assert json.loads(result.stdout)["points_used"] == 3000


def test_a_gate_that_is_not_passed_is_said(folder):
    points = level_points(-5.5)
    lit = np.hypot(points[:, 0] - EAST - 25, points[:, 1] - NORTH - 25) > 12
    (folder / "after.csv").write_text(rows_text(points[lit]))
    result = run("--after", "after.csv", "--order", "ENZ", "--from-level", "2", "--json")
    assert "Red: " in result.stderr
    assert json.loads(result.stdout)["covered_percent"] < 90


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--after", "after.csv"), "--before, or --from-level"),
        (("--after", "after.csv", "--from-level", "2", "--before", "before.csv"), "not both"),
        (("--after", "after.csv", "--from-level", "2", "--control", "wall.csv"), "give --before"),
        (("--after", "none.csv", "--from-level", "2"), "There is no file none.csv"),
        (("--after", "after.csv", "--from-level", "2,5"), "--from-level: “2,5”"),
        (("--after", "after.csv", "--from-level", "2", "--levels", "1,x"), "--levels: “x”"),
        (("--after", "after.csv", "--from-level", "2", "--order", "NEZ"), "order ENZ"),
        (("--after", "after.csv", "--from-level", "2", "--order", "QQ"), "“QQ” is not known"),
        (("--after", "after.csv", "--from-level", "2", "--unit", "ft"), "read in m it would"),
        (("--after", "after.csv", "--from-level", "2", "--thin", "0"), "--thin is 0"),
        (("--after", "after.csv", "--from-level", "2", "--zones", "no.json"), "cannot be read"),
        (("--after", "after.csv", "--from-level", "2", "--u-wall", "-1"), "--u-wall is -1"),
    ],
)
def test_what_cannot_be_is_a_sentence_and_exit_code_two(folder, words, said):
    assert said in sentence(*words)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.csv", "1.0,2.0,-5.0\n", "None of 1 points lies inside"),
        ("a.csv", f"{EAST + 5},{NORTH + 5},-5.0\n", "Only 1 of 1 points"),
        ("a.csv", "".join(f"{EAST + k},{NORTH + k},-5\n" for k in range(1, 40)), "one line"),
        ("a.csv", f"{EAST},{NORTH},nan\n", "the level is “nan”"),
        ("a.csv", f"{EAST};{NORTH};-5,25\n", "has a comma"),
        ("a.csv", "", "is empty"),
        ("a.csv", "7" * 3_000_000, "longer than"),
        ("a.xml", '<!DOCTYPE a [<!ENTITY b "c">]><LandXML/>', "entities"),
        ("a.laz", "LASF", "damaged or cut off"),
        ("a.dxf", "0\nSECTION\n", "DXF"),
    ],
)
def test_a_bad_file_is_a_sentence_and_exit_code_two(folder, name, content, said):
    (folder / name).write_text(content)
    assert said in sentence("--after", name, "--order", "ENZ", "--from-level", "2")


def test_an_outline_that_crosses_itself_is_a_sentence(folder):
    (folder / "wall.csv").write_text("0,0\n10,10\n10,0\n0,10\n")
    assert "no clean ring" in sentence("--after", "after.csv", "--from-level", "2")


def test_a_surface_that_leaves_a_gap_is_not_subtracted(folder):
    corners = [(EAST + x, NORTH + y, -5.5) for x in (0, SIDE / 2) for y in (0, SIDE)]
    (folder / "part.xml").write_text(landxml(corners, [(0, 1, 2), (1, 2, 3)]))
    assert "unlike coverage" in sentence("--after", "part.xml", "--from-level", "2")


def test_above_the_bar_s_threshold_progress_is_drawn_and_json_stays_whole(folder, monkeypatch):
    monkeypatch.setattr(bars, "BAR_FROM", 1000)
    result = run("--after", "after.csv", "--order", "ENZ", "--from-level", "2", "--json")
    assert json.loads(result.stdout)["points_used"] == 3000


def test_help_has_an_example_and_the_caution():
    result = CliRunner().invoke(APP, ["--help"])
    told = " ".join(result.stdout.split())
    assert "spoil volume --after" in told
    assert "permit on site" in told
    assert "can eat berms" in told
