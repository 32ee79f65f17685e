"""Files into the ledger: good rows in, the others out, nothing lost, nothing twice."""

from __future__ import annotations

import csv

import pytest

from tracker.errors import UnknownName
from tracker.recording import files
from tracker.recording.entry import amend, record, withdraw
from tracker.recording.files import import_file, write_rejected
from tracker.recording.mapping import ColumnMapping

HEADING = (
    "ticket_issuer,ticket_number,gate_out_at,carrier,vehicle,registration,transfer_note,stream,"
    "route,net_t"
)


def load(number, *, net="19.4", minute=None, stream="clay", plate=None):
    at = f"2026-04-07 {8 + number // 60:02d}:{number % 60:02d}" if minute is None else minute
    return f"WB1,{number:05d},{at},haul,rigid,{plate or f'R{number}'},N-1,{stream},R-ROAD,{net}"


@pytest.fixture
def send(book, now, tmp_path):
    """Writes a file of loads and imports it."""

    def send_rows(*rows, heading=HEADING, kind="loads", **options):
        path = tmp_path / f"{kind}.csv"
        path.write_text("\n".join((heading, *rows)) + "\n", encoding="utf-8")
        return import_file(book, kind, path, by="tests", now=now, **options)

    return send_rows


def counts(report):
    total = report.recorded + report.already + report.held_back + len(report.rejected_rows)
    assert report.rows == total
    return report.recorded, report.already, len(report.rejected_rows)


def test_good_rows_go_in_and_bad_rows_stay_out_with_their_numbers(send, book):
    report = send(load(1), load(2, net='"19,4"'), load(3, stream="made"), load(4))
    assert counts(report) == (2, 0, 2)
    assert [(p.row, p.field) for p in report.errors] == [(3, "net_t"), (4, "stream")]
    assert len(book.current("lorry_loads")) == 2
    rows = {entry.source for entry in book.current("lorry_loads")}
    assert rows == {"loads.csv row 2", "loads.csv row 5"}


def test_the_same_file_twice_adds_nothing(send, book):
    rows = [load(n) for n in range(1, 6)]
    assert counts(send(*rows)) == (5, 0, 0)
    again = send(*rows)
    assert counts(again) == (0, 5, 0)
    assert again.problems == []
    assert len(book.current("lorry_loads")) == 5


def test_a_file_that_is_only_looked_at_says_what_would_go_in_and_leaves_no_trace(send, book):
    rows = [load(1), load(2, net='"19,4"'), load(3)]
    looked = send(*rows, dry_run=True)
    assert counts(looked) == (2, 0, 1)
    assert book.current("lorry_loads") == []
    assert book.rebuild_totals() == (0, 0)
    assert counts(send(*rows)) == (2, 0, 1)
    assert counts(send(*rows, dry_run=True)) == (0, 2, 1)


def test_a_strict_file_only_looked_at_says_that_its_good_rows_would_be_held_back(send, book):
    looked = send(load(1), load(2, net='"19,4"'), strict=True, dry_run=True)
    assert (looked.recorded, looked.held_back) == (0, 1)
    assert book.current("lorry_loads") == []


def test_a_look_at_many_rows_finds_what_they_repeat_and_lets_others_write_between(
    send, book, now, monkeypatch
):
    monkeypatch.setattr(files, "BATCH_ROWS", 2)
    rows = [load(1), load(2), load(3), load(1, net="19.5"), load(4)]
    written = []

    def somebody_writes(done, _of):
        fields = dict(zip(HEADING.split(","), load(50 + done).split(","), strict=True))
        written.append(record(book, "loads", fields, by="gate", now=now).entry_id)

    looked = send(*rows, dry_run=True, progress=somebody_writes)
    assert counts(looked) == (4, 0, 1)
    assert "Row 2 states the same already" in looked.errors[0].message
    assert {e.entry_id for e in book.current("lorry_loads")} == set(written)
    assert counts(send(*rows)) == (4, 0, 1)


def test_a_file_may_grow_and_its_rows_may_move(send):
    send(load(1), load(2))
    assert counts(send(load(3), load(2), load(1))) == (1, 2, 0)


def test_a_ticket_twice_in_one_file_names_the_other_row(send):
    report = send(load(1), load(2), load(1, net="19.9"), load(1))
    assert counts(report) == (2, 0, 2)
    assert [(p.row, p.message) for p in report.errors] == [
        (4, "Row 2 states the same already. Keep one of them."),
        (5, "Row 2 states the same already. Keep one of them."),
    ]


def test_a_ticket_that_is_in_the_ledger_with_other_values_is_refused(send):
    send(load(1))
    report = send(load(1, net="19.9"), load(2))
    assert counts(report) == (1, 0, 1)
    assert "Amend that entry with a reason" in report.errors[0].message


def test_a_row_that_was_amended_or_withdrawn_does_not_come_back(send, book, now):
    send(load(1), load(2))
    first, second = book.current("lorry_loads")
    amend(book, first.entry_id, {"net_t": "18.0"}, reason="reweighed", by="tests", now=now)
    withdraw(book, second.entry_id, reason="wrong site", by="tests")
    assert counts(send(load(1), load(2))) == (0, 2, 0)
    assert [entry.net_kg for entry in book.current("lorry_loads")] == [18_000]


def test_a_known_id_with_other_values_is_left_alone_and_said(send):
    heading = HEADING + ",entry_id"
    send(load(1) + ",mine", heading=heading)
    report = send(load(1, net="19.9") + ",mine", heading=heading)
    assert counts(report) == (0, 1, 0)
    assert "recorded with other values" in report.warnings[0].message


def test_an_id_given_twice_in_a_file_is_refused(send):
    report = send(load(1) + ",mine", load(2) + ",mine", heading=HEADING + ",entry_id")
    assert counts(report) == (1, 0, 1)


def test_strict_takes_all_rows_or_none(send, book):
    report = send(load(1), load(2, net="x"), strict=True)
    assert (report.recorded, report.held_back, len(report.rejected_rows)) == (0, 1, 1)
    assert book.current("lorry_loads") == []
    assert counts(send(load(1), load(2), strict=True)) == (2, 0, 0)


def test_the_rejected_rows_can_be_mended_and_sent_again(send, tmp_path):
    report = send(load(1), load(2, net="=1+1"), load(3, net='"19,3"'))
    out = tmp_path / "rejected.csv"
    write_rejected(report, out)
    heading, *lines = csv.reader(out.read_text("utf-8-sig").splitlines())
    rows = [dict(zip(heading, line, strict=True)) for line in lines]
    assert [row["ticket_number"] for row in rows] == ["00002", "00003"]
    assert [row["net_t"] for row in rows] == ["'=1+1", "19,3"]
    assert all(row["problem"].startswith("net_t: ") for row in rows)
    mended = out.read_text("utf-8-sig").replace("'=1+1", "19.2").replace('"19,3"', "19.3")
    heading, *lines = mended.splitlines()
    again = send(*lines, heading=heading)
    assert counts(again) == (2, 0, 0)
    assert again.problems == []


def test_no_cell_of_the_rejected_rows_begins_a_formula(send, tmp_path):
    report = send("=A1,@x,+y,-z,\tq,=1+1,,,")
    out = tmp_path / "rejected.csv"
    write_rejected(report, out)
    _, cells = csv.reader(out.read_text("utf-8-sig").splitlines())
    assert not any(cell.startswith(("=", "+", "-", "@", "\t")) for cell in cells)


@pytest.mark.parametrize(
    ("heading", "field", "sentence"),
    [
        (HEADING.replace("carrier", "carier"), "carrier", "is missing"),
        (HEADING.replace(",net_t", ",net_t,net_t"), "net_t", "stands 2 times"),
        ("", "", "empty"),
    ],
)
def test_a_file_with_wrong_headings_stays_out_as_a_whole(send, heading, field, sentence):
    report = send(load(1), heading=heading) if heading else send(heading="")
    assert (report.rows, report.recorded) == (0, 0)
    assert any(sentence in p.message and p.field == field for p in report.errors)


def test_an_unknown_heading_is_passed_over_with_a_warning(send):
    report = send(load(1) + ",x", heading=HEADING + ",gros_t")
    assert counts(report) == (1, 0, 0)
    assert [(p.row, p.field) for p in report.warnings] == [(1, "gros_t")]
    assert "Did you mean “gross_t”?" in report.warnings[0].message


def test_a_ragged_row_stays_out_as_it_came(send):
    report = send(load(1), load(2) + ",extra", load(3).rsplit(",", 2)[0])
    assert counts(report) == (1, 0, 2)
    assert report.rejected_rows[0].cells[-1] == "extra"


def test_an_unknown_kind_is_refused(book):
    with pytest.raises(UnknownName, match="Did you mean “loads”"):
        import_file(book, "load", "x.csv", by="tests")


def test_ten_thousand_problems_at_once_are_no_problem(send):
    report = send(*(load(n, net='"1,5"', minute="2026-04-07 09:00") for n in range(10_000)))
    assert counts(report) == (0, 0, 10_000)
    assert len(report.errors) == 10_000
    assert report.errors[-1].row == 10_001


def test_progress_is_told(send):
    told = []
    send(load(1), load(2), progress=lambda done, total: told.append((done, total)))
    assert told == [(2, 3)]


def test_a_mapping_brings_other_columns_in(send):
    mapping = ColumnMapping(
        {"net_t": ("Weight",), "gate_out_at": ("Day", "Time")}, {"ticket_issuer": "WB9"}, ("zone",)
    )
    heading = "ticket_number,Day,Time,carrier,vehicle,stream,route,Weight,zone"
    report = send(
        "1,2026-04-07,09:40,haul,rigid,clay,R-ROAD,19.4,A",
        "2,2026-04-07,09:41,haul,rigid,clay,R-ROAD,19.4,",
        heading=heading,
        mapping=mapping,
    )
    assert counts(report) == (1, 0, 1)
    assert (report.errors[0].row, report.errors[0].field) == (3, "zone")


def test_a_mapped_column_that_the_file_has_not_stops_it(send):
    report = send(load(1), mapping=ColumnMapping({"net_t": ("Weight",)}))
    assert report.recorded == 0
    assert report.errors[0].field == "Weight"


def test_short_cycles_are_seen_within_a_file_in_any_order(send, book):
    report = send(load(30, plate="X"), load(1, plate="X"), load(200, plate="X"))
    assert counts(report) == (3, 0, 0)
    assert [p.row for p in report.warnings if p.field == "registration"] == [2]
    assert [e.flags for e in book.current("lorry_loads") if e.flags] == ["short_cycle"]


def test_belt_readings_of_a_file_are_held_against_one_another(send):
    heading = "read_at,work_date,shift,belt,stream,totaliser_t"
    days = [("07", "100"), ("08", "90"), ("09", "200")]
    rows = [f"2026-04-{d} 19:00,2026-04-{d},day,belt-1,clay,{t}" for d, t in days]
    report = send(*rows, heading=heading, kind="belt")
    assert [(p.row, p.field) for p in report.errors] == [(3, "totaliser_t")]


def test_what_was_typed_before_counts_as_stated(send, book, now):
    names = HEADING.split(",")
    typed = dict(zip(names, load(1).split(","), strict=True))
    record(book, "loads", typed, by="tests", now=now)
    assert counts(send(load(1), load(2))) == (1, 0, 1)
