"""One line of the journal: what it holds, how it is written and read."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any

from pmulab.errors import UserError

JOURNAL = "journal.jsonl"
FORMAT = 1
"""Version of the study folder that this release writes and reads; the first line tells it."""
BEGUN, AMENDED, READ = "study begun", "amended", "records read"
CUT_SHORT, GONE = "line cut short", "lines gone"
_LOOK: Mapping[str, type] = {"reason": str, "clients": int}
_NEEDED: Mapping[str, Mapping[str, type]] = {
    BEGUN: {"format": int},
    CUT_SHORT: {"fragment": str},
    GONE: {"last": int, "fingerprint": str},
    AMENDED: {"reason": str, "files": list, "answers": dict, "records": str},
    "plan locked": {"plan": dict, "fingerprint": str, "allocation": str, "workbook": str},
    READ: {"harm": dict, "worked": list},
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

    @property
    def place(self) -> str:
        """Such as 'line 7 (client enrolled, 2026-01-05 08:00)'."""
        return f"line {self.number} ({self.event}, {self.time[:16].replace('T', ' ')})"

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


def parsed(line: bytes, place: str) -> Entry | None:
    """Read one line; None for one that is not whole.

    Parameters
    ----------
    line : bytes
    place : str
        File and line, for messages.

    Returns
    -------
    Entry or None

    Raises
    ------
    UserError
        If it lacks what its event needs, or was written by a later release.
    """
    try:
        content = json.loads(line.decode())
    except (ValueError, RecursionError):
        return None
    _refuse_later(content, place)
    try:
        entry = Entry(**content)
        datetime.fromisoformat(entry.time)
    except (TypeError, ValueError):
        raise unreadable(place) from None
    needed = {"number": int, "event": str, "detail": dict, "previous": str, "fingerprint": str}
    if not _holds(content, needed) or not _holds(entry.detail, _NEEDED.get(entry.event, {})):
        raise unreadable(place)
    return entry


def _refuse_later(content: Any, place: str) -> None:
    """Refuse a folder of another format, before anything else about its lines is judged."""
    detail = content.get("detail") if isinstance(content, dict) else None
    if not isinstance(detail, dict) or content.get("event") != BEGUN:
        return
    version = detail.get("format")
    if type(version) is int and version > FORMAT:
        raise UserError(
            f"{place}: this study was begun with a later release of pmulab (format {version}; this "
            f"release reads {FORMAT}).",
            "Install a newer pmulab. Nothing was changed.",
        )
    if type(version) is not int or version < 1:
        raise UserError(
            f"{place}: {version!r} is no format of a study folder.",
            "The journal is written by pmulab only: restore it from a copy. Nothing was changed.",
        )


def _holds(content: Mapping[str, Any], needed: Mapping[str, type]) -> bool:
    return all(type(content.get(name)) is kind for name, kind in needed.items())


def unreadable(place: str) -> UserError:
    """Say that a line cannot be read.

    Parameters
    ----------
    place : str

    Returns
    -------
    UserError
    """
    return UserError(
        f"{place} cannot be read.",
        "The journal is written by pmulab only: restore it from a copy.",
    )
