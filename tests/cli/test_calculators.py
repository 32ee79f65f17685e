"""The calculators as people meet them: through the command line."""

import json
import math
import shlex
import subprocess
import sys

import pytest
import typer
from typer.testing import CliRunner

from tracker.cli.calculators import add_to

APP = typer.Typer(no_args_is_help=True)
add_to(APP)
ENTRY = "import typer, tracker.cli.calculators as c; app = typer.Typer(); c.add_to(app); app()"
LORRY = "carbon lorry --vehicle rigid_over_17t --max-payload-t 20 --km 25"


def run(command):
    return CliRunner().invoke(APP, shlex.split(command))


def answer(command):
    result = run(f"{command} --json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def sentence(command):
    result = run(command)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    return result.stderr.strip()


def test_convert_gives_every_unit_and_null_without_a_factor():
    assert answer("convert --bank-m3 100 --loose-per-bank 1.25 --compacted-per-bank 0.9") == {
        "bank_m3": 100.0,
        "loose_m3": 125.0,
        "compacted_m3": 90.0,
        "mass_t": None,
    }


@pytest.mark.parametrize(
    ("given", "bank_m3"),
    [("--loose-m3 130", 100), ("--compacted-m3 90", 100), ("--mass-t 200", 100)],
)
def test_convert_starts_from_any_unit(given, bank_m3):
    factors = "--swell-percent 30 --compacted-per-bank 0.9 --bank-density 2"
    data = answer(f"convert {given} {factors}")
    assert data["bank_m3"] == pytest.approx(bank_m3)
    assert data["mass_t"] == pytest.approx(200)


def test_convert_by_material_states_the_uncertainty_where_a_range_is_known():
    data = answer("convert --bank-m3 100 --material 'stiff clay'")
    assert data["mass_t"] == pytest.approx(203.0)
    assert data["u_loose_m3"] == pytest.approx(100 * 0.05 / 12**0.5)
    assert "u_bank_m3" not in data


def test_convert_in_words_says_the_source():
    result = run("convert --mass-t 19 --material 'sand and gravel'")
    assert "10.000 m³ bank" in result.stdout
    assert "Nunnally" in result.stdout


def test_a_factor_given_wins_over_the_material_and_over_its_note():
    command = "convert --bank-m3 100 --material clay --bank-density 2.0"
    assert answer(command)["mass_t"] == 200.0
    text = run(command).stdout
    assert "loose_per_bank: Nunnally" in text
    assert "bank_density_t_per_m3" not in text


@pytest.mark.parametrize(
    ("command", "says"),
    [
        ("convert --bank-m3 1,5", "“1,5” has a comma"),
        ("convert --bank-m3 nan", "not a number"),
        ("convert --bank-m3 inf", "not a number"),
        ("convert --bank-m3 -5", "must be 0 or more"),
        ("convert --bank-m3 =1+1", "formula"),
        ("convert", "exactly one of"),
        ("convert --bank-m3 1 --mass-t 2", "exactly one of"),
        ("convert --bank-m3 1 --loose-per-bank 30", "write 1.3 as loose / bank"),
        ("convert --bank-m3 1 --loose-per-bank 0.3", "write 1.3"),
        ("convert --bank-m3 1 --swell-percent 0.3", "write 30 %"),
        ("convert --bank-m3 1 --swell-percent 30 --loose-per-bank 1.3", "not both"),
        ("convert --bank-m3 1 --bank-density 19", "kN/m³"),
        ("convert --mass-t 1", "give --bank-density"),
        ("convert --bank-m3 1 --material claw", "Did you mean “clay”"),
        ("solid end-area --areas 5 --spacing 1", "too few"),
        ("solid end-area --areas 5,,6 --spacing 1", "blank"),
        ("solid grid --spacing 10", "Give --depths"),
        ("solid cone --diameter 10", "exactly two"),
        ("solid cone --volume 10 --diameter 3", "nothing else"),
        ("solid windrow --length 5 --width 8 --height 2", "toe to toe"),
        (f"{LORRY} --payload-t 20.5 --year 2025", "unsafe and unlawful"),
        (f"{LORRY} --payload-t 20 --year 2026", "2025"),
        (f"{LORRY} --payload-t 20 --year soon", "--year is “soon”"),
        ("carbon electricity --kwh 1 --year 2026", "2025"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(command, says):
    assert says in sentence(command)


def test_payload_sizes_loads_and_movements():
    data = answer(
        "payload --plated-t 20 --body-m3 12 --loose-per-bank 1.3 --bank-density 1.9 --bank-m3 1000"
    )
    assert list(data) == [
        "payload_t",
        "bank_m3_per_load",
        "loose_m3_per_load",
        "governs",
        "loads",
        "movements",
    ]
    assert data["payload_t"] == pytest.approx(12 / 1.3 * 1.9)
    assert data["governs"] == "volume"
    assert (data["loads"], data["movements"]) == (109, 218)


def test_payload_without_a_volume_to_carry_has_no_loads():
    data = answer("payload --plated-t 20 --body-m3 30 --loose-per-bank 1.3 --bank-density 1.9")
    assert (data["payload_t"], data["governs"], data["loads"]) == (20.0, "weight", None)


@pytest.mark.parametrize(
    ("command", "volume_m3"),
    [
        ("end-area --areas 14.25,18.975 --spacing 50", 830.625),
        ("prismoidal --areas 1200,2000,3000 --spacing 2.5", 10166.6667),
        ("contours --areas 2050,8400,16300,24600,31500 --interval 5", 330250),
        ("grid --depths '0.1,0.8;0,0' --spacing 50", 562.5),
        ("grid --levels '-1,-1;-1,-1' --down-to -3 --spacing 10 --row-spacing 5", 100),
        ("pit --bottom-length 40 --bottom-width 30 --depth 5 --side-slope 2", 10166.6667),
        ("cone --diameter 53 --height 20", math.pi * 53**2 * 20 / 12),
        ("windrow --length 30 --width 8 --height 2.5", 261.888),
    ],
)
def test_each_solid_gives_one_volume(command, volume_m3):
    assert answer(f"solid {command}")["volume_m3"] == pytest.approx(volume_m3, rel=1e-5)
    assert run(f"solid {command}").exit_code == 0


def test_contours_give_both_answers_and_the_method():
    data = answer("solid contours --areas 2050,8400,16300,24600,31500 --interval 5")
    assert data == {
        "volume_m3": 330250.0,
        "method": "prismoidal",
        "end_area_m3": 330375.0,
        "prismoidal_m3": 330250.0,
    }


def test_cone_of_a_volume_gives_its_dimensions():
    data = answer("solid cone --volume 85.68 --repose-deg 32")
    assert data["diameter_m"] == pytest.approx(10.156, abs=0.001)
    assert data["height_m"] == pytest.approx(3.173, abs=0.001)


def test_carbon_of_a_lorry_load():
    data = answer(f"{LORRY} --payload-t 20 --year 2025")
    assert data == pytest.approx(
        {
            "operation_kgco2e": 47.07625,
            "supply_kgco2e": 11.08025,
            "total_kgco2e": 58.1565,
            "total_kgco2e_per_t": 2.907825,
            "operation_kgco2e_per_tkm": 47.07625 / 500,
            "total_kgco2e_per_tkm": 58.1565 / 500,
        }
    )
    assert "Open Government Licence" in run(f"{LORRY} --payload-t 20 --year 2025").stdout


def test_carbon_of_electricity():
    data = answer("carbon electricity --kwh 1000 --year 2025")
    assert data == pytest.approx(
        {
            "generation_kgco2e": 177.0,
            "losses_kgco2e": 18.53,
            "supply_kgco2e": 49.87,
            "total_kgco2e": 245.4,
        }
    )


@pytest.mark.parametrize(
    "command",
    [
        "convert", "payload", "carbon lorry", "carbon electricity", "solid end-area",
        "solid prismoidal", "solid contours", "solid grid", "solid pit", "solid cone",
        "solid windrow",
    ],
)  # fmt: skip
def test_every_help_has_an_example_that_runs(command):
    text = run(f"{command} --help").stdout
    words = " ".join(text.split("Example: spoil ")[1].split("╭")[0].split())
    assert run(words).exit_code == 0


def test_a_process_of_its_own_answers_and_refuses():
    good = subprocess.run(
        [sys.executable, "-c", ENTRY, "convert", "--bank-m3", "1,234.5", "--json"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert json.loads(good.stdout)["bank_m3"] == 1234.5
    bad = subprocess.run(
        [sys.executable, "-c", ENTRY, "convert", "--bank-m3", "240,5"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (bad.returncode, bad.stdout) == (2, "")
    assert bad.stderr.startswith("--bank-m3: “240,5” has a comma")


def test_the_calculators_start_without_heavy_libraries():
    code = f"import sys; {ENTRY.removesuffix('; app()')}; print(sorted(sys.modules))"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout
    assert "'pandas'" not in loaded
    assert "'sqlalchemy'" not in loaded
    assert "'numpy'" not in loaded
