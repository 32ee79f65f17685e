"""Values as people write them: numbers, dates, times, names. Strict, so that nothing is guessed.

`1234.5` and `1,234.5` are numbers; `240,5` is refused, because it could be read as 2405. Dates are
year-month-day only. Each reader takes text, or the real value that a workbook cell holds.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time

from tracker.errors import InputError

_NUMBER = re.compile(r"[+-]?(?:[0-9]{1,12}|[1-9][0-9]{0,2}(?:,[0-9]{3}){1,3})(?:\.[0-9]{1,12})?")
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9.]+,[0-9]+")
_ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_OTHER_DATE = re.compile(r"([0-9]{1,2})[/.-]([0-9]{1,2})[/.-]([0-9]{4})")
_TIME = re.compile(r"([0-9]{1,2}):([0-9]{2})(?::00)?")
_WASTE_CODE = re.compile(r"[0-9]{2} [0-9]{2} [0-9]{2}\*?")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LONGEST_TEXT = 2000
LARGEST_NUMBER = 1e12  # so that whole thousandths stay exact


def number_refusal(text: str) -> str:
    """The sentence that says why a text is no number and what to write instead."""
    if not text:
        return "A number is wanted here; it is blank."
    if _DECIMAL_COMMA.fullmatch(text):
        return (
            f"“{text}” has a comma where it cannot be told what is meant. Write 1234.5 or 1,234.5."
        )
    if text.startswith(_FORMULA):
        return f"“{text}” is a formula, not a number. Paste the value instead."
    return f"“{text}” is not a number. Write digits with a point, such as 1234.5, and no unit."


def decimal_number(value: object) -> float:
    """A number as a float.

    >>> decimal_number("1,234.5")
    1234.5

    Raises InputError for a decimal comma, a formula, a blank, letters, nan or inf.
    """
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if abs(value) < LARGEST_NUMBER:  # false for nan too
            return float(value)
        raise InputError(f"{value} is no number that can be recorded. Give the number itself.")
    text = "" if value is None else str(value).strip()
    if not _NUMBER.fullmatch(text):
        raise InputError(number_refusal(text))
    return float(text.replace(",", ""))


def whole_thousandths(value: object) -> int:
    """A number as whole thousandths: metres to millimetres, tonnes to kilograms, m³ to litres.

    >>> whole_thousandths("-4.25")
    -4250

    Raises InputError as `decimal_number` does, and for more than three decimals.
    """
    number = decimal_number(value)
    thousandths = round(number * 1000.0)
    # A workbook stores 0.3 as 0.30000000000000004; that is three decimals all the same.
    if abs(number * 1000.0 - thousandths) > max(1e-6, abs(number) * 1e-12):
        raise InputError(f"{value} has more than three decimals. Round it to three.")
    return thousandths


def whole_number(value: object) -> int:
    """A number without decimals.

    Raises InputError as `decimal_number` does, and for a fraction.
    """
    number = decimal_number(value)
    if not number.is_integer():
        raise InputError(f"{value} is not a whole number. Give one without decimals.")
    return int(number)


def iso_date(value: object) -> date:
    """A date written year-month-day.

    >>> iso_date("2026-11-05")
    datetime.date(2026, 11, 5)

    Raises InputError for any other order, naming the date to write.
    """
    if isinstance(value, datetime):
        if value.time() == time():
            return value.date()
        raise InputError(f"{value} has a time of day where only a date is wanted.")
    if isinstance(value, date):
        return value
    text = "" if value is None else str(value).strip()
    if _ISO_DATE.fullmatch(text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise InputError(f"{text} is no day of the calendar. Check day and month.") from None
    raise InputError(_date_refusal(text))


def _date_refusal(text: str) -> str:
    if not text:
        return "A date is wanted here; it is blank. Write it as year-month-day, such as 2026-11-05."
    written = _OTHER_DATE.fullmatch(text)
    if not written:
        return f"“{text}” is not a date. Write it as year-month-day, such as 2026-11-05."
    first, second, year = (int(part) for part in written.groups())
    options = []
    for day, month in dict.fromkeys(((first, second), (second, first))):
        try:
            options.append(date(year, month, day))
        except ValueError:
            continue
    if not options:
        return f"“{text}” is no day of the calendar. Write year-month-day, such as 2026-11-05."
    wanted = " or ".join(f"{d.isoformat()} for {d.day} {d:%B %Y}" for d in options)
    why = "could be read in two ways" if len(options) > 1 else "is not written year-month-day"
    return f"“{text}” {why}. Write {wanted}."


def clock_time(value: object) -> time:
    """A local time of day written HH:MM. Raises InputError otherwise."""
    if isinstance(value, time):
        return value
    text = "" if value is None else str(value).strip()
    written = _TIME.fullmatch(text)
    if written and int(written[1]) < 24 and int(written[2]) < 60:
        return time(int(written[1]), int(written[2]))
    raise InputError(f"“{text}” is not a time of day. Write it as HH:MM, such as 07:30.")


def weekday_numbers(value: object) -> tuple[int, ...]:
    """Weekdays written as `Mon Tue Wed` or `Mon-Fri`, as numbers from 0 for Monday.

    >>> weekday_numbers("Mon-Wed Sat")
    (0, 1, 2, 5)
    """
    days: set[int] = set()
    for part in re.split(r"[\s,;]+", str(value or "").strip().lower()):
        ends = [_weekday(name, value) for name in part.split("-")]
        if len(ends) > 2 or ends[-1] < ends[0]:
            raise InputError(f"“{value}” is no list of weekdays. Write it like Mon Tue Wed.")
        days.update(range(ends[0], ends[-1] + 1))
    return tuple(sorted(days))


def _weekday(name: str, written: object) -> int:
    if name[:3] not in _WEEKDAYS:
        raise InputError(f"“{written}” is no list of weekdays. Write it like Mon Tue Wed.")
    return _WEEKDAYS.index(name[:3])


def yes_no(value: object) -> bool:
    """Yes or no, as a bool. Raises InputError for anything else."""
    if isinstance(value, bool):
        return value
    text = "" if value is None else str(value).strip().lower()
    if text in ("yes", "y", "true"):
        return True
    if text in ("no", "n", "false"):
        return False
    raise InputError(f"“{text}” is neither yes nor no. Write yes or no.")


def plain_text(value: object) -> str:
    """Text without surrounding space, refused if a spreadsheet could run it as a formula.

    Raises InputError for a formula, for control characters and for more than 2,000 characters.
    """
    text = "" if value is None else str(value).strip()
    if text.startswith(_FORMULA):
        raise InputError(
            f"“{text[:40]}” begins with “{text[0]}”, which a spreadsheet runs as a formula."
            " Begin with a letter or a digit."
        )
    if not text.isprintable() and not text.replace("\n", "").replace("\t", "").isprintable():
        raise InputError(f"“{text[:40]!r}” holds characters that cannot be printed. Type it anew.")
    if len(text) > LONGEST_TEXT:
        raise InputError(f"The text has {len(text)} characters; at most {LONGEST_TEXT} are kept.")
    return text


def waste_code(value: object) -> str:
    """A List of Waste code as text, its asterisk kept. Raises InputError otherwise.

    >>> waste_code("17 05 03*")
    '17 05 03*'
    """
    text = "" if value is None else str(value).strip()
    if _WASTE_CODE.fullmatch(text):
        return text
    digits = re.sub(r"[^0-9*]", "", text)
    hint = f" Write {digits[:2]} {digits[2:4]} {digits[4:]}." if len(digits) >= 6 else ""
    raise InputError(f"“{text}” is no List of Waste code, such as 17 05 04 or 17 05 03*.{hint}")


def safe_cell(text: str) -> str:
    """Text for a cell of an export: a quote before what a spreadsheet would run as a formula.

    >>> safe_cell("=1+1"), safe_cell("-4.5")
    ("'=1+1", '-4.5')
    """
    if text.startswith(_FORMULA) and not _NUMBER.fullmatch(text):
        return f"'{text}"
    return text
