"""whatif, run as people run it."""

from __future__ import annotations

import re

import pytest

from tests.cli.conftest import Here
from tests.statements.option_pit import opened
from tracker.cli.what_if import EXAMPLE
from tracker.statements.options import FIELDS, comparison_of_toml, option_values

WORDS = ("whatif", "saturday.toml", "--ledger", "pit.sqlite")


@pytest.fixture
def steady(tmp_path, monkeypatch):
    """A folder with the ledger of the steady pit and the example file."""
    book, _ = opened(tmp_path)
    book.close()
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SPOIL_LEDGER", raising=False)
    (tmp_path / "saturday.toml").write_text(EXAMPLE, "utf-8")
    return Here(tmp_path)


def test_the_example_is_a_file_to_start_from(steady):
    assert steady.done("whatif", "--example") == EXAMPLE
    comparison = comparison_of_toml(EXAMPLE)
    assert comparison.a.as_set_up
    assert comparison.b.added_shift.weekdays == (5,)


def test_whatever_the_example_holds_behind_a_comment_can_be_used():
    whole = re.sub(r"^# (?=[a-z\[])", "", EXAMPLE, flags=re.MULTILINE)
    b = comparison_of_toml(whole).b
    assert {*option_values(b), "belt_out.days"} == {field.key for field in FIELDS}


def test_both_options_are_printed_side_by_side(steady):
    said = steady.done(*WORDS)
    assert said.startswith("A Saturday shift buys 2 days to formation of The box")
    assert re.search(r"P80 +4 Dec 2026 +2 Dec 2026", said)
    assert re.search(r"movements +31 +31", said)
    assert "Governs A: BOX: the rate of digging 100 %." in said
    assert "On the dashboard: /what-if?as_of=2026-10-23" in said


def test_the_json_holds_both_options_and_the_link(steady):
    data = steady.json(*WORDS)
    assert [option["formation"][0]["p80"] for option in data["options"]] == [
        "2026-12-04",
        "2026-12-02",
    ]
    assert data["link"].startswith("as_of=2026-10-23")
    assert data["basis_lines"]


def test_the_date_of_the_option_goes_before_that_of_the_file(steady):
    file = steady.folder / "saturday.toml"
    file.write_text(f"as_of = 2026-10-22\n{EXAMPLE}", "utf-8")
    assert steady.json(*WORDS)["basis"]["as_of"] == "2026-10-22"
    assert steady.json(*WORDS, "--as-of", "2026-10-23")["basis"]["as_of"] == "2026-10-23"


def test_every_wrong_value_is_said_on_a_line_of_its_own(steady):
    (steady.folder / "saturday.toml").write_text("[a]\ncap_day = '1,5'\n[b]\nwidth = 3\n", "utf-8")
    first, second = steady.refused(*WORDS).splitlines()
    assert first.startswith("a.cap_day: “1,5” has a comma")
    assert second.startswith("b.width: Nothing of this name can be changed.")


def test_a_payload_above_the_plate_is_refused_with_the_plate(steady):
    (steady.folder / "saturday.toml").write_text("[b]\npayload_t = 25\n", "utf-8")
    assert "allows 20 t" in steady.refused(*WORDS)


def test_a_missing_file_a_file_that_is_no_text_and_no_file_are_refused(steady):
    assert "Cannot read gone.toml" in steady.refused("whatif", "gone.toml")
    (steady.folder / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    assert "not UTF-8" in steady.refused("whatif", "bytes.toml")
    assert "--example" in steady.refused("whatif")
