"""TOML as a person typed it: read into plain data, or refused with its line."""

import re
import tomllib
from collections.abc import Iterator
from typing import Any

from pmulab.errors import UserError

MOST_DEPTH = 20
_LARGEST = 2**63
"""TOML 1.0.0, Integer: what does not fit 64 bits is an error."""

Place = tuple[str | int, ...]


def read_toml(text: str, where: str, remedy: str) -> dict[str, Any]:
    """Read TOML.

    Parameters
    ----------
    text : str
    where : str
        File name used in messages.
    remedy : str
        What to do about a fault.

    Returns
    -------
    dict

    Raises
    ------
    UserError
        If it is no TOML, nested deeper than `MOST_DEPTH`, or holds a number beyond 64 bits.
    """
    text = text.removeprefix("\ufeff")
    try:
        data = tomllib.loads(text)
    except RecursionError:
        told = f"line {_longest_line(text)} is nested far too deep"
        raise UserError(f"{where}, {told}", remedy) from None
    except ValueError as error:
        raise UserError(f"{where}, {_plain_fault(error, text)}", remedy) from None
    for place, told in _beyond(data):
        raise UserError(f"{where}, line {line_of(text, place)}: {told}", remedy)
    return data


def line_of(text: str, place: Place) -> int:
    """Find the line of a TOML text on which an entry stands.

    Parameters
    ----------
    text : str
    place : tuple of str or int
        Path of the entry, e.g. ('secondary', 1, 'unit').

    Returns
    -------
    int
        From 1. When the entry is missing, the line of the table it belongs to.
    """
    for depth in range(len(place), 0, -1):
        wanted = place[:depth]
        for number, here in _entries(text):
            if here == wanted:
                return number
    return 1


def _beyond(data: dict[str, Any]) -> Iterator[tuple[Place, str]]:
    """Find what no entry can be; a stack of our own, since dotted names nest without end."""
    waiting: list[tuple[Place, Any]] = [((), data)]
    while waiting:
        place, value = waiting.pop()
        if len(place) > MOST_DEPTH:
            yield place, f"nested deeper than {MOST_DEPTH} levels"
        elif isinstance(value, dict):
            waiting += [((*place, name), inner) for name, inner in value.items()]
        elif isinstance(value, list):
            waiting += [((*place, row), inner) for row, inner in enumerate(value)]
        elif type(value) is int and not -_LARGEST <= value < _LARGEST:
            yield place, "the number is far too large"


def _plain_fault(error: ValueError, text: str) -> str:
    lines = text.split("\n")
    if match := re.search(r"at line (\d+), column \d+", str(error)):
        number = int(match[1])
        shown = _short(lines[number - 1]) if number <= len(lines) else ""
        if re.search(r"=\s*-?\d+,\d+\s*(#.*)?$", shown):
            return f"line {number} has a decimal comma: {shown}"
        return f"line {number} cannot be read: {shown}"
    if not isinstance(error, tomllib.TOMLDecodeError):  # a number that Python does not convert
        return f"line {_longest_line(text)}: the number is far too large"
    last = len(text.rstrip("\n").split("\n"))
    told = str(error).removesuffix(" (at end of document)")
    return f"line {last}: the file ends in the middle of an entry ({told})"


def _short(line: str) -> str:
    shown = line.strip()
    return shown if len(shown) <= 100 else shown[:97] + "..."


def _longest_line(text: str) -> int:
    lines = text.split("\n")
    return 1 + max(range(len(lines)), key=lambda number: len(lines[number]))


_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]")
_ENTRY = re.compile(r"""^\s*["']?([A-Za-z0-9_-]+)["']?\s*[.=]""")


def _entries(text: str) -> Iterator[tuple[int, Place]]:
    """Walk the lines of a TOML text, naming the path each one opens."""
    table: Place = ()
    rows: dict[str, int] = {}
    for number, line in enumerate(text.split("\n"), start=1):
        if header := _HEADER.match(line):
            name = header[2]
            table = tuple(part.strip(" \"'") for part in name.split("."))
            if header[1] == "[[":
                rows[name] = rows.get(name, -1) + 1
                table = (*table, rows[name])
            yield number, table
        elif entry := _ENTRY.match(line):
            yield number, (*table, entry[1])
