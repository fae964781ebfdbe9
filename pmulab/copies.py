"""Second copies of the files of a study, as programs for shared folders leave them.

When two computers wrote at once, such a program keeps both files and gives one of them a longer
name. Which one counts is for a person to say: a copy is named and never read.
"""

import re
from collections.abc import Iterator
from pathlib import Path

from pmulab.tables.fields import TABLE_NAMES
from pmulab.tables.guards import SCORED_NAME, TEXT_SUFFIXES, WORKBOOK, find_sources

_WRITTEN = ("allocation.csv", "journal.jsonl", "findings.json")
"""Files that nobody but the kit writes: any longer name is a copy."""
_TABLES = tuple(
    f"{stem}{suffix}"
    for stem in (WORKBOOK, "practice", *TABLE_NAMES)
    for suffix in (".xlsx", *TEXT_SUFFIXES)
)
_TYPED = ("plan.toml", *_TABLES)
_MARKED = re.compile(
    r"\(.*\)|~|\b(sync-)?conflict|\bcop(y|ie|ia)\b|\bkop(ie|ia)\b|duplicate|[ _.-]\d+$",
    re.IGNORECASE,
)
_COMPUTER = re.compile(r"[ _.-]+[A-Z0-9][\w-]*")
_BELOW = (
    ("scoring/round-*", re.compile(r"scoring/round-\d\d+"), "a scoring round"),
    ("scoring/round-*/healed-*.csv", SCORED_NAME, "healed rows of a scoring round"),
    (
        "scoring/round-*/answers/*.json",
        re.compile(r"scoring/.+/answers/[A-Z]{1,3}\d{1,3}\.json"),
        "the answers of an assessor",
    ),
    ("photos/*.jpg*", re.compile(r"photos/[\w-]{1,40}\.jpg"), "a photo"),
    (
        "photos/*.marks*",
        re.compile(r"photos/[\w-]{1,40}\.marks\.json(\.earlier-\d+)?"),
        "the marks in a photo",
    ),
)
"""Where else copies are looked for, what names are no copies, and what a copy would be of."""


def second_copies(folder: Path) -> Iterator[str]:
    """Name the second copies in a study folder, one sentence each.

    Parameters
    ----------
    folder : Path

    Yields
    ------
    str
    """
    told = {one.file for one in find_sources(folder)[1]}
    for path in sorted(folder.iterdir()):
        own = _copied(path.name)
        if own and path.name not in told:
            yield _words(path.name, own)
    for pattern, good, own in _BELOW:
        for path in sorted(folder.glob(pattern)):
            name = path.relative_to(folder).as_posix()
            if not good.fullmatch(name):
                yield _words(name, own)


def _copied(name: str) -> str:
    """Give the file that a name looks like a copy of, '' for none."""
    for own in (*_WRITTEN, *_TYPED):
        stem, suffix = own.rsplit(".", 1)
        other, _, ending = name.rpartition(".")
        found = re.search(rf"(?<![a-z]){stem}(?![a-z])", other, re.IGNORECASE)
        if not found or ending.casefold() != suffix or other.casefold() == stem:
            continue
        rest = other[: found.start()] + other[found.end() :]
        if own in _WRITTEN or _MARKED.search(rest) or _COMPUTER.fullmatch(rest):
            return own
    return ""


def _words(name: str, own: str) -> str:
    return (
        f"{name} looks like a second copy of {own}, as two computers that write at once leave it. "
        "It was not read: see which one is right, and move the other out of the folder."
    )
