"""record, amend and withdraw, run as people run them."""

from __future__ import annotations

import pytest

from tests.cli.samples import RETURN


def test_an_entry_is_recorded_amended_and_withdrawn_with_its_history(pit):
    said = pit.done("record", "returns", *RETURN.split(), "--id", "mine")
    assert said == "Recorded: entry mine.\n"
    amended = pit.json("amend", "mine", "bank_m3=40", "--reason", "tally recounted")
    newest = amended["entry_id"]
    assert pit.done("withdraw", newest, "--reason", "wrong zone").startswith("Withdrawn: entry ")
    lines = pit.done("history", "mine").splitlines()
    assert [line.split("  ")[1].split()[0] for line in lines] == [
        "recorded",
        "amended",
        "withdrawn",
    ]
    assert "by tester: day shift, zone A, stage 1: 50.000 m³ bank of clay" in lines[0]
    assert "tally recounted" in lines[1]
    found = pit.json("history", newest)
    assert [line["reason"] for line in found["lines"]] == ["", "tally recounted", "wrong zone"]


def test_an_entry_counts_from_the_moment_it_is_recorded_to_the_moment_it_is_withdrawn(pit):
    def dug_m3() -> float:
        return pit.json("statement", "day", "--as-of", "2026-10-22")["bank_m3"]

    assert dug_m3() == 0
    entry = pit.json("record", "returns", *RETURN.split())["entry_id"]
    assert dug_m3() == 50
    newest = pit.json("amend", entry, "bank_m3=40", "--reason", "recounted")["entry_id"]
    assert dug_m3() == 40
    pit.json("withdraw", newest, "--reason", "wrong zone")
    assert dug_m3() == 0


def test_an_id_of_ones_own_sent_twice_is_stored_once_and_said_so(pit):
    words = ["record", "returns", *RETURN.split(), "--id", "mine"]
    assert pit.json(*words) == {"entry_id": "mine", "already": False, "warnings": []}
    assert pit.json(*words)["already"] is True
    assert pit.done(*words) == "Recorded before: entry mine. Nothing was added.\n"
    assert pit.json("export", "returns")["rows"] == 1


def test_an_id_sent_again_with_other_values_is_refused_and_nothing_is_lost(pit):
    pit.done("record", "returns", *RETURN.split(), "--id", "mine")
    other = RETURN.replace("bank_m3=50", "bank_m3=60")
    said = pit.refused("record", "returns", *other.split(), "--id", "mine")
    assert "“mine” is recorded with other values and stays as it is" in said


def test_warnings_are_printed_and_the_entry_goes_in(pit):
    said = pit.done("record", "returns", *RETURN.split(), "lowest_level_m=103")
    assert "warning: Zone A: lowest level 103.000 m is 1.000 m below the permitted" in said
    assert "Stop and ask the temporary works coordinator" in said


def test_every_problem_of_an_entry_is_printed_on_a_line_of_its_own(pit):
    said = pit.refused(
        "record", "returns", "work_date=05/11/2026", "shift=late", "zone=Z", "stage=1",
        "bank_m3=240,5", "basis=measured", "stream=clay",
    ).splitlines()  # fmt: skip
    assert [line.split(":")[0] for line in said] == ["work_date", "shift", "zone", "bank_m3"]
    assert "Write 2026-11-05 for 5 November 2026" in said[0]
    assert "comma" in said[3]
    assert pit.json("export", "returns")["rows"] == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["record", "return", "zone=A"], "Did you mean “returns”?"),
        (["record", "returns", "zone"], "“zone” is not FIELD=VALUE"),
        (["record", "returns", "zone=A", "zone=B"], "zone is given twice"),
        (["record", "returns", *RETURN.split(), "zones=A"], "Did you mean “zone”?"),
        (["record", "returns", *RETURN.split(), "note==1+1"], "runs as a formula"),
        (["amend", "nothing", "zone=A", "--reason", "x"], "No entry has the id “nothing”"),
        (["amend", "mine", "zone=Z", "--reason", "x"], "zone “Z” is not known"),
        (["amend", "mine", "bank_m3=1", "--reason", " "], "Give a reason"),
        (["amend", "mine", "bank_m3"], "reason"),
        (["withdraw", "nothing", "--reason", "x"], "No entry has the id “nothing”"),
        (["withdraw", "mine", "--reason", " "], "Give a reason"),
        (["withdraw", "mine"], "--reason"),
        (["record", "returns", "zone=A", "--ledger", "nowhere.sqlite"], "spoil init"),
        (["amend", "mine", "zone=A", "--reason", "x", "--ledger", "nowhere.sqlite"], "spoil init"),
        (["withdraw", "mine", "--reason", "x", "--ledger", "nowhere.sqlite"], "spoil init"),
    ],
)
def test_what_cannot_be_recorded_is_refused_with_a_sentence(pit, words, said):
    pit.done("record", "returns", *RETURN.split(), "--id", "mine")
    assert said in pit.refused(*words)


def test_a_fact_that_is_recorded_already_is_amended_and_not_recorded_again(pit):
    pit.done("record", "returns", *RETURN.split())
    said = pit.refused("record", "returns", *RETURN.replace("50", "60").split())
    assert "is in the ledger already" in said
    assert "Amend that entry instead" in said


def test_an_entry_is_superseded_once(pit):
    pit.done("record", "returns", *RETURN.split(), "--id", "mine")
    pit.done("amend", "mine", "bank_m3=40", "--reason", "recounted")
    assert "was superseded already" in pit.refused(
        "amend", "mine", "bank_m3=30", "--reason", "again"
    )
    assert "was superseded already" in pit.refused("withdraw", "mine", "--reason", "again")


def test_a_breach_is_closed_with_a_reason(pit):
    entry = pit.json("record", "returns", *RETURN.split(), "lowest_level_m=103")["entry_id"]
    assert "BREACH 2026-10-22 Zone A: lowest level 103.000 m" in pit.done(
        "statement", "day", "--as-of", "2026-10-22"
    )
    pit.done(
        "record", "closures", "rule=below_permitted_level", f"about={entry}",
        "reason=filled with lean concrete", "closed_by=coordinator",
    )  # fmt: skip
    assert pit.json("statement", "day", "--as-of", "2026-10-22")["breaches"] == []


def test_who_records_is_kept_by_option_or_by_account(pit, monkeypatch):
    pit.done("record", "returns", *RETURN.split(), "--id", "a", "--by", "night engineer")
    assert "by night engineer" in pit.done("history", "a")
    monkeypatch.setenv("SPOIL_BY", "")
    monkeypatch.setenv("LOGNAME", "account")
    other = RETURN.replace("zone=A", "zone=B")
    pit.done("record", "returns", *other.split(), "--id", "b")
    assert "by account" in pit.done("history", "b")


def test_the_plan_of_the_set_up_is_frozen_once_under_its_name(pit):
    words = ("freeze", "programme 1", "--reference", "letter 4")
    said = pit.done(*words, "--on", "2026-10-19")
    assert said.startswith("Frozen: programme 1 as of 2026-10-19, ")
    assert "  The box finishes on " in said
    assert "say --again" in pit.refused(words[0], "programme 2", *words[2:], "--on", "2026-10-20")
    again = pit.done(words[0], "programme 2", *words[2:], "--on", "2026-10-20", "--again")
    assert ", the same as by programme 1 (" in again
    earlier = pit.done(words[0], "programme 0", *words[2:], "--on", "2026-10-19", "--again")
    assert "programme 2 stays the current plan: it was frozen later." in earlier
    assert "already" in pit.refused(*words)
    assert "YYYY-MM-DD" in pit.refused(*words[:1], "other", *words[2:], "--on", "14/09/2026")
