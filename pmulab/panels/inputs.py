"""Inputs of the panels: each has its label, and a note where one is needed."""

from collections.abc import Sequence
from math import isfinite
from typing import Any

from ipywidgets import HTML, Box, Checkbox, DatePicker, Dropdown, Text, Textarea, Widget

from pmulab.errors import UserError
from pmulab.panels.showing import paragraphs
from pmulab.tables.fields import Field

CHOOSE = "choose"
_HERS = ("who", "skin", "health")
"""Subjects on which the client herself answers, or does not."""
_SILENT = "she does not say"
_LABEL = {"description_width": "initial"}


def choice(label: str, options: Sequence[tuple[str, Any]], value: Any) -> Dropdown:
    """Make a drop-down list."""
    return Dropdown(description=label, options=list(options), value=value, style=_LABEL)


def words(label: str, value: str = "", example: str = "") -> Text:
    """Make an input for one line, handed on whole once it is left.

    Letter by letter, the last ones would come after a button that is pressed while Python is busy.
    """
    return Text(
        description=label, value=value, placeholder=example, style=_LABEL, continuous_update=False
    )


def long_words(label: str, value: str = "", rows: int = 3) -> Textarea:
    """Make an input for several lines, handed on like `words`."""
    return Textarea(
        description=label, value=value, rows=rows, style=_LABEL, continuous_update=False
    )


def tick(label: str, value: bool = False) -> Checkbox:
    """Make a box to tick."""
    return Checkbox(description=label, value=value, indent=False, style=_LABEL)


def note(*texts: str) -> HTML:
    """Make a note that stands with an input."""
    made = HTML(paragraphs(texts))
    made.add_class("pmulab-hint")
    return made


def grid(cells: Sequence[Widget]) -> Box:
    """Put inputs side by side, as many as the page is wide."""
    made = Box(list(cells))
    made.add_class("pmulab-fields")
    return made


def field_input(field: Field) -> Widget:
    """Make the input of a field of the tables.

    Parameters
    ----------
    field : Field

    Returns
    -------
    Widget
        A list for choices, a calendar for dates, a line for everything else.
    """
    label = f"{field.title} ({field.unit})" if field.unit else field.title
    if field.kind == "date":
        return DatePicker(description=label, style=_LABEL)
    given = ("yes", "no") if field.kind == "flag" else field.choices
    if given:
        silent = [(_SILENT, "NA_refused")] if field.group in _HERS and field.needed != "no" else []
        return choice(label, [(CHOOSE, ""), *((one, one) for one in given), *silent], "")
    return words(label, example=f"such as {field.example}" if field.example else "")


def field_text(given: Widget) -> str:
    """Give what was entered for a field, '' for nothing."""
    if isinstance(given, DatePicker):
        return given.value.isoformat() if given.value else ""
    return str(given.value).strip()


def number(given: Text) -> float | None:
    """Give the number in a line of input, None for an empty one.

    Parameters
    ----------
    given : Text

    Returns
    -------
    float or None

    Raises
    ------
    UserError
        If it is no number.
    """
    text = given.value.strip().replace(",", ".")
    if not text:
        return None
    try:
        found = float(text)
    except ValueError:
        found = float("nan")
    if not isfinite(found):
        raise UserError(
            f"{given.description}: {given.value!r} is no number.", "Write it like 2 or 2.5."
        )
    return found


def whole_number(given: Text) -> int | None:
    """Give the whole number in a line of input, None for an empty one.

    Parameters
    ----------
    given : Text

    Returns
    -------
    int or None

    Raises
    ------
    UserError
        If it is no whole number.
    """
    found = number(given)
    if found is not None and not found.is_integer():
        raise UserError(
            f"{given.description}: {given.value!r} is no whole number.", "Write it like 12."
        )
    return None if found is None else int(found)
