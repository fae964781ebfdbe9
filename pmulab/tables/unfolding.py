"""Parts of a workbook that are small as they lie there and huge once they are understood."""

import re

_DECLARATION = tuple("<!DOCTYPE".encode(code) for code in ("ascii", "utf-16-le", "utf-16-be"))
_MERGED = re.compile(
    rb"mergeCell\s[^>]*?\bref=[\"']([A-Z]{1,3})(\d{1,7}):([A-Z]{1,3})(\d{1,7})[\"']"
)
_MOST_MERGED = 200_000


def unfolds(part: bytes) -> bool:
    """Whether a part would unfold to far more than it holds; no spreadsheet program writes such.

    Entities of its own: some readers unfold them without end, others drop what they stand for;
    which one openpyxl uses depends on what else is installed. Merged cells: openpyxl makes a cell
    for each of their places.

    Parameters
    ----------
    part : bytes

    Returns
    -------
    bool
    """
    if any(mark in part for mark in _DECLARATION):
        return True
    return sum(map(_places, _MERGED.finditer(part))) > _MOST_MERGED


def _places(merged: re.Match[bytes]) -> int:
    left, top, right, bottom = merged.groups()
    return (_column(right) - _column(left) + 1) * (int(bottom) - int(top) + 1)


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + letter - ord("A") + 1
    return number
