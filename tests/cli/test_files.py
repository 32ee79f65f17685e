"""init, template, import, export and rebuild, run as people run them."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from tests.cli.samples import RETURN, fields, rows_of
from tests.statements import paper
from tracker.recording.columns import KINDS

LOADS = rows_of("loads")


# --- init ----------------------------------------------------------------------------------------
def test_init_alone_makes_an_empty_ledger(here):
    assert here.done("init") == "site.sqlite is ready, without set-up.\n"
    assert here.json("init") == {"ledger": "site.sqlite", "revision": None}


def test_init_adopts_a_set_up_once(here):
    first, second = here.json("init", "--setup", "setup"), here.json("init", "--setup", "setup")
    assert first == second
    assert first["problems"] == []


def test_init_adopts_a_later_revision_from_its_date(here):
    here.done("init", "--setup", "setup", "--title", "first")
    here.write("setup/streams.csv", paper.second_setup()["streams"])
    here.done("init", "--setup", "setup", "--title", "second", "--from", "2026-10-29")
    before = here.json("statement", "progress", "--as-of", "2026-10-28")["basis"]
    after = here.json("statement", "progress", "--as-of", "2026-10-29")["basis"]
    assert (before["revision"], after["revision"]) == ("first", "second")
    assert after["revision_from"] == "2026-10-29"


def test_every_problem_of_a_set_up_is_said_and_nothing_is_adopted(here):
    stages = [dict(row) for row in paper.FIRST["stages"]]
    stages[0]["design_level_m"], stages[1]["hold_days"] = "1OO", "soon"
    here.write("setup/stages.csv", stages)
    said = here.refused("init", "--setup", "setup")
    assert said.splitlines()[0] == "The set-up has problems; nothing was adopted."
    assert "design_level_m “1OO”" in said
    assert "hold_days “soon”" in said
    result = here.run("init", "--setup", "setup", "--json")
    assert (result.exit_code, "1OO" in result.stdout) == (2, True)
    assert "adopt one with" in here.refused("statement", "day")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--setup", "nowhere"], "There is no set-up at nowhere"),
        (["--setup", "setup/site.csv"], "site.csv is no set-up"),
        (["--from", "29/10/2026"], "--from is “29/10/2026”; write the date as YYYY-MM-DD"),
        (["--ledger", "no/such/place.sqlite"], "cannot be opened"),
        (["--ledger", "mysql://u@h/x"], "SQLite or PostgreSQL, not mysql"),
    ],
)
def test_init_refuses_what_it_cannot_read(here, words, said):
    assert said in here.refused("init", *words).replace("\n", " ")


# --- template ------------------------------------------------------------------------------------
@pytest.mark.parametrize("kind", [*KINDS, "setup"])
@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_a_template_of_every_kind_can_be_imported_as_it_is_with_nothing_in_it(pit, kind, suffix):
    name = "empty-setup" if (kind, suffix) == ("setup", "csv") else f"{kind}.{suffix}"
    assert pit.json("template", kind, "--out", name) == {"kind": kind, "file": name}
    if kind == "setup":
        assert "nothing was adopted" in pit.refused("init", "--setup", name)
    else:
        assert pit.json("import", kind, name)["rows"] == 0


def test_a_template_says_what_goes_into_each_column(here):
    here.done("template", "returns")
    (line,) = here.read("returns.csv")
    assert line["work_date"].startswith("# date on which the shift starts, YYYY-MM-DD")


def test_a_template_filled_in_is_recorded(pit):
    pit.done("template", "returns", "--out", "mine.csv")
    (help_line,) = pit.read("mine.csv")
    pit.write("mine.csv", [help_line, dict.fromkeys(help_line, "") | fields(RETURN)])
    report = pit.json("import", "returns", "mine.csv")
    assert (report["rows"], report["recorded"], report["problems"]) == (1, 1, [])


def test_template_refuses_a_kind_that_is_none(here):
    assert "Did you mean “returns”?" in here.refused("template", "return")
    assert "cannot be written" in here.refused("template", "returns", "--out", "no/returns.csv")


# --- import --------------------------------------------------------------------------------------
def test_good_rows_go_in_and_bad_rows_come_back_to_be_mended_and_sent_again(pit):
    bad = LOADS[1] | {"ticket_number": "11", "entry_id": "t11", "registration": "INV 20"}
    bad |= {"gross_t": "12", "tare_t": "30", "net_t": "", "weight_basis": "weighed"}
    report = pit.json("import", "loads", pit.write("loads.csv", [*LOADS, bad]))
    assert (report["rows"], report["recorded"], report["rejected"]) == (11, 10, 1)
    (error,) = [p for p in report["problems"] if p["severity"] == "error"]
    assert (error["row"], error["field"]) == (12, "tare_t")
    assert report["rejected_file"] == "loads.rejected.csv"
    (rejected,) = pit.read("loads.rejected.csv")
    assert "above the gross" in rejected["problem"]

    pit.write("loads.rejected.csv", [rejected | {"gross_t": "30", "tare_t": "12"}])
    again = pit.json("import", "loads", "loads.rejected.csv")
    assert (again["recorded"], again["rejected"]) == (1, 0)


def test_a_file_sent_twice_adds_nothing(pit):
    name = pit.write("loads.csv", LOADS)
    assert pit.json("import", "loads", name)["recorded"] == 10
    again = pit.json("import", "loads", name)
    assert (again["recorded"], again["already"]) == (0, 10)


def test_what_is_printed_counts_the_rows_and_names_the_file_to_mend(pit):
    bad = LOADS[0] | {"stream": "sand"}
    result = pit.run("import", "loads", pit.write("loads.csv", [bad]), "--rejected", "mend.csv")
    assert result.exit_code == 2  # nothing went in
    said = result.stdout
    assert said.splitlines()[0] == ("loads.csv: 1 rows, 0 recorded, 0 there already, 1 rejected.")
    assert "error: loads.csv, row 2, stream “sand”: stream “sand” is not known." in said
    assert said.splitlines()[-1] == "Mend the rejected rows in mend.csv and import that file."


def test_many_problems_are_counted_and_not_all_printed(pit):
    bad = [LOADS[0] | {"stream": "sand", "ticket_number": str(n)} for n in range(50)]
    said = pit.run("import", "loads", pit.write("loads.csv", bad)).stdout
    assert "… and 30 more." in said
    assert len(pit.read("loads.rejected.csv")) == 50


def test_strict_takes_all_rows_or_none(pit):
    bad = LOADS[0] | {"stream": "sand", "ticket_number": "99", "entry_id": "t99"}
    name = pit.write("loads.csv", [*LOADS, bad])
    result = pit.run("import", "loads", name, "--strict")
    assert result.exit_code == 2
    assert "11 rows, 0 recorded" in result.stdout
    assert pit.json("export", "loads")["rows"] == 0
    assert pit.json("import", "loads", pit.write("good.csv", LOADS), "--strict")["recorded"] == 10


def test_a_mapping_names_other_peoples_columns(pit):
    (pit.folder / "ours.toml").write_text(
        '[columns]\nwork_date = "Date"\nzone = "Area"\nbank_m3 = "Dug"\n'
        '[constants]\nshift = "day"\nstage = "1"\nstream = "clay"\nbasis = "measured"\n'
    )
    name = pit.write("theirs.csv", [{"Date": "2026-10-22", "Area": "A", "Dug": "50"}])
    assert pit.json("import", "returns", name, "--mapping", "ours.toml")["recorded"] == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["import", "load", "loads.csv"], "Did you mean “loads”?"),
        (["import", "loads", "nowhere.csv"], "no file at nowhere.csv"),
        (["import", "loads", "setup"], "no file at setup"),
        (["import", "loads", "broken.xlsx"], "cannot be opened as a workbook"),
        (["import", "loads", "loads.csv", "--mapping", "nowhere.toml"], "nowhere.toml"),
        (["import", "loads", "loads.csv", "--mapping", "broken.xlsx"], "broken.xlsx"),
        (["import", "loads", "loads.csv", "--rejected", "no/x.csv"], "no folder no"),
        (["import", "loads", "loads.csv", "--ledger", "nowhere.sqlite"], "spoil init"),
        (["import", "loads", "loads.csv", "--ledger", "broken.xlsx"], "cannot be opened"),
    ],
)
def test_import_refuses_what_it_cannot_read(pit, words, said):
    pit.write("loads.csv", LOADS)
    (pit.folder / "broken.xlsx").write_bytes(b"\xff\xfe no workbook")
    assert said in pit.refused(*words).replace("\n", " ")


def test_import_needs_a_set_up(here):
    here.done("init")
    assert "adopt one with" in here.refused("import", "loads", here.write("loads.csv", LOADS))


# --- export --------------------------------------------------------------------------------------
def test_what_is_exported_can_be_imported_into_a_new_ledger_and_states_the_same(pit):
    for kind in paper.KINDS:
        if kind != "baseline":
            report = pit.json("import", kind, pit.write(f"{kind}.csv", rows_of(kind)))
            assert report["rejected"] == 0, report["problems"]
    pit.done("amend", "a22d", "bank_m3=100", "--reason", "tally recounted")
    pit.done("withdraw", "t1", "--reason", "of another site")
    pit.done("init", "--setup", "setup", "--ledger", "new.sqlite")
    for kind in paper.KINDS:
        pit.done("export", kind, "--out", f"out-{kind}.csv")
        report = pit.json("import", kind, f"out-{kind}.csv", "--ledger", "new.sqlite")
        assert report["recorded"] == report["rows"] > 0
    for words in (["day"], ["progress"], ["movements"], ["carbon", "--factor-year", "2025"]):
        words = ["statement", *words, "--as-of", "2026-11-02"]
        assert pit.json(*words) == pit.json(*words, "--ledger", "new.sqlite")


def test_an_export_to_a_workbook_can_be_imported_as_well(pit):
    pit.done("import", "returns", pit.write("returns.csv", rows_of("returns")))
    pit.done("export", "returns", "--out", "out.xlsx")
    pit.done("init", "--setup", "setup", "--ledger", "new.sqlite")
    report = pit.json("import", "returns", "out.xlsx", "--ledger", "new.sqlite")
    assert report["recorded"] == len(paper.RETURNS)


def test_export_refuses_what_it_cannot_write(pit):
    assert "Did you mean “loads”?" in pit.refused("export", "load")
    assert "cannot be written" in pit.refused("export", "loads", "--out", "no/loads.csv")
    assert "spoil init" in pit.refused("export", "loads", "--ledger", "nowhere.sqlite")


# --- rebuild -------------------------------------------------------------------------------------
def test_rebuild_counts_the_totals_anew_and_says_how_many_were_wrong(pit):
    pit.done("import", "loads", pit.write("loads.csv", LOADS))
    assert pit.json("rebuild")["corrected"] == 0
    with closing(sqlite3.connect("site.sqlite")) as other_program:
        other_program.execute("UPDATE daily_totals SET amount = 7 WHERE measure = 'load_kg'")
        other_program.commit()
    counted = pit.json("rebuild")
    assert 0 < counted["corrected"] < counted["totals"]
    assert "had been wrong" in pit.done("rebuild")


def test_rebuild_puts_lost_guards_back(pit):
    with closing(sqlite3.connect("site.sqlite")) as other_program:
        (name,) = other_program.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' LIMIT 1"
        ).fetchone()
        other_program.execute(f"DROP TRIGGER {name}")
        other_program.commit()
    assert "spoil rebuild --guards" in pit.refused("rebuild")
    pit.done("rebuild", "--guards")
    pit.done("rebuild", "--migrate")


def test_rebuild_refuses_what_is_no_ledger(here):
    assert "spoil init" in here.refused("rebuild", "--ledger", "nowhere.sqlite")
    assert "spoil init" in here.refused("rebuild", "--guards", "--ledger", "nowhere.sqlite")
