from dashboard.spoil.import_report import MOST_ROWS, report_parts
from tests.dashboard.pieces import parts_of, texts_of
from tracker.errors import Problem
from tracker.recording.files import ImportReport, Rejected


def report(**values):
    return ImportReport("loads", "gate.csv", **values)


def said(found, is_recorded=False):
    return texts_of(report_parts(found, is_recorded, "token"))


def test_a_good_file_says_how_many_rows_can_be_recorded():
    words = said(report(rows=12, recorded=12))
    assert "12 rows can be recorded." in words
    assert "nothing is recorded yet" in words
    assert "refused rows" not in words


def test_one_row_is_said_in_the_singular():
    assert "1 row can be recorded." in said(report(rows=1, recorded=1))
    assert "1 row is recorded." in said(report(rows=1, recorded=1), True)


def test_many_refused_rows_are_shown_in_part_and_handed_out_whole():
    rows = [Rejected(n, ("x",), (f"net_t: {n} is wrong.",)) for n in range(2, MOST_ROWS + 12)]
    parts = report_parts(report(rows=len(rows), rejected_rows=rows), False, "token")
    assert f"the first {MOST_ROWS} of {len(rows)}" in texts_of(parts)
    assert any(getattr(p, "id", None) == {"type": "import-rejected", "work": "token"}
               for p in parts_of(parts))  # fmt: skip


def test_what_is_wrong_with_the_file_itself_is_said_once_above_its_rows():
    missing = Problem("gate.csv", 1, "carrier", "", "The column carrier is missing.", "error")
    words = said(report(problems=[missing, missing]))
    assert words.count("The column carrier is missing.") == 1


def test_like_warnings_are_counted_together_most_frequent_first():
    often = [Problem("gate.csv", n, "net_t", "", "Above the plate.", "warning") for n in (4, 9)]
    once = Problem("gate.csv", 3, "carrier", "", "Ends soon.", "warning")
    words = said(report(rows=9, recorded=9, problems=[once, *often]))
    assert "3 warnings of good rows" in words
    assert words.index("net_t: Above the plate.") < words.index("carrier: Ends soon.")
