import json

import pytest
import typer

from tracker.cli import answers
from tracker.errors import InputError


def test_json_is_one_object_and_keeps_every_digit(capsys):
    answers.show({"mass_t": 1 / 3, "note": "m³"}, True, ["unused"])
    assert json.loads(capsys.readouterr().out) == {"mass_t": 1 / 3, "note": "m³"}


def test_without_json_the_lines_are_printed(capsys):
    answers.show({"mass_t": 1.0}, False, ["first", "second"])
    assert capsys.readouterr().out == "first\nsecond\n"


def test_an_error_becomes_its_sentence_and_exit_code_2(capsys):
    @answers.spoken
    def refuse():
        raise InputError("5 t is too much. Write less.")

    with pytest.raises(typer.Exit) as exit_info:
        refuse()
    assert exit_info.value.exit_code == 2
    assert capsys.readouterr().err == "5 t is too much. Write less.\n"


def test_a_bug_is_not_hidden():
    @answers.spoken
    def broken():
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        broken()


def test_numbers_name_their_option_when_refused():
    assert answers.numbers("--areas", "1, 2.5,3") == [1.0, 2.5, 3.0]
    assert answers.level("--down-to", "-4.25") == -4.25
    assert answers.optional_number("--height", None) is None
    with pytest.raises(InputError, match="--areas"):
        answers.numbers("--areas", "1,x")


def test_what_is_not_known_is_a_dash():
    assert answers.plain(None, "t") == "–"
    assert answers.plain(1234.5, "t") == "1,234.500 t"
