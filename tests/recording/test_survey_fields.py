import pytest

from tracker.errors import InputError
from tracker.recording.survey_fields import questions_of

FIELDS = {
    "excavation": "box",
    "survey": "SV5",
    "survey_date": "2026-10-24",
    "survey_time": " 10:00",
    "method": "scan",
    "order": "ENZ",
    "unit": "m",
    "datum": "national",
    "datum_shift_m": "-0.02",
    "thin_m": "0.5",
    "u_point_m": "0.02",
    "u_datum_m": "0",
    "u_wall_m": "0.05",
    "filter_ground": "yes",
    "original_ground": "",
}


@pytest.fixture
def files(tmp_path):
    return {"points": tmp_path / "SV5.csv"}


def test_every_answer_of_the_form_reaches_its_question(files):
    asked = questions_of(FIELDS, files)
    assert (asked.path, asked.survey, asked.excavation) == (files["points"], "SV5", "box")
    assert asked.surveyed_at == "2026-10-24T10:00"
    assert (asked.order, asked.unit, asked.datum) == ("ENZ", "m", "national")
    assert (asked.datum_shift_m, asked.thin_m) == (-0.02, 0.5)
    assert (asked.filter_ground, asked.original_ground) == (True, False)
    accuracy = asked.accuracy
    assert (accuracy.level_sigma_m, accuracy.datum_u_m, accuracy.wall_u_m) == (0.02, 0.0, 0.05)
    assert (asked.boundary, asked.control, asked.earlier) == (None, None, None)


def test_an_empty_cell_width_thins_nothing(files):
    assert questions_of(FIELDS | {"thin_m": " "}, files).thin_m is None


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("thin_m", "0", "0.001 m wide at least"),
        ("thin_m", "half", "is not a number"),
        ("datum_shift_m", "", "Datum shift: A number is wanted"),
        ("u_point_m", "-0.01", "must be 0 or more"),
        ("survey_time", "", "Give the local time of the survey"),
    ],
)
def test_a_wrong_answer_is_refused_by_its_field(files, name, text, words):
    with pytest.raises(InputError, match=words) as refused:
        questions_of(FIELDS | {name: text}, files)
    assert refused.value.field == name


def test_without_a_file_of_points_there_is_nothing_to_ask(tmp_path):
    with pytest.raises(InputError, match="Choose the file of points first"):
        questions_of(FIELDS, {"earlier": tmp_path / "SV4.csv"})


def test_a_boundary_is_read_as_one_ring(files, tmp_path):
    ring = tmp_path / "ring.csv"
    ring.write_text("500,200\n520,200\n520,210\n500,210\n")
    asked = questions_of(FIELDS, files | {"boundary": ring, "earlier": tmp_path / "SV4.csv"})
    assert asked.boundary.tolist()[0] == [500.0, 200.0]
    assert asked.earlier == tmp_path / "SV4.csv"
