"""What can be wrong with the gate of a set-up: its windows, caps and permissions."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from tracker.domain.site_rows import Row, Rows, given, wrong
from tracker.errors import Problem

_TABLE = "gate_permissions"


def window_problems(rows: Rows) -> Iterator[Problem]:
    """Windows that close before they open."""
    for row in rows["windows"]:
        if given(row, "opens", "closes") and row["closes"] <= row["opens"]:
            yield wrong("windows", row, "closes", f"The gate closes before {row['opens']:%H:%M}.")


def permission_problems(rows: Rows) -> Iterator[Problem]:
    """Permissions that permit nothing, or two things at once."""
    for row in rows[_TABLE]:
        yield from _dates(row)
        yield from _what_it_permits(row, bool(rows["windows"]))
    yield from _overlaps([row for row in rows[_TABLE] if row["per"]])


def _dates(row: Row) -> Iterator[Problem]:
    if given(row, "valid_from", "valid_to") and row["valid_to"] < row["valid_from"]:
        said = f"It ends before it begins on {row['valid_from']}. Swap the dates."
        yield wrong(_TABLE, row, "valid_to", said)


def _what_it_permits(row: Row, has_windows: bool) -> Iterator[Problem]:
    opens, caps = (
        [column for column in columns if row[column] not in (None, "")]
        for columns in (("opens", "closes"), ("per", "movements"))
    )
    if opens and caps:
        said = "It opens the gate and changes a cap. Write a row for each."
        yield wrong(_TABLE, row, "per", said)
    elif len(opens) == 1 or len(caps) == 1:
        both = "opens and closes" if opens else "per and movements"
        yield wrong(_TABLE, row, (opens or caps)[0], f"Give both, {both}.")
    elif not opens and not caps:
        said = "It permits nothing. Give opens and closes, or per and movements."
        yield wrong(_TABLE, row, "opens", said)
    elif opens and row["closes"] <= row["opens"]:
        said = (
            f"The gate closes before {row['opens']:%H:%M}. Past midnight, write a row for each of"
            " the two days."
        )
        yield wrong(_TABLE, row, "closes", said)
    elif opens and not has_windows:
        said = "No windows are set up, so lorries may pass at any time and this changes nothing."
        yield wrong(_TABLE, row, "opens", said, "warning")


def _overlaps(caps: list[Row]) -> Iterator[Problem]:
    """Two permissions that set the same cap on the same day."""
    for one, other in combinations(caps, 2):
        same = (one["per"], one["direction"]) == (other["per"], other["direction"])
        dated = given(one, "valid_from", "valid_to") and given(other, "valid_from", "valid_to")
        if not (same and dated and _share_weekday(one, other)):
            continue
        starts = max(one["valid_from"], other["valid_from"])
        if starts <= min(one["valid_to"], other["valid_to"]):
            said = (
                f"On {starts} the permission of row {one['row']} sets the same cap. Only one may"
                " hold on a day: correct the dates or the weekdays."
            )
            yield wrong(_TABLE, other, "valid_from", said)


def _share_weekday(one: Row, other: Row) -> bool:
    return (
        not one["weekdays"]
        or not other["weekdays"]
        or bool(set(one["weekdays"]) & set(other["weekdays"]))
    )
