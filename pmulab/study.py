"""The study folder: its plan, cards, enrolled clients and journal, read and begun.

How files are written stands in `keeping`. The journal only grows, and each of its lines carries
the fingerprint of the line before it.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from pmulab.allocation import Assignment, Schedule, seal, unseal
from pmulab.disk import disk_error as disk_error
from pmulab.disk import read_bytes, typed
from pmulab.disk import read_text as read_text
from pmulab.disk import write_atomically as write_atomically
from pmulab.disk import write_new as write_new
from pmulab.enrolment import ENROLLED as ENROLLED
from pmulab.enrolment import Asked, changed_answers, disagreements, read_asked, with_row
from pmulab.entries import AMENDED, BEGUN
from pmulab.entries import FORMAT as FORMAT
from pmulab.entries import JOURNAL as JOURNAL
from pmulab.entries import Entry as Entry
from pmulab.errors import UserError
from pmulab.journal import Journal, read_journal
from pmulab.keeping import PACK as PACK
from pmulab.keeping import PROGRESS as PROGRESS
from pmulab.keeping import REMAKEABLE as REMAKEABLE
from pmulab.keeping import Files, this_moment
from pmulab.plan import Change, Plan, changes, plan_from_dict, read_plan
from pmulab.trail import Outside, fingerprints, known, outside

PLAN, ALLOCATION, RECORDS = "plan.toml", "allocation.csv", "records.xlsx"


@dataclass(frozen=True, slots=True)
class Locked:
    """A plan that was frozen, and when.

    Parameters
    ----------
    plan : Plan
    time : str
    fingerprint : str
        SHA-256 of the plan's content.
    allocation : str
        SHA-256 of allocation.csv as it was written.
    """

    plan: Plan
    time: str
    fingerprint: str
    allocation: str


@dataclass(frozen=True, slots=True)
class Study(Files):
    """One study folder.

    Parameters
    ----------
    folder : path-like
        An existing folder with a plan.toml.
    now : callable, optional
        Gives the time for the journal; the demonstration replays invented dates with it.

    Raises
    ------
    UserError
        If there is no study in the folder.
    """

    def __post_init__(self) -> None:
        object.__setattr__(self, "folder", Path(self.folder).expanduser())
        if not (self.folder / PLAN).is_file():
            _refuse_remains(self.folder)
            raise UserError(
                f"There is no study in {self.folder}: it has no {PLAN}.",
                "Name the folder of a study, or begin one: pmulab new FOLDER --question NAME",
            )

    def plan_as_written(self) -> Plan:
        """Read plan.toml as it is now."""
        return read_plan(read_text(self.path(PLAN)), str(self.path(PLAN)))

    def journal(self) -> tuple[Entry, ...]:
        """Read the journal.

        Returns
        -------
        tuple of Entry
            A line that was cut short is left out; see `tampering`.

        Raises
        ------
        UserError
            If a line cannot be read, or the journal is gone though clients were enrolled.
        """
        return self._journal().entries

    def head(self) -> str:
        """Give number and fingerprint of the journal's last line, for what is handed on."""
        return self._journal().head

    def holds(self, head: str) -> bool:
        """Tell whether a last line that was handed on still stands in the journal."""
        return self._journal().holds(head)

    def _journal(self) -> Journal:
        found = read_journal(self.path(JOURNAL))
        drawn = [name for name in (ALLOCATION, ENROLLED) if self.path(name).exists()]
        if drawn and not found.entries:
            raise UserError(
                f"{self.path(JOURNAL)} is missing or empty, though there is {drawn[0]}.",
                f"Put {JOURNAL} back from a copy. Nothing was changed.",
            )
        return found

    def locked(self) -> Locked | None:
        """Give the locked plan, or None as long as nothing was locked."""
        for entry in self.journal():
            if entry.event == "plan locked":
                plan = plan_from_dict(entry.detail["plan"], f"{JOURNAL}, line {entry.number}")
                known = entry.detail
                return Locked(plan, entry.time, known["fingerprint"], known["allocation"])
        return None

    def plan(self) -> Plan:
        """Give the plan that holds: the locked one, or plan.toml before locking."""
        locked = self.locked()
        return locked.plan if locked else self.plan_as_written()

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

    def schedule(self) -> Schedule:
        """Read the sealed cards.

        Raises
        ------
        UserError
            If the plan is not locked, or the cards are not those drawn at locking.
        """
        locked = self.locked()
        if locked is None:
            raise UserError(
                "The plan is not locked yet, so there are no cards.",
                f"Lock it first: pmulab lock {typed(self.folder)}",
            )
        cards = unseal(read_text(self.path(ALLOCATION)), str(self.path(ALLOCATION)))
        if sha256(seal(cards).encode()).hexdigest() != locked.allocation:
            raise UserError(
                f"{self.path(ALLOCATION)} holds other cards than those drawn at locking.",
                f"Put back the {ALLOCATION} that was written then. Nothing was changed.",
            )
        return cards

    def assignments(self) -> tuple[Assignment, ...]:
        """List the cards opened so far, in the order of enrolment."""
        opened = [entry for entry in self.journal() if entry.event == "client enrolled"]
        if not opened:
            return ()
        slots = {slot.number: slot for slot in self.schedule().slots}
        for entry in opened:
            if entry.detail["slot"] not in slots:
                raise UserError(
                    f"{self.path(JOURNAL)}, line {entry.number}: there is no such card.",
                    "The journal is written by pmulab only: restore it from a copy.",
                )
        absent = {
            entry.detail["client_code"]: entry.detail["reason"]
            for entry in self.journal()
            if entry.event == "client never came"
        }
        return tuple(
            Assignment(code, slots[entry.detail["slot"]], entry.time, absent.get(code, ""))
            for entry in opened
            for code in (entry.detail["client_code"],)
        )

    def asked(self) -> Asked:
        """Read clients.csv: who was asked, and who takes part.

        Raises
        ------
        UserError
            If it is there and cannot be read.
        """
        path = self.path(ENROLLED)
        return read_asked(read_bytes(path), str(path)) if path.exists() else Asked()

    def tampering(self) -> tuple[str, ...]:
        """Say what was changed outside the kit: journal lines, cards, the list of clients."""
        journal, locked = self._journal(), self.locked()
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

    def rewrite_plan(self, text: str) -> Path:
        """Replace the text of plan.toml as long as it is not locked; call it while `writing`.

        Raises
        ------
        UserError
            If the plan is locked.
        """
        locked = self.locked()
        if locked is not None:
            raise UserError(
                f"This plan was locked on {locked.time[:10]} and stays as it is.",
                "Begin a new study for a new question. Nothing was changed.",
            )
        path = self.path(PLAN)
        write_atomically(path, text)
        return path

    def extend_enrolled(self, names: Sequence[str], row: Mapping[str, str]) -> Path:
        """Add a client at the end of clients.csv; call it while `writing`.

        Parameters
        ----------
        names : sequence of str
            Columns of a new list.
        row : mapping of str to str

        Raises
        ------
        UserError
            If the list cannot be read, or has lost a column.
        """
        path = self.path(ENROLLED)
        before = read_bytes(path) if path.exists() else b""
        write_atomically(path, with_row(before, names, row, str(path)))
        return path


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
            _refuse_remains(folder)
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


def _refuse_remains(folder: Path) -> None:
    """Refuse a folder that lost its plan, so that nothing is begun over what is left."""
    left = [name for name in (JOURNAL, ALLOCATION, ENROLLED) if (folder / name).exists()]
    if left:
        raise UserError(
            f"{folder / PLAN} is missing; the folder still holds {', '.join(left)} of a study.",
            f"Put {PLAN} back from a copy, or choose another folder for a new study. "
            "Nothing was changed.",
        )
