"""The journal: one line an event, each with the fingerprint of the line before it.

The journal only grows. A line that a crash cut short is no event; the next line that is written
accounts for it, so that a line cut short by anything else is noticed.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from pmulab.disk import append, read_bytes, write_atomically
from pmulab.errors import UserError

JOURNAL = "journal.jsonl"
CUT_SHORT = "line cut short"
_GENESIS = "0" * 64
_BEGINNING = b'{"number": '
_MARK = b"\xef\xbb\xbf"
_LOOK: Mapping[str, type] = {"reason": str, "clients": int}
_NEEDED: Mapping[str, Mapping[str, type]] = {
    CUT_SHORT: {"fragment": str},
    "plan locked": {"plan": dict, "fingerprint": str, "allocation": str, "workbook": str},
    "client enrolled": {"client_code": str, "slot": int},
    "client not enrolled": {"client_code": str},
    "reviewed after an adverse event": {"reviewed": str, "stop": str, "clients": int},
    "scoring round begun": {"round": int, "secret": str},
    "scoring round prepared": {"round": int, "sealed_files": dict},
    "scoring key opened": {"round": int, "sealed_files": dict},
    "planned look": _LOOK,
    "unplanned look": _LOOK,
    "study stopped": _LOOK,
}
"""What the detail of an event has to hold before anything reads it."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the journal.

    Parameters
    ----------
    number : int
        From 1.
    time : str
        ISO 8601 with the offset from UTC.
    event : str
        What happened, e.g. 'plan locked', 'client enrolled'.
    detail : mapping
        Plain data that belongs to it.
    previous, fingerprint : str
        SHA-256 of the line before, and of this one.
    """

    number: int
    time: str
    event: str
    detail: Mapping[str, Any]
    previous: str
    fingerprint: str = ""

    def sealed(self) -> "Entry":
        """Give the same entry with its fingerprint worked out."""
        return Entry(
            self.number, self.time, self.event, self.detail, self.previous, self._content_hash()
        )

    def intact(self) -> bool:
        """Tell whether the content still fits the fingerprint."""
        return self.fingerprint == self._content_hash()

    def line(self) -> str:
        """Write the entry as one line of JSON, in ASCII so that no editor breaks it in two."""
        content = {
            "number": self.number,
            "time": self.time,
            "event": self.event,
            "detail": self.detail,
            "previous": self.previous,
            "fingerprint": self.fingerprint,
        }
        return json.dumps(content, allow_nan=False)

    def _content_hash(self) -> str:
        content = [self.number, self.time, self.event, self.detail, self.previous]
        return sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Journal:
    """A journal as it stands in its file.

    Parameters
    ----------
    entries : sequence of Entry
    cut : sequence of int
        Numbers of lines that were cut short and that no later line accounts for.
    tail : bytes
        What stands behind the last line end and is no entry: a write that a crash cut short.
    """

    entries: tuple[Entry, ...] = ()
    cut: tuple[int, ...] = ()
    tail: bytes = b""

    def changes(self) -> Iterator[str]:
        """Say which lines were changed outside the kit."""
        for number in self.cut:
            yield f"{JOURNAL}: line {number} was cut short."
        previous = _GENESIS
        for entry in self.entries:
            if not entry.intact() or entry.previous != previous:
                yield f"{JOURNAL}: line {entry.number} ({entry.event}, {entry.time}) was changed."
            previous = entry.fingerprint


def read_journal(path: Path) -> Journal:
    """Read a journal.

    Parameters
    ----------
    path : Path
        An empty journal if there is no such file.

    Returns
    -------
    Journal

    Raises
    ------
    UserError
        If a line cannot be read and is not the beginning of an entry, or lacks what its event
        needs.
    """
    if not path.exists():
        return Journal()
    *lines, tail = read_bytes(path).removeprefix(_MARK).split(b"\n")
    entries: list[Entry] = []
    broken: dict[int, bytes] = {}
    for number, line in enumerate([*lines, tail], start=1):
        if not line.strip():
            continue
        entry = _parsed(line, f"{path}, line {number}")
        if entry is None:
            broken[number] = line
        else:
            entries.append(entry)
    last = broken.pop(len(lines) + 1, b"")
    known = {entry.detail["fragment"] for entry in entries if entry.event == CUT_SHORT}
    cut = {number: line for number, line in broken.items() if _hash(line) not in known}
    for number, line in cut.items():
        if not line.startswith(_BEGINNING):
            raise _unreadable(f"{path}, line {number}")
    return Journal(tuple(entries), tuple(cut), last)


def add_entry(path: Path, event: str, detail: Mapping[str, Any], time: str) -> Entry:
    """Append an event to a journal and wait until the disk holds it.

    Parameters
    ----------
    path : Path
    event : str
    detail : mapping
        Plain data, ready for JSON.
    time : str
        ISO 8601.

    Returns
    -------
    Entry
    """
    before = read_journal(path)
    if not before.tail:
        entry = _next(before.entries, event, detail, time)
        whole = not path.exists() or read_bytes(path)[-1:] in (b"", b"\n")
        append(path, (("" if whole else "\n") + entry.line() + "\n").encode())
        return entry
    cut = _next(before.entries, CUT_SHORT, {"fragment": _hash(before.tail)}, time)
    entry = _next((*before.entries, cut), event, detail, time)
    grown = f"\n{cut.line()}\n{entry.line()}\n".encode()
    write_atomically(path, read_bytes(path) + grown)  # a second crash must not cut this one
    return entry


def _next(before: tuple[Entry, ...], event: str, detail: Mapping[str, Any], time: str) -> Entry:
    previous = before[-1].fingerprint if before else _GENESIS
    return Entry(len(before) + 1, time, event, detail, previous).sealed()


def _parsed(line: bytes, place: str) -> Entry | None:
    """Read one line; None for one that is not whole."""
    try:
        content = json.loads(line.decode())
    except (ValueError, RecursionError):
        return None
    try:
        entry = Entry(**content)
        datetime.fromisoformat(entry.time)
    except (TypeError, ValueError):
        raise _unreadable(place) from None
    needed = {"number": int, "event": str, "detail": dict, "previous": str, "fingerprint": str}
    if not _holds(content, needed) or not _holds(entry.detail, _NEEDED.get(entry.event, {})):
        raise _unreadable(place)
    return entry


def _holds(content: Mapping[str, Any], needed: Mapping[str, type]) -> bool:
    return all(type(content.get(name)) is kind for name, kind in needed.items())


def _hash(line: bytes) -> str:
    return sha256(line).hexdigest()


def _unreadable(place: str) -> UserError:
    return UserError(
        f"{place} cannot be read.",
        "The journal is written by pmulab only: restore it from a copy.",
    )
