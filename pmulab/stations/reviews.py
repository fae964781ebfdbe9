"""What was decided after harm: how a review is asked for, kept, and said again at every card."""

from collections.abc import Iterator, Sequence

import pandas as pd

from pmulab.errors import UserError
from pmulab.findings.course import REVIEWED as BEGINNING
from pmulab.study import Entry
from pmulab.tables import Records
from pmulab.tables.stop_rules import happened

REVIEWED = "reviewed after an adverse event"
DECIDES = "A physician's word decides, not this kit."
_FEWEST_WORDS, _FEWEST_LETTERS = 3, 15
_OPEN = ("ongoing", "")


def refuse_empty_review(reviewed: str) -> None:
    """Refuse a review that does not say who reviewed and what was decided.

    Parameters
    ----------
    reviewed : str

    Raises
    ------
    UserError
        If it has fewer than three words or fifteen letters.
    """
    letters = sum(one.isalpha() for one in reviewed)
    if len(reviewed.split()) < _FEWEST_WORDS or letters < _FEWEST_LETTERS:
        raise UserError(
            f"'{reviewed}' does not say who reviewed the event and what was decided.",
            'No card was opened and nothing was saved. Write it in this form: "Eye doctor saw the '
            'client on 6 January; the line healed; go on with the softer wipe" (no names).',
        )


def reviewed_events(records: Records) -> list[list[str]]:
    """Give the events that a review speaks of, for its line in the journal.

    Parameters
    ----------
    records : Records

    Returns
    -------
    list of [client code, kind, day it began, outcome]
        '' for what was not said.
    """
    rows = happened(records.events)[["client_code", "event", "onset_date", "outcome"]]
    return [
        ["" if pd.isna(cell) else str(cell)[:40] for cell in row]
        for row in rows.itertuples(index=False, name=None)
    ]


def reviews(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Give the reviews so far, oldest first.

    Parameters
    ----------
    entries : sequence of Entry

    Returns
    -------
    tuple of Entry
    """
    return tuple(entry for entry in entries if entry.event == REVIEWED)


def reminders(entries: Sequence[Entry], records: Records) -> Iterator[str]:
    """Say above a card what was reviewed, what was decided and how it stands now.

    Parameters
    ----------
    entries : sequence of Entry
    records : Records

    Yields
    ------
    str
        One sentence for each review, then whose word decides.
    """
    told = reviews(entries)
    for entry in told:
        yield f"{_on(entry)} after {_events(entry, records, coded=True)}: {_words(entry)}"
    if told:
        yield DECIDES


def handed_on(entries: Sequence[Entry], records: Records) -> Iterator[str]:
    """Say every review for what is handed on, without any client's code.

    Parameters
    ----------
    entries : sequence of Entry
    records : Records

    Yields
    ------
    str
    """
    for entry in reviews(entries):
        later = sum(one.event == "client enrolled" and one.number > entry.number for one in entries)
        yield (
            f"{_on(entry)} after {_events(entry, records, coded=False)}: {_words(entry)} "
            f"Cards opened since then: {later}."
        )


def open_again(entry: Entry, records: Records, *, coded: bool) -> str:
    """Say that cards open again after a review, in place of the call to stop.

    Parameters
    ----------
    entry : Entry
        The review.
    records : Records
    coded : bool
        Whether clients are named by their codes.

    Returns
    -------
    str
    """
    return (
        f"{_on(entry)} after {_events(entry, records, coded=coded)}: {_words(entry)} Cards open "
        f"again; new harm pauses again. {DECIDES}"
    )


def _on(entry: Entry) -> str:
    return f"{BEGINNING} {entry.time[:10]}"


def _words(entry: Entry) -> str:
    said = str(entry.detail["reviewed"])
    return said if said.endswith((".", "!", "?")) else f"{said}."


def _events(entry: Entry, records: Records, *, coded: bool) -> str:
    """Name the events of a review with their days and how they stand now."""
    now = {(code, kind): outcome for code, kind, _, outcome in reviewed_events(records)}
    told = []
    for row in entry.detail.get("events", ()):
        code, kind, began, _ = map(str, row)
        whose = f" of {code}" if coded and code else ""
        since = f", began {began[:10]}" if began else ""
        told.append(f"{kind.replace('_', ' ')}{whose} ({_state(now.get((code, kind)))}{since})")
    return ", ".join(dict.fromkeys(told)) or "an adverse event"


def _state(outcome: str | None) -> str:
    if outcome is None:
        return "no longer in the records"
    if outcome == "unknown":
        return "how it ended is not known"
    return "still ongoing" if outcome in _OPEN else outcome
