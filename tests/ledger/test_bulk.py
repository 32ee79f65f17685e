"""Many rows at once: the quick way writes and finds what the plain way does."""

from dataclasses import replace

from tests.ledger.samples import DAY, a_load, a_return, one_of_each
from tracker.ledger import bulk
from tracker.ledger.schema import TABLES


def test_the_quick_way_writes_the_bytes_that_the_plain_way_writes(open_new):
    """An append goes the quick way, a correction the plain one."""
    quick, plain = open_new(), open_new()
    for entry in one_of_each():
        quick.append([entry], by="engineer")
        old = replace(entry, entry_id=f"old-{entry.KIND}")
        plain.append([old], by="engineer")
        plain.supersede(old.entry_id, entry, reason="slip", by="engineer")
        assert bare_row(quick, entry) == bare_row(plain, entry)


def bare_row(ledger, entry):
    """The row as the driver gives it, without what says how it came in."""
    with ledger.reading() as conn:
        rows = conn.exec_driver_sql(f"SELECT * FROM {entry.KIND}").mappings()
        (row,) = [dict(row) for row in rows if row["entry_id"] == entry.entry_id]
    for name in ("action", "supersedes", "change_reason"):
        del row[name]
    return row


def test_ids_are_looked_up_over_many_statements(ledger):
    loads = [a_load(f"T-{n}", entry_id=f"own-{n}") for n in range(1_050)]
    ledger.append(loads, by="gate")
    with ledger.reading() as conn:
        asked = [f"own-{n}" for n in range(0, 3_000, 2)]
        assert bulk.stored_ids(conn, "lorry_loads", asked) == {
            f"own-{n}" for n in range(0, 1_050, 2)
        }


def test_facts_are_looked_up_over_many_statements_whatever_their_types(ledger):
    returns = [a_return(stage=n) for n in range(1, 1_101)]
    ledger.append(returns, by="engineer")
    again = [a_return(stage=n) for n in (1, 500, 501, 1_100, 1_101)]
    with ledger.reading() as conn:
        found = dict(bulk.stated_by_others(conn, "dig_returns", again))
    assert found == {
        again[0].entry_id: returns[0].entry_id,
        again[1].entry_id: returns[499].entry_id,
        again[2].entry_id: returns[500].entry_id,
        again[3].entry_id: returns[1_099].entry_id,
    }


def test_rows_are_encoded_in_the_order_of_the_fields():
    (row,) = bulk.entry_rows("dig_returns", [a_return(entry_id="a")])
    assert row[:4] == ["a", "", "", DAY.isoformat()]
    assert len(row) < len(TABLES["dig_returns"].c)
