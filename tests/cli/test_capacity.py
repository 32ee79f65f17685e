"""Belt, fleet and round of a lorry as people meet them: through the command line."""

import json
import shlex

import pytest
import typer
from typer.testing import CliRunner

from tracker.cli.capacity import add_to

APP = typer.Typer(no_args_is_help=True)
add_to(APP)
PLACED = "conveyor --trough-deg 35 --surcharge-deg 15 --speed-m-per-s 2 --loose-density 1.5"
BELT = f"{PLACED} --belt-width-m 1.0 --length-m 120 --t-per-h 400"
WORKED = (
    "conveyor --belt-width-m 1.2 --trough-deg 45 --surcharge-deg 20 --speed-m-per-s 4.8"
    " --loose-density 0.85 --length-m 143 --lift-m 0 --t-per-h 2300 --roller-m 0.436"
    " --friction 0.02 --belt-kg-per-m 16.44 --carry-kg-per-m 12.916666667"
    " --return-kg-per-m 4.4 --skirt-gap-m 0.75 --pulleys-n 720 --skirt-m 4.8 --cleaners 4"
)
FLEET = "fleet --lorries 6 --arrivals-per-h 0.05 --services-per-h 0.5"
CYCLE = "cycle --payload 12 --load-rate 95 --haul-km 7 --speeds 30,40 --dump-min 3"


def run(command):
    return CliRunner().invoke(APP, shlex.split(command))


def answer(command):
    result = run(f"{command} --json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def said(command):
    result = run(command)
    assert result.exit_code == 0, result.output
    return result.stdout


def sentence(command):
    result = run(command)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    return result.stderr.strip()


def test_the_worked_conveyor_comes_out_of_the_command_line():
    data = answer(WORKED)
    assert data["upper_area_m2"] == pytest.approx(0.0445, abs=0.00005)
    assert data["lower_area_m2"] == pytest.approx(0.1357, abs=0.00005)
    assert data["area_m2"] == pytest.approx(data["upper_area_m2"] + data["lower_area_m2"])
    assert data["capacity_t_per_h"] == pytest.approx(0.85 * data["capacity_m3_per_h"])
    assert data["resistance_n"] == pytest.approx(
        {
            "main": 5142.73,
            "secondary": 6177.05,
            "special": 1912.54,
            "slope": 0.0,
            "total": 13232.32,
        },
        abs=0.01,
    )
    assert data["belt_power_kw"] == pytest.approx(63.52, abs=0.01)
    assert data["motor_power_kw"] == pytest.approx(68.93, abs=0.01)
    assert data["lift_power_kw"] == 0.0
    assert data["kwh_per_t"] == pytest.approx(data["motor_power_kw"] / 2300)
    assert data["outside"] == data["warnings"] == []


def test_what_the_conveyor_was_not_told_is_printed_with_where_it_comes_from():
    words = said(f"{BELT} --lift-m 15")
    assert "Assumed: roller_m 0.39, belt_kg_per_m 13.7," in words
    assert "common practice, no source" in words
    assert "Counted as none until stated: feed_speed_m_per_s, skirt_m, cleaners." in words
    assert "permit on site govern" in words
    assert "friction" in answer(f"{BELT} --lift-m 15")["assumed"]
    assert "friction" not in answer(f"{BELT} --lift-m 15 --friction 0.025")["assumed"]


def test_the_form_changes_the_heap_and_is_named():
    iso, din = answer(f"{BELT} --lift-m 15"), answer(f"{BELT} --lift-m 15 --form tan4")
    assert (iso["form"], din["form"]) == ("tan6", "tan4")
    assert din["upper_area_m2"] == pytest.approx(1.5 * iso["upper_area_m2"])
    assert din["lower_area_m2"] == iso["lower_area_m2"]
    assert "(tan4)" in said(f"{BELT} --lift-m 15 --form tan4")


def test_a_belt_asked_for_more_than_it_carries_says_that_it_would_spill():
    belt = f"{PLACED} --belt-width-m 0.5 --length-m 40 --lift-m 4 --t-per-h 900"
    (warning,) = answer(belt)["warnings"]
    assert warning == "900 t/h is more than the full belt carries: it would spill."
    assert warning in said(belt)


def test_a_falling_belt_is_said_to_need_a_brake_and_earns_nothing():
    data = answer(f"{BELT} --lift-m -25")
    assert data["resistance_n"]["slope"] < 0.0
    assert data["lift_power_kw"] == pytest.approx(-400 * 25 / 367)
    assert data["kwh_per_t"] == 0.0
    assert "it needs a brake" in said(f"{BELT} --lift-m -25")


def test_a_belt_too_steep_for_its_load_is_computed_marked_and_warned_of():
    data = answer(f"{BELT} --lift-m 40")
    assert data["motor_power_kw"] > 0.0
    assert any("slope of 19.47° is beyond what the source covers" in s for s in data["outside"])
    assert any("the load may run back" in s for s in data["warnings"])


def test_empty_hours_raise_the_energy_for_a_tonne():
    steady = answer(f"{BELT} --lift-m 15")
    half = answer(f"{BELT} --lift-m 15 --idle-share 0.5")
    more_kwh_per_t = steady["idle_power_kw"] / 400
    assert half["kwh_per_t"] == pytest.approx(steady["kwh_per_t"] + more_kwh_per_t)
    assert "empty 50% of the hours" in said(f"{BELT} --lift-m 15 --idle-share 0.5")


def test_the_queue_of_the_textbook_comes_out_of_the_command_line():
    data = answer(FLEET)
    assert data["p_idle"] == pytest.approx(0.4845, abs=0.0005)
    assert data["queue_length"] == pytest.approx(0.3297, abs=0.0005)
    assert data["in_system"] == pytest.approx(0.8451, abs=0.0005)
    assert data["wait_h"] == pytest.approx(1.279, abs=0.0005)
    assert data["time_in_system_h"] == pytest.approx(3.279, abs=0.0005)
    assert data["p_wait"] == pytest.approx(1 - data["p_idle"])
    assert data["output_per_h"] == pytest.approx(0.05 * (6 - data["in_system"]))
    assert "match factor 0.55" in said(FLEET)


def test_a_second_loader_shortens_the_queue():
    assert answer(f"{FLEET} --loaders 2")["queue_length"] < answer(FLEET)["queue_length"] / 5


def test_the_round_is_given_in_parts_with_the_fleets_on_either_side_of_balance():
    data = answer(CYCLE)
    assert data["load_h"] == pytest.approx(0.126, abs=0.001)
    assert data["haul_h"] == pytest.approx(0.233, abs=0.001)
    assert data["return_h"] == pytest.approx(0.175, abs=0.001)
    assert data["dump_h"] == pytest.approx(0.050, abs=0.001)
    assert data["cycle_h"] == pytest.approx(0.584, abs=0.001)
    assert data["lorries_to_balance"] == pytest.approx(4.63, abs=0.005)
    assert [fleet["lorries"] for fleet in data["fleets"]] == [4, 5]
    words = said(CYCLE)
    assert "4.63 lorries balance one loader" in words
    assert "5 lorries: 6.605 loads/h by queue, 7.917 by timetable" in words
    assert "above its plated weight is unsafe" in words
    assert "common practice, no source" in words


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (f"{BELT} --lift-m 1,5", "--lift-m: “1,5” has a comma"),
        (f"{BELT} --lift-m 130", "A lift of 130 m needs a belt longer than 120 m"),
        (f"{BELT} --lift-m 15 --form tan5", "Known: tan4, tan6"),
        (f"{BELT} --lift-m 15 --friction -1", "--friction is -1; it must be 0 or more"),
        (f"{BELT} --lift-m 15 --idle-share 1", "from 0 to less than 1"),
        (f"{BELT} --lift-m 15 --cleaner-kpa x", "--cleaner-kpa: “x” is not a number"),
        (
            f"{PLACED} --belt-width-m 2 --length-m 9 --lift-m 1 --t-per-h 9",
            "State the length of the middle roller",
        ),
        (
            "conveyor --belt-width-m 1 --trough-deg 35 --surcharge-deg 15 --speed-m-per-s 2"
            " --loose-density 1500 --length-m 120 --lift-m 15 --t-per-h 400",
            "write 1.5 t/m³",
        ),
        (FLEET.replace("6", "6.5"), "--lorries: 6.5 is not a whole number"),
        (FLEET.replace("6", "0"), "lorries is 0; it must be between 1 and 10000"),
        (FLEET.replace("0.05", "0"), "--arrivals-per-h is 0; it must be more than 0"),
        (f"{FLEET} --loaders -1", "loaders is -1"),
        (CYCLE.replace("30,40", "30"), "write laden and empty in km/h, such as 30,40"),
        (CYCLE.replace("30,40", "30,0"), "--speeds is 0; it must be more than 0"),
        (CYCLE.replace("95", "0"), "--load-rate is 0; it must be more than 0"),
    ],
)
def test_bad_input_is_refused_with_a_sentence_and_exit_code_2(command, words):
    assert words in sentence(command)
