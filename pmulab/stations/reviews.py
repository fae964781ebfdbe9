"""What was decided after harm: how a review is asked for, kept, and said again at every card."""

from collections.abc import Iterator, Mapping, Sequence

import pandas as pd

from pmulab.counting import counted
from pmulab.entries import READ
from pmulab.errors import UserError
from pmulab.findings.course import REVIEWED as BEGINNING
from pmulab.study import Entry
from pmulab.tables import Records
from pmulab.tables.stop_rules import happened

REVIEWED = "reviewed after an adverse event"
PRINTED = "These words are printed on the handout: no names, no dates."
DECIDES = "A physician's word decides, not this kit."
_FEWEST_WORDS, _FEWEST_LETTERS = 3, 15
_OPEN = ("ongoing", "")
_NOT_OVER = (*_OPEN, "unknown")


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
            'client two days after the work; the line healed; go on with the softer wipe". '
            f"{PRINTED}",
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
        yield _told(entry, records, coded=True)
    if told:
        yield DECIDES


def handed_on(entries: Sequence[Entry], records: Records) -> Iterator[str]:
    """Say every review for what is handed on, without any client's code or date.

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
        yield f"{_told(entry, records, coded=False)} Cards opened since then: {later}."


def open_again(entry: Entry, records: Records, *, coded: bool) -> str:
    """Say that cards open again after a review, in place of the call to stop.

    Parameters
    ----------
    entry : Entry
        The review.
    records : Records
    coded : bool
        Whether clients are named by their codes, and days by their dates.

    Returns
    -------
    str
    """
    return (
        f"{_told(entry, records, coded=coded)} Cards open again; new harm pauses again. {DECIDES}"
    )


def still_open(entries: Sequence[Entry]) -> str:
    """Say which harm a review has followed and is not over, as the journal last heard of it.

    Parameters
    ----------
    entries : sequence of Entry

    Returns
    -------
    str
        '' where there was no review, or all is over.
    """
    now = _outcomes(last_heard(entries))
    told = [
        _event(row, now, _since(row[2]), coded=True)
        for entry in reviews(entries)
        for row in _rows(entry)
        if now.get((row[0], row[1]), "resolved") in _NOT_OVER
    ]
    if not told:
        return ""
    return f"Not over yet, though reviewed: {', '.join(dict.fromkeys(told))}. {DECIDES}"


def last_heard(entries: Sequence[Entry]) -> list[list[str]]:
    """Give the events as the journal last wrote them down at or after a review.

    Parameters
    ----------
    entries : sequence of Entry

    Returns
    -------
    list of [client code, kind, day it began, outcome]
        Empty before there was a review.
    """
    told = (one for one in reversed(entries) if one.event in (REVIEWED, READ))
    return next((_rows(one) for one in told if "events" in one.detail), [])


def _rows(entry: Entry) -> list[list[str]]:
    """Read the events of a line; what a changed journal spoiled is told where it is judged."""
    rows = entry.detail.get("events", ())
    return [[str(cell) for cell in row] for row in rows if isinstance(row, list) and len(row) == 4]


def _told(entry: Entry, records: Records, *, coded: bool) -> str:
    on = f" on {entry.time[:10]}" if coded else ""
    return f"{BEGINNING}{on} after {_events(entry, records, coded=coded)}: {_words(entry)}"


def _words(entry: Entry) -> str:
    said = str(entry.detail["reviewed"])
    return said if said.endswith((".", "!", "?")) else f"{said}."


def _outcomes(rows: Sequence[Sequence[str]]) -> dict[tuple[str, str], str]:
    """Say how each kind of harm of a client stands; of two alike the one not over counts."""
    over_last = sorted(rows, key=lambda row: row[3] in _NOT_OVER)
    return {(code, kind): outcome for code, kind, _, outcome in over_last}


def _events(entry: Entry, records: Records, *, coded: bool) -> str:
    """Name the events of a review with when they began and how they stand now."""
    now = _outcomes(reviewed_events(records))
    told = []
    for row in _rows(entry):
        code, _, began, _ = row
        since = _since(began) if coded else _days_since(records, code, began)
        told.append(_event(row, now, since, coded=coded))
    return ", ".join(dict.fromkeys(told)) or "an adverse event"


def _event(
    row: Sequence[str], now: Mapping[tuple[str, str], str], since: str, *, coded: bool
) -> str:
    code, kind = row[:2]
    whose = f" of {code}" if coded and code else ""
    return f"{kind.replace('_', ' ')}{whose} ({_state(now.get((code, kind)))}{since})"


def _since(began: str) -> str:
    return f", began {began[:10]}" if began else ""


def _days_since(records: Records, code: str, began: str) -> str:
    """Say when an event began without a date, for what is handed on."""
    mine = records.sessions["client_code"].eq(code).fillna(False)
    days = records.sessions.loc[mine, "session_date"].dropna()
    onset = pd.to_datetime(began[:10], errors="coerce")
    before = days[days <= onset]
    if before.empty:
        return ""
    after = (onset - before.max()).days
    return f", began {counted(after, 'day')} after the work" if after else ", began on the same day"


def _state(outcome: str | None) -> str:
    if outcome is None:
        return "no longer in the records"
    if outcome == "unknown":
        return "how it ended is not known"
    return "still ongoing" if outcome in _OPEN else outcome
