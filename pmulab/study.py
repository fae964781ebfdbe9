"""The study folder: how it is begun, and what was changed in it from outside.

The journal only grows, and each of its lines carries the fingerprint of the line before it.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pmulab.disk import disk_error as disk_error
from pmulab.disk import read_bytes
from pmulab.disk import read_text as read_text
from pmulab.disk import write_atomically as write_atomically
from pmulab.disk import write_new as write_new
from pmulab.enrolment import ENROLLED as ENROLLED
from pmulab.enrolment import changed_answers, disagreements
from pmulab.entries import AMENDED, BEGUN
from pmulab.entries import FORMAT as FORMAT
from pmulab.entries import JOURNAL as JOURNAL
from pmulab.entries import Entry as Entry
from pmulab.errors import UserError
from pmulab.holdings import ALLOCATION as ALLOCATION
from pmulab.holdings import PLAN as PLAN
from pmulab.holdings import RECORDS as RECORDS
from pmulab.holdings import Holdings, refuse_remains
from pmulab.holdings import Locked as Locked
from pmulab.keeping import PACK as PACK
from pmulab.keeping import PROGRESS as PROGRESS
from pmulab.keeping import REMAKEABLE as REMAKEABLE
from pmulab.keeping import Files, this_moment
from pmulab.plan import Change, changes
from pmulab.trail import Outside, fingerprints, known, outside


@dataclass(frozen=True, slots=True)
class Study(Holdings):
    """One study folder, and what was changed in it from outside; made like `Holdings`."""

    def head(self) -> str:
        """Give number and fingerprint of the journal's last line, for what is handed on."""
        return self.whole_journal().head

    def holds(self, head: str) -> bool:
        """Tell whether a last line that was handed on still stands in the journal."""
        return self.whole_journal().holds(head)

    def plan_changes(self) -> tuple[Change, ...]:
        """List what differs between the locked plan and plan.toml as it is now.

        A plan.toml that cannot be read any more counts as one change.
        """
        locked = self.locked()
        if locked is None:
            return ()
        try:
            return changes(locked.plan, self.plan_as_written())
        except UserError as error:
            return (Change(PLAN, "a readable plan", error.what),)

    def changed_answers(self) -> dict[str, str]:
        """Find clients whose answers are not as saved: fingerprint of the row now, by code."""
        names = self.plan().tables()["clients"].names
        return changed_answers(self.asked(), self.journal(), names)

    def unexplained_edits(self) -> tuple[Change, ...]:
        """List the changes of plan.toml after locking that no amendment speaks of."""
        amended = [
            known(self.journal()[: entry.number]).get(PLAN)
            for entry in self.journal()
            if entry.event == AMENDED and PLAN in entry.detail["files"]
        ]
        return () if self.file_hash(PLAN) in amended[-1:] else self.plan_changes()

    def tampering(self) -> tuple[str, ...]:
        """Say what was changed outside the kit: journal lines, cards, the list of clients."""
        journal, locked = self.whole_journal(), self.locked()
        found = list(journal.changes())
        cards = self.file_hash(ALLOCATION)
        if locked is not None and not cards:
            found.append(f"{ALLOCATION} is missing.")
        elif locked is not None and cards != locked.allocation:
            found.append(
                f"{ALLOCATION} is not the file that was written at locking{self.since(ALLOCATION)}."
            )
        found += self._changed_rounds(journal.entries)
        if locked is None and self.path(ENROLLED).exists():
            found.append(
                f"{JOURNAL}: there is {ENROLLED}, but no line says that a plan was locked."
            )
        try:
            names = self.plan().tables()["clients"].names if locked else ()
            return (*found, *disagreements(self.asked(), journal.entries, names))
        except UserError as error:
            return (*found, error.what)

    def changed_outside(self) -> tuple[Outside, ...]:
        """List every change of a traced file from outside since the plan was locked."""
        entries = self.journal()
        start = next((n for n, one in enumerate(entries) if one.event == "plan locked"), None)
        if start is None:
            return ()
        found = outside(entries, fingerprints(self.folder, entries))
        return tuple(one for one in found if one.after.number > start)

    def since(self, name: str) -> str:
        """Say after which line of the journal a file was first changed from outside."""
        first = next((one for one in self.changed_outside() if one.name == name), None)
        return f", changed after {first.after.place}" if first else ""

    def _changed_rounds(self, entries: Sequence[Entry]) -> Iterator[str]:
        """Say which files of scoring rounds are not as they were written."""
        for entry in entries:
            for name, written in entry.detail.get("sealed_files", {}).items():
                if self.file_hash(name) != written:
                    yield (
                        f"{name} is missing or not the file that was written, "
                        f"changed after {entry.place}."
                    )


def begin(folder: Path, plan_text: str, now: Callable[[], datetime] = this_moment) -> Study:
    """Make a new study folder with its plan.

    Parameters
    ----------
    folder : Path
        Made if it is not there; must not hold a study yet.
    plan_text : str
        Text of plan.toml.
    now : callable, optional
        See `Study`.

    Returns
    -------
    Study

    Raises
    ------
    UserError
        If a study or its remains are there, or the folder cannot be written.
    """
    folder = Path(folder).expanduser()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise disk_error(error, folder) from None
    with Files(folder, now).writing():  # two windows may begin in one folder at once
        if not _begun_before(folder, plan_text):
            refuse_remains(folder)
            write_atomically(folder / PLAN, plan_text)
        study = Study(folder, now)
        study.record(BEGUN, format=FORMAT)
    return study


def _begun_before(folder: Path, plan_text: str) -> bool:
    """Tell whether a run that was killed wrote just this plan and nothing more."""
    path = folder / PLAN
    if not path.exists():
        return False
    if (folder / JOURNAL).exists() or read_bytes(path) != plan_text.encode():
        raise UserError(
            f"There is already a study in {folder}.",
            "Choose another folder name; nothing was changed.",
        )
    return True
