"""Cells read kindly: what was typed, in the one form the tables use.

Only the form is mended, never the meaning; each mend is told.  Dates are ISO 8601 calendar
dates (YYYY-MM-DD); a date that could be read two ways is refused.
"""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from pmulab.tables.fields import MISSING_REASONS, Field
from pmulab.tables.grids import ERROR_VALUES, NoStoredValue, is_blank
from pmulab.tables.headers import plain
from pmulab.tables.report import Fault

FIRST_SERIAL_DAY, LAST_SERIAL_DAY = date(2015, 1, 1), date(2040, 12, 31)

_SERIAL_ZERO = date(1899, 12, 30)
_UNIT_WORDS = {
    "min": ("min", "mins", "minute", "minutes", "m"),
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "degrees": ("degrees", "degree", "deg", "°"),
    "Hz": ("hz", "strokes/s", "/s"),
    "wipes": ("wipes", "wipe"),
    "hour of day": ("h", "hours", "uhr", "o'clock"),
    "segments of 10": ("segments", "of 10", "/10", "/ 10"),
}
_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan january", "feb february", "mar march", "apr april", "may", "jun june", "jul july",
         "aug august", "sep sept september", "oct october", "nov november", "dec december"),
        start=1,
    )
    for name in names.split()
}  # fmt: skip
_MISSING = {plain(reason): reason for reason in MISSING_REASONS}
_FLAGS = {"yes": "yes", "y": "yes", "true": "yes", "1": "yes",
          "no": "no", "n": "no", "false": "no", "0": "no"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Reading:
    """A cell as read: its text in the one form, why it was mended, or why it cannot be read."""

    text: str
    why: str = ""
    fault: Fault | None = None


def shown(value: object) -> str:
    """Show a cell's content as a person sees it.

    Parameters
    ----------
    value : object

    Returns
    -------
    str
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, float):
        return format(value, ".15g")
    if isinstance(value, datetime) and value.time() == time():
        return value.date().isoformat()
    return str(value)


def mend(field: Field, value: object, arms: Mapping[str, str], serial_dates: bool) -> Reading:
    """Read one cell of a field.

    Parameters
    ----------
    field : Field
    value : object
        The cell: text, number, date, truth value or None.
    arms : mapping of arm key to label
    serial_dates : bool
        Whether a bare number in a date column counts days from 1900.

    Returns
    -------
    Reading
    """
    if isinstance(value, NoStoredValue):
        return Reading("a formula", fault=Fault(
            "formula_without_value",
            "The cell holds a formula whose result was never stored.",
            f"Type the value itself: {field.allowed}{field.such_as}.",
        ))  # fmt: skip
    raw = shown(value)
    text = _tidy(field, raw)
    if text.upper() in ERROR_VALUES:
        return Reading(raw, fault=Fault(
            "error_value",
            f"The cell holds the error '{raw}' of your spreadsheet program.",
            f"Type the value itself: {field.allowed}{field.such_as}.",
        ))  # fmt: skip
    if is_blank(text):
        return Reading("")
    if plain(text) in _MISSING:
        return _told(raw, _MISSING[plain(text)], "missing-reason code")
    return _of_kind(field, value, raw, text, arms, serial_dates)


def _of_kind(
    field: Field, value: object, raw: str, text: str, arms: Mapping[str, str], serial_dates: bool
) -> Reading:
    if field.kind == "date":
        return _date(value, raw, text, serial_dates)
    if field.kind in ("int", "float"):
        return _number(field, value, raw, text)
    if field.kind == "flag":
        return _told(raw, _FLAGS.get(plain(text), text), "yes or no")
    if field.kind == "choice":
        choice = _choice(field, text, arms)
        offered = field.arm and raw == arms.get(choice)  # the workbook's own drop-down
        return Reading(choice) if offered else _told(raw, choice, "the word of the list")
    if field.kind == "code":
        return _told(raw, _code(field, text), "code without stray spaces or small letters")
    return _told(raw, text, "stray spaces")


def _tidy(field: Field, raw: str) -> str:
    if field.kind == "text":
        return raw.replace("\u00a0", " ").replace("\u202f", " ").strip()
    return unicodedata.normalize("NFKC", raw).replace("\u200b", "").strip()


def _told(raw: str, text: str, why: str) -> Reading:
    if raw == text:
        return Reading(text)
    return Reading(text, "stray spaces" if raw.strip(" \u00a0\t") == text else why)


def _choice(field: Field, text: str, arms: Mapping[str, str]) -> str:
    words = {plain(words): choice for choice, words in field.labels}
    if field.arm:
        words |= {plain(label): key for key, label in arms.items()}
        words |= {plain(f"arm {key}"): key for key in arms}
    words |= {plain(choice): choice for choice in field.choices}
    return words.get(plain(text), text)


def _code(field: Field, text: str) -> str:
    pattern = field.pattern or ".*"
    squeezed = re.sub(r"(?<=[A-Za-z])\s+(?=\d)", "", text)
    for candidate in (text, squeezed, squeezed.upper()):
        if re.fullmatch(pattern, candidate):
            return candidate
    return text


def _number(field: Field, value: object, raw: str, text: str) -> Reading:
    if isinstance(value, (date, time, timedelta)):
        return Reading(raw, fault=Fault(
            "date_for_number",
            f"'{raw}' is a date or time, a number is expected; spreadsheet programs turn entries"
            " such as 3.5 into dates.",
            f"Set the cell to 'number' and type the value again: {field.allowed}.",
        ))  # fmt: skip
    number = text.replace("\u2212", "-")
    why = []
    if stripped := _without_unit(field, number):
        number, why = stripped, ["unit taken off"]
    if re.fullmatch(r"[+-]?\d+,\d+", number):
        number = number.replace(",", ".")
        why.append("decimal comma")
    if field.kind == "int" and re.fullmatch(r"[+-]?\d+\.0+", number):
        number = number.split(".")[0]
        why.append("whole number")
    if isinstance(value, float):
        why = [reason for reason in why if reason != "whole number"]
        raw = number if not why else raw
    return _told(raw, number, " and ".join(why) or "sign")


def _without_unit(field: Field, text: str) -> str | None:
    found = re.fullmatch(r"([+-]?\d+(?:[.,]\d+)?)\s*([^\d\s].*)", text)
    if not found:
        return None
    known = _UNIT_WORDS.get(field.unit, (field.unit.casefold(),) if field.unit else ())
    return found[1] if found[2].casefold().rstrip(".") in known else None


def _date(value: object, raw: str, text: str, serial_dates: bool) -> Reading:
    if isinstance(value, datetime):
        return _told(raw, value.date().isoformat(), "time of day taken off")
    if isinstance(value, date):
        return Reading(value.isoformat())
    if re.fullmatch(r"\d{5}(?:\.\d+)?", text):
        return _serial(raw, text, serial_dates)
    text = re.sub(r"(\d)[T ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?$", r"\1", text)
    for read in (_year_first, _with_month_name, _year_last):
        reading = read(raw, text)
        if reading is not None:
            return reading
    return Reading(text)


def _serial(raw: str, text: str, serial_dates: bool) -> Reading:
    day = _SERIAL_ZERO + timedelta(days=int(float(text)))
    if serial_dates and FIRST_SERIAL_DAY <= day <= LAST_SERIAL_DAY:
        return Reading(day.isoformat(), "day number of the spreadsheet program")
    return Reading(raw)


def _iso(year: str, month: int, day: str) -> str | None:
    try:
        return date(int(year), month, int(day)).isoformat()
    except ValueError:
        return None


def _as_date(raw: str, iso: str | None) -> Reading | None:
    return None if iso is None else _told(raw, iso, "date written otherwise")


def _year_first(raw: str, text: str) -> Reading | None:
    found = re.fullmatch(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})\.?", text)
    return _as_date(raw, _iso(found[1], int(found[3]), found[4])) if found else None


def _with_month_name(raw: str, text: str) -> Reading | None:
    words = re.sub(r"[,.\-/ ]+", " ", re.sub(r"(?<=\d)(?:st|nd|rd|th)\b", "", text.casefold()))
    found = re.fullmatch(r"(\d{1,2}) ([a-z]+) (\d{4})|([a-z]+) (\d{1,2}) (\d{4})", words.strip())
    if not found:
        return None
    day, name, year = found[1] or found[5], found[2] or found[4], found[3] or found[6]
    return _as_date(raw, _iso(year, _MONTHS[name], day)) if name in _MONTHS else None


def _year_last(raw: str, text: str) -> Reading | None:
    found = re.fullmatch(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4})", text)
    if not found:
        return None
    first, second, year = found[1], found[3], found[4]
    day_first, month_first = _iso(year, int(second), first), _iso(year, int(first), second)
    if day_first and month_first and day_first != month_first:
        return Reading(raw, fault=Fault(
            "ambiguous_date",
            f"'{raw}' can be read as {day_first} or as {month_first}.",
            f"Write it with the year first, such as {day_first}, if that is the day you mean.",
        ))  # fmt: skip
    return _as_date(raw, day_first or month_first)
