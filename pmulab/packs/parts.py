"""The files of a pack as data: JSON of bounded depth, tables of plain cells only."""

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from pmulab.disk import decoded
from pmulab.packs.guards import refused
from pmulab.packs.model import MOST_DEPTH

# No text fits both kinds of cell, so that a strange table is refused at once and not after trying
# every way to read each of its cells.
_CELL = r"(?:-[0-9][0-9eE.+-]{0,40}|[A-Za-z0-9_][A-Za-z0-9_.+-]{0,60})?+"
_TABLE = re.compile(rf"(?:{_CELL}(?:,{_CELL})*+\r?\n)++")
_ONE = re.compile(_CELL)
_FORMULA = ("=", "+", "-", "@", "\t")


def json_part(parts: Mapping[str, bytes], name: str, where: str) -> Any:
    """Read a JSON file of a pack.

    Parameters
    ----------
    parts : mapping of str to bytes
    name : str
        Of the file.
    where : str
        Name of the pack, for messages.

    Returns
    -------
    dict or list

    Raises
    ------
    UserError
        If it is no JSON, nested too deep, or names one thing twice.
    """
    text = decoded(parts[name], f"{where}, {name}")
    if _depth(text) > MOST_DEPTH:
        raise refused(where, f"{name} is nested deeper than {MOST_DEPTH} levels.")
    try:
        return json.loads(text, object_pairs_hook=_once, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise refused(where, f"{name} cannot be read ({str(error)[:80]}).") from None


def _depth(text: str) -> int:
    """Give the deepest nesting of brackets, those inside texts counted too."""
    depth = deepest = 0
    for bracket in re.findall(r"[\[\]{}]", text):
        depth += 1 if bracket in "[{" else -1
        deepest = max(deepest, depth)
    return deepest


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("one name is given twice")
    return found


def _no_constant(word: str) -> Any:
    raise ValueError(f"{word} is no number")


def table_part(parts: Mapping[str, bytes], name: str, where: str) -> list[list[str]]:
    """Read a table of a pack.

    Parameters
    ----------
    parts : mapping of str to bytes
    name : str
        Of the table.
    where : str
        Name of the pack, for messages.

    Returns
    -------
    list of list of str
        The header, then the rows.

    Raises
    ------
    UserError
        If a cell is no code, number or plain answer (a formula, for one), a column has no name
        or occurs twice, or a row is longer or shorter than the header.
    """
    text = decoded(parts[f"{name}.csv"], f"{where}, {name}.csv")
    if not _TABLE.fullmatch(text):
        raise refused(where, next(_bad_cells(text, name), f"{name}.csv is no plain table."))
    rows = [line.split(",") for line in text.splitlines()]  # no cell holds a comma or a quote
    header = rows[0]
    if len(set(header)) != len(header) or not all(header):
        raise refused(where, f"{name}.csv names a column twice, or not at all.")
    if any(len(row) != len(header) for row in rows):
        raise refused(where, f"{name}.csv has rows of different length.")
    return rows


def _bad_cells(text: str, name: str) -> Iterator[str]:
    for number, line in enumerate(text.split("\n"), start=1):
        for cell in line.removesuffix("\r").split(","):
            if not _ONE.fullmatch(cell):
                kind = "a formula" if cell.startswith(_FORMULA) else "no code, number or answer"
                yield f"{name}.csv, row {number}: {cell[:40]!r} is {kind}."
