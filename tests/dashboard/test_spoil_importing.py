import csv
import io
import time
from base64 import b64decode

import pytest
from dash import no_update

from dashboard.app import create_app
from dashboard.spoil import importing
from tests.dashboard.pieces import texts_of
from tracker.errors import InputError
from tracker.recording.columns import KINDS
from tracker.recording.demo import DEMO_DAY
from tracker.statements import records_statement

HEADING = "ticket_issuer,ticket_number,gate_out_at,carrier,vehicle,registration,stream,route,net_t"


def load(number, net="18.4"):
    at = f"2026-10-26 {9 + number % 8:02d}:{number // 8:02d}"
    return f"WB9,{number},{at},carrier_1,rigid_32,Z{number},stiff_clay,R-LORRY-CLAY,{net}"


def hand(desk, *rows, kind="records", name="loads.csv"):
    work = desk.imports.opened()
    work.place(kind, name).write_text("\n".join((HEADING, *rows)) + "\n", encoding="utf-8")
    return work


def over(desk, token):
    """What the page answers once the work is over."""
    deadline = time.monotonic() + 30
    while not (answer := importing.found(desk, token)).get("still"):
        assert time.monotonic() < deadline
        time.sleep(0.02)
    return answer


def looked(desk, *rows):
    work = importing.looked_at(desk, hand(desk, *rows).token, "loads")
    return work, over(desk, work.token)


def recorded(desk):
    return records_statement(desk.ledger, kind="lorry_loads", text="WB9", limit=50).found


def test_a_file_is_first_only_looked_at(own_desk):
    work, answer = looked(own_desk, load(1), load(2, '"18,4"'), load(3))
    words = texts_of(answer["report"])
    assert "2 rows can be recorded." in words
    assert "Rows refused" in words
    assert "has a comma" in words
    assert answer["locked"] is False
    assert recorded(own_desk) == 0
    assert work.examined.report.recorded == 2


def test_the_good_rows_are_recorded_once_and_then_the_file_has_nothing_new(own_desk):
    work, _answer = looked(own_desk, load(1), load(2, '"18,4"'), load(3))
    for _press in range(2):
        assert importing.started(own_desk, work.token, "AB") is None
    answer = over(own_desk, work.token)
    assert "2 rows are recorded." in texts_of(answer["report"])
    assert answer["locked"] is True
    assert answer["changed"] == work.token
    assert recorded(own_desk) == 2
    importing.started(own_desk, work.token, "AB")
    assert recorded(own_desk) == 2
    _again, answer = looked(own_desk, load(1), load(3))
    assert "Every row is in the ledger already." in texts_of(answer["report"])
    assert answer["locked"] is True


def test_recording_needs_a_name(own_desk):
    work, _answer = looked(own_desk, load(1))
    assert "Write your name" in texts_of(importing.started(own_desk, work.token, ""))
    assert recorded(own_desk) == 0


def test_a_look_needs_a_file_that_is_still_there(own_desk):
    with pytest.raises(InputError, match="Choose the file first"):
        importing.looked_at(own_desk, "", "loads")
    with pytest.raises(InputError, match="not on the server any more"):
        importing.looked_at(own_desk, "forgotten", "loads")
    mapping_only = hand(own_desk, kind="mapping")
    with pytest.raises(InputError, match="Choose the file first"):
        importing.looked_at(own_desk, mapping_only.token, "loads")


def test_a_file_of_another_kind_says_which_columns_are_missing(own_desk):
    work = importing.looked_at(own_desk, hand(own_desk, load(1)).token, "stock")
    words = texts_of(over(own_desk, work.token)["report"])
    assert "The column location is missing" in words
    assert "No row of this file can be recorded as it is." in words


def test_a_file_that_is_none_is_refused_with_a_sentence(own_desk):
    work = own_desk.imports.opened()
    work.place("records", "loads.xlsx").write_bytes(b"PK no workbook")
    importing.looked_at(own_desk, work.token, "loads")
    answer = over(own_desk, work.token)
    assert "loads.xlsx" in texts_of(answer["said"])
    assert answer["locked"] is True


def test_other_headings_are_mapped(own_desk):
    work = own_desk.imports.opened()
    rows = "Ticket,Out,Plate,Net\n7,2026-10-26 09:00,Z7,18.4\n"
    work.place("records", "gate.csv").write_text(rows, encoding="utf-8")
    work.place("mapping", "gate.toml").write_text(
        '[columns]\nticket_number = "Ticket"\ngate_out_at = "Out"\nregistration = "Plate"\n'
        'net_t = "Net"\n[constants]\nticket_issuer = "WB9"\ncarrier = "carrier_1"\n'
        'vehicle = "rigid_32"\nstream = "stiff_clay"\nroute = "R-LORRY-CLAY"\n',
        encoding="utf-8",
    )
    importing.looked_at(own_desk, work.token, "loads")
    assert "1 row can be recorded" in texts_of(over(own_desk, work.token)["report"])


def test_the_refused_rows_are_handed_out_as_they_came_after_their_reasons(own_desk):
    work, _answer = looked(own_desk, load(1), load(2, '"18,4"'))
    sent = importing.rejected_file(own_desk, work.token)
    assert sent["filename"] == "loads_rejected.csv"
    text = b64decode(sent["content"]).decode("utf-8-sig")
    heading, row = csv.reader(io.StringIO(text))
    assert heading[1:] == HEADING.split(",")
    assert "net_t" in row[0]
    assert row[-1] == "18,4"


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_an_empty_file_to_fill_in_has_every_column(suffix):
    sent = importing.template_file("receipts", suffix)
    assert sent["filename"] == f"receipts.{suffix}"
    content = b64decode(sent["content"])
    if suffix == "csv":
        heading = content.decode("utf-8-sig").splitlines()[0]
        assert heading.split(",") == [c.name for c in KINDS["receipts"].columns]
    else:
        assert content[:2] == b"PK"


def test_without_work_there_is_nothing_to_wait_for(desk):
    assert importing.found(desk, None) == {"still": True}
    gone = importing.found(desk, "forgotten")
    assert "not on the server any more" in texts_of(gone["said"])
    assert gone.get("changed", no_update) is no_update


def test_a_file_is_handed_over_under_the_token_of_the_page_only(own_demo):
    client = create_app(own_demo, today=lambda: DEMO_DAY, user="x").server.test_client()
    client.get("/")
    address = "/records-file?kind=records&name=a.csv"
    assert client.post(address, data=b"1,2").status_code == 403
    headers = {"X-CSRFToken": client.get_cookie("_csrf_token").value}
    assert client.post(address, data=b"1,2", headers=headers).json["name"] == "a.csv"
