"""The trail of a file through the journal: between which two lines it was changed from outside.

Every line of the journal carries the fingerprints of the files that were not as the line before
left them. A file that was written by the event of the line itself was not changed from outside.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from pmulab.disk import content_hash
from pmulab.entries import Entry
from pmulab.errors import UserError
from pmulab.tables.guards import find_sources

STATE = "state"
"""Where the detail of a line holds fingerprints by name of the file; '' for one that is gone."""
_TRACED = ("plan.toml", "allocation.csv", "clients.csv")
_ANSWERS = "scoring/*/answers/*.json"
_WRITTEN_BY = {
    "plan locked": ("plan.toml", "allocation.csv", "records.xlsx"),
    "client enrolled": ("clients.csv",),
    "client not enrolled": ("clients.csv",),
    "records taken in": ("records.xlsx",),
}


@dataclass(frozen=True, slots=True)
class Outside:
    """One change of a file from outside.

    Parameters
    ----------
    name : str
        Of the file.
    after : Entry
        The last line that knew the file as it was before.
    before : Entry or None
        The first line that saw it changed; None when no line has seen it yet.
    """

    name: str
    after: Entry
    before: Entry | None = None

    def __str__(self) -> str:
        told = f"{self.name} was changed after {self.after.place}"
        return f"{told} and before {self.before.place}." if self.before else f"{told}."


def fingerprints(folder: Path, entries: Sequence[Entry]) -> dict[str, str]:
    """Take the fingerprints of plan, cards, list of clients, tables and answers as they are now.

    Parameters
    ----------
    folder : Path
    entries : sequence of Entry
        The journal, whose files are looked for too.

    Returns
    -------
    dict of str to str
        SHA-256 by name, '' for a file that is gone; without one that cannot be opened now.
    """
    there = (*find_sources(folder)[0], *folder.glob(_ANSWERS))
    names = {path.relative_to(folder).as_posix() for path in there}
    found = {}
    for name in sorted({*_TRACED, *names, *known(entries)}):
        with suppress(UserError):
            found[name] = content_hash(folder / name)
    return found


def known(entries: Sequence[Entry]) -> dict[str, str]:
    """Give the fingerprints of the files as the last line left them.

    Parameters
    ----------
    entries : sequence of Entry

    Returns
    -------
    dict of str to str
    """
    state: dict[str, str] = {}
    for entry in entries:
        state |= _state(entry)
    return state


def news(entries: Sequence[Entry], now: Mapping[str, str]) -> dict[str, str]:
    """Give the fingerprints that the next line has to carry.

    Parameters
    ----------
    entries : sequence of Entry
    now : mapping of str to str
        Fingerprints as they are, by name; '' for a file that is gone.

    Returns
    -------
    dict of str to str
    """
    before = known(entries)
    return {name: found for name, found in now.items() if before.get(name, "") != found}


def outside(entries: Sequence[Entry], now: Mapping[str, str]) -> Iterator[Outside]:
    """List the changes from outside, oldest first.

    Parameters
    ----------
    entries : sequence of Entry
    now : mapping of str to str
        Fingerprints as they are, by name.

    Yields
    ------
    Outside
    """
    last: Entry | None = None
    state: dict[str, str] = {}
    for entry in entries:
        fresh = _state(entry)
        own = _WRITTEN_BY.get(entry.event, ())
        if last is not None:
            changed = [name for name in fresh if name in state and name not in own]
            yield from (Outside(name, last, entry) for name in changed)
        state |= fresh
        last = entry
    if last is not None:
        for name in news(entries, now):
            if name in state:
                yield Outside(name, last)


def _state(entry: Entry) -> Mapping[str, str]:
    found = entry.detail.get(STATE)
    return found if isinstance(found, dict) else {}
