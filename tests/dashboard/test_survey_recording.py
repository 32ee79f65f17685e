import time
from dataclasses import replace
from datetime import date

import pytest
from dash import no_update

from dashboard.app import create_app
from dashboard.at_work import FilesAtWork
from dashboard.handing_over import handed_over
from dashboard.surveys import recording
from dashboard.surveys.form import FIELDS, HANDING, SWITCHES
from tests.dashboard.pieces import texts_of
from tests.dashboard.survey_files import box_file
from tracker.errors import InputError
from tracker.recording.demo import DEMO_DAY
from tracker.statements import survey_statement

ANSWERS = {
    "excavation": "box",
    "survey": "SV5",
    "survey_date": "2026-10-24",
    "survey_time": "10:00",
    "method": "scan",
    "order": "",
    "unit": "m",
    "datum": "site",
    "datum_shift_m": "0",
    "thin_m": "",
    "u_point_m": "0.01",
    "u_datum_m": "0.01",
    "u_wall_m": "0.01",
}


def values(**changed):
    answers = ANSWERS | changed
    return [*(answers[name] for name in FIELDS), *(False for _ in SWITCHES)]


def hand(desk, path, kind="points", token=""):
    work = desk.work.opened(token)
    work.place(kind, path.name).write_bytes(path.read_bytes())
    return work


def looked(desk, token):
    """What the page answers once the examination is over."""
    deadline = time.monotonic() + 30
    while not (answer := recording.looked(desk, token, 1240))["still"]:
        assert time.monotonic() < deadline
        time.sleep(0.02)
    return answer


def surveys_of(desk):
    statement = survey_statement(desk.ledger, DEMO_DAY, excavation="box")
    return [one.survey for one in statement.surveys]


# --- handing over --------------------------------------------------------------------------------
@pytest.fixture
def client(own_demo):
    client = create_app(own_demo, today=lambda: DEMO_DAY, user="x").server.test_client()
    client.get("/")
    return client


def token_of(client):
    return client.get_cookie("_csrf_token").value


def test_a_file_without_the_token_of_the_page_is_refused(client):
    answer = client.post("/survey-file?kind=points&name=a.csv", data=b"1,2,3")
    assert answer.status_code == 403


def test_a_file_is_kept_under_a_token_that_is_told_once(client):
    headers = {"X-CSRFToken": token_of(client)}
    first = client.post("/survey-file?kind=points&name=a.csv", data=b"1,2,3", headers=headers)
    other = client.post("/survey-file?kind=points&name=a.csv", data=b"1,2,3", headers=headers)
    assert first.json["name"] == other.json["name"] == "a.csv"
    assert first.json["work"] != other.json["work"]
    again = client.post(
        f"/survey-file?kind=boundary&name=ring.csv&work={first.json['work']}",
        data=b"e,n",
        headers=headers,
    )
    assert again.json["work"] == first.json["work"]


@pytest.mark.parametrize(
    ("query", "data", "words"),
    [
        ("kind=points&name=a.csv", b"", "a.csv is empty"),
        ("kind=payroll&name=a.csv", b"1", "no kind of file"),
    ],
)
def test_what_is_no_file_of_a_survey_is_refused_with_a_sentence(client, query, data, words):
    headers = {"X-CSRFToken": token_of(client)}
    answer = client.post(f"/survey-file?{query}", data=data, headers=headers)
    assert answer.status_code == 400
    assert words in answer.json["refused"]


def test_a_file_too_large_for_the_page_is_sent_to_the_command(client):
    address = "/survey-file?kind=points&name=big.las"
    asked = client.application.test_request_context(address, method="POST", data=b"x" * 11)
    with asked, pytest.raises(InputError, match="spoil survey import"):
        handed_over(replace(HANDING, most_mb=0), FilesAtWork())


# --- looking -------------------------------------------------------------------------------------
def test_a_look_needs_a_file_and_says_which_field_is_wrong(own_desk, tmp_path):
    with pytest.raises(InputError, match="Choose the file of points first"):
        recording.looked_at(own_desk, "", values())
    with pytest.raises(InputError, match="not on the server any more"):
        recording.looked_at(own_desk, "forgotten", values())
    work = hand(own_desk, box_file(tmp_path))
    for changed, words in (
        ({"thin_m": "0,5"}, "Thin to one point a cell: “0,5” has a comma"),
        ({"u_wall_m": "-1"}, "must be 0 or more"),
        ({"survey_date": ""}, "Give the day of the survey"),
    ):
        with pytest.raises(InputError, match=words):
            recording.looked_at(own_desk, work.token, values(**changed))


def test_what_a_file_says_is_shown_whole_and_nothing_is_recorded(own_desk, tmp_path):
    work = hand(own_desk, box_file(tmp_path))
    token = recording.looked_at(own_desk, work.token, values())
    answer = looked(own_desk, token)
    words = texts_of(answer["report"])
    for part in ("What SV5.csv says", "Dug since the ground", "Covered", "Second method",
                 "Points used 1,600 of 1,600", "Column order of SV5.csv taken as ENZ",
                 "The permit on site"):  # fmt: skip
        assert part in words, part
    assert answer["locked"] is False
    assert "SV5" not in surveys_of(own_desk)


def test_a_point_below_the_permitted_level_comes_first_and_in_vermilion(own_desk, tmp_path):
    work = hand(own_desk, box_file(tmp_path, low_m=0.5))
    recording.looked_at(own_desk, work.token, values())
    _heading, first, *_more = looked(own_desk, work.token)["report"]
    worst = first.children[0].children
    assert worst.className == "mark breach"
    assert "Zone D: lowest level 90.250 m is 0.350 m below the permitted 90.600 m" in texts_of(
        worst
    )


def test_a_refused_file_answers_beside_the_button_and_is_still_there(own_desk, tmp_path):
    bad = tmp_path / "bad.csv"
    bad.write_text("easting,northing,level\n1,2\nx,y,z\n")
    work = hand(own_desk, bad)
    recording.looked_at(own_desk, work.token, values())
    answer = looked(own_desk, work.token)
    assert "bad.csv" in texts_of(answer["said"])
    assert answer["said"].role == "alert"
    assert answer["locked"] is True
    assert own_desk.work.found(work.token).files["points"].exists()


def test_a_wrong_datum_is_said_zone_by_zone_after_what_to_check(own_desk, tmp_path):
    work = hand(own_desk, box_file(tmp_path))
    recording.looked_at(own_desk, work.token, values(datum_shift_m="100"))
    said = looked(own_desk, work.token)["said"]
    lines = [texts_of(line) for line in said.children]
    assert len(lines) == 6
    assert "what they stand on, the site or the national datum" in lines[0]
    assert lines[1].startswith("184.83 m is no level of zone A")
    assert "lowest_level_m" not in texts_of(said)


def test_what_is_odd_in_every_zone_alike_is_said_once(own_desk, tmp_path):
    work = hand(own_desk, box_file(tmp_path))
    night = values(survey_date="2026-10-25", survey_time="01:30")
    recording.looked_at(own_desk, work.token, night)
    words = texts_of(looked(own_desk, work.token)["report"])
    assert words.count("The clock showed 01:30 twice that night") == 1


def test_a_page_that_comes_back_without_any_work_asks_nothing_more(own_desk):
    answer = recording.looked(own_desk, None, 1240)
    assert answer["still"] is True
    assert answer["report"] is no_update


def test_work_that_the_server_forgot_is_said(own_desk):
    answer = recording.looked(own_desk, "forgotten", 1240)
    assert "not on the server any more" in texts_of(answer["said"])
    assert answer["still"] is True


# --- recording -----------------------------------------------------------------------------------
def test_a_survey_is_recorded_once_however_often_the_button_is_pressed(own_desk, tmp_path):
    work = hand(own_desk, box_file(tmp_path))
    recording.looked_at(own_desk, work.token, values())
    looked(own_desk, work.token)
    answer = recording.saved(own_desk, work.token, "A. Surveyor", "")
    assert "Recorded survey SV5" in texts_of(answer["saved"])
    assert surveys_of(own_desk)[0] == "SV5"
    assert not work.folder.exists()
    again = recording.saved(own_desk, work.token, "A. Surveyor", "")
    assert "Recorded survey SV5" in texts_of(again["saved"])
    assert surveys_of(own_desk).count("SV5") == 1


def test_a_recorded_survey_leaves_the_form_closed_and_asks_for_a_new_file(own_desk, tmp_path):
    work = hand(own_desk, box_file(tmp_path))
    recording.looked_at(own_desk, work.token, values())
    looked(own_desk, work.token)
    answer = recording.saved(own_desk, work.token, "A. Surveyor", "")
    assert (answer["work"], answer["report"], answer["locked"]) == (None, None, True)
    later = recording.looked(own_desk, work.token, 1240)
    assert (later["said"], later["locked"], later["still"]) == (None, True, True)
    with pytest.raises(InputError, match="Choose the file of points first"):
        recording.looked_at(own_desk, work.token, values(survey="SV6"))


def test_a_breach_is_said_again_when_it_is_on_record(own_desk, tmp_path):
    work = hand(own_desk, box_file(tmp_path, low_m=0.5))
    recording.looked_at(own_desk, work.token, values())
    looked(own_desk, work.token)
    told = recording.saved(own_desk, work.token, "A. Surveyor", "")["saved"]
    assert "breach" in told.className
    assert "Zone D: lowest level 90.250 m is 0.350 m below the permitted" in texts_of(told)


def test_nobody_records_without_a_name(own_desk, tmp_path):
    work = hand(own_desk, box_file(tmp_path))
    recording.looked_at(own_desk, work.token, values())
    looked(own_desk, work.token)
    assert "Write your name" in texts_of(recording.saved(own_desk, work.token, "", "")["saved"])
    assert "SV5" not in surveys_of(own_desk)


def test_a_red_gate_asks_for_a_reason_and_keeps_it_with_the_survey(own_desk, tmp_path):
    work = hand(own_desk, box_file(tmp_path, gap_m=(530.0, 545.0)))
    recording.looked_at(own_desk, work.token, values())
    answer = looked(own_desk, work.token)
    assert answer["no_reason"] is False
    refused = recording.saved(own_desk, work.token, "A. Surveyor", " ")
    assert "A gate is red" in texts_of(refused["saved"])
    assert refused["reason"] is no_update
    assert "SV5" not in surveys_of(own_desk)
    done = recording.saved(own_desk, work.token, "A. Surveyor", "Under water until Monday.")
    assert done["reason"] == ""
    statement = survey_statement(own_desk.ledger, DEMO_DAY, excavation="box", survey="SV5")
    assert statement.reason == "Under water until Monday."


def test_a_file_that_is_recorded_already_is_refused_by_its_survey(own_desk, tmp_path):
    for survey in ("SV5", "SV6"):
        work = hand(own_desk, box_file(tmp_path))
        recording.looked_at(own_desk, work.token, values(survey=survey))
        answer = looked(own_desk, work.token)
        if survey == "SV5":
            recording.saved(own_desk, work.token, "A. Surveyor", "")
    assert "is the file of survey SV5 already" in texts_of(answer["said"])


def test_progress_rests_on_the_survey_just_recorded(own_desk, tmp_path):
    work = hand(own_desk, box_file(tmp_path))
    recording.looked_at(own_desk, work.token, values())
    looked(own_desk, work.token)
    recording.saved(own_desk, work.token, "A. Surveyor", "")
    statement = survey_statement(own_desk.ledger, date(2026, 10, 24), excavation="box")
    assert statement.survey == "SV5"
