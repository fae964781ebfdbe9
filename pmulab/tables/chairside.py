"""The printable sheet for the chair: one client, one visit, both eyelids side by side."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pmulab.pages import template
from pmulab.tables.expectations import ArmKey, Expectations
from pmulab.tables.fields import Field, Table
from pmulab.tables.guide import CAUTIONS

_TALLY_MINUTES, _TALLY_WIPES = 40, 60


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the sheet.

    Parameters
    ----------
    title : str
        Words, with the unit and a star if needed.
    boxes : tuple of str
        Choices to tick; empty means a line to write on.
    tally : int
        Number of tally boxes; 0 for none.
    anchors : str
        Grades in small print.
    """

    title: str
    boxes: tuple[str, ...]
    tally: int
    anchors: str


def _entry(field: Field, expectations: Expectations) -> Entry:
    unit = f" ({field.unit})" if field.unit else ""
    star = " *" if field.needed == "always" else ""
    boxes = ("yes", "no") if field.kind == "flag" else field.choices
    if field.arm:
        boxes = tuple(expectations.arms.get(choice, choice) for choice in boxes)
    elif field.kind == "int" and field.maximum is not None and field.maximum <= 10:
        low = int(field.minimum or 0)
        boxes = tuple(str(grade) for grade in range(low, int(field.maximum) + 1))
    tally = {"work_min": _TALLY_MINUTES, "wipes": _TALLY_WIPES}.get(field.name, 0)
    words = tuple(box.replace("_", " ") for box in boxes)
    return Entry(field.title + unit + star, words, tally, " · ".join(field.anchors))


def chairside_sheet(
    tables: Mapping[str, Table],
    expectations: Expectations,
    steps: Mapping[ArmKey, Sequence[str]] | None = None,
) -> str:
    """Return the sheet as one self-contained HTML page for A4 or Letter paper.

    The steps stand at its foot; where they do not fit there, they are printed on the back.

    Parameters
    ----------
    tables : mapping of table name to Table
    expectations : Expectations
        Gives the words for the arms.
    steps : mapping of {'A', 'B'} to sequence of str, optional
        How each way is done, line by line.

    Returns
    -------
    str
    """
    fields = [
        field
        for field in tables["sessions"].fields
        if field.name not in ("side", "block_no", "sequence", "note")
    ]
    return template("pmulab.tables", "chairside.html").render(
        visit=[_entry(field, expectations) for field in fields if field.per == "visit"],
        eyelid=[_entry(field, expectations) for field in fields if field.per == "eyelid"],
        cautions=CAUTIONS,
        ways=[(expectations.arms[key], lines) for key, lines in (steps or {}).items() if lines],
    )
