"""The fields of one row while they are read: every problem is kept, none stops the next field."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from hashlib import blake2b
from operator import itemgetter
from typing import Any, TypeVar

from tracker.domain import written
from tracker.errors import InputError, Problem, UnknownName
from tracker.ledger.entries import KINDS, Entry, field_names
from tracker.recording.columns import Kind
from tracker.recording.moments import LocalClock, Moment
from tracker.recording.setups import Setup, Setups

Given = str | int | float | date | time | timedelta | None  # a datetime is a date
# By kind, what makes up what an entry says: all but its id, where it came from, the flags that
# depend on the records around it, and columns that came later.
_SAYING: dict[str, Callable[[Mapping[str, Any]], tuple[Any, ...]]] = {
    kind: itemgetter(*sorted(set(field_names(cls)) - {"entry_id", "source", "flags", *cls.LATER}))
    for kind, cls in KINDS.items()
}
T = TypeVar("T")
E = TypeVar("E", bound=Entry)
LONGEST_ID = 48

_FORMULA = frozenset("=+-@\t\r")
# Files repeat themselves: a few thousand dates and weights make a hundred thousand rows.
_iso_date = lru_cache(maxsize=4096, typed=True)(written.iso_date)
_whole_thousandths = lru_cache(maxsize=16384, typed=True)(written.whole_thousandths)


@dataclass(slots=True)
class Sheet:
    """What all rows of one file, or one form, are read against."""

    kind: Kind
    setups: Setups
    now: datetime
    file: str = "form"
    comma_is_decimal: bool = False  # in a file separated by ; a comma may stand for the point
    required: frozenset[str] = field(init=False)

    def __post_init__(self) -> None:
        self.required = frozenset(self.kind.required)


class Fields:
    """One row. Readers return None (text: empty) where there is nothing to be had."""

    __slots__ = (
        "_note",
        "_own_id",
        "entry",
        "failed",
        "given",
        "number",
        "problems",
        "setup",
        "sheet",
    )

    def __init__(self, sheet: Sheet, given: Mapping[str, Given], number: int) -> None:
        self.sheet = sheet
        self.given = given
        self.number = number
        self.problems: list[Problem] = []
        self.entry: Entry | None = None
        self.failed = False
        self.setup: Setup = sheet.setups.latest
        self._note = self.text("note")
        self._own_id = self.text("entry_id")
        if len(self._own_id) > LONGEST_ID or not self._own_id.isascii():
            self.wrong("entry_id", f"An id has at most {LONGEST_ID} plain letters and digits.")

    @property
    def clock(self) -> LocalClock:
        """The clock of the site."""
        return self.setup.clock

    def wrong(self, column: str, message: str) -> None:
        """Keep the row out because of this column."""
        self.failed = True
        self._tell(column, message, "error")

    def warn(self, column: str, message: str, *, rule: str = "") -> None:
        """Let the row in, but say this, and the rule it breaks."""
        self._tell(column, message, "warning", rule)

    def _tell(self, column: str, message: str, severity: str, rule: str = "") -> None:
        value = self.given.get(column)
        text = "" if value is None else str(value)
        self.problems.append(
            Problem(self.sheet.file, self.number, column, text[:200], message, severity, rule)
        )

    def made(self, cls: type[E], **values: Any) -> E | None:
        """The entry that these values state, or None if the row has failed.

        Without an `entry_id` of its own the entry gets one made from the values, so that the same
        row sent again, from the same place in the file or another, is the same entry.
        """
        if self.failed:
            return None
        values["note"] = self._note
        source = f"{self.sheet.file} row {self.number}" if self.number else ""
        return cls(entry_id=self._own_id or content_id(cls, values), source=source, **values)

    def value(self, column: str) -> Given:
        """What is written in a column, None if blank; says so if it must be filled."""
        value = self.given.get(column)
        if type(value) is str:
            value = value.strip()
        if value is None or value == "":
            self._refuse_blank(column)
            return None
        return value

    def _refuse_blank(self, column: str) -> None:
        if column in self.sheet.required:
            self.wrong(column, "This must be filled.")

    def text(self, column: str) -> str:
        """A text as it is written; a number of a workbook as its digits."""
        value = self.given.get(column)
        if type(value) is str:
            value = value.strip()
            if value and value[0] not in _FORMULA and len(value) < 200 and value.isprintable():
                return value
        if value is None or value == "":
            self._refuse_blank(column)
            return ""
        if type(value) is float and abs(value) >= 1e15:
            self.wrong(column, f"{value:g} was rounded by the workbook. Format the cell as text.")
            return ""
        try:
            return written.plain_text(text_of(value))
        except InputError as error:
            self.wrong(column, str(error))
            return ""

    def choice(self, column: str, allowed: Sequence[str], default: str = "") -> str:
        """One of a few words."""
        text = self.text(column).lower() or default
        if text and text not in allowed:
            self.wrong(column, str(UnknownName(column, text, allowed)))
            return default
        return text

    def named(self, column: str, known: Mapping[str, T], what: str = "") -> T | None:
        """What the set-up knows by this name."""
        text = self.text(column)
        found = known.get(text)
        if found is None and text:
            self.wrong(column, str(UnknownName(what or column, text, known)))
        return found

    def thousandths(self, column: str, *, negative: bool = False) -> int | None:
        """A number as whole thousandths."""
        value = self.value(column)
        if value is None:
            return None
        try:
            self._refuse_comma(value)
            number = _whole_thousandths(value)
        except InputError as error:
            self.wrong(column, str(error))
            return None
        if number < 0 and not negative:
            self.wrong(column, f"{value} is negative. Give 0 or more.")
            return None
        return number

    def whole(self, column: str) -> int | None:
        """A number without decimals, 0 or more."""
        value = self.value(column)
        if value is None:
            return None
        try:
            self._refuse_comma(value)
            number = written.whole_number(value)
        except InputError as error:
            self.wrong(column, str(error))
            return None
        if number < 0:
            self.wrong(column, f"{value} is negative. Give 0 or more.")
            return None
        return number

    def _refuse_comma(self, value: Given) -> None:
        if self.sheet.comma_is_decimal and type(value) is str and "," in value:
            raise InputError(
                f"“{value}” has a comma in a file whose columns are separated by semicolons, where"
                " it may stand for the decimal point. Write 1234.5."
            )

    def yes_no(self, column: str) -> bool | None:
        """Yes or no."""
        value = self.value(column)
        try:
            return None if value is None else written.yes_no(value)
        except InputError as error:
            self.wrong(column, str(error))
            return None

    def day(
        self, column: str, *, before_the_site: bool = False, to_come: bool = False
    ) -> date | None:
        """A date on which something happened: not to come, nor before the first date of the site.

        The set-up in force on it is what the rest of the row is read against.
        """
        value = self.value(column)
        if value is None:
            return None
        try:
            day = _iso_date(value)
        except InputError as error:
            self.wrong(column, str(error))
            return None
        if not before_the_site and not self._placed(column, day):
            return None
        if not to_come and day > self.clock.local(self.sheet.now).date():
            self.wrong(column, f"{day} is in the future. Correct the date.")
            return None
        return day

    def moment(self, column: str) -> Moment | None:
        """A moment at which something happened: neither to come nor before the first date."""
        value = self.value(column)
        if value is None:
            return None
        try:
            moment = self.clock.moment(value)
        except InputError as error:
            self.wrong(column, str(error))
            return None
        if moment.twice:
            self.warn(
                column,
                f"The clock showed {moment.local:%H:%M} twice that night; it is taken as the first"
                " time. Add the offset, such as +00:00, to say which.",
            )
        if not self._placed(column, moment.local.date()):
            return None
        if moment.utc > self.sheet.now:
            self.wrong(column, f"{value} is in the future. Correct the date or the time.")
            return None
        return moment

    def _placed(self, column: str, day: date) -> bool:
        """Take the set-up in force on this day; says so if the site had not begun by then."""
        self.setup = self.sheet.setups.on(day)
        first = self.setup.site.first_date
        if day >= first:
            return True
        self.wrong(
            column,
            f"{day} is before the first date of the site, {first}. Correct the date; a device whose"
            " clock was reset shows such dates.",
        )
        return False


def content_id(cls: type[Entry], values: Mapping[str, Any]) -> str:
    """An id made from what an entry says: equal for equal content, wherever it came from.

    A column that came with a later version counts only where it is filled, so that a file recorded
    before is still known.
    """
    said = "\x1f".join([cls.KIND, *map(str, _SAYING[cls.KIND](values))])
    for name in cls.LATER:
        if values.get(name) not in (None, ""):
            said += f"\x1f{name}={values[name]}"
    return blake2b(said.encode(), digest_size=16).hexdigest()


def text_of(value: object) -> str:
    """A value of a workbook cell as text, as a person would have typed it.

    >>> text_of(4.0), text_of(4.5), text_of(True)
    ('4', '4.5', 'yes')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    if isinstance(value, datetime):
        return value.isoformat(sep=" ")
    if isinstance(value, timedelta):  # how some workbooks keep a time of day
        hours, rest_s = divmod(int(value.total_seconds()), 3600)
        return f"{hours:02d}:{rest_s // 60:02d}:{rest_s % 60:02d}"
    return str(value)
