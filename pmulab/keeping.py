"""The files of one folder: written so that nothing a person entered is ever lost.

Every write goes to a temporary file beside the target, is flushed to the disk and then renamed,
so that a crash leaves the old file or the new one, never half of one.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

from pmulab.disk import (
    content_hash,
    disk_error,
    read_bytes,
    write_atomically,
    write_new,
)
from pmulab.entries import GONE, JOURNAL, Entry
from pmulab.errors import UserError
from pmulab.folders import tidy, write_folder
from pmulab.journal import add_entry, read_journal
from pmulab.trail import STATE, fingerprints, news

PROGRESS = re.compile(r"scoring/round-\d\d+/answers/[A-Z]{1,3}\d{1,3}\.json")
PACK = "pack.zip"
_WRITTEN_IN = ("", "photos", "scoring", "scoring/*", "scoring/*/answers")
REMAKEABLE = frozenset(
    {
        "findings.json",
        "handout.html",
        "practice-charts.html",
        "slides.html",
        "slides.pptx",
        "chairside-sheet.html",
        "check-report.html",
        "enrol-answers.toml",
        "reference-strip.html",
        "photos/measured.csv",
        "photos/measured.json",
        "photos/measured.html",
        PACK,
    }
)
"""Files that the kit may write again, because they can always be made anew."""


def this_moment() -> datetime:
    """Give the time where this computer is.

    Returns
    -------
    datetime
    """
    return datetime.now(UTC).astimezone()


@dataclass(frozen=True, slots=True)
class Files:
    """The files of a study folder, and the few ways in which they may be written.

    Parameters
    ----------
    folder : path-like
    now : callable, optional
        Gives the time for the journal; the demonstration replays invented dates with it.
    """

    folder: Path
    now: Callable[[], datetime] = field(default=this_moment)

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

    def file_hash(self, name: str) -> str:
        """Give the SHA-256 of a file of the study, '' when it is not there."""
        return content_hash(self.path(name))

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the study for writing; a second writer waits up to ten seconds.

        What an earlier write that was killed left half-done is cleared away first.

        Raises
        ------
        UserError
            If another program keeps the study busy, the folder cannot be written, or its journal
            cannot be read by this release.
        """
        lock = FileLock(self.path(".writing.lock"), timeout=10, poll_interval=0.02)
        try:
            with lock:
                read_journal(self.path(JOURNAL))
                tidy(
                    place
                    for name in _WRITTEN_IN
                    for place in (self.folder.glob(name) if name else [self.folder])
                )
                yield
        except Timeout:
            raise UserError(
                f"Another window is writing in {self.folder}.",
                "Wait until it has finished, then try again. Nothing was changed.",
            ) from None
        except OSError as error:
            raise disk_error(error, self.folder) from None

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
        time = self.now().isoformat(timespec="seconds")
        before = read_journal(self.path(JOURNAL)).entries
        seen = news(before, fingerprints(self.folder, before))
        return add_entry(self.path(JOURNAL), event, detail | ({STATE: seen} if seen else {}), time)

    def note_gone(self, head: str) -> None:
        """Write down that a last line which was handed on does not stand in the journal.

        Parameters
        ----------
        head : str
            As `Journal.head` gives it.
        """
        last, _, fingerprint = head.partition(":")
        if last.isdecimal() and fingerprint:
            self.record(GONE, last=int(last), fingerprint=fingerprint)

    def record_once(self, event: str, since: str, **detail: Any) -> Entry | None:
        """Append a line unless a run that was killed has done so already.

        Parameters
        ----------
        event : str
        since : str
            The event that ends what the line belongs to; only lines after the last one count.
        **detail
            As in `record`.

        Returns
        -------
        Entry or None
            None when the line stands there already.
        """
        for entry in reversed(read_journal(self.path(JOURNAL)).entries):
            if entry.event == since:
                break
            if entry.event == event and {**entry.detail, **detail} == dict(entry.detail):
                return None
        return self.record(event, **detail)

    def keep(self, name: str, content: str | bytes) -> Path:
        """Write a new file that holds what people enter; never over an existing one.

        Raises
        ------
        UserError
            If the file exists.
        """
        path = self.path(name)
        path.parent.mkdir(exist_ok=True)
        try:
            write_new(path, content)
        except FileExistsError:
            raise UserError(
                f"{path} is already there and is never overwritten.",
                "Rename or move it first if you want a fresh one.",
            ) from None
        return path

    def renew(self, name: str, content: str | bytes) -> Path:
        """Write again what a person entered; the earlier version stays beside it, numbered.

        Parameters
        ----------
        name : str
        content : str or bytes

        Returns
        -------
        Path
            Nothing is written when the content is the same.
        """
        path = self.path(name)
        new = content.encode() if isinstance(content, str) else content
        if path.exists():
            before = read_bytes(path)
            if before == new:
                return path
            self._keep_earlier(name, before)
        path.parent.mkdir(exist_ok=True)
        write_atomically(path, new)
        return path

    def _keep_earlier(self, name: str, before: bytes) -> None:
        """Keep an earlier version beside its file, unless a run that was killed did so."""
        number = 1
        while self.path(f"{name}.earlier-{number}").exists():
            number += 1
        last = self.path(f"{name}.earlier-{number - 1}")
        if number == 1 or read_bytes(last) != before:
            self.keep(f"{name}.earlier-{number}", before)

    def keep_folder(self, name: str, files: Mapping[str, bytes]) -> Path:
        """Write a new folder whole, such as a scoring round; never over an existing one.

        Parameters
        ----------
        name : str
        files : mapping of str to bytes
            Content by name below the folder.

        Raises
        ------
        UserError
            If there is something of that name.
        """
        path = self.path(name)
        if path.exists():
            raise UserError(
                f"{path} is already there and is never overwritten.", "Nothing was changed."
            )
        write_folder(path, files)
        return path

    def keep_progress(self, name: str, content: bytes) -> Path:
        """Write down how far an assessor has come, in place of what she had before.

        Parameters
        ----------
        name : str
            Of the answers of one assessor in a scoring round.
        content : bytes
        """
        if not PROGRESS.fullmatch(name):
            raise ValueError(f"{name} is no file of answers to a scoring round")
        path = self.path(name)
        path.parent.mkdir(exist_ok=True)
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
