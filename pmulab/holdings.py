"""What a study folder holds: its plan, cards, enrolled clients and journal, read and added to.

How files are written stands in `keeping`; what was changed from outside is told by `study`.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from pmulab.allocation import Assignment, Schedule, seal, unseal
from pmulab.disk import read_bytes, read_text, typed, write_atomically
from pmulab.enrolment import ENROLLED, Asked, read_asked, with_row
from pmulab.entries import JOURNAL, Entry
from pmulab.errors import UserError
from pmulab.journal import Journal, read_journal
from pmulab.keeping import Files
from pmulab.plan import Plan, plan_from_dict, read_plan

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
class Holdings(Files):
    """What one study folder holds.

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
            refuse_remains(self.folder)
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
        return self.whole_journal().entries

    def whole_journal(self) -> Journal:
        """Read the journal with what is amiss in it."""
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
                plan = _plan_of(json.dumps(entry.detail["plan"]), f"{JOURNAL}, line {entry.number}")
                known = entry.detail
                return Locked(plan, entry.time, known["fingerprint"], known["allocation"])
        return None

    def plan(self) -> Plan:
        """Give the plan that holds: the locked one, or plan.toml before locking."""
        locked = self.locked()
        return locked.plan if locked else self.plan_as_written()

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
        cards, fingerprint = _cards_of(read_text(self.path(ALLOCATION)), str(self.path(ALLOCATION)))
        if fingerprint != locked.allocation:
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


@lru_cache(maxsize=8)
def _plan_of(text: str, where: str) -> Plan:
    """Build a locked plan from its JSON, the same one once."""
    return plan_from_dict(json.loads(text), where)


@lru_cache(maxsize=8)
def _cards_of(text: str, where: str) -> tuple[Schedule, str]:
    """Read sealed cards and take their fingerprint, the same text once."""
    cards = unseal(text, where)
    return cards, sha256(seal(cards).encode()).hexdigest()


def refuse_remains(folder: Path) -> None:
    """Refuse a folder that lost its plan, so that nothing is begun over what is left."""
    left = [name for name in (JOURNAL, ALLOCATION, ENROLLED) if (folder / name).exists()]
    if left:
        raise UserError(
            f"{folder / PLAN} is missing; the folder still holds {', '.join(left)} of a study.",
            f"Put {PLAN} back from a copy, or choose another folder for a new study. "
            "Nothing was changed.",
        )
