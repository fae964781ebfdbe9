"""The study folder: the only place that writes, and it never loses what a person entered.

Every write goes to a temporary file beside the target, is flushed to the disk and then renamed,
so that a crash leaves the old file or the new one, never half of one. The journal only grows,
and each of its lines carries the fingerprint of the line before it.
"""

import json
import os
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

from pmulab.allocation import Assignment, Schedule, unseal
from pmulab.errors import UserError
from pmulab.plan import Change, Plan, changes, plan_from_dict, read_plan

FORMAT = 1
PLAN, ALLOCATION, RECORDS, JOURNAL = "plan.toml", "allocation.csv", "records.xlsx", "journal.jsonl"
ENROLLED = "clients.csv"
REMAKEABLE = frozenset(
    {"findings.json", "handout.html", "chairside-sheet.html", "check-report.html", "running.html"}
)
"""Files that the kit may write again, because they can always be made anew."""

_GENESIS = "0" * 64


def _now() -> datetime:
    return datetime.now(UTC).astimezone()


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
        """Write the entry as one line of JSON."""
        return json.dumps(
            {
                "number": self.number,
                "time": self.time,
                "event": self.event,
                "detail": self.detail,
                "previous": self.previous,
                "fingerprint": self.fingerprint,
            },
            ensure_ascii=False,
            allow_nan=False,
        )

    def _content_hash(self) -> str:
        content = [self.number, self.time, self.event, self.detail, self.previous]
        return sha256(json.dumps(content, sort_keys=True, allow_nan=False).encode()).hexdigest()


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
class Study:
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

    folder: Path
    now: Callable[[], datetime] = field(default=_now)

    def __post_init__(self) -> None:
        object.__setattr__(self, "folder", Path(self.folder).expanduser())
        if not (self.folder / PLAN).is_file():
            raise UserError(
                f"There is no study in {self.folder}: it has no {PLAN}.",
                "Name the folder of a study, or begin one: pmulab new FOLDER --question NAME",
            )

    def path(self, name: str) -> Path:
        """Give the path of a file of the study.

        Parameters
        ----------
        name : str

        Returns
        -------
        Path
        """
        return self.folder / name

    def plan_as_written(self) -> Plan:
        """Read plan.toml as it is now."""
        return read_plan(read_text(self.path(PLAN)), str(self.path(PLAN)))

    def journal(self) -> tuple[Entry, ...]:
        """Read the journal.

        Returns
        -------
        tuple of Entry
            A last line that was cut short by a crash is left out.

        Raises
        ------
        UserError
            If a line in the middle cannot be read.
        """
        return tuple(_read_journal(self.path(JOURNAL)))

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

    def schedule(self) -> Schedule:
        """Read the sealed cards.

        Raises
        ------
        UserError
            If the plan is not locked, or the cards were changed.
        """
        if self.locked() is None:
            raise UserError(
                "The plan is not locked yet, so there are no cards.",
                f"Lock it first: pmulab lock {self.folder}",
            )
        return unseal(read_text(self.path(ALLOCATION)), str(self.path(ALLOCATION)))

    def assignments(self) -> tuple[Assignment, ...]:
        """List the cards opened so far, in the order of enrolment."""
        opened = [entry for entry in self.journal() if entry.event == "client enrolled"]
        if not opened:
            return ()
        slots = {slot.number: slot for slot in self.schedule().slots}
        return tuple(
            Assignment(entry.detail["client_code"], slots[entry.detail["slot"]], entry.time)
            for entry in opened
        )

    def tampering(self) -> tuple[str, ...]:
        """Say what was changed outside the kit: journal lines, cards."""
        entries = self.journal()
        found = list(_broken_chain(entries))
        locked = self.locked()
        if locked is not None:
            cards = self.path(ALLOCATION)
            if not cards.is_file():
                found.append(f"{ALLOCATION} is missing.")
            elif _file_hash(cards) != locked.allocation:
                found.append(f"{ALLOCATION} is not the file that was written at locking.")
        return tuple(found)

    def file_hash(self, name: str) -> str:
        """Give the SHA-256 of a file of the study, '' when it is not there."""
        path = self.path(name)
        return _file_hash(path) if path.is_file() else ""

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the study for writing; a second writer waits up to ten seconds.

        Raises
        ------
        UserError
            If another program keeps the study busy, or the folder cannot be written.
        """
        lock = FileLock(self.path(".writing.lock"), timeout=10)
        try:
            with lock:
                yield
        except Timeout:
            raise UserError(
                f"Another window is writing in {self.folder}.",
                "Wait until it has finished, then try again. Nothing was changed.",
            ) from None
        except OSError as error:
            raise _disk_error(error, self.folder) from None

    def record(self, event: str, **detail: Any) -> Entry:
        """Append a line to the journal; call it while `writing`.

        Parameters
        ----------
        event : str
        **detail
            Plain data, ready for JSON.

        Returns
        -------
        Entry
        """
        entries = self.journal()
        previous = entries[-1].fingerprint if entries else _GENESIS
        time = self.now().isoformat(timespec="seconds")
        entry = Entry(len(entries) + 1, time, event, detail, previous).sealed()
        _append(self.path(JOURNAL), entry.line())
        return entry

    def keep(self, name: str, content: str | bytes) -> Path:
        """Write a new file that holds what people enter; never over an existing one.

        Raises
        ------
        UserError
            If the file exists.
        """
        path = self.path(name)
        if path.exists():
            raise UserError(
                f"{path} is already there and is never overwritten.",
                "Rename or move it first if you want a fresh one.",
            )
        write_atomically(path, content)
        return path

    def remake(self, name: str, content: str | bytes) -> Path:
        """Write a file that can always be made anew, over an older one."""
        if name not in REMAKEABLE:
            raise ValueError(f"{name} is not a file that may be written again")
        path = self.path(name)
        write_atomically(path, content)
        return path

    def fill_blank(self, name: str, content: bytes, blank: str) -> Path:
        """Fill a form that is still exactly as the kit wrote it; anything typed in it stays.

        Parameters
        ----------
        name : str
        content : bytes
        blank : str
            SHA-256 of the blank form.

        Raises
        ------
        UserError
            If the file is no longer the blank form.
        """
        if self.file_hash(name) != blank:
            raise UserError(
                f"{self.path(name)} is not blank any more and is never overwritten.",
                "Type into it, or move it away first.",
            )
        write_atomically(self.path(name), content)
        return self.path(name)

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

    def extend_enrolled(self, content: str) -> Path:
        """Replace clients.csv by a text that begins with all it held; call it while `writing`."""
        path = self.path(ENROLLED)
        if path.exists() and not content.startswith(read_text(path)):
            raise ValueError("clients.csv only grows")
        write_atomically(path, content)
        return path


def begin(folder: Path, plan_text: str, now: Callable[[], datetime] = _now) -> Study:
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
        If a plan is already there, or the folder cannot be written.
    """
    folder = Path(folder).expanduser()
    if (folder / PLAN).exists():
        raise UserError(
            f"There is already a study in {folder}.",
            "Choose another folder name; nothing was changed.",
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_atomically(folder / PLAN, plan_text)
    except OSError as error:
        raise _disk_error(error, folder) from None
    study = Study(folder, now)
    with study.writing():
        study.record("study begun", format=FORMAT)
    return study


def read_text(path: Path) -> str:
    """Read a UTF-8 text file.

    Raises
    ------
    UserError
        If it is not there, cannot be opened, or is no text.
    """
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise UserError(
            f"{path} is not there.", "Check the folder; restore it from a copy."
        ) from None
    except UnicodeDecodeError:
        raise UserError(
            f"{path} is not saved as UTF-8 text.",
            "Open it in a plain text editor and save it with the encoding UTF-8.",
        ) from None
    except OSError as error:
        raise _disk_error(error, path) from None


def write_atomically(path: Path, content: str | bytes) -> None:
    """Write a file so that a crash leaves the old one or the new one, whole.

    Parameters
    ----------
    path : Path
    content : str or bytes
        Text is written as UTF-8 with the line ends it has.
    """
    data = content.encode() if isinstance(content, str) else content
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        _inherit_mode(path, temporary)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def _inherit_mode(path: Path, temporary: str) -> None:
    mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
    os.chmod(temporary, mode)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _sync_folder(folder: Path) -> None:
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _append(path: Path, line: str) -> None:
    """Append one line; a torn last line of an earlier crash is put behind a line end first."""
    torn = path.exists() and not path.read_bytes().endswith(b"\n")
    with path.open("ab") as file:
        file.write((("\n" if torn else "") + line + "\n").encode())
        file.flush()
        os.fsync(file.fileno())


def _read_journal(path: Path) -> Iterator[Entry]:
    if not path.exists():
        return
    lines = read_text(path).splitlines()
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            yield Entry(**json.loads(line))
        except (ValueError, TypeError, RecursionError):
            if number < len(lines) and not _is_fragment(line):
                raise UserError(
                    f"{path}, line {number} cannot be read.",
                    "The journal is written by pmulab only: restore it from a copy.",
                ) from None


def _is_fragment(line: str) -> bool:
    """Tell whether a line is the first part of an entry that a crash cut short."""
    return line.startswith('{"number": ') and not line.endswith("}")


def _broken_chain(entries: tuple[Entry, ...]) -> Iterator[str]:
    previous = _GENESIS
    for entry in entries:
        if not entry.intact() or entry.previous != previous:
            yield f"{JOURNAL}: line {entry.number} ({entry.event}, {entry.time}) was changed."
        previous = entry.fingerprint


def _file_hash(path: Path) -> str:
    return sha256(path.read_bytes()).hexdigest()


def _disk_error(error: OSError, path: Path) -> UserError:
    reasons = {28: "the disk is full", 30: "the folder is read-only", 13: "writing is not allowed"}
    told = reasons.get(error.errno or 0, error.strerror or "the disk refused")
    return UserError(
        f"{error.filename or path} could not be read or written: {told}.",
        "Nothing was lost. Free some space or choose a folder of your own, then try again.",
    )
