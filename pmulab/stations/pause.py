"""Whether enrolment pauses: the study was stopped, or an adverse event asks for a review."""

from collections.abc import Sequence
from dataclasses import dataclass

from pmulab.disk import typed
from pmulab.errors import UserError
from pmulab.stations.memory import waiting
from pmulab.stations.reviews import PRINTED, open_again, refuse_empty_review, reviews
from pmulab.stations.reviews import REVIEWED as REVIEWED
from pmulab.study import ENROLLED, RECORDS, Entry, Study
from pmulab.tables import Records, Report
from pmulab.tables.guards import find_sources

_NOT_THERE = frozenset({"no_records", "table_missing", "folder_missing"})


@dataclass(frozen=True, slots=True)
class Pause:
    """What the records say before the next client.

    Parameters
    ----------
    stop : str
        Why the study pauses; '' when nothing asks for it.
    clients : int
        Clients of the events that ask for it, counted once an event.
    review : Entry or None
        The review that was journalled for just this.
    again : str
        What is said in place of the call to stop once there was a review, or the study was stopped.
    """

    stop: str = ""
    clients: int = 0
    review: Entry | None = None
    again: str = ""

    @property
    def lines(self) -> tuple[str, ...]:
        """Say it, or the review if there was one."""
        if not self.stop:
            return ()
        return (self.again or f"PAUSE NOW: {self.stop}",)


def stop_of(entries: Sequence[Entry]) -> Entry | None:
    """Give the line of the journal that says that the study was stopped, if it was.

    Parameters
    ----------
    entries : sequence of Entry

    Returns
    -------
    Entry or None
    """
    return next((one for one in entries if one.event == "study stopped"), None)


def refuse_stopped(study: Study) -> None:
    """Refuse to go on with a study that was stopped.

    Parameters
    ----------
    study : Study

    Raises
    ------
    UserError
        If the journal says so.
    """
    entry = stop_of(study.journal())
    if entry is not None:
        raise UserError(
            f"This study was stopped on {entry.time[:10]}: {entry.detail['reason']}",
            "Nobody is enrolled in it any more, and nothing was changed.",
        )


def pause_of(study: Study, records: Records) -> Pause:
    """Say whether the records ask for a pause, and whether it was reviewed.

    Parameters
    ----------
    study : Study
    records : Records

    Returns
    -------
    Pause
        An earlier review counts for the same reason and no more clients, and for no harm that
        was read after it.
    """
    from pmulab.analysis.safety import safety

    found = safety(study.assignments(), records)
    if not found.stop:
        return Pause()
    ended = stop_of(study.journal())
    if ended is not None:
        from pmulab.wording.safety import RECORDS_SAY, stopped_words

        told = f"{stopped_words(ended.time[:10])} {RECORDS_SAY} {found.stop}"
        return Pause(found.stop, again=told)
    clients = sum(e.clients for e in found.events if e.serious or e.severity != "mild")
    if waiting(study.journal(), records):
        return Pause(found.stop, clients)
    for entry in reversed(reviews(study.journal())):
        if entry.detail["stop"] == found.stop and entry.detail["clients"] >= clients:
            return Pause(found.stop, clients, entry, open_again(entry, records, coded=True))
    return Pause(found.stop, clients)


def nothing_recorded(study: Study) -> bool:
    """Tell whether the workbook is still blank and no other table lies beside it.

    Parameters
    ----------
    study : Study

    Returns
    -------
    bool
    """
    blank = {e.detail["workbook"] for e in study.journal() if e.event == "plan locked"}
    beside = {path.name for path in find_sources(study.folder)[0]} - {RECORDS, ENROLLED}
    return not beside and study.file_hash(RECORDS) in {"", *blank}


def refuse_paused(study: Study, pause: Pause, reviewed: str) -> None:
    """Refuse the next client while an adverse event waits for a review.

    Parameters
    ----------
    study : Study
    pause : Pause
    reviewed : str
        Who reviewed it and what was decided; '' for no review.

    Raises
    ------
    UserError
        If a review is missing or does not say who and what, or one is given though nothing asks
        for it.
    """
    if pause.stop and pause.review is None and not reviewed:
        raise UserError(
            f"PAUSE NOW: {pause.stop}",
            "No card was opened and nothing was saved. Whether the study may go on is for a "
            "physician and those who allowed the study to say, not for pmulab; to end it is "
            f'always allowed: pmulab analyse {typed(study.folder)} --stopped "why". Only once they '
            "have reviewed it, write who did and what was decided: "
            f"pmulab enrol {typed(study.folder)} --client CODE --answers FILE "
            '--reviewed "who reviewed it and what was decided"  (in a notebook: reviewed="..."). '
            f"{PRINTED}",
        )
    if reviewed and not pause.stop:
        raise UserError(
            "No adverse event in the records asks for a review.",
            "Record the event first if there was one; else leave the review out.",
        )
    if reviewed:
        refuse_empty_review(reviewed)


def refuse_unread(study: Study, records: Records, report: Report) -> None:
    """Refuse the next client while the adverse events cannot be read.

    Parameters
    ----------
    study : Study
    records : Records
    report : Report
        What is wrong with them.

    Raises
    ------
    UserError
        If their table stands in a file that cannot be read.
    """
    if "events" in records.sources:
        return
    for one in report.problems:
        unread = one.severity == "blocks analysis" and one.file != ENROLLED
        if unread and one.code not in _NOT_THERE and one.sheet in ("", "events"):
            raise UserError(
                f"The adverse events cannot be read, so no card was opened. {one.what}",
                f"{one.remedy} See every place with: pmulab check {typed(study.folder)}",
            )
