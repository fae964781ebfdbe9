"""The journal: one line an event, each with the fingerprint of the line before it.

The journal only grows. A line that a crash cut short is no event; the next line that is written
accounts for it, so that a line cut short by anything else is noticed. The fingerprint of the last
line is also kept beside it, so that lines taken away at the end are missed; the next line that is
written says so for good.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from pmulab.disk import append, read_bytes, write_atomically
from pmulab.entries import CUT_SHORT, GONE, Entry, parsed, unreadable
from pmulab.entries import FORMAT as FORMAT
from pmulab.entries import JOURNAL as JOURNAL

HEAD = ".journal-head"
"""Beside the journal: number and fingerprint of its last line."""
_MADE_AGAIN = frozenset(
    {
        "records checked",
        "photos measured",
        "analysed",
        "handout written",
        "slides written",
        "pack written",
    }
)
_GENESIS = "0" * 64
_BEGINNING = b'{"number": '
_MARK = b"\xef\xbb\xbf"


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
    gone : tuple of (int, str) or None
        Number and fingerprint of the last line as it was once written, where it is gone.
    """

    entries: tuple[Entry, ...] = ()
    cut: tuple[int, ...] = ()
    tail: bytes = b""
    gone: tuple[int, str] | None = None

    @property
    def head(self) -> str:
        """Number and fingerprint of the last line, for what is handed on.

        Lines about what can be made again are passed over, so that making it again gives the same.
        """
        lasting = (one for one in reversed(self.entries) if one.event not in _MADE_AGAIN)
        return next((f"{one.number}:{one.fingerprint}" for one in lasting), "")

    def holds(self, head: str) -> bool:
        """Tell whether a last line that was noted elsewhere still stands in it."""
        fingerprint = head.partition(":")[2]
        return not fingerprint or any(
            fingerprint in (one.fingerprint, one.detail.get("fingerprint")) for one in self.entries
        )

    def changes(self) -> Iterator[str]:
        """Say which lines were changed outside the kit, and between which others."""
        for number in self.cut:
            yield f"{JOURNAL}: line {number} was cut short."
        before: Entry | None = None
        for entry in self.entries:
            if not entry.intact():
                yield f"{JOURNAL}: {entry.place} was changed."
            elif entry.previous != (before.fingerprint if before else _GENESIS):
                yield (
                    f"{JOURNAL}: before {entry.place} lines were taken out, put in or changed"
                    f"{f', after {before.place}' if before else ''}."
                )
            if entry.event == GONE:
                yield _gone_words(entry.detail["last"], entry.number)
            before = entry
        if self.gone:
            yield _gone_words(self.gone[0], len(self.entries) + 1)


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
        If a line cannot be read and is not the beginning of an entry, lacks what its event
        needs, or was written by a later release.
    """
    if not path.exists():
        return Journal()
    entries, cut, tail = _lines_of(read_bytes(path), str(path))
    return Journal(entries, cut, tail, _gone(path, entries))


@lru_cache(maxsize=8)
def _lines_of(content: bytes, place: str) -> tuple[tuple[Entry, ...], tuple[int, ...], bytes]:
    """Read the lines of a journal; the same bytes are read once, as every step asks for them."""
    *lines, tail = content.removeprefix(_MARK).split(b"\n")
    entries: list[Entry] = []
    broken: dict[int, bytes] = {}
    for number, line in enumerate([*lines, tail], start=1):
        if not line.strip():
            continue
        entry = parsed(line, f"{place}, line {number}")
        if entry is None:
            broken[number] = line
        else:
            entries.append(entry)
    last = broken.pop(len(lines) + 1, b"")
    known = {entry.detail["fragment"] for entry in entries if entry.event == CUT_SHORT}
    cut = {number: line for number, line in broken.items() if _hash(line) not in known}
    for number, line in cut.items():
        if not line.startswith(_BEGINNING):
            raise unreadable(f"{place}, line {number}")
    return tuple(entries), tuple(cut), last


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
    lines = list(before.entries)
    if before.tail:
        lines.append(_next(lines, CUT_SHORT, {"fragment": _hash(before.tail)}, time))
    if before.gone:
        last, fingerprint = before.gone
        lines.append(_next(lines, GONE, {"last": last, "fingerprint": fingerprint}, time))
    lines.append(_next(lines, event, detail, time))
    whole = not path.exists() or read_bytes(path)[-1:] in (b"", b"\n")
    new = lines[len(before.entries) :]
    grown = (("" if whole else "\n") + "".join(f"{one.line()}\n" for one in new)).encode()
    if len(new) == 1:
        append(path, grown)
    else:
        write_atomically(path, read_bytes(path) + grown)  # a second crash must not cut this one
    with suppress(OSError):  # the event stands already; without this file less is noticed
        head = {"number": lines[-1].number, "fingerprint": lines[-1].fingerprint}
        write_atomically(path.with_name(HEAD), json.dumps(head) + "\n")
    return lines[-1]


def _gone(path: Path, entries: Sequence[Entry]) -> tuple[int, str] | None:
    """Give the last line as it is noted beside the journal, if it does not stand there."""
    try:
        head = json.loads(path.with_name(HEAD).read_bytes())
        number, fingerprint = int(head["number"]), str(head["fingerprint"])
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return None  # then only what the chain itself tells is known
    known = {one.fingerprint for one in entries}
    known |= {one.detail["fingerprint"] for one in entries if one.event == GONE}
    return None if fingerprint in known else (number, fingerprint)


def _gone_words(last: int, here: int) -> str:
    return (
        f"{JOURNAL}: its last lines, up to line {last}, are gone, or it was put back from an "
        f"older copy; noticed at line {here}."
    )


def _next(before: Sequence[Entry], event: str, detail: Mapping[str, Any], time: str) -> Entry:
    previous = before[-1].fingerprint if before else _GENESIS
    return Entry(len(before) + 1, time, event, detail, previous).sealed()


def _hash(line: bytes) -> str:
    return sha256(line).hexdigest()
